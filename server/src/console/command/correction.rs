//! The words by which something is put right.

use protocol::Code;
use room::{Correction, Teacher};

/// A cup that is not to count, or counts again: the name of a seat if it is that one's score alone, the tea, the round, and why.
pub(super) fn cup_put_right(word: &str, rest: &str) -> Result<Correction, String> {
    let typed: Vec<&str> = rest.split_whitespace().collect();
    let cup =
        |at: usize| Some((typed.get(at)?.parse::<Code>().ok()?, typed.get(at + 1)?.parse::<u32>().ok()?));
    let found = (0..typed.len()).find_map(|at| Some((at, cup(at)?)));
    let Some((at, (code, steep))) = found else {
        return Err(format!(
            "{word} which cup? Type its tea, its round and why, for example: {word} 417 2 spilled, or {word} Ann 417 2 spilled"
        ));
    };
    let (seat, reason) = ((at > 0).then(|| typed[..at].join(" ")), typed[at + 2..].join(" "));
    if reason.is_empty() {
        return Err(format!(
            "say why: the reason stands in the review. Type for example: {word} {rest} spilled"
        ));
    }
    Ok(if word == "void" {
        Correction::Void { code, steep, seat, reason }
    } else {
        Correction::Restore { code, steep, seat, reason }
    })
}

/// A tea, a round if it is not the last, a seat if it is one's alone.
pub(super) fn reopened(rest: &str) -> Result<Teacher, String> {
    let typed: Vec<&str> = rest.split_whitespace().collect();
    let Some((code, more)) = typed.split_first() else {
        return Err(
            "reopen which sheet? Type for example: reopen 417, or reopen 417 2, or reopen 417 2 Ann".into()
        );
    };
    let code = code.parse().map_err(|problem| format!("reopen the sheet of which tea? {problem}"))?;
    let (round, name) = match more.split_first().and_then(|(round, name)| Some((round.parse().ok()?, name))) {
        Some((round, name)) => (Some(round), name),
        None => (None, more),
    };
    Ok(Teacher::Reopen { code, round, seat: (!name.is_empty()).then(|| name.join(" ")) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::command::{Typed, parse};

    #[test]
    fn a_sheet_is_opened_again_of_a_tea_a_round_and_a_seat() {
        let open = |round, seat: Option<&str>| Teacher::Reopen {
            code: Code::new(417).unwrap(),
            round,
            seat: seat.map(String::from),
        };
        for (line, wish) in [
            ("reopen 417", open(None, None)),
            ("reopen 417 2", open(Some(2), None)),
            ("reopen 417 Li  Wei", open(None, Some("Li Wei"))),
            ("reopen 417 2 Ann", open(Some(2), Some("Ann"))),
        ] {
            assert_eq!(parse(line), Ok(Some(Typed::Teacher(wish))), "{line}");
        }
    }

    #[test]
    fn a_cup_is_voided_for_all_or_for_one_with_a_reason() {
        let code = Code::new(417).unwrap();
        let of = |seat: Option<&str>, reason: &str| (code, 2, seat.map(String::from), reason.to_string());
        for (line, (code, steep, seat, reason)) in [
            ("417 2 it was  spilled", of(None, "it was spilled")),
            ("Li Wei 417 2 drank from 238 1", of(Some("Li Wei"), "drank from 238 1")),
        ] {
            let void = Correction::Void { code, steep, seat: seat.clone(), reason: reason.clone() };
            assert_eq!(
                parse(&format!("void {line}")),
                Ok(Some(Typed::Teacher(Teacher::Correct(void)))),
                "{line}"
            );
            let restore = Correction::Restore { code, steep, seat, reason };
            assert_eq!(
                parse(&format!("restore {line}")),
                Ok(Some(Typed::Teacher(Teacher::Correct(restore))))
            );
        }
    }
}

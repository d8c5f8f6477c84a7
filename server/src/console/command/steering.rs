//! The words that change the course of a class.

use protocol::Code;
use room::Steering;

/// A change of course: a tea's code, or several, and numbers behind it.
pub(super) fn steering(word: &str, rest: &str) -> Result<Steering, String> {
    // Only what leaves something out takes a reason; elsewhere a colon is not understood.
    let (rest, reason) = match rest.split_once(':') {
        Some((what, why)) if matches!(word, "skip" | "drop") => (what, why.trim().to_string()),
        _ => (rest, String::new()),
    };
    let typed: Vec<&str> = rest.split_whitespace().collect();
    let code = |text: &str| text.parse::<Code>().map_err(|problem| format!("{word} which tea? {problem}"));
    // Seconds may be typed with their unit.
    let number = |text: &str| text.trim_end_matches('s').parse::<u32>().ok();
    let right = match word {
        "longer" | "shorter" => {
            if let Some((last, codes)) = typed.split_last().filter(|(_, codes)| !codes.is_empty())
                && let Some(by_s) = number(last).and_then(|s| i32::try_from(s).ok())
            {
                let codes = codes.iter().copied().map(code).collect::<Result<_, _>>()?;
                return Ok(Steering::Longer { codes, by_s: if word == "longer" { by_s } else { -by_s } });
            }
            "a tea and seconds: CODE 10"
        }
        "skip" | "again" => {
            let round = |text: &&str| number(text);
            match (typed.first(), typed.get(1), typed.len()) {
                (Some(tea), None, 1) => return Ok(skip_or_again(word, code(tea)?, None, reason)),
                (Some(tea), Some(of), 2) if round(of).is_some() => {
                    return Ok(skip_or_again(word, code(tea)?, round(of), reason));
                }
                _ => "a tea, and a round if it is not the next or last: CODE or CODE 3",
            }
        }
        "follow" => match typed[..] {
            [] => return Ok(Steering::Follow { codes: Vec::new(), steep_s: None }),
            [tea] => return Ok(Steering::Follow { codes: vec![code(tea)?], steep_s: None }),
            [tea, seconds] if number(seconds).is_some() => {
                return Ok(Steering::Follow { codes: vec![code(tea)?], steep_s: number(seconds) });
            }
            _ => "no tea for all, or one, and its seconds if you wish others: CODE or CODE 32",
        },
        "drop" | "take" | "leave" => match typed[..] {
            [tea] if word == "drop" => return Ok(Steering::Drop { code: code(tea)?, reason }),
            [tea] if word == "leave" => return Ok(Steering::Leave(code(tea)?)),
            [tea] => return Ok(Steering::Take(code(tea)?)),
            _ => "a tea: CODE",
        },
        "more" => match typed[..] {
            [tea, seconds] if number(seconds).is_some() => {
                let steep_s = number(seconds).unwrap_or_default();
                return Ok(Steering::More { code: code(tea)?, steep_s });
            }
            _ => "a tea and seconds: CODE 30",
        },
        _ => {
            if let [tea, round, seconds] = typed[..]
                && let (Some(round), Some(steep_s)) = (number(round), number(seconds))
            {
                return Ok(Steering::Was { code: code(tea)?, round, steep_s });
            }
            "a tea, a round and seconds: CODE 2 60"
        }
    };
    let example = right.rsplit(": ").next().unwrap_or_default().replace("CODE", "417");
    let what = right.split(": ").next().unwrap_or_default();
    Err(format!(
        "`{word}` takes {what}. Type for example: {word} {}",
        example.replace(" or ", &format!(", or {word} "))
    ))
}

fn skip_or_again(word: &str, code: Code, round: Option<u32>, reason: String) -> Steering {
    if word == "skip" { Steering::Skip { code, round, reason } } else { Steering::Again { code, round } }
}

/// Whose place, and who takes it over, of `1 is Cy`.
pub(super) fn takes_over(rest: &str) -> Option<(&str, &str)> {
    let (pourer, name) = rest.split_once(" is ")?;
    Some((pourer.trim(), name.trim())).filter(|(pourer, name)| !pourer.is_empty() && !name.is_empty())
}

/// Who pours: a tea given to a pourer, a pourer who leaves or is back; by number or by name.
pub(super) fn pouring(word: &str, rest: &str) -> Result<Steering, String> {
    let typed: Vec<&str> = rest.split_whitespace().collect();
    let is = |word: &str, this: &str| word.eq_ignore_ascii_case(this);
    match (word, typed.as_slice()) {
        ("hand", [code, to, pourer @ ..]) if is(to, "to") && !pourer.is_empty() => {
            let code = code.parse().map_err(|problem| format!("hand over which tea? {problem}"))?;
            let to = Some(pourer.join(" ")).filter(|to| !is(to, "anybody"));
            Ok(Steering::Hand { code, to })
        }
        ("pourer", [pourer @ .., leaves]) if is(leaves, "leaves") && !pourer.is_empty() => {
            Ok(Steering::PourerLeaves(pourer.join(" ")))
        }
        ("pourer", [pourer @ .., back]) if is(back, "back") && !pourer.is_empty() => {
            Ok(Steering::PourerBack(pourer.join(" ")))
        }
        ("hand", _) => Err("hand what to whom? Type for example: hand 417 to Ben, or hand 417 to 2, or hand 417 to anybody".into()),
        _ => Err("what does the pourer do? Type for example: pourer 1 leaves, or pourer Ann leaves, or pourer 1 back, or pourer 1 is Cy".into()),
    }
}

/// Seconds with their sign, and with their unit or without.
pub(super) fn tasting(typed: &str) -> Option<i32> {
    let signed = typed.starts_with(['+', '-']).then(|| typed.trim_end_matches([' ', 's']))?;
    signed.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::command::{Typed, parse};
    use room::Teacher;

    #[test]
    fn the_course_is_steered_with_codes_and_numbers() {
        let code = |n| Code::new(n).unwrap();
        let both = vec![code(417), code(238)];
        for (line, wish) in [
            ("longer 417 238 10", Steering::Longer { codes: both, by_s: 10 }),
            ("shorter 417 5s", Steering::Longer { codes: vec![code(417)], by_s: -5 }),
            ("skip 417", Steering::Skip { code: code(417), round: None, reason: String::new() }),
            ("skip 417 3", Steering::Skip { code: code(417), round: Some(3), reason: String::new() }),
            (
                "skip 417 3: broken pot, see 12:30",
                Steering::Skip { code: code(417), round: Some(3), reason: "broken pot, see 12:30".into() },
            ),
            ("drop 417:stale", Steering::Drop { code: code(417), reason: "stale".into() }),
            ("drop 417", Steering::Drop { code: code(417), reason: String::new() }),
            ("take 417", Steering::Take(code(417))),
            ("again 417", Steering::Again { code: code(417), round: None }),
            ("more 417 30", Steering::More { code: code(417), steep_s: 30 }),
            ("was 417 2 60", Steering::Was { code: code(417), round: 2, steep_s: 60 }),
            ("taste +30", Steering::Taste { by_s: 30 }),
            ("taste -20 s", Steering::Taste { by_s: -20 }),
            ("taste end", Steering::TasteEnd),
            ("hand 417 to Li Wei", Steering::Hand { code: code(417), to: Some("Li Wei".into()) }),
            ("hand 417 TO 2", Steering::Hand { code: code(417), to: Some("2".into()) }),
            ("hand 417 to anybody", Steering::Hand { code: code(417), to: None }),
            ("pourer Li Wei leaves", Steering::PourerLeaves("Li Wei".into())),
            ("pourer 1 back", Steering::PourerBack("1".into())),
            ("undo", Steering::Undo),
            ("follow", Steering::Follow { codes: vec![], steep_s: None }),
            ("follow 417", Steering::Follow { codes: vec![code(417)], steep_s: None }),
            ("follow 417 32s", Steering::Follow { codes: vec![code(417)], steep_s: Some(32) }),
            ("leave 417", Steering::Leave(code(417))),
        ] {
            assert_eq!(parse(line), Ok(Some(Typed::Teacher(Teacher::Steer(wish)))), "{line}");
        }
    }
}

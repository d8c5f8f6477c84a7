//! The words about who sits there, and what is said to them.

use super::Typed;
use room::{Teacher, Who};

/// Who is to go, whether with the scores, and why: names with commas between, or all since a time of day.
pub(super) fn sent_away(rest: &str) -> Result<Typed, String> {
    let (rest, reason) = match rest.split_once(": ") {
        Some((who, why)) => (who, why.trim().to_string()),
        None => (rest, String::new()),
    };
    let words: Vec<&str> = rest.split_whitespace().collect();
    let is = |words: &[&str], these: &[&str]| {
        words.len() == these.len()
            && words.iter().zip(these).all(|(word, this)| word.eq_ignore_ascii_case(this))
    };
    let names = words.len().saturating_sub(2);
    let without_scores = is(&words[names..], &["without", "scores"]);
    let words = if without_scores { &words[..names] } else { &words[..] };
    if words.is_empty() {
        return Err(
            "send whom away? Type for example: away Ann, or away stranger-*, or away all since 19:05".into(),
        );
    }
    if let [all, since, time] = words
        && is(&[*all, *since], &["all", "since"])
    {
        let clock =
            time.split_once(':').and_then(|(h, m)| Some((h.parse::<u8>().ok()?, m.parse::<u8>().ok()?)));
        return match clock.filter(|&(hour, minute)| hour < 24 && minute < 60) {
            Some((hour, minute)) => Ok(Typed::AwaySince { hour, minute, without_scores, reason }),
            None => Err("since when? Type the time of day, for example: away all since 19:05".into()),
        };
    }
    let who = Who::Named(words.join(" "));
    Ok(Typed::Teacher(Teacher::Away { who, without_scores, reason }))
}

/// Words to all, or with `to` in front to one; whose name it is only the room can say.
pub(super) fn saying(words: &str) -> Teacher {
    match words.split_once(char::is_whitespace) {
        Some((to, rest)) if to.eq_ignore_ascii_case("to") => Teacher::SayTo(rest.trim().into()),
        _ => Teacher::Say(words.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::command::parse;

    #[test]
    fn seats_are_sent_away_by_name_by_a_pattern_or_by_when_they_came() {
        let away = |who: &str, without_scores, reason: &str| {
            let (who, reason) = (Who::Named(who.into()), reason.into());
            Typed::Teacher(Teacher::Away { who, without_scores, reason })
        };
        let since = |hour, minute, without_scores, reason: &str| Typed::AwaySince {
            hour,
            minute,
            without_scores,
            reason: reason.into(),
        };
        for (line, typed) in [
            ("away Li Wei", away("Li Wei", false, "")),
            ("away Ann, Bob without scores", away("Ann, Bob", true, "")),
            ("AWAY stranger-*: who are you?", away("stranger-*", false, "who are you?")),
            ("away all since 19:05", since(19, 5, false, "")),
            ("away all since 7:30 Without Scores: not yours", since(7, 30, true, "not yours")),
            ("back Li Wei", Typed::Teacher(Teacher::Back("Li Wei".into()))),
        ] {
            assert_eq!(parse(line), Ok(Some(typed)), "{line}");
        }
    }
}

//! What the teacher did, in words.

use super::{Act, Timed};
use std::fmt;

impl fmt::Display for Act {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words = match self {
            Act::Timed { steeps } => {
                let each: Vec<String> = steeps
                    .iter()
                    .map(|Timed { code, round, steep_s }| {
                        format!("{code} steeps {steep_s} s in round {round}")
                    })
                    .collect();
                each.join(", ")
            }
            Act::Skipped { code, round, reason } => {
                format!("{code} is left out of round {round}{}", because(reason))
            }
            Act::Dropped { code, from, reason } => {
                format!("{code} is served no more from round {from} on{}; its scores stay", because(reason))
            }
            Act::TakenBack { code, from } => format!("{code} is served again from round {from} on"),
            Act::Added { code, round, steep, steep_s, .. } => {
                format!("{code} steep {steep} is steeped in round {round}, {steep_s} s")
            }
            Act::Sat { code, round, steep_s } => format!("{code} sat {steep_s} s in round {round}"),
            Act::Kept { code, round, steep_s } => {
                format!("{code} stays as planned in round {round}, {steep_s} s")
            }
            Act::Tasted { round, taste_s } => format!("round {round} is tasted {taste_s} s in all"),
            Act::Handed { code, hands: Some(hands) } => {
                format!(
                    "{code} is poured by pourer {hands} from now on; what is wet is decanted by them too if their hands are free"
                )
            }
            Act::Handed { code, hands: None } => format!("{code} is poured by any pourer again"),
            Act::PourerLeft { hands } => {
                format!(
                    "pourer {hands} leaves: decants what is wet there, and all else is poured by the others"
                )
            }
            Act::PourerBack { hands } => format!("pourer {hands} is back, and pours again"),
            Act::Undone => "undone: the last change is taken back".into(),
        };
        f.pad(&words)
    }
}

/// `: broken pot`; nothing without a reason.
fn because(reason: &str) -> String {
    if reason.is_empty() { String::new() } else { format!(": {reason}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::Code;

    #[test]
    fn what_the_teacher_changed_is_said_in_words() {
        let code = Code::new(417).unwrap();
        let timed = |round, steep_s| Timed { code, round, steep_s };
        for (act, words) in [
            (Act::Timed { steeps: vec![timed(2, 50)] }, "417 steeps 50 s in round 2"),
            (Act::Skipped { code, round: 3, reason: String::new() }, "417 is left out of round 3"),
            (
                Act::Skipped { code, round: 3, reason: "broken pot".into() },
                "417 is left out of round 3: broken pot",
            ),
            (
                Act::Dropped { code, from: 3, reason: String::new() },
                "417 is served no more from round 3 on; its scores stay",
            ),
            (
                Act::Dropped { code, from: 3, reason: "stale".into() },
                "417 is served no more from round 3 on: stale; its scores stay",
            ),
            (Act::TakenBack { code, from: 4 }, "417 is served again from round 4 on"),
            (
                Act::Added { code, round: 5, steep: 2, steep_s: 40, temp_c: 95.0 },
                "417 steep 2 is steeped in round 5, 40 s",
            ),
            (Act::Sat { code, round: 2, steep_s: 60 }, "417 sat 60 s in round 2"),
            (Act::Kept { code, round: 2, steep_s: 25 }, "417 stays as planned in round 2, 25 s"),
            (Act::Tasted { round: 2, taste_s: 90 }, "round 2 is tasted 90 s in all"),
            (
                Act::Handed { code, hands: Some(2) },
                "417 is poured by pourer 2 from now on; what is wet is decanted by them too if their hands are free",
            ),
            (Act::Handed { code, hands: None }, "417 is poured by any pourer again"),
            (
                Act::PourerLeft { hands: 1 },
                "pourer 1 leaves: decants what is wet there, and all else is poured by the others",
            ),
            (Act::PourerBack { hands: 1 }, "pourer 1 is back, and pours again"),
            (Act::Undone, "undone: the last change is taken back"),
        ] {
            assert_eq!(act.to_string(), words);
        }
    }
}

//! A score, a scale and a place at the table in words; the same words on every kind of seat. Cues are in [`crate::deeds`].

use crate::app::{Cup, Filled, Served};
use crate::host_clock::{Doubt, Moved, Why};
use protocol::time::clock_face;
use protocol::wire::VoidCup;
use protocol::{Answer, Attribute, Code, Role, Score, Sheet, Strength, TeaCard, TestCard};
use std::fmt;

/// The host does not have what it had acknowledged.
pub fn lost_there(scores: usize) -> String {
    format!(
        "the host has lost {} of yours that it had kept; they are sent again now. Tell the teacher",
        count(scores, "score")
    )
}

/// What to do where a seat is no longer known.
pub const TO_SIT_DOWN_THERE: &str = "to sit down there, leave and start again";

/// The host has begun another class while the one before was not closed.
pub fn another_class(scores: usize) -> String {
    format!(
        "another class has begun here though the one before was not closed; this seat keeps {} of yours in that one. Should it go on, tell the teacher to open its ledger",
        count(scores, "score")
    )
}

/// Before the host has given the seat its place.
pub const NOT_SEATED: &str = "not seated yet; wait for the host";

/// A score's content in the sheet's order: `aroma 7, liking 8, just right, floral + nutty, “warm bread”`.
pub fn score_content(score: &Score, sheet: &Sheet) -> String {
    content(&Filled::from(score), sheet)
}

/// The same of a sheet that was not sent.
pub fn content(filled: &Filled, sheet: &Sheet) -> String {
    let on_sheet = sheet.attributes.iter();
    let mut parts: Vec<String> =
        on_sheet.filter_map(|a| filled.values.get(&a.name).map(|v| format!("{} {v}", a.name))).collect();
    parts.extend(filled.strength.map(|s| s.to_string()));
    if !filled.words.is_empty() {
        parts.push(filled.words.join(" + "));
    }
    if !filled.note.is_empty() {
        parts.push(format!("“{}”", filled.note));
    }
    parts.join(", ")
}

/// What has to be known of sheets that the class closed without.
pub const NOT_SENT: &str = "not sent before the class closed, so it does not count; the teacher can still enter it (kettlecall enter):";

/// An answer to a difference test: `test 1: 384`.
pub fn answer(answer: &Answer) -> String {
    format!("test {}: {}", answer.test, answer.pick)
}

/// The cups of a test in the order in which they are tasted: `384, 512, 617`, or `first 705, then 384, 512`.
pub fn cups(card: &TestCard) -> String {
    let codes: Vec<String> = card.codes.iter().map(ToString::to_string).collect();
    let first = card.reference.map_or(String::new(), |code| format!("first {code}, then "));
    format!("{first}{}", codes.join(", "))
}

/// How many lines of the sheet a score leaves blank. A note is no answer, so that none of it is no blank; nor is it one
/// that no word fits.
pub fn blanks(score: &Score, sheet: &Sheet) -> usize {
    let values = sheet.attributes.iter().filter(|a| !score.values.contains_key(&a.name)).count();
    values + usize::from(sheet.strength && score.strength.is_none())
}

/// A scale: `aroma: 1 (faint) to 9 (full)`.
pub fn scale(attribute: &Attribute) -> String {
    let end = |point: i32, word: &Option<String>| match word {
        Some(word) => format!("{point} ({word})"),
        None => point.to_string(),
    };
    let Attribute { name, min, max, low, high } = attribute;
    format!("{name}: {} to {}", end(*min, low), end(*max, high))
}

/// The strength vote as a scale: from -2 over 0, which is just right, to 2.
pub fn strength_scale() -> Attribute {
    let end = |vote: Strength| (i32::from(vote.number()), Some(vote.to_string()));
    let ((min, low), (max, high)) = (end(Strength::MuchTooThin), end(Strength::MuchTooStrong));
    Attribute { name: "strength".into(), min, max, low, high }
}

/// What the sheet asks, a line each.
pub fn sheet(sheet: &Sheet) -> Vec<String> {
    let mut lines: Vec<_> = sheet.attributes.iter().map(scale).collect();
    if sheet.strength {
        let votes = Strength::ALL.map(|vote| format!("{} ({vote})", vote.number()));
        lines.push(format!("strength: {}", votes.join(", ")));
    }
    if !sheet.words.is_empty() {
        lines.push(format!("words, all that fit: {}", sheet.words.join(", ")));
    }
    if sheet.note {
        lines.push("note: any words".into());
    }
    lines
}

/// What the sheet asks, in one sentence: `aroma 1 (faint) to 9 (full), strength, words, a note`.
pub fn asked(sheet: &Sheet) -> String {
    let mut parts: Vec<String> = sheet.attributes.iter().map(|a| scale(a).replacen(": ", " ", 1)).collect();
    let rest = [(sheet.strength, "strength"), (!sheet.words.is_empty(), "words"), (sheet.note, "a note")];
    parts.extend(rest.into_iter().filter(|(asked, _)| *asked).map(|(_, part)| part.to_string()));
    parts.join(", ")
}

/// Why a seat that has not come to score fills no sheet, and what to do to score.
pub fn not_asked(role: Role) -> Option<String> {
    let (came, flag) = match role {
        Role::Scores => return None,
        Role::PoursOnly => ("pour only", "--pours-only"),
        Role::Watches => ("look on", "--watch"),
    };
    Some(format!(
        "no sheet is asked of you: you came to {came}; to score, leave and join again without {flag}"
    ))
}

/// The last call, with so many seconds left, at a seat that has a screen.
pub fn last_call(left_s: i64, role: Role) -> String {
    last_call_with(left_s, role, ", then what is on your sheets is sent")
}

/// The same in lines, where what is typed is the terminal's until Enter: no program can send it.
pub fn last_call_in_lines(left_s: i64, role: Role) -> String {
    last_call_with(
        left_s,
        role,
        ", then the class closes; press Enter before then: a line without it is lost",
    )
}

fn last_call_with(left_s: i64, role: Role, scoring: &str) -> String {
    let then = if role.scores() { scoring } else { ", then the class closes; nothing is asked of you" };
    match left_s {
        0 => closes(left_s),
        _ => format!("last call: {}{then}", clock_face(left_s)),
    }
}

/// When the class closes, so many seconds from now.
pub fn closes(left_s: i64) -> String {
    match left_s {
        ..=0 => "the class closes now".into(),
        _ => format!("the class closes in {}", clock_face(left_s)),
    }
}

/// Where the person's own scores and notes are.
pub fn notes_kept(place: &str) -> String {
    format!("your scores and notes are kept in `{place}`")
}

/// What to do when no class has been found yet.
pub const NO_CLASS_YET: &str =
    "compare the address with the one on the teacher's screen; to change it, leave and start again";

/// The cups without a score: `you have 2 cups without a score: 611/1, 268/2`.
pub fn missing(cups: &[Cup]) -> String {
    let short: Vec<_> = cups.iter().map(Cup::short).collect();
    format!("you have {} without a score: {}", count(cups.len(), "cup"), short.join(", "))
}

/// In which order to taste: `drink 334 268 436`.
pub fn drink(codes: &[Code]) -> String {
    let codes: Vec<_> = codes.iter().map(ToString::to_string).collect();
    format!("drink {}", codes.join(" "))
}

/// Who has come: `here: Ann, Ben and 18 more`.
pub fn here(names: &[String], seats: u32) -> String {
    let more = (seats as usize).saturating_sub(names.len());
    let more = if more == 0 { String::new() } else { format!(" and {more} more") };
    format!("here: {}{more}", names.join(", "))
}

/// Which steep it is: `steep 2`; `steep 2 in round 4` where the teacher had it done again, or others skipped, so that it is in a
/// round of another number.
pub fn steep(steep: u32, round: u32) -> String {
    in_round(format!("steep {steep}"), steep, round)
}

/// The same with how many steeps the tea has: `steep 2 of 3 in round 4`.
pub fn steep_of(steep: u32, steeps: u32, round: u32) -> String {
    in_round(format!("steep {steep} of {}", steeps.max(steep)), steep, round)
}

fn in_round(words: String, steep: u32, round: u32) -> String {
    if steep == round { words } else { format!("{words} in round {round}") }
}

/// What the teacher says.
pub fn said(words: &str, to_you: bool) -> String {
    format!("the teacher{}: {words}", if to_you { " to you" } else { "" })
}

/// A cup that does not count: `417 steep 2 does not count: spilled`.
pub fn void(cup: Served, void: &VoidCup) -> String {
    let reason = &void.reason;
    if void.only_yours {
        return format!("your score of {cup} does not count: {reason}; you may score it again");
    }
    format!("{cup} does not count: {reason}")
}

/// A cup that had not counted.
pub fn counts_again(cup: Served) -> String {
    format!("{cup} counts again")
}

/// A sheet that the teacher has opened again, and how long there is for it.
pub fn reopened(cup: Served, left_s: Option<i64>) -> String {
    let left = left_s.map_or(String::new(), |left_s| format!(" for {}", protocol::time::clock_face(left_s)));
    format!("the sheet of {cup} is open again{left}: taste and score it once more")
}

/// A sheet that need not be filled again.
pub fn shut(cup: Served) -> String {
    format!("the sheet of {cup} stays as it was")
}

/// The beginning of a note.
pub fn shortened(note: &str) -> String {
    protocol::fit::cut(note, 16)
}

/// A tea by its code, and its name and leaf once revealed: `417 Lantern Slope (lantern)`.
pub fn tea(card: &TeaCard) -> String {
    let mut text = card.code.to_string();
    if let Some(name) = &card.name {
        text.push_str(&format!(" {name}"));
    }
    if let Some(leaf) = card.leaf.as_ref().filter(|leaf| Some(*leaf) != card.name.as_ref()) {
        text.push_str(&format!(" ({leaf})"));
    }
    text
}

/// What is on the table, and what the seat is for: `2 teas: 417, 238. You pour: pourer 1 of 2.`
pub fn place(teas: &[TeaCard], pourers: Option<u8>, hands: Option<u8>, role: Role) -> String {
    let codes: Vec<_> = teas.iter().map(|t| t.code.to_string()).collect();
    let hands = match (pourers, hands, role) {
        (_, _, Role::Watches) => "You look on; no sheet is asked of you.".into(),
        (None, _, Role::Scores) => "You brew your own set.".into(),
        (None, _, Role::PoursOnly) => "You brew your own set; no sheet is asked of you.".into(),
        (Some(_), None, Role::PoursOnly) => {
            "Others pour, and no sheet is asked of you. To pour, leave and join again with --pourer 1.".into()
        }
        (Some(_), None, _) => "Others pour; you taste.".into(),
        (Some(all), Some(pourer), role) => {
            let which = if all > 1 { format!(": pourer {pourer} of {all}") } else { String::new() };
            let sheet = if role.scores() { "" } else { "; no sheet is asked of you" };
            format!("You pour{which}{sheet}.")
        }
    };
    format!("{}: {}. {hands}", count(codes.len(), "tea"), codes.join(", "))
}

/// What a machine said of a fault, without its number for it: `Connection refused (os error 111)` is for the log.
pub fn fault(said: impl fmt::Display) -> String {
    let mut text = said.to_string();
    while let Some(from) = text.find(" (os error ") {
        let to = text[from..].find(')').map_or(text.len(), |end| from + end + 1);
        text.replace_range(from..to, "");
    }
    text
}

/// A length of time with its unit, as many digits as a person can use: `0.3 ms`, `12 ms`, `1.4 s`.
pub fn short_time(us: i64) -> String {
    match us.unsigned_abs() as f64 {
        us if us < 50.0 => "less than 0.1 ms".into(),
        us if us < 9_950.0 => format!("{:.1} ms", us / 1e3),
        us if us < 999_500.0 => format!("{:.0} ms", us / 1e3),
        us => format!("{:.1} s", us / 1e6),
    }
}

/// How far the clock may be off, for whoever asks: `right within 3.0 ms`.
pub fn clock(bound_us: i64) -> String {
    format!("right within {}", short_time(bound_us.max(100)))
}

/// A clock that may be further off than this can be heard to be, in microseconds.
const UNSURE_US: i64 = 50_000;

/// A warning, if the clock is so unsure that a bell may be heard to ring at another time than the others.
pub fn unsure_clock(bound_us: i64) -> Option<String> {
    let seconds = (bound_us as f64 / 1e6).max(0.1);
    (bound_us > UNSURE_US).then(|| format!("this clock is unsure by {seconds:.1} s"))
}

/// The machine has slept.
pub fn slept(for_s: i64) -> String {
    format!("this machine slept for {}; the host is asked for the time again", clock_face(for_s))
}

/// The clock was set again.
pub fn clock_set(moved: Moved) -> String {
    let by = match moved.by_us {
        us if us.unsigned_abs() <= moved.bound_us.unsigned_abs() => "it was right".to_string(),
        us if us > 0 => format!("it went forward by {}", short_time(us)),
        us => format!("it went back by {}", short_time(us)),
    };
    let why = match moved.why {
        Why::Doubt(Doubt::Host) => "the host started again",
        Why::Doubt(Doubt::Slept) => "after the sleep",
        Why::Jump => "the host's clock or this machine's has jumped",
        Why::Better => "the host answered more quickly",
    };
    format!("{why}, and the clock was set: {by}, now {}", clock(moved.bound_us))
}

/// `1 score`, `2 scores`.
pub fn count(number: usize, thing: &str) -> String {
    if number == 1 { format!("1 {thing}") } else { format!("{number} {thing}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_too_short_to_matter_is_told_as_such() {
        assert_eq!(short_time(12), "less than 0.1 ms");
        assert_eq!(short_time(-52_300), "52 ms");
    }

    #[test]
    fn a_clock_says_how_sure_it_is_with_as_many_digits_as_help() {
        for (bound_us, words) in [
            (3, "right within 0.1 ms"),
            (340, "right within 0.3 ms"),
            (9_949, "right within 9.9 ms"),
            (9_951, "right within 10 ms"),
            (999_499, "right within 999 ms"),
            (2_000_000, "right within 2.0 s"),
        ] {
            assert_eq!(clock(bound_us), words);
        }
    }

    #[test]
    fn a_clock_is_spoken_of_unasked_only_when_it_is_so_unsure_that_it_can_be_heard() {
        assert_eq!([340, 49_900, 50_000].map(unsure_clock), [None, None, None]);
        for (bound_us, words) in [(50_001, "0.1"), (140_000, "0.1"), (2_000_000, "2.0")] {
            assert_eq!(unsure_clock(bound_us), Some(format!("this clock is unsure by {words} s")));
        }
    }

    #[test]
    fn a_seat_is_told_whether_it_pours_and_as_which_pourer_where_there_are_several() {
        let said = |pourers, hands, role| place(&[], pourers, hands, role).replace("0 teas: . ", "");
        assert_eq!(said(Some(1), Some(1), Role::Scores), "You pour.");
        assert_eq!(said(Some(2), Some(1), Role::Scores), "You pour: pourer 1 of 2.");
        assert_eq!(said(Some(1), Some(1), Role::PoursOnly), "You pour; no sheet is asked of you.");
        assert!(said(Some(1), None, Role::PoursOnly).ends_with("join again with --pourer 1."));
    }

    #[test]
    fn a_clock_set_anew_says_why_and_by_how_much() {
        let said = |why, by_us| clock_set(Moved { why, by_us, bound_us: 3_000 });
        assert_eq!(
            said(Why::Doubt(Doubt::Host), -2_900),
            "the host started again, and the clock was set: it was right, now right within 3.0 ms"
        );
        assert_eq!(
            said(Why::Doubt(Doubt::Slept), 700_000),
            "after the sleep, and the clock was set: it went forward by 700 ms, now right within 3.0 ms"
        );
        assert_eq!(
            said(Why::Jump, 8_000_000),
            "the host's clock or this machine's has jumped, and the clock was set: it went forward by 8.0 s, now right within 3.0 ms"
        );
        assert_eq!(
            said(Why::Doubt(Doubt::Host), -12_000),
            "the host started again, and the clock was set: it went back by 12 ms, now right within 3.0 ms"
        );
    }

    #[test]
    fn a_fault_is_told_without_the_machines_number() {
        let said = "the link broke: IO error: Connection reset by peer (os error 104)";
        assert_eq!(fault(said), "the link broke: IO error: Connection reset by peer");
        assert_eq!(fault("a (os error 1); b (os error 2), c"), "a; b, c");
        assert_eq!(fault("cut short (os error 1"), "cut short");
        assert_eq!(fault("nobody listens"), "nobody listens");
    }
}

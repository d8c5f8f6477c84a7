//! The words a teacher types, the same on a terminal and on standard input.

mod correction;
mod people;
mod steering;

use class::MAX_SEATS;
use correction::{cup_put_right, reopened};
use people::{saying, sent_away};
use protocol::Code;
use room::last_call::{LAST_CALL_S, LONGEST_LAST_CALL_S};
use room::{Steering, Teacher};
use steering::{pouring, steering, takes_over, tasting};

/// What can be typed, explained.
pub const HELP: &str = "\
start [anyway]   begin the class; the first cue comes after 10 s
hold             wait: nothing dry is started, what is wet ends on time
resume           go on after a hold; the next cue comes after 10 s
key              which tea is under which code: for the teacher's eyes
longer 417 10    417 steeps 10 s longer: what is wet, or the next; several: longer 417 238 10
shorter 417 10   417 steeps 10 s shorter
skip 417 [3]     leave 417 out of round 3, or of the next; for the review: skip 417 3: WHY
drop 417         serve 417 no more; its scores stay; for the review: drop 417: WHY
take 417         take 417 back in
again 417 [2]    steep 417 again at the end: as in round 2, or as the last time
more 417 30      steep 417 once more, for 30 s
follow [417 32]  steep as the votes suggest: all teas, or 417, or 417 for 32 s instead
leave 417        keep the next steep of 417 as planned, whatever is suggested
why [417]        why something is suggested for a tea, or nothing
was 417 2 60     417 really sat 60 s in round 2; no cue changes
taste +30        30 s more to taste this round, or the next; fewer: taste -20; taste end ends it
hand 417 to Ben  417 is poured by Ben from now on, or by pourer 2: hand 417 to 2; to anybody
pourer 1 leaves  what is dry is poured by the others; pourer 1 back; pourer 1 is Cy
reopen 417 [2]   the sheets of 417, of round 2 or the last, are owed once more;
                 of one seat: reopen 417 Ann, reopen 417 2 Ann
undo             take the last of these changes back
void 417 2 WHY   417 of round 2 counts for nobody; one score: void Ann 417 2 WHY
restore 417 2 WHY  it counts again
say TEXT         tell all seats something; one of them: say to Ann TEXT
who              who is seated, linked, and how many sheets are in
summary          what the class found so far
reveal [CODE]    tell the seats the name of one tea, or of all
test N           open difference test N to the seats, once its cups are decanted
release NAME     free a seat for somebody who lost its place
away NAME        send a seat away; its scores count, unless: away NAME without scores
                 several: away Ann, Bob; away stranger-*; away all since 19:05
                 to tell them why: away NAME: WHY
back NAME        let a seat back that was sent away; back all
code [new]       how to join, with the join code; `new` draws another one
lobby            who waits at the door; lobby on: who is new is let in by name from now on;
                 lobby off: by the join code alone
admit NAME       let in who waits at the door; several: admit Ann, Bob; admit all
places 40        so many seats may be taken from now on
keys [new]       the keys for leading from elsewhere or looking on; `new` voids them
leave out NAME   leave a seat's scores out of what the class found
count NAME       let them count again
close [now|60]   end the class: at once, after a last call of 60 s, or else of 30 s
stop             stop the host; `open` on the same ledger continues the class
help             this page";

/// A word as understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// For the owner.
    Teacher(Teacher),
    /// Show the summary.
    Summary,
    /// Show the seats.
    Who,
    /// Show which tea is under which code.
    Key,
    /// Show why something is suggested for a tea's next steep, or for all teas'.
    Why(Option<Code>),
    /// Send those away who came in at this time of day, of this machine, or later.
    AwaySince {
        /// Its hour.
        hour: u8,
        /// Its minute.
        minute: u8,
        /// Their scores go with them.
        without_scores: bool,
        /// Why.
        reason: String,
    },
    /// Show the keys with which the class is led from elsewhere.
    Keys,
    /// Draw other ones.
    NewKeys,
    /// Show how to join.
    Code,
    /// Draw another join code.
    NewCode,
    /// Show who waits at the door; have people let in by name from now on, or no longer.
    Lobby(Option<bool>),
    /// Let people in who wait at the door.
    Admit(String),
    /// So many seats may be taken.
    Places(u32),
    /// Show [`HELP`].
    Help,
    /// Stop the host.
    Stop,
}

pub(super) const WORDS: [&str; 39] = [
    "lobby", "admit", "places", "reopen", "hand", "pourer", "start", "hold", "resume", "longer", "shorter",
    "skip", "drop", "take", "again", "more", "was", "undo", "follow", "why", "say", "void", "restore",
    "taste", "key", "who", "summary", "reveal", "test", "release", "away", "back", "code", "keys", "leave",
    "count", "close", "stop", "help",
];
impl Typed {
    /// Whether it changes anything, or asks for more than to look at the class.
    pub fn acts(&self) -> bool {
        match self {
            Typed::Teacher(_)
            | Typed::AwaySince { .. }
            | Typed::Admit(_)
            | Typed::Lobby(Some(_))
            | Typed::Places(_)
            | Typed::NewCode
            | Typed::Keys
            | Typed::NewKeys
            | Typed::Stop => true,
            Typed::Summary
            | Typed::Who
            | Typed::Key
            | Typed::Why(_)
            | Typed::Code
            | Typed::Lobby(None)
            | Typed::Help => false,
        }
    }
}

/// What is never offered for a mistyped word: neither can be taken back. Whoever has lost a seat to `release` can't get it again
/// by the secret that it had.
const NEVER_MEANT: [&str; 2] = ["reveal", "release"];

/// Understands a typed line; an empty one means nothing.
///
/// # Errors
/// A sentence saying what is not understood and what can be typed.
pub fn parse(line: &str) -> Result<Option<Typed>, String> {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let typed = match (word.to_lowercase().as_str(), rest) {
        ("", _) => return Ok(None),
        ("start", "") => Typed::Teacher(Teacher::Start { anyway: false }),
        ("start", "anyway") => Typed::Teacher(Teacher::Start { anyway: true }),
        ("hold", "") => Typed::Teacher(Teacher::Hold),
        ("resume", "") => Typed::Teacher(Teacher::Resume),
        ("close", "") => Typed::Teacher(Teacher::Close { last_call_s: LAST_CALL_S }),
        ("close", "now") => Typed::Teacher(Teacher::Close { last_call_s: 0 }),
        ("close", seconds) => match seconds.trim_end_matches([' ', 's']).parse() {
            Ok(last_call_s @ 1..=LONGEST_LAST_CALL_S) => Typed::Teacher(Teacher::Close { last_call_s }),
            _ => {
                return Err(format!(
                    "how long is the last call to be? `close` gives {LAST_CALL_S} s, `close 60` gives 60 s (1 to {LONGEST_LAST_CALL_S}), `close now` none"
                ));
            }
        },
        ("leave", rest) => match rest.split_once(char::is_whitespace) {
            None if rest.parse::<Code>().is_ok() => Typed::Teacher(Teacher::Steer(steering("leave", rest)?)),
            Some(("out", name)) => Typed::Teacher(Teacher::Count { name: name.trim().into(), counts: false }),
            _ => {
                return Err("leave what? Type for example: leave out Ann, for a seat whose scores are not to count; leave 417, for a tea whose next steep stays as planned".into());
            }
        },
        ("count", "") => return Err("count whom? Type for example: count Ann".into()),
        ("count", name) => Typed::Teacher(Teacher::Count { name: name.into(), counts: true }),
        ("reveal", "" | "all") => Typed::Teacher(Teacher::Reveal(None)),
        ("reveal", code) => match code.parse() {
            Ok(code) => Typed::Teacher(Teacher::Reveal(Some(code))),
            Err(problem) => return Err(format!("reveal whom? {problem}, or `reveal` alone for all")),
        },
        ("test", number) => match number.parse() {
            Ok(number) => Typed::Teacher(Teacher::Test(number)),
            Err(_) => return Err("which test? Type its number, for example: test 1".into()),
        },
        ("release", "") => return Err("release whom? Type for example: release Ann".into()),
        ("release", name) => Typed::Teacher(Teacher::Release(name.into())),
        ("away", rest) => sent_away(rest)?,
        ("back", "") => return Err("let whom back? Type for example: back Ann, or back all".into()),
        ("back", names) => Typed::Teacher(Teacher::Back(names.into())),
        ("say", "") => {
            return Err("say what? Type for example: say pour slowly, or say to Ann pour slowly".into());
        }
        ("say", words) => Typed::Teacher(saying(words)),
        (word @ ("void" | "restore"), rest) => Typed::Teacher(Teacher::Correct(cup_put_right(word, rest)?)),
        ("taste", "end") => Typed::Teacher(Teacher::Steer(Steering::TasteEnd)),
        ("taste", seconds) => match tasting(seconds) {
            Some(by_s) => Typed::Teacher(Teacher::Steer(Steering::Taste { by_s })),
            None => {
                return Err("how much longer? Type for example: taste +30, or taste -20, or taste end".into());
            }
        },
        ("pourer", rest) if takes_over(rest).is_some() => {
            let (pourer, name) = takes_over(rest).unwrap_or_default();
            Typed::Teacher(Teacher::PourerIs { pourer: pourer.into(), name: name.into() })
        }
        (word @ ("hand" | "pourer"), rest) => Typed::Teacher(Teacher::Steer(pouring(word, rest)?)),
        ("reopen", rest) => Typed::Teacher(reopened(rest)?),
        ("undo", "") => Typed::Teacher(Teacher::Steer(Steering::Undo)),
        (
            word @ ("longer" | "shorter" | "skip" | "drop" | "take" | "again" | "more" | "was" | "follow"),
            rest,
        ) => Typed::Teacher(Teacher::Steer(steering(word, rest)?)),
        ("why", "") => Typed::Why(None),
        ("why", code) => match code.parse() {
            Ok(code) => Typed::Why(Some(code)),
            Err(problem) => return Err(format!("why which tea? {problem}, or `why` alone for all")),
        },
        ("code", "") => Typed::Code,
        ("code", "new") => Typed::NewCode,
        ("lobby", "") => Typed::Lobby(None),
        ("lobby", "on") => Typed::Lobby(Some(true)),
        ("lobby", "off") => Typed::Lobby(Some(false)),
        ("lobby", _) => return Err("`lobby` shows who waits at the door; `lobby on` and `lobby off` say whether who is new has to be let in by name".into()),
        ("admit", "") => return Err("let whom in? Type for example: admit Ann, or admit all; `lobby` shows who waits".into()),
        ("admit", names) => Typed::Admit(names.into()),
        ("places", number) => match number.parse() {
            Ok(places @ 1..=MAX_SEATS) => Typed::Places(places),
            _ => return Err(format!("how many seats may be taken? Type for example: places 40 (1 to {MAX_SEATS})")),
        },
        ("keys", "") => Typed::Keys,
        ("keys", "new") => Typed::NewKeys,
        ("who", "") => Typed::Who,
        ("key", "") => Typed::Key,
        ("summary", "") => Typed::Summary,
        ("stop", "") => Typed::Stop,
        ("help", "") => Typed::Help,
        ("keys", _) => {
            return Err("`keys` shows the keys for leading from elsewhere, `keys new` draws others".into());
        }
        ("code", _) => return Err("`code` shows how to join, `code new` draws another join code".into()),
        (word, _) if WORDS.contains(&word) => {
            return Err(format!("`{word}` stands alone; type it without more words"));
        }
        (word, _) => {
            let near = WORDS
                .into_iter()
                .filter(|known| !NEVER_MEANT.contains(known))
                .max_by(|a, b| strsim::jaro_winkler(a, word).total_cmp(&strsim::jaro_winkler(b, word)));
            let near = near.filter(|near| strsim::jaro_winkler(near, word) > 0.75);
            let meant = near.map_or(String::new(), |near| format!(" Did you mean `{near}`?"));
            let shown = protocol::text::clean(word, 20);
            return Err(format!("`{shown}` is not understood.{meant} `help` lists what can be typed"));
        }
    };
    Ok(Some(typed))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_of_the_help_is_understood() {
        for line in HELP.lines() {
            if line.starts_with(' ') {
                continue;
            }
            let word = line.split_whitespace().next().unwrap();
            assert!(WORDS.contains(&word), "{word}");
            let typed = match word {
                "reopen" => "reopen 417",
                "hand" => "hand 417 to Ben",
                "pourer" => "pourer Ann leaves",
                "places" => "places 40",
                "release" | "away" | "back" | "admit" => &format!("{word} Ann"),
                "leave" => "leave out Ann",
                "count" => "count Ann",
                "test" => "test 1",
                "taste" => "taste +30",
                "say" => "say to Ann slowly",
                "void" | "restore" => &format!("{word} 417 2 spilled"),
                "longer" | "shorter" | "more" | "skip" | "again" => &format!("{word} 417 10"),
                "drop" | "take" => &format!("{word} 417"),
                "was" => "was 417 2 60",
                word => word,
            };
            assert!(matches!(parse(typed), Ok(Some(_))), "{word}");
        }
        let whole = HELP.lines().filter(|line| !line.starts_with(' '));
        let words: Vec<&str> = whole.filter_map(|line| line.split_whitespace().next()).collect();
        let twice = words.iter().filter(|word| **word == "leave").count() - 1;
        assert_eq!((words.len() - twice, twice), (WORDS.len(), 1), "`leave` has two uses");
    }

    #[test]
    fn capitals_and_spaces_do_not_matter_and_an_empty_line_means_nothing() {
        assert_eq!(parse("  Hold "), Ok(Some(Typed::Teacher(Teacher::Hold))));
        assert_eq!(parse("release Li  Wei"), Ok(Some(Typed::Teacher(Teacher::Release("Li  Wei".into())))));
        assert_eq!(parse("reveal 417"), Ok(Some(Typed::Teacher(Teacher::Reveal(protocol::Code::new(417))))));
        assert_eq!(
            parse("SAY To  Li Wei slowly"),
            Ok(Some(Typed::Teacher(Teacher::SayTo("Li Wei slowly".into()))))
        );
        assert_eq!(parse("say together now"), Ok(Some(Typed::Teacher(Teacher::Say("together now".into())))));
        let left_out = Typed::Teacher(Teacher::Count { name: "Li Wei".into(), counts: false });
        assert_eq!(parse("leave out Li Wei"), Ok(Some(left_out)));
        assert_eq!(parse("lobby"), Ok(Some(Typed::Lobby(None))));
        assert_eq!(parse("LOBBY on"), Ok(Some(Typed::Lobby(Some(true)))));
        assert_eq!(parse("admit Li Wei, Bob"), Ok(Some(Typed::Admit("Li Wei, Bob".into()))));
        assert_eq!(parse("places 40"), Ok(Some(Typed::Places(40))));
        assert_eq!(parse("why 417"), Ok(Some(Typed::Why(Code::new(417)))));
        assert_eq!(parse("   "), Ok(None));
    }

    #[test]
    fn what_cant_be_taken_back_is_never_offered_for_a_mistyped_word() {
        for line in ["revael", "reveall", "revea", "revel", "reval", "releas", "relase", "relaese"] {
            let answer = parse(line).unwrap_err();
            assert!(!answer.contains("`reveal`") && !answer.contains("`release`"), "{line}: {answer}");
        }
    }

    #[test]
    fn a_class_closes_with_a_last_call_of_some_length_or_at_once() {
        for (line, last_call_s) in [("close 60", 60), ("close 1", 1), ("close 45 s", 45), ("close 600s", 600)]
        {
            assert_eq!(parse(line), Ok(Some(Typed::Teacher(Teacher::Close { last_call_s }))), "{line}");
        }
        for line in ["close 0", "close 601", "close soon", "close -3", "close 2m"] {
            assert!(parse(line).unwrap_err().starts_with("how long is the last call to be?"), "{line}");
        }
        assert_eq!(parse("close"), Ok(Some(Typed::Teacher(Teacher::Close { last_call_s: LAST_CALL_S }))));
        assert_eq!(parse("close now"), Ok(Some(Typed::Teacher(Teacher::Close { last_call_s: 0 }))));
        assert!(parse("close later").is_err());
    }

    #[test]
    fn what_is_not_understood_is_answered_with_what_can_be_typed() {
        for (line, words) in [
            ("strat", "Did you mean `start`?"),
            ("sing", "`help` lists"),
            ("hold on", "stands alone"),
            ("reveal 41", "three digits"),
            ("release", "release Ann"),
            ("leave Ann", "leave out Ann"),
            ("say", "say to Ann pour slowly"),
            ("void 417 spilled", "void 417 2 spilled"),
            ("void Ann 417 2", "void Ann 417 2 spilled"),
            ("count", "count Ann"),
            ("reopen", "reopen 417 2 Ann"),
            ("reopen Ann", "three digits"),
            ("hand 417 Ben", "hand 417 to Ben"),
            ("hand Ben 417", "hand 417 to Ben"),
            ("hand 41 to Ben", "three digits"),
            ("pourer", "pourer 1 leaves"),
            ("pourer leaves", "pourer 1 leaves"),
            ("away", "away stranger-*"),
            ("away without scores", "send whom away?"),
            ("away all since tea", "away all since 19:05"),
            ("back", "back all"),
            ("test one", "for example: test 1"),
            ("lobby Ann", "`lobby` shows who waits"),
            ("admit", "admit all"),
            ("places", "places 40"),
            ("places 0", "places 40 (1 to 10000)"),
            ("places ten", "places 40"),
            ("longer 417", "longer 417 10"),
            ("shorter ten", "shorter 417 10"),
            ("longer 41 10", "three digits"),
            ("skip", "skip 417, or skip 417 3"),
            ("skip 417 soon", "skip 417, or skip 417 3"),
            ("drop", "drop 417"),
            ("more 417", "more 417 30"),
            ("was 417 60", "was 417 2 60"),
            ("follow 41", "three digits"),
            ("follow 417 soon", "follow 417, or follow 417 32"),
            ("why 41", "`why` alone for all"),
            ("leave", "leave 417, for a tea"),
            ("taste 30", "taste +30"),
            ("taste", "taste end"),
            ("undo that", "stands alone"),
            ("code KX7M-QR4T", "`code new` draws another"),
            ("\u{1b}[2J", "is not understood"),
        ] {
            let answer = parse(line).unwrap_err();
            assert!(answer.contains(words) && !answer.contains('\u{1b}'), "{line}: {answer}");
        }
    }
}

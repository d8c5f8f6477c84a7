//! What happens, in words.

use super::cues::{first_cue, wait};
use super::roster;
use super::suggested::taken;
use host::{AtDoor, Happening};
use protocol::time::clock_face;
use protocol::{Phase, fit};
use room::view::{Tally, View};
use room::{Console, Entry, Event, Room};

/// How many names a list of people at the door shows.
const LISTED: usize = 20;
/// How long its lines are at most: as long as those of the narrowest terminal that is reckoned with.
const COLUMNS: usize = 80;

/// What a happening is called on a console; nothing for what concerns nobody. What the teacher did at another console than this
/// one bears its name.
pub fn happening(
    happening: &Happening,
    this: &Console,
    kettles: &[String],
    seat_name: impl Fn(protocol::SeatId) -> String,
) -> Option<String> {
    let words = happened(happening, kettles, seat_name)?;
    match happening {
        // Whoever has come knows that.
        Happening::Consoles { of: Some(of), .. } if *this == Console::Lead(of.clone()) => None,
        // Whoever drew the keys or set the door has been answered.
        Happening::Entry(Entry {
            by: Some(by),
            event: Event::KeysDrawn { .. } | Event::DoorSet { .. },
            ..
        }) if by == this => None,
        Happening::Entry(Entry { by: Some(by), .. }) if by != this => Some(format!("{words} · at {by}")),
        _ => Some(words),
    }
}

fn happened(
    happening: &Happening,
    kettles: &[String],
    seat_name: impl Fn(protocol::SeatId) -> String,
) -> Option<String> {
    let whose = |seat: Option<protocol::SeatId>| {
        seat.map_or(String::new(), |seat| format!(" of {}", seat_name(seat)))
    };
    let entry = match happening {
        Happening::Linked(name) => return Some(format!("linked: {name}")),
        Happening::Unlinked(name) => return Some(format!("link lost: {name}")),
        Happening::Follows(words) => return Some(words.clone()),
        Happening::Notice(words) => return Some(format!("notice: {words}")),
        Happening::AtDoor { called, why } => {
            return Some(format!("{called} is at the door{why}; type: admit {called}"));
        }
        Happening::Guesses(words) | Happening::Consoles { words, .. } => return Some(words.clone()),
        Happening::Moved(ledger) => return Some(format!("ledger: {}", ledger.display())),
        Happening::Entry(entry) => entry,
    };
    Some(match &entry.event {
        Event::Class { .. } | Event::Opened { .. } => return None,
        Event::JoinCodeDrawn { join_code } => {
            format!("the join code is {join_code} from now on; who is seated stays so and needs none")
        }
        Event::Admitted { name } => {
            format!("let in: {name}, whose seat sits down within some seconds of coming to the door")
        }
        Event::AdmittedNoMore { name } => format!("taken back: {name} is not let in on coming"),
        Event::DoorSet { door } => {
            let places = door.places.map_or(String::new(), |places| format!("; {places} seats may be taken"));
            let how = if door.by_name { "by name" } else { "by the join code alone" };
            format!("who is new is let in {how} from now on{places}")
        }
        Event::KeysDrawn { .. } => "the keys for leading from elsewhere are new; any before are void".into(),
        Event::Seated { name, pourer: Some(pourer), .. } => format!("seated: {name}, pourer {pourer}"),
        Event::Seated { name, .. } => format!("seated: {name}"),
        Event::Released { seat } => {
            format!("released: the seat of {} waits for a new link of that name", seat_name(*seat))
        }
        Event::Started { timetable } => format!("started: {}", first_cue(&timetable.cues, entry.at, kettles)),
        Event::Held { .. } => "held: nothing dry is started; what is wet ends on time".into(),
        Event::Resumed { timetable } => {
            let wait = wait(&timetable.cues, entry.at, kettles).unwrap_or_default();
            format!("resumed: {}{wait}", first_cue(&timetable.cues, entry.at, kettles))
        }
        Event::Steered { act, suggested, .. } if suggested.is_empty() => act.to_string(),
        Event::Steered { suggested, .. } => {
            let each: Vec<String> = suggested.iter().map(taken).collect();
            each.join(" · ")
        }
        Event::Said { seat: None, words } => format!("said to all: {words}"),
        Event::Said { seat: Some(seat), words } => format!("said to {}: {words}", seat_name(*seat)),
        Event::Scored { seat, score, .. } => {
            let again = if score.revision > 1 { ", revised" } else { "" };
            // Not which ones: the class may see this, too.
            let words = match score.words.len() {
                0 => String::new(),
                1 => ", 1 word".into(),
                n => format!(", {n} words"),
            };
            format!("scored: {} steep {} by {}{again}{words}", score.code, score.steep, seat_name(*seat))
        }
        Event::Revealed { codes } => {
            let codes: Vec<String> = codes.iter().map(ToString::to_string).collect();
            format!("revealed: {}", codes.join(", "))
        }
        Event::TestOpened { test } => format!("test {test} is open to the seats"),
        Event::Answered { seat, answer } => {
            let again = if answer.revision > 1 { ", revised" } else { "" };
            format!("answered: test {} by {}{again}", answer.test, seat_name(*seat))
        }
        Event::LastCall { until } => {
            let left = clock_face(until.seconds_until(entry.at));
            format!("last call: the class closes in {left}; scores are taken until then")
        }
        Event::FellShort { seat, heard, ended } => format!(
            "{}. What the seats still have is sent again; compare with what you remember",
            room::missing(&seat_name(*seat), *heard, *ended)
        ),
        Event::SeatCounts { seat, counts: true, .. } => format!("the scores of {} count", seat_name(*seat)),
        Event::SeatCounts { seat, counts: false, .. } => {
            format!("left out: the scores of {} do not count", seat_name(*seat))
        }
        Event::Voided { code, steep, seat, reason } => {
            format!("{code} steep {steep}{} does not count: {reason}", whose(*seat))
        }
        Event::Restored { code, steep, seat, reason } => {
            format!("{code} steep {steep}{} counts again: {reason}", whose(*seat))
        }
        Event::SentAway { seats, without_scores, reason } => {
            let names: Vec<String> = seats.iter().map(|seat| seat_name(*seat)).collect();
            let why = if reason.is_empty() { String::new() } else { format!(" ({reason})") };
            let scores = if *without_scores { "no score of theirs counts" } else { "their scores count" };
            let scores = if seats.len() == 1 {
                scores.replace("theirs", "it").replace("their", "its")
            } else {
                scores.into()
            };
            format!(
                "sent away: {}{why}; {scores}, and the name is free. `undo` or `back` lets them back, `code new` keeps out who knows the join code",
                room::some_of(&names)
            )
        }
        Event::LetBack { seats, undone } => {
            let names: Vec<String> = seats.iter().map(|seat| seat_name(*seat)).collect();
            let owes = if *undone {
                "owes what it owed before"
            } else {
                "owes the sheets of what is decanted from now on"
            };
            format!("let back: {}; who joins again as before {owes}", room::some_of(&names))
        }
        Event::SheetsReopened { seats, code, round, until } => {
            let names: Vec<String> = seats.iter().map(|seat| seat_name(*seat)).collect();
            let left = clock_face(until.seconds_until(entry.at));
            let (sheets, owe) = if seats.len() == 1 { ("sheet", "owes it") } else { ("sheets", "owe them") };
            format!(
                "open again for {left}: the {sheets} of {code} in round {round}; {} {owe} once more, and what was scored counts until then",
                room::some_of(&names)
            )
        }
        Event::SheetsShut { code, round, .. } => {
            format!("undone: the sheets of {code} in round {round} are as they were")
        }
        Event::Renamed { name, .. } => format!("whoever was sent away is called {name} from now on"),
        // A host has the ledger to itself while it runs: these are made when none does.
        Event::SeatsJoined { .. } | Event::SeatsParted { .. } | Event::Lost { .. } => {
            return None;
        }
        Event::Closed => "closed: no score is taken any more".into(),
    })
}

/// How people are let in, and who waits at the door.
pub fn at_door(door: &AtDoor) -> String {
    let how = if door.by_name {
        "who is new is let in by name"
    } else {
        "who is new is let in by the join code alone; `lobby on` lets you say whom"
    };
    let waits = match door.names.as_slice() {
        [] if door.by_name => format!("{how}; nobody is at the door"),
        [] => how.into(),
        names => format!(
            "{how}; at the door: {}; type for example: admit {}, or admit all",
            first_of(names),
            names[0]
        ),
    };
    let ahead = match door.ahead.as_slice() {
        [] => None,
        names => {
            Some(format!("let in, not yet here: {}; `away {}` takes that back", first_of(names), names[0]))
        }
    };
    let lines = std::iter::once(waits).chain(ahead);
    lines.flat_map(|line| fit::wrap(&line, COLUMNS)).collect::<Vec<_>>().join("\n")
}

/// The first names of a list, and how many more it has.
fn first_of(names: &[String]) -> String {
    let shown = names[..names.len().min(LISTED)].join(", ");
    match names.len().saturating_sub(LISTED) {
        0 => shown,
        more => format!("{shown}, … and {more} more"),
    }
}

/// Who is seated, and who has answered which test.
pub fn who(view: &View) -> String {
    let mut out = roster::list(view);
    for test in &view.tests {
        out += &format!("\ntest {}, {}: ", test.number, test.kind);
        out += &match (test.open, test.missing.as_slice()) {
            (false, _) => "not open".to_string(),
            (true, []) => format!("all {} have answered", test.answered.due),
            (true, missing) => format!(
                "{} of {} have answered, not {}",
                test.answered.present,
                test.answered.due,
                missing.join(", ")
            ),
        };
    }
    out
}

/// `3 of 5`; a dash where nothing is due.
pub fn tally(tally: Tally) -> String {
    if tally.due == 0 { "–".into() } else { format!("{} of {}", tally.present, tally.due) }
}

/// How many sheets are missing of those that are due.
pub fn missing(view: &View) -> usize {
    view.class_in.due.saturating_sub(view.class_in.present)
}

/// What is asked once before names are told while sheets are missing or cups are still to come; whatever `other` is, is a no.
pub fn reveal_question(view: &View, other: &str) -> Option<String> {
    let over = view.all_done || view.last_call.is_some() || view.phase == Phase::Closed;
    let why = match missing(view) {
        0 if over => return None,
        0 => "Cups are still to come".to_string(),
        1 => "1 sheet is missing".into(),
        n => format!("{n} sheets are missing"),
    };
    Some(format!("{why}. Reveal now? Enter or y: yes, {other}: no"))
}

/// Where the class stands.
pub fn stands(view: &View) -> String {
    let rehearsal = view.rehearsal.map_or(String::new(), |pace| format!("rehearsal at pace {pace} · "));
    match view.phase {
        Phase::Lobby => format!("{rehearsal}lobby"),
        Phase::Running | Phase::Held if view.last_call.is_some() => format!("{rehearsal}last call"),
        Phase::Running if view.all_done => format!("{rehearsal}all rounds are done"),
        phase if view.round == 0 => format!("{rehearsal}{phase} · before round 1 of {}", view.rounds),
        phase => format!("{rehearsal}{phase} · round {} of {}", view.round, view.rounds),
    }
}

/// What is asked once before the keys are shown.
pub fn keys_question(other: &str) -> String {
    format!("Whoever sees the keys can lead the class. Show them here? Enter or y: yes, {other}: no")
}

/// What is asked once before keys are drawn by which consoles have come in that are here now.
pub fn new_keys_question(here: &[String], other: &str) -> String {
    let them = if here.len() == 1 { "is" } else { "are" };
    format!(
        "{} came in by the keys and {them} let go. Draw new ones? Enter or y: yes, {other}: no",
        room::some_of(here)
    )
}

/// What is asked when a class closes whose teas are not all revealed; what is a yes belongs behind it.
pub fn still_blind(view: &View) -> Option<String> {
    let blind = view.teas.iter().filter(|tea| tea.name.is_none()).map(|tea| tea.code.to_string());
    let blind: Vec<String> = blind.collect();
    (!blind.is_empty()).then(|| format!("Still blind: {}. Reveal now?", blind.join(", ")))
}

/// How many seats have something filled in and not sent.
pub fn writers(view: &View) -> usize {
    view.seats.iter().filter(|seat| seat.writing).count()
}

/// The same in words.
pub fn writing(view: &View) -> String {
    match writers(view) {
        0 => "nobody is writing".into(),
        1 => "1 is writing".into(),
        n => format!("{n} are writing"),
    }
}

/// One line about a class.
pub fn heading(room: &Room) -> String {
    let class = &room.class;
    format!(
        "{} · {} · {} teas, {} rounds, {} seats expected",
        class.title,
        class.date,
        class.teas.len(),
        class.rounds(),
        class.seats
    )
}

/// Which tea is under which code, for the teacher alone.
pub fn key(room: &Room) -> String {
    let lines = room.class.coded().map(|(code, tea)| {
        let (coolest, hottest) =
            tea.temp_c.iter().fold((f64::MAX, f64::MIN), |(a, b), &t| (a.min(t), b.max(t)));
        let temp = if coolest == hottest { format!("{hottest}") } else { format!("{coolest}–{hottest}") };
        format!(
            "{code}  {} · {} g in {} ml ({:.1} g per 100 ml) at {temp} °C · {} steep{}",
            tea.name,
            tea.leaf_g,
            tea.water_ml,
            tea.dose_g_per_100_ml(),
            tea.steeps(),
            if tea.steeps() == 1 { "" } else { "s" }
        )
    });
    let lines: Vec<String> = lines.collect();
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn people(names: impl IntoIterator<Item = usize>, called: &str) -> Vec<String> {
        names.into_iter().map(|n| format!("{called} {n}")).collect()
    }

    #[test]
    fn of_many_at_the_door_twenty_are_named_in_lines_that_fit_a_terminal() {
        let door = AtDoor { by_name: true, names: people(1..201, "stranger"), ahead: people(1..24, "Zoe") };
        let said = at_door(&door);
        assert!(said.lines().all(|line| fit::columns(line) <= COLUMNS), "{said}");
        insta::assert_snapshot!(said);
    }

    #[test]
    fn who_is_let_in_and_not_yet_here_is_named_with_how_to_take_it_back() {
        let door = AtDoor { by_name: true, names: Vec::new(), ahead: vec!["Zoe".into()] };
        assert_eq!(
            at_door(&door),
            "who is new is let in by name; nobody is at the door\nlet in, not yet here: Zoe; `away Zoe` takes that back"
        );
    }
}

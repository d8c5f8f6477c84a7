//! What was put right or left out of the figures, and why: a review says so first.

use class::course::{Act, Steep};
use protocol::Code;
use room::{Amendment, Console, Room};
use schemars::JsonSchema;
use serde::Serialize;

/// One thing that was put right or left out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Aside {
    /// What was done.
    pub what: What,
    /// The seat it is about, as it was called then; `null` for a cup of all, and for several seats.
    pub seat: Option<String>,
    /// Its new name, or the seat that it was joined to or parted from; else `null`.
    pub to: Option<String>,
    /// The tea of a cup; else `null`.
    pub tea: Option<Code>,
    /// The steep of a cup; else `null`.
    pub steep: Option<u32>,
    /// How many scores are left out by it, or count again; `null` where it is not about a cup.
    pub scores: Option<usize>,
    /// Why, in the words of whoever did it; `null` where nobody is asked.
    pub reason: Option<String>,
    /// All that in a sentence.
    pub text: String,
}

/// What can be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Entries are missing that a seat had been told of.
    FellShort,
    /// A seat got another name.
    Renamed,
    /// Two seats were one person's.
    Joined,
    /// Two seats that had been joined are two persons' again.
    Parted,
    /// Seats were sent away by the teacher.
    SentAway,
    /// Seats that had been sent away were let back.
    LetBack,
    /// A cup, or one seat's score of it, does not count.
    Voided,
    /// A cup that was voided by mistake, or one seat's score of it, counts again.
    Restored,
    /// Not all of the ledger could be read: what follows is missing.
    Missing,
    /// Entries were damaged and could not be saved.
    Lost,
    /// The teacher changed the course while the class ran: a steep was longer or shorter, left out, or done again.
    Steered,
    /// A seat's scores do not count, as the ledger says.
    LeftOut,
    /// A seat's scores do not count in this review.
    LeftOutHere,
}

impl Aside {
    fn of(what: What, seat: Option<&str>, text: String) -> Self {
        let seat = seat.map(String::from);
        Self { what, seat, to: None, tea: None, steep: None, scores: None, reason: None, text }
    }
}

/// What of a class is not there any more, then what was put right, in the order of the ledger; then who is left out.
pub fn aside(room: &Room) -> Vec<Aside> {
    let missing = room.damage.missing().map(|text| Aside::of(What::Missing, None, text.into()));
    let lost = room.damage.lost().map(|text| Aside::of(What::Lost, None, text));
    let put_right = room.amendments.iter().enumerate();
    let put_right = put_right.map(|(place, amendment)| done_at(amended(amendment), room.amended_at(place)));
    let mut all: Vec<Aside> = missing.into_iter().chain(lost).chain(put_right).collect();
    all.extend(room.class.cards(|code| room.is_open(code)).iter().flat_map(|card| steered(room, card.code)));
    all.extend(room.left_out().map(|(seat, only_here)| {
        let name = &seat.name;
        let gave =
            room.scores.of_seat(seat.id).next().is_some() || room.answers.of_seat(seat.id).next().is_some();
        let (what, text) = match (only_here, gave) {
            (true, _) => (What::LeftOutHere, format!("{name} is left out of this review.")),
            (false, true) => {
                (What::LeftOut, format!("{name} was left out by the teacher: these scores do not count."))
            }
            (false, false) => (
                What::LeftOut,
                format!("{name} was left out by the teacher, and there is no score of {name}."),
            ),
        };
        Aside::of(what, Some(name), text)
    }));
    all
}

/// Where a tea was run otherwise than written. While it is blind nothing is said of its seconds: they could tell what it is.
fn steered(room: &Room, code: Code) -> Vec<Aside> {
    let written =
        |round: u32| room.class.tea(code).and_then(|tea| tea.steep_s.get(round as usize - 1).copied());
    let line = |(round, steep): (u32, &Steep)| {
        let (really_s, open) = (steep.really_s(), room.is_open(code));
        let took = if open { format!(", {really_s} s") } else { String::new() };
        let text = match written(round) {
            // Told by its act.
            _ if steep.skipped => return None,
            None if room.class.tea(code).is_some_and(|tea| steep.steep <= tea.steeps()) => {
                format!("{code} steep {} was done again in round {round}{took}.", steep.steep)
            }
            None => {
                format!("{code} was steeped once more in round {round}, as its steep {}{took}.", steep.steep)
            }
            Some(written_s) if written_s == really_s => return None,
            Some(written_s) if open => {
                format!("{code} sat {really_s} s in round {round}, not {written_s} s.")
            }
            Some(_) => format!("{code} was given another time in round {round} than was written."),
        };
        let aside = Aside::of(What::Steered, None, text);
        Some(Aside { tea: Some(code), steep: Some(round), ..aside })
    };
    left_out(room, code).into_iter().chain(room.course.of(code).filter_map(line)).collect()
}

/// What was left out of a tea, once for each act by which it was and as far as it was, with the teacher's reason.
fn left_out(room: &Room, code: Code) -> Vec<Aside> {
    let told = |(place, act): (usize, &Act)| {
        let by = |&(round, _): &(u32, &Steep)| {
            room.course.left_out_by((code, round)).is_some_and(|by| std::ptr::eq(by, act))
        };
        let (first, last) = (room.course.of(code).find(by)?.0, room.course.of(code).rfind(by)?.0);
        let what = match act {
            Act::Dropped { .. } if room.course.is_dropped(code) => format!("dropped from round {first} on"),
            Act::Dropped { .. } if first < last => format!("dropped for rounds {first} to {last}"),
            Act::Dropped { .. } => format!("dropped for round {first}"),
            _ => format!("left out of round {first}"),
        };
        let why = act.reason().map_or(".".into(), |reason| {
            if reason.ends_with(['.', '!', '?']) { format!(": {reason}") } else { format!(": {reason}.") }
        });
        let text = format!("{code} was {what}{why}");
        let reason = act.reason().map(String::from);
        let aside =
            Aside { tea: Some(code), steep: Some(first), reason, ..Aside::of(What::Steered, None, text) };
        Some(done_at(aside, room.steered_at(place)))
    };
    room.course.acts().iter().enumerate().filter_map(told).collect()
}

/// What was done at a console elsewhere says so.
fn done_at(mut aside: Aside, console: Option<&Console>) -> Aside {
    if let Some(console) = console {
        aside.text = match aside.text.strip_suffix('.') {
            Some(said) => format!("{said} (at {console})."),
            None => format!("{} (at {console})", aside.text),
        };
    }
    aside
}

fn amended(amendment: &Amendment) -> Aside {
    let mut text = amendment.to_string();
    if !text.ends_with(['.', '!', '?']) {
        text.push('.');
    }
    match amendment {
        Amendment::FellShort { seat, .. } => Aside::of(What::FellShort, Some(seat), text),
        Amendment::Renamed { from, to } => {
            Aside { to: Some(to.clone()), ..Aside::of(What::Renamed, Some(from), text) }
        }
        Amendment::Joined { from, into } => {
            Aside { to: Some(into.clone()), ..Aside::of(What::Joined, Some(from), text) }
        }
        Amendment::Parted { seat, from } => {
            Aside { to: Some(from.clone()), ..Aside::of(What::Parted, Some(seat), text) }
        }
        Amendment::SentAway { seats, reason, .. } => {
            let reason = Some(reason.clone()).filter(|reason| !reason.is_empty());
            Aside { reason, ..Aside::of(What::SentAway, one(seats), text) }
        }
        Amendment::LetBack { seats } => Aside::of(What::LetBack, one(seats), text),
        Amendment::Voided { code, steep, seat, reason, scores } => Aside {
            tea: Some(*code),
            steep: Some(*steep),
            scores: Some(*scores),
            reason: Some(reason.clone()),
            ..Aside::of(What::Voided, seat.as_deref(), text)
        },
        Amendment::Restored { code, steep, seat, reason, scores } => Aside {
            tea: Some(*code),
            steep: Some(*steep),
            scores: Some(*scores),
            reason: Some(reason.clone()),
            ..Aside::of(What::Restored, seat.as_deref(), text)
        },
    }
}

/// The only one of some names.
fn one(names: &[String]) -> Option<&str> {
    if let [name] = names { Some(name) } else { None }
}

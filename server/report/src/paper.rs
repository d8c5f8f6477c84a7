//! The paper form as a file to fill in: one row for each seat and cup in serving order, one column for each line of the sheet.
//! `kettlecall enter` reads it. It holds codes only, never a tea's name.

mod workbook;

pub use workbook::workbook;

use crate::csv::{COLUMNS, WORD, file, guarded};
use protocol::text::name_key;
use protocol::{Attribute, Code, Score, Sheet};
use room::{Room, Seat};

/// The columns that say which cup it is.
const CUP: [&str; 3] = ["seat", "code", "steep"];
/// The column that is there if some score was changed.
const REVISION: &str = "revision";
/// What an attribute's head begins with whose name is that of another column.
const APART: &str = "score: ";

/// What stands in the form for the name of somebody who is yet to come, before the number of the place.
const STAND_IN: &str = "Seat ";

/// Whether a name is one that the form gives to a place which nobody has taken.
pub fn is_stand_in(name: &str) -> bool {
    let number = name.trim().strip_prefix(STAND_IN).map(str::trim);
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

/// What one line of the sheet asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asks {
    /// Points on a scale.
    Attribute(Attribute),
    /// Whether it is too thin or too strong.
    Strength,
    /// The words that fit.
    Words,
    /// A note.
    Note,
}

impl Asks {
    /// What it is called in the column `attribute` of the long form.
    pub fn name(&self) -> &str {
        match self {
            Asks::Attribute(attribute) => &attribute.name,
            Asks::Strength => "strength",
            Asks::Words => WORD,
            Asks::Note => "note",
        }
    }
}

/// One line of the sheet, as a column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The head of its column.
    pub head: String,
    /// What it asks.
    pub asks: Asks,
}

impl Line {
    fn of(asks: Asks) -> Self {
        let name = asks.name();
        let own = ["words", WORD, "strength", "note", REVISION];
        let taken = COLUMNS.iter().map(|(column, _)| *column).chain(own);
        let head = match &asks {
            Asks::Words => "words".into(),
            Asks::Attribute(_) if { taken }.any(|column| column == name_key(name)) => {
                format!("{APART}{name}")
            }
            _ => name.to_string(),
        };
        Self { head, asks }
    }

    /// Whether a column of this head holds the line's answers, however it is spelt.
    pub fn is_named(&self, head: &str) -> bool {
        let head = name_key(head);
        head == name_key(&self.head) || self.asks == Asks::Words && head == WORD
    }

    /// A score's answer as it is typed; empty if it has none.
    fn answer(&self, score: &Score) -> String {
        match &self.asks {
            Asks::Attribute(a) => score.values.get(&a.name).map_or(String::new(), i32::to_string),
            Asks::Strength => score.strength.map_or(String::new(), |vote| vote.to_string()),
            Asks::Words => score.words.join(", "),
            Asks::Note => score.note.clone(),
        }
    }
}

/// The lines of a sheet in the order of the printed form.
pub fn lines(sheet: &Sheet) -> Vec<Line> {
    let attributes = sheet.attributes.iter().cloned().map(Asks::Attribute);
    let strength = sheet.strength.then_some(Asks::Strength);
    let words = (!sheet.words.is_empty()).then_some(Asks::Words);
    let note = sheet.note.then_some(Asks::Note);
    attributes.chain(strength).chain(words).chain(note).map(Line::of).collect()
}

/// One cup before one seat.
struct Cup<'a> {
    seat: String,
    code: Code,
    steep: u32,
    /// What the ledger has of it already.
    kept: Option<&'a Score>,
}

/// Every cup of every seat: seat after seat by their places, round after round, in the order in which the seat tastes them. Cups that
/// do not count are left out. A place that nobody has taken yet is called as on its printed form.
fn cups(room: &Room) -> Vec<Cup<'_>> {
    let taken = room.seats.iter().filter_map(|seat| seat.place).max().map_or(0, |last| last + 1);
    (0..taken.max(room.class.seats as usize)).flat_map(|place| of_place(room, place)).collect()
}

fn of_place(room: &Room, place: usize) -> Vec<Cup<'_>> {
    let seat: Option<&Seat> = room.seats.iter().find(|seat| seat.place == Some(place));
    let name = match seat {
        Some(seat) if !room.is_counted(seat) => return Vec::new(),
        Some(seat) => seat.name.clone(),
        None => format!("{STAND_IN}{}", place + 1),
    };
    if seat.is_none() && room.seat_meant(&name).is_some() {
        return Vec::new();
    }
    let served = |cup| room.course.steep(cup).is_some_and(|steep| !steep.skipped);
    let order = room.order_at(place);
    let rounds = (1..=room.course.rounds()).flat_map(|steep| order.iter().map(move |&code| (code, steep)));
    let there = rounds.filter(|&cup| served(cup) && !room.is_void(cup));
    there
        .map(|(code, steep)| {
            let kept = seat.and_then(|seat| room.scores.of(seat.id, (code, steep)));
            Cup { seat: name.clone(), code, steep, kept: kept.map(|kept| &kept.score) }
        })
        .collect()
}

/// The form of a class as a table of texts: the heads, then the rows.
struct Form<'a> {
    lines: Vec<Line>,
    cups: Vec<Cup<'a>>,
    /// Whether there is a column for revisions.
    revised: bool,
}

impl<'a> Form<'a> {
    fn of(room: &'a Room) -> Self {
        let cups = cups(room);
        let revised = cups.iter().any(|cup| cup.kept.is_some_and(|kept| kept.revision > 1));
        Self { lines: lines(&room.class.sheet), cups, revised }
    }

    fn heads(&self) -> Vec<&str> {
        let lines = self.lines.iter().map(|line| line.head.as_str());
        CUP.into_iter().chain(lines).chain(self.revised.then_some(REVISION)).collect()
    }

    /// The answers that the ledger has of a cup, line by line, and its revision.
    fn answers(&self, cup: &Cup<'_>) -> Vec<String> {
        let answer = |line: &Line| cup.kept.map_or(String::new(), |score| line.answer(score));
        let revision = || cup.kept.map_or(String::new(), |score| score.revision.to_string());
        self.lines.iter().map(answer).chain(self.revised.then(revision)).collect()
    }
}

/// The form as CSV (RFC 4180). What the ledger has already stands in it, so that entering it changes nothing.
pub fn csv(room: &Room) -> String {
    let form = Form::of(room);
    let heads: Vec<String> = form.heads().into_iter().map(guarded).collect();
    let row = |cup: &Cup<'_>| {
        let first = [guarded(&cup.seat), cup.code.to_string(), cup.steep.to_string()];
        first.into_iter().chain(form.answers(cup).iter().map(|text| guarded(text))).collect()
    };
    file(&heads, form.cups.iter().map(row))
}

#[cfg(test)]
mod tests;

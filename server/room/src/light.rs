//! The light twin of the fold, for a review of many ledgers: the seats, where the class stands, what is revealed, and the
//! scores that count, as numbers.
//!
//! Two ways lead here. [`ClassScores::of`] takes them from the room and says what is right. [`Reader`] takes them
//! straight from the stored entries and parses only what is needed, many times faster; a test holds the two equal.

mod reader;
#[cfg(test)]
mod tests;

pub use reader::Reader;

use crate::{Amendment, Damage, Room, Seat};
use class::Class;
use class::course::Course;
use protocol::{Code, Phase, Strength};
use std::collections::BTreeSet;
use uuid::Uuid;

/// One class with the scores that count.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassScores {
    /// Its id.
    pub class_id: Uuid,
    /// The class, its codes drawn.
    pub class: Class,
    /// The class as it was run.
    pub course: Course,
    /// Where it stands.
    pub phase: Phase,
    /// The teas that have been revealed.
    pub revealed: BTreeSet<Code>,
    /// Whether it was only rehearsed.
    pub rehearsal: bool,
    /// The names of the seats whose scores count, in the order in which they were taken.
    pub seats: Vec<String>,
    /// The names of the seats that are left out.
    pub left_out: Vec<String>,
    /// The names of the seats that were joined to another one.
    pub joined: Vec<String>,
    /// The names that seats had before they were renamed.
    pub former_names: Vec<String>,
    /// How many times a cup, or a seat's score of one, was voided.
    pub voided: usize,
    /// What is not there any more.
    pub damage: Damage,
    /// The cups that were scored, by seat id and cup.
    cups: Vec<ScoredCup>,
    /// Their points, as many for each as the sheet has attributes.
    points: Vec<Option<i32>>,
}

/// One cup that a seat has scored.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ScoredCup {
    /// The place of its seat.
    pub seat: usize,
    /// The place of its tea in the class file.
    pub tea: usize,
    /// The steep, from 1.
    pub steep: u32,
    /// The strength vote.
    pub strength: Option<Strength>,
}

impl ClassScores {
    fn new(class_id: Uuid, class: Class) -> Self {
        Self {
            class_id,
            course: Course::written(&class),
            class,
            phase: Phase::Lobby,
            revealed: BTreeSet::new(),
            rehearsal: false,
            seats: Vec::new(),
            left_out: Vec::new(),
            joined: Vec::new(),
            former_names: Vec::new(),
            voided: 0,
            damage: Damage::default(),
            cups: Vec::new(),
            points: Vec::new(),
        }
    }

    /// What a room holds of it. A score of nobody or of no cup of the class, which no room takes, is left out,
    /// and so are those of seats that do not count.
    pub fn of(room: &Room) -> Self {
        let mut scores = Self::new(room.class_id, room.class.clone());
        scores.course = room.course.clone();
        scores.phase = room.phase;
        scores.revealed = room.revealed.keys().copied().collect();
        scores.rehearsal = room.rehearsal().is_some();
        scores.left_out = room.left_out().map(|(seat, _)| seat.name.clone()).collect();
        let joined = room.seats.iter().filter(|seat| seat.same_as.is_some());
        scores.joined = joined.map(|seat| seat.name.clone()).collect();
        scores.former_names = room.former_names().map(String::from).collect();
        scores.voided = room.amendments.iter().filter(|a| matches!(a, Amendment::Voided { .. })).count();
        scores.damage = room.damage.clone();
        let counted: Vec<&Seat> = room.counted().collect();
        scores.seats = counted.iter().map(|s| s.name.clone()).collect();
        let place = |id| counted.iter().position(|s| room.seat_of(id).is_some_and(|of| of.id == s.id));
        for kept in room.scores.counting() {
            let (score, sheet) = (&kept.score, &room.class.sheet);
            let points = sheet.attributes.iter().map(|a| score.values.get(&a.name).copied());
            scores.add(place(kept.seat), score.code, score.steep, score.strength, points);
        }
        scores
    }

    fn add(
        &mut self,
        seat: Option<usize>,
        code: Code,
        steep: u32,
        strength: Option<Strength>,
        points: impl Iterator<Item = Option<i32>>,
    ) {
        let tea = self.class.teas.iter().position(|t| t.code == Some(code));
        let tea = tea.filter(|_| self.course.steep((code, steep)).is_some());
        if let (Some(seat), Some(tea)) = (seat, tea) {
            self.cups.push(ScoredCup { seat, tea, steep, strength });
            self.points.extend(points);
        }
    }

    /// How many sheets count.
    pub fn sheets(&self) -> usize {
        self.cups.len()
    }

    /// The sheets that count, each with its points in the order of the class's attributes.
    pub fn filled(&self) -> impl Iterator<Item = (&ScoredCup, &[Option<i32>])> {
        let width = self.class.sheet.attributes.len();
        let each = self.cups.iter().enumerate();
        each.map(move |(i, cup)| (cup, &self.points[i * width..(i + 1) * width]))
    }

    /// Whether a tea may be called by its name.
    pub fn is_open(&self, tea: usize) -> bool {
        !self.class.blind || self.class.teas[tea].code.is_some_and(|code| self.revealed.contains(&code))
    }
}

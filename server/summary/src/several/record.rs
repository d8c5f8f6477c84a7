//! What pooling needs of one class: the scores that count, as numbers.
//!
//! Two ways lead here. [`Record::of`] takes it from the room, the fold of the whole ledger, and says what is right.
//! [`Reader`] takes it straight from the stored entries and reads only what is needed, many times faster; which score
//! counts it asks [`Counting`], as the room does, and a test holds the two equal.

use class::Class;
use protocol::{Code, Phase, SeatId, Strength};
use room::scores::Counting;
use room::{EMPTY, Event, NO_CLASS, Room, jumps};
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::collections::{BTreeSet, HashMap};
use std::fmt;
use uuid::Uuid;

/// One class.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Its id.
    pub class_id: Uuid,
    /// The class, its codes drawn.
    pub class: Class,
    /// Where it stands.
    pub phase: Phase,
    /// The teas that have been revealed.
    pub revealed: BTreeSet<Code>,
    /// The names of the seats, in the order in which they were taken.
    pub seats: Vec<String>,
    /// The sheets that count, by seat id and cup.
    sheets: Vec<Filled>,
    /// Their points, as many for each as the sheet has attributes.
    points: Vec<Option<i32>>,
}

/// One filled sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filled {
    /// The place of its seat.
    pub seat: usize,
    /// The place of its tea in the class file.
    pub tea: usize,
    /// The steep, from 1.
    pub steep: u32,
    /// The strength vote.
    pub strength: Option<Strength>,
}

impl Record {
    fn new(class_id: Uuid, class: Class) -> Self {
        let (revealed, seats, sheets, points) = (BTreeSet::new(), Vec::new(), Vec::new(), Vec::new());
        Self { class_id, class, phase: Phase::Lobby, revealed, seats, sheets, points }
    }

    /// What a room holds of it. A score of nobody or of no cup of the class, which no room takes, is left out.
    pub fn of(room: &Room) -> Self {
        let mut record = Self::new(room.class_id, room.class.clone());
        record.phase = room.phase;
        record.revealed = room.revealed.keys().copied().collect();
        record.seats = room.seats.iter().map(|s| s.name.clone()).collect();
        for kept in room.scores.counting() {
            let (score, sheet) = (&kept.score, &room.class.sheet);
            let seat = room.seats.iter().position(|s| s.id == kept.seat);
            let points = sheet.attributes.iter().map(|a| score.values.get(&a.name).copied());
            record.add(seat, score.code, score.steep, score.strength, points);
        }
        record
    }

    fn add(
        &mut self,
        seat: Option<usize>,
        code: Code,
        steep: u32,
        strength: Option<Strength>,
        points: impl Iterator<Item = Option<i32>>,
    ) {
        let tea =
            self.class.teas.iter().position(|t| t.code == Some(code) && (1..=t.steeps()).contains(&steep));
        if let (Some(seat), Some(tea)) = (seat, tea) {
            self.sheets.push(Filled { seat, tea, steep, strength });
            self.points.extend(points);
        }
    }

    /// How many sheets count.
    pub fn sheets(&self) -> usize {
        self.sheets.len()
    }

    /// The sheets that count, each with its points in the order of the class's attributes.
    pub fn filled(&self) -> impl Iterator<Item = (&Filled, &[Option<i32>])> {
        let width = self.class.sheet.attributes.len();
        self.sheets
            .iter()
            .enumerate()
            .map(move |(i, filled)| (filled, &self.points[i * width..(i + 1) * width]))
    }

    /// Whether a tea may be called by its name.
    pub fn is_open(&self, tea: usize) -> bool {
        !self.class.blind || self.class.teas[tea].code.is_some_and(|code| self.revealed.contains(&code))
    }
}

/// Takes the stored entries of a ledger one after the other.
#[derive(Default)]
pub struct Reader {
    record: Option<Record>,
    last: u64,
    wrong: Option<String>,
    seats: HashMap<SeatId, usize>,
    counting: Counting,
    scores: Vec<(SeatId, Code, u32, Option<Strength>)>,
    points: Vec<Option<i32>>,
}

/// A stored score, as far as it is read.
#[derive(Deserialize)]
struct Scored<'a> {
    seat: SeatId,
    #[serde(borrow)]
    score: Score<'a>,
}

#[derive(Deserialize)]
struct Score<'a> {
    id: Uuid,
    #[serde(borrow)]
    code: Text<'a>,
    steep: u32,
    revision: u32,
    #[serde(borrow)]
    values: Points<'a>,
    #[serde(default)]
    strength: Option<Strength>,
}

/// Text that is copied only if it is written with escapes.
#[derive(Deserialize)]
struct Text<'a>(#[serde(borrow)] Cow<'a, str>);

/// Attributes and their points.
struct Points<'a>(Vec<(Text<'a>, i32)>);

impl<'de: 'a, 'a> Deserialize<'de> for Points<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pairs;
        impl<'de> Visitor<'de> for Pairs {
            type Value = Points<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("points by attribute")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut points = Vec::with_capacity(12);
                while let Some(pair) = map.next_entry()? {
                    points.push(pair);
                }
                Ok(Points(points))
            }
        }
        deserializer.deserialize_map(Pairs)
    }
}

impl Reader {
    /// Takes the next entry. The kinds that say nothing about scores are not looked into.
    ///
    /// # Errors
    /// What makes the entry unreadable.
    pub fn take(&mut self, seq: u64, kind: &str, body: &str) -> Result<(), String> {
        let Some(record) = &mut self.record else {
            match Event::from_json(body)? {
                Event::Class { class_id, class, .. } => self.record = Some(Record::new(class_id, *class)),
                _ => self.wrong = self.wrong.take().or(Some(NO_CLASS.into())),
            }
            self.last = seq;
            return Ok(());
        };
        if seq != self.last + 1 && self.wrong.is_none() {
            self.wrong = Some(jumps(self.last, seq));
        }
        self.last = seq;
        match kind {
            "scored" => return self.score(body),
            "started" | "resumed" => record.phase = Phase::Running,
            "held" => record.phase = Phase::Held,
            "closed" => record.phase = Phase::Closed,
            "opened" | "released" => {}
            _ => match Event::from_json(body)? {
                Event::Seated { seat, name, .. } => {
                    self.seats.entry(seat).or_insert_with(|| {
                        record.seats.push(name);
                        record.seats.len() - 1
                    });
                }
                Event::Revealed { codes } => record.revealed.extend(codes),
                _ => {}
            },
        }
        Ok(())
    }

    fn score(&mut self, body: &str) -> Result<(), String> {
        let Scored { seat, score } = serde_json::from_str(body).map_err(|e| e.to_string())?;
        let code: Code = score.code.0.parse()?;
        if !self.counting.add(score.id, seat, (code, score.steep), score.revision) {
            return Ok(());
        }
        self.scores.push((seat, code, score.steep, score.strength));
        let sheet = self.record.iter().flat_map(|r| &r.class.sheet.attributes);
        // Of two points for one attribute the later stands, as in the room.
        let point = |name: &str| score.values.0.iter().rfind(|(n, _)| n.0 == name).map(|&(_, points)| points);
        self.points.extend(sheet.map(|a| point(&a.name)));
        Ok(())
    }

    /// The class as it stands after the last entry.
    ///
    /// # Errors
    /// A sentence when the entries are no ledger of a class.
    pub fn finish(self) -> Result<Record, String> {
        if let Some(wrong) = self.wrong {
            return Err(wrong);
        }
        let mut record = self.record.ok_or(EMPTY)?;
        let width = record.class.sheet.attributes.len();
        for place in self.counting.places() {
            let (seat, code, steep, strength) = self.scores[place];
            let points = &self.points[place * width..(place + 1) * width];
            record.add(self.seats.get(&seat).copied(), code, steep, strength, points.iter().copied());
        }
        Ok(record)
    }
}

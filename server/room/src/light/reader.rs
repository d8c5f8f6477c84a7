//! Stored entries, one after the other, to the scores that count.

use super::ClassScores;
use crate::counting::Counting;
use crate::event::Kind;
use crate::names::Names;
use crate::scores::Cup;
use crate::{EMPTY, Event, NO_CLASS, jumps};
use protocol::{Code, Phase, SeatId, Strength};
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::fmt;
use uuid::Uuid;

/// Takes the stored entries of a ledger one after the other.
#[derive(Default)]
pub struct Reader {
    read: Option<ClassScores>,
    last: u64,
    wrong: Option<String>,
    seats: Vec<Seat>,
    by_id: HashMap<SeatId, usize>,
    names: Names,
    former_names: Vec<String>,
    /// Left out by name, whatever the ledger says.
    without: Vec<String>,
    opened: bool,
    /// Whose answers came in, by their ids.
    answered: HashMap<Uuid, SeatId>,
    counting: Counting<Cup>,
    scores: Vec<(SeatId, Code, u32, Option<Strength>)>,
    points: Vec<Option<i32>>,
}

/// What is kept of a seat.
struct Seat {
    name: String,
    counts: bool,
    /// Sent away, and whether it counted before, where its scores went with it.
    away: Option<Option<bool>>,
    /// The place of the seat that it was joined to.
    same_as: Option<usize>,
}

impl Reader {
    /// Leaves seats out by their names, whatever the ledger says.
    pub fn without(names: &[String]) -> Self {
        Self { without: names.to_vec(), ..Self::default() }
    }

    /// Takes the next entry. The kinds that say nothing about scores are not parsed.
    ///
    /// # Errors
    /// What makes the entry unreadable.
    pub fn take(&mut self, seq: u64, kind: &str, json: &str) -> Result<(), String> {
        let Some(read) = &mut self.read else {
            match Event::read(kind, json)? {
                Event::Class { class_id, class, .. } => self.read = Some(ClassScores::new(class_id, *class)),
                _ => self.wrong = self.wrong.take().or(Some(NO_CLASS.into())),
            }
            self.last = seq;
            return Ok(());
        };
        if seq != self.last + 1 && self.wrong.is_none() {
            self.wrong = Some(jumps(self.last, seq));
        }
        self.last = seq;
        // Every kind has its arm, as every event has one in `Room::fold`.
        match Kind::named(kind)? {
            Kind::Scored => self.score(json)?,
            Kind::Answered => {
                let Answered { seat, answer } = serde_json::from_str(json).map_err(|e| e.to_string())?;
                self.answered.entry(answer.id).or_insert(seat);
            }
            Kind::Seated
            | Kind::SeatCounts
            | Kind::SentAway
            | Kind::LetBack
            | Kind::Renamed
            | Kind::SeatsJoined
            | Kind::SeatsParted
            | Kind::Voided
            | Kind::Restored => {
                read.voided += usize::from(kind == Kind::Voided.name());
                self.seat(Event::read(kind, json)?)
            }
            // Only the first says whether it was a rehearsal.
            Kind::Opened if !self.opened => {
                if let Event::Opened { pace, .. } = Event::read(kind, json)? {
                    (self.opened, read.rehearsal) = (true, pace != 1.0);
                }
            }
            Kind::Revealed => {
                if let Event::Revealed { codes } = Event::read(kind, json)? {
                    read.revealed.extend(codes);
                }
            }
            Kind::Steered => {
                if let Event::Steered { act, .. } = Event::read(kind, json)? {
                    read.course = read.course.after(&read.class, &act);
                }
            }
            Kind::Started | Kind::Resumed => read.phase = Phase::Running,
            Kind::Held => read.phase = Phase::Held,
            Kind::Closed => read.phase = Phase::Closed,
            Kind::Lost => {
                if let Event::Lost { at_end, .. } = Event::read(kind, json)? {
                    read.damage.lose(seq, at_end);
                }
            }
            // Nothing about seats, scores and names.
            Kind::Class
            | Kind::Opened
            | Kind::JoinCodeDrawn
            | Kind::Admitted
            | Kind::AdmittedNoMore
            | Kind::DoorSet
            | Kind::KeysDrawn
            | Kind::Released
            | Kind::TestOpened
            | Kind::SheetsReopened
            | Kind::SheetsShut
            | Kind::Said
            | Kind::LastCall
            | Kind::FellShort => {}
        }
        Ok(())
    }

    /// What there is to know of seats, as `Room::fold` has it.
    fn seat(&mut self, event: Event) {
        match event {
            Event::Seated { seat, name, .. } => {
                let (seats, names) = (&mut self.seats, &mut self.names);
                self.by_id.entry(seat).or_insert_with(|| {
                    names.seated(&name, seats.len());
                    seats.push(Seat { name, counts: true, away: None, same_as: None });
                    seats.len() - 1
                });
            }
            Event::SeatCounts { seat, counts, .. } => {
                if let Some(place) = self.place(seat) {
                    let seat = &mut self.seats[place];
                    (seat.counts, seat.away) = (counts, seat.away.map(|_| None));
                }
            }
            Event::SentAway { seats, without_scores, .. } => {
                for id in seats {
                    let Some(place) = self.place(id) else { continue };
                    let seat = &mut self.seats[place];
                    if seat.away.is_none() {
                        seat.away = Some(without_scores.then_some(seat.counts));
                        seat.counts &= !without_scores;
                    }
                }
            }
            Event::LetBack { seats, .. } => {
                for id in seats {
                    let Some(place) = self.place(id) else { continue };
                    let seat = &mut self.seats[place];
                    if let Some(counted) = seat.away.take() {
                        seat.counts = counted.unwrap_or(seat.counts);
                    }
                }
            }
            Event::Renamed { seat, name } => {
                if let Some(place) = self.place(seat) {
                    let from = std::mem::replace(&mut self.seats[place].name, name);
                    self.names.renamed(place, &from, &self.seats[place].name);
                    self.former_names.push(from);
                }
            }
            Event::SeatsJoined { from, into } => {
                if let (Some(old), Some(new)) = (self.place(from), self.place(into))
                    && old != new
                {
                    self.seats[old].same_as = Some(new);
                    self.counting.join(from, into);
                }
            }
            Event::SeatsParted { seat } => {
                if let Some(&place) = self.by_id.get(&seat)
                    && self.seats[place].same_as.take().is_some()
                {
                    self.counting.part(seat);
                }
            }
            Event::Voided { code, steep, seat: Some(seat), .. } => {
                self.counting.void_of(seat, &(code, steep));
            }
            Event::Voided { code, steep, seat: None, .. } => {
                self.counting.void((code, steep));
            }
            Event::Restored { code, steep, seat: Some(seat), .. } => {
                self.counting.restore_of(seat, &(code, steep));
            }
            Event::Restored { code, steep, seat: None, .. } => {
                self.counting.restore(&(code, steep));
            }
            _ => {}
        }
    }

    /// Where a seat stands, or the one that it was joined to.
    fn place(&self, seat: SeatId) -> Option<usize> {
        self.by_id.get(&seat).map(|&place| self.person(place))
    }

    fn person(&self, mut place: usize) -> usize {
        while let Some(into) = self.seats[place].same_as {
            place = into;
        }
        place
    }

    fn score(&mut self, json: &str) -> Result<(), String> {
        let Scored { seat, score } = serde_json::from_str(json).map_err(|e| e.to_string())?;
        let code: Code = score.code.0.parse()?;
        if !self.counting.add(score.id, seat, (code, score.steep), score.revision) {
            return Ok(());
        }
        self.scores.push((seat, code, score.steep, score.strength));
        let sheet = self.read.iter().flat_map(|read| &read.class.sheet.attributes);
        // Of two points for one attribute the later stands, as in the room.
        let point = |name: &str| score.values.0.iter().rfind(|(n, _)| n.0 == name).map(|&(_, points)| points);
        self.points.extend(sheet.map(|a| point(&a.name)));
        Ok(())
    }

    /// The class as it stands after the last entry.
    ///
    /// # Errors
    /// A sentence when the entries are no ledger of a class.
    pub fn finish(mut self) -> Result<ClassScores, String> {
        if let Some(wrong) = self.wrong.take() {
            return Err(wrong);
        }
        let mut read = self.read.take().ok_or(EMPTY)?;
        read.former_names = std::mem::take(&mut self.former_names);
        let without = self.without.iter().filter_map(|name| self.names.meant(name));
        let without: Vec<usize> = without.map(|place| self.person(place)).collect();
        let mut counted = vec![None; self.seats.len()];
        // Who was sent away before anything came from it is in no review.
        let scored = self.counting.places().map(|place| self.scores[place].0);
        let gave: Vec<SeatId> = scored.chain(self.answered.values().copied()).collect();
        let gave: HashSet<usize> = gave.into_iter().filter_map(|seat| self.place(seat)).collect();
        for (place, seat) in self.seats.iter().enumerate() {
            if seat.same_as.is_some() {
                read.joined.push(seat.name.clone());
            } else if seat.away.is_some() && !gave.contains(&place) {
                continue;
            } else if seat.counts && !without.contains(&place) {
                counted[place] = Some(read.seats.len());
                read.seats.push(seat.name.clone());
            } else {
                read.left_out.push(seat.name.clone());
            }
        }
        let width = read.class.sheet.attributes.len();
        for place in self.counting.places() {
            let (seat, code, steep, strength) = self.scores[place];
            let points = &self.points[place * width..(place + 1) * width];
            let seat = self.place(seat).and_then(|seat| counted[seat]);
            read.add(seat, code, steep, strength, points.iter().copied());
        }
        Ok(read)
    }
}

/// A stored answer, as far as it is read.
#[derive(Deserialize)]
struct Answered {
    seat: SeatId,
    answer: Answer,
}

#[derive(Deserialize)]
struct Answer {
    id: Uuid,
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

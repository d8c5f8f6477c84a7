//! Scores that were taken on paper, entered from a file in the wide form that `enter --template` writes or in the long one of
//! `review --format csv`. Pure: bytes and a room in, entries of the ledger or faults out.
//!
//! Everything goes through [`Room::join`] and [`Room::enter`], so that paper has no rules of its own but two: it is taken after the class is
//! closed, and for cups that this host has not seen poured. Entering is no moment of the class: the entries bear the
//! instant of the ledger's last one, so that what was poured by then stays as it is. Only in a ledger that no host has
//! opened, which has no time of its own, they bear the instants of the file.

use super::fault::Fault;
use super::paper;
use super::paper::Paper;
use super::table::Table;
use class::MAX_SEATS;
use protocol::text::{NAME_CHARS, clean, name_key};
use protocol::wire::{Join, RefusalCode};
use protocol::{HostTime, Score, SeatId, Token};
use report::paper::is_stand_in;
use room::scores::Kept;
use room::{Comer, Entry, Event, Letting, Refusal, Room, Seat};
use std::collections::BTreeSet;
use std::fmt;
use uuid::Uuid;

/// A file that can be entered as a whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Entering {
    /// What is to be appended to the ledger, in one transaction.
    pub entries: Vec<Entry>,
    /// How many scores are new.
    pub scores: usize,
    /// How many were in the ledger already.
    pub there: usize,
    /// The names of the seats that are added, in the order of the file.
    pub seats: Vec<String>,
    /// How many rows of the long form are blanks.
    pub blank: usize,
    /// How many rows of the wide form have nothing filled in.
    pub empty: usize,
    /// The columns that nothing is known of.
    pub unknown: Vec<String>,
    /// What is to be told about the file itself.
    pub notice: Option<String>,
}

impl fmt::Display for Entering {
    /// What is in the file, in words: `12 new scores, 3 there already, 2 blanks; seats added: Zoe`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let plural = |n: usize| if n == 1 { "" } else { "s" };
        write!(f, "{} new score{}, {} there already", self.scores, plural(self.scores), self.there)?;
        if self.blank > 0 {
            write!(f, ", {} blank{}", self.blank, plural(self.blank))?;
        }
        if self.empty > 0 {
            write!(f, ", {} row{} left empty", self.empty, plural(self.empty))?;
        }
        if !self.seats.is_empty() {
            write!(f, "; seats added: {}", self.seats.join(", "))?;
        }
        if !self.unknown.is_empty() {
            write!(f, "; columns left out: {}", self.unknown.join(", "))?;
        }
        if let Some(notice) = &self.notice {
            write!(f, "; {notice}")?;
        }
        Ok(())
    }
}

/// What entering a file adds to a ledger. `ids` gives fresh ids for the seats that are not there yet.
///
/// `new_seats` are the names that may be added: a name that no seat has is else taken for a slip of the pen. Where nobody has
/// sat down at all, there is nobody else who could be meant, and every name may.
///
/// A score without an id gets one that follows from class, seat, cup and revision, so that the same file entered twice
/// adds nothing.
///
/// # Errors
/// Every fault of the file.
pub fn enter(
    room: &Room,
    file: &[u8],
    new_seats: &[String],
    ids: &mut dyn FnMut() -> Uuid,
) -> Result<Entering, Vec<Fault>> {
    let table = Table::read(file, &room.class.sheet)?;
    let papers = paper::papers(room, &table);
    let mut desk = Desk {
        room: room.clone(),
        new_seats: new_seats.iter().map(|name| name_key(name)).collect(),
        nobody_sat: room.seats.is_empty(),
        somebody_named: papers.scores.iter().any(|paper| !is_stand_in(&paper.seat)),
        new_names: new_names(room, &table),
        unknown: BTreeSet::new(),
        done: Entering {
            entries: Vec::new(),
            scores: 0,
            there: 0,
            seats: Vec::new(),
            blank: papers.blank,
            empty: table.empty,
            unknown: table.unknown.clone(),
            notice: table.notice.clone(),
        },
    };
    let mut faults = papers.faults;
    let faulty: BTreeSet<u64> = faults.iter().map(|fault| fault.line).collect();
    for name in new_seats {
        let named = |seat: &str| name_key(seat) == name_key(name);
        let tried = table.rows().any(|row| faulty.contains(&row.line) && named(row.cell("seat")));
        if !tried && !papers.scores.iter().any(|paper| named(&paper.seat)) {
            faults.push(Fault {
                line: 1,
                column: table.column("seat"),
                problem: format!("no score is of {}, which --new-seat names", clean(name, NAME_CHARS)),
                remedy: "write the name as it stands in the file, or leave it out".into(),
            });
        }
    }
    for paper in &papers.scores {
        faults.extend(desk.take(&table, paper, ids).err());
    }
    if faults.is_empty() { Ok(desk.done) } else { Err(faults) }
}

/// The names in a file that no seat has, but for those that the form to fill in gives by itself.
fn new_names(room: &Room, table: &Table) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for row in table.rows() {
        let name = clean(row.cell("seat"), NAME_CHARS);
        let known = || name.is_empty() || is_stand_in(&name) || room.seat_meant(&name).is_some();
        if !known() && names.iter().all(|other| name_key(other) != name_key(&name)) {
            names.push(name);
        }
    }
    names
}

/// The room as it becomes with what is taken in.
struct Desk {
    room: Room,
    /// The names that may be added.
    new_seats: BTreeSet<String>,
    /// Nobody had sat down before.
    nobody_sat: bool,
    /// The file has a name that the form to fill in does not give by itself.
    somebody_named: bool,
    /// The people's names in the file that no seat has.
    new_names: Vec<String>,
    /// The names that nobody has, each of which is one fault.
    unknown: BTreeSet<String>,
    done: Entering,
}

impl Desk {
    fn take(&mut self, table: &Table, paper: &Paper, ids: &mut dyn FnMut() -> Uuid) -> Result<(), Fault> {
        let at = self.instant(paper.at);
        let refused = |column: &str, refusal: Refusal| Fault {
            line: paper.line,
            column: table.column(column),
            problem: refusal.reason,
            remedy: "mend it, or take the score out of the file".into(),
        };
        let seat = match self.room.seat_named(&paper.seat) {
            Some(seat) => seat.id,
            // Paper from before a seat was renamed has its former name, unless that is said to be somebody new.
            None if let Some(seat) = self.renamed(&paper.seat) => seat.id,
            None if !self.may_add(&paper.seat) => return self.unknown_seat(table, paper),
            None => {
                let (token, fresh_seat) = (Token(ids()), SeatId(ids()));
                let join = Join::new(self.room.class_id, paper.seat.clone(), token);
                // Who is on paper was there.
                let letting = Letting { places: Some(MAX_SEATS), by_name: false, on_paper: true };
                let events = self.room.join(&join, Comer::Says(token), fresh_seat, letting);
                for event in events.map_err(|refusal| refused("seat", refusal))? {
                    if let Event::Seated { name, .. } = &event {
                        self.done.seats.push(name.clone());
                    }
                    self.add(at, event);
                }
                fresh_seat
            }
        };
        let Some(score) = self.with_id(seat, paper)? else {
            self.done.there += 1;
            return Ok(());
        };
        let events = self.room.enter(seat, score);
        let events = events.map_err(|refusal| {
            refused(if refusal.code == RefusalCode::UnknownCup { "steep" } else { "score_id" }, refusal)
        })?;
        let new = events.len();
        events.into_iter().for_each(|event| self.add(at, event));
        self.done.scores += new;
        self.done.there += usize::from(new == 0);
        Ok(())
    }

    /// Whether a score is of this seat, or of one that was joined to it.
    fn is_of(&self, kept: &Kept, seat: SeatId) -> bool {
        self.room.seat_of(kept.seat).is_some_and(|of| of.id == seat)
    }

    fn renamed(&self, name: &str) -> Option<&Seat> {
        self.room.seat_meant(name).filter(|_| !self.new_seats.contains(&name_key(name)))
    }

    fn may_add(&self, name: &str) -> bool {
        // Where people are named, a place that still has its number is most likely one of them, in rows that were forgotten.
        let forgotten = self.somebody_named && is_stand_in(name);
        let is_free = || self.nobody_sat && !forgotten && self.room.name_near(name).is_none();
        self.new_seats.contains(&name_key(name)) || is_free()
    }

    /// A name that no seat has is one fault, however many scores are under it.
    fn unknown_seat(&mut self, table: &Table, paper: &Paper) -> Result<(), Fault> {
        if !self.unknown.insert(name_key(&paper.seat)) {
            return Ok(());
        }
        let name = clean(&paper.seat, NAME_CHARS);
        let flag = if name.contains(' ') { format!("\"{name}\"") } else { name.clone() };
        let mend = match self.room.name_near(&paper.seat) {
            _ if is_stand_in(&paper.seat) && self.new_names.is_empty() => {
                "the form to fill in says so where nobody has sat down; write who scored, in every row of theirs.".into()
            }
            _ if is_stand_in(&paper.seat) => format!(
                "the form to fill in says so where nobody has sat down; write {} in every row of theirs.",
                self.new_names.join(" or ")
            ),
            Some(near) => format!("did you mean {near}?"),
            None => "mend the name.".into(),
        };
        let who = if is_stand_in(&paper.seat) {
            format!("If {name} is somebody else,")
        } else {
            "For somebody who has no seat yet".into()
        };
        Err(Fault {
            line: paper.line,
            column: table.column("seat"),
            problem: format!("no seat is named {name}"),
            remedy: format!("{mend} {who} add: --new-seat {flag}"),
        })
    }

    /// The score with its id; `None` if the ledger has it under another one.
    fn with_id(&self, seat: SeatId, paper: &Paper) -> Result<Option<Score>, Fault> {
        let score = paper.score.clone();
        if !score.id.is_nil() {
            return Ok(Some(score));
        }
        let (cup, revision) = ((score.code, score.steep), score.revision);
        let name = format!("paper\n{}\n{}\n{}\n{revision}", name_key(&paper.seat), cup.0, cup.1);
        let score = Score { id: Uuid::new_v5(&self.room.class_id, name.as_bytes()), ..score };
        let same = |kept: &Score| Score { id: score.id, ..kept.clone() } == score;
        if self.room.scores.get(score.id).is_some_and(|kept| self.is_of(kept, seat) && same(&kept.score)) {
            return Ok(Some(score));
        }
        let counting = self.room.scores.of(seat, cup);
        if counting.is_none() && self.room.scores.get(score.id).is_some() {
            let (seat, code, steep, next) = (&paper.seat, cup.0, cup.1, revision + 1);
            return Err(Fault {
                line: paper.line,
                column: None,
                problem: format!(
                    "{seat}'s score of {code} steep {steep} was entered before, and voided since"
                ),
                remedy: format!("write {next} in the column `revision` if this one is to count instead"),
            });
        }
        match counting.map(|kept| &kept.score) {
            Some(kept) if same(kept) => Ok(None),
            Some(kept) if kept.revision >= revision => Err(Fault {
                line: paper.line,
                column: None,
                problem: format!(
                    "{} has scored {} steep {} already, otherwise than here (revision {})",
                    paper.seat, cup.0, cup.1, kept.revision
                ),
                remedy: format!(
                    "take it out, or write {} in the column `revision` if it is to count instead",
                    kept.revision + 1
                ),
            }),
            _ => Ok(Some(score)),
        }
    }

    /// The instant of the next entry.
    fn instant(&self, of_file: Option<HostTime>) -> HostTime {
        let last = self.room.last_at;
        of_file.filter(|_| self.room.anchor.is_none()).map_or(last, |at| at.max(last))
    }

    fn add(&mut self, at: HostTime, event: Event) {
        let seq = self.room.seq + 1;
        self.room.fold(seq, at, event.clone());
        self.done.entries.push(Entry::new(seq, at, event));
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod wide;

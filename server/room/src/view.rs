//! What the teacher sees of a running class, computed from the state at an instant.

use super::{Offer, Room, Seat, Served};
use crate::scores::Cup;
use protocol::{Code, Cue, HostTime, JoinCode, Phase, Role, SeatId, TeaClock, TestKind};

/// The class at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// The class's title.
    pub title: String,
    /// The instant.
    pub now: HostTime,
    /// Where the class stands.
    pub phase: Phase,
    /// When the last call ends, while there is one.
    pub last_call: Option<HostTime>,
    /// What lets a new seat in.
    pub join_code: Option<JoinCode>,
    /// Whether the teacher lets people in by name.
    pub by_name: bool,
    /// The pace of a class that is only rehearsed.
    pub rehearsal: Option<f64>,
    /// The round at hand, 0 before the first cue.
    pub round: u32,
    /// How many rounds there are.
    pub rounds: u32,
    /// How many seats are expected.
    pub expected: u32,
    /// How many pairs of hands pour.
    pub pourers: u8,
    /// The kettles by name, in the order of the class file.
    pub kettles: Vec<String>,
    /// The seats in the order in which they were taken.
    pub seats: Vec<SeatView>,
    /// The teas as the seats see them.
    pub teas: Vec<TeaView>,
    /// What comes next, in order.
    pub coming: Vec<Cue>,
    /// Whether the last cue of the timetable has come.
    pub all_done: bool,
    /// Sheets in and due in this round.
    pub round_in: Tally,
    /// Sheets in and due for everything decanted so far.
    pub class_in: Tally,
    /// What the votes suggest for steeps that are not poured yet.
    pub suggestions: Vec<Offer>,
    /// The difference tests.
    pub tests: Vec<TestView>,
}

/// One difference test.
#[derive(Clone, Debug, PartialEq)]
pub struct TestView {
    /// Its number, from 1.
    pub number: u32,
    /// The kind of test.
    pub kind: TestKind,
    /// Whether it is open to the seats.
    pub open: bool,
    /// Seats that have answered, and all that are asked.
    pub answered: Tally,
    /// The names of those that have not.
    pub missing: Vec<String>,
}

/// How many are in, of how many due.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Filled sheets that have come in.
    pub present: usize,
    /// Sheets due; who owes which, says [`Room::is_due`].
    pub due: usize,
}

/// One seat.
#[derive(Clone, Debug, PartialEq)]
pub struct SeatView {
    /// Its id.
    pub id: SeatId,
    /// Its name.
    pub name: String,
    /// Which pourer it is, if any.
    pub pourer: Option<u8>,
    /// What it has come for.
    pub role: Role,
    /// Sent away by the teacher.
    pub away: bool,
    /// Whether the teacher lets its scores count.
    pub counts: bool,
    /// Whether something is filled in there and not sent; filled in by the owner, as the next.
    pub writing: bool,
    /// Whether it is linked just now.
    pub linked: bool,
    /// Its sheets for everything decanted so far.
    pub sheets: Tally,
}

/// One tea.
#[derive(Clone, Debug, PartialEq)]
pub struct TeaView {
    /// Its code.
    pub code: Code,
    /// Its name, once it may be known: the teacher's screen may be seen by the class.
    pub name: Option<String>,
    /// How many steeps it has.
    pub steeps: u32,
    /// Its steep clock.
    pub clock: TeaClock,
    /// What the teacher has changed about what is to come of it: that it is dropped, or which round it leaves out.
    pub left_out: Option<LeftOut>,
    /// Sheets in and due for its last steep, once that is in the cup.
    pub cup_in: Tally,
}

/// What is not to come of a tea.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// Nothing more.
    Dropped,
    /// Its steep of this round, the next that would have come.
    Round(u32),
}

impl Room {
    /// What is not to come of a tea that would have been next.
    fn tea_left_out(&self, code: Code, had: u32, round: u32) -> Option<LeftOut> {
        if self.course.is_dropped(code) {
            return Some(LeftOut::Dropped);
        }
        let next = self.course.of(code).find(|&(of, _)| of > had && of >= round);
        next.filter(|(_, steep)| steep.skipped).map(|(round, _)| LeftOut::Round(round))
    }

    /// The class at `now`, with at most `coming` cues ahead.
    pub fn view(&self, now: HostTime, coming: usize) -> View {
        let cups = self.cups(now);
        let happened = self.until_close(now);
        let round = self.timetable.round(happened);
        let of_seat = |seat: &Seat, of: &dyn Fn(&Cup) -> bool| {
            let due = cups.iter().filter(|served| of(&served.cup) && self.is_due(seat, served));
            let scored = |served: &Served| {
                self.scores.of(seat.id, served.cup).is_some() && !self.is_reopened(seat, served.cup)
            };
            due.fold(Tally::default(), |so_far, served| Tally {
                present: so_far.present + usize::from(scored(served)),
                due: so_far.due + 1,
            })
        };
        let tally = |of: &dyn Fn(&Cup) -> bool| {
            let each = self.counted().map(|seat| of_seat(seat, of));
            each.fold(Tally::default(), |all, one| Tally {
                present: all.present + one.present,
                due: all.due + one.due,
            })
        };
        let persons = self.seats.iter().filter(|seat| seat.same_as.is_none());
        let seats = persons.map(|seat| SeatView {
            id: seat.id,
            name: seat.name.clone(),
            pourer: seat.pourer,
            role: seat.role,
            away: seat.away.is_some(),
            counts: seat.counts,
            writing: false,
            linked: false,
            sheets: of_seat(seat, &|_| true),
        });
        let teas = self.class.cards(|code| self.revealed.contains_key(&code)).into_iter().map(|card| {
            let (code, mut clock) = (card.code, self.timetable.clock(card.code, happened));
            if self.phase == Phase::Closed {
                clock.until = None;
            }
            TeaView {
                code,
                name: card.name,
                steeps: card.steeps.max(clock.steep),
                left_out: self.tea_left_out(code, clock.round, round).filter(|_| self.phase != Phase::Closed),
                clock,
                cup_in: tally(&|cup| *cup == (code, clock.round)),
            }
        });
        let ahead = if self.phase == Phase::Closed { &[] } else { self.timetable.coming(now) };
        View {
            title: self.class.title.clone(),
            now,
            phase: self.phase,
            last_call: self.last_call,
            join_code: self.join_code,
            by_name: self.door.by_name,
            rehearsal: self.rehearsal(),
            round,
            rounds: self.course.rounds(),
            expected: self.class.seats,
            pourers: self.class.pourers.hands(),
            kettles: self.class.kettle_names(),
            seats: seats.collect(),
            teas: teas.collect(),
            coming: ahead.iter().take(coming).cloned().collect(),
            all_done: self.phase == Phase::Running && ahead.is_empty(),
            round_in: tally(&|cup| cup.1 == round),
            class_in: tally(&|_| true),
            suggestions: self.suggestions(now),
            tests: self.test_views(),
        }
    }

    fn test_views(&self) -> Vec<TestView> {
        let each = (1..).zip(&self.class.tests).map(|(number, test)| {
            let absent = self.asked(number).filter(|s| self.answers.of(s.id, number).is_none());
            let missing: Vec<String> = absent.map(|s| s.name.clone()).collect();
            let due = self.asked(number).count();
            TestView {
                number,
                kind: test.asking.kind(),
                open: self.opened.contains_key(&number),
                answered: Tally { present: due - missing.len(), due },
                missing,
            }
        });
        each.collect()
    }
}

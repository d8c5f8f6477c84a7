//! What the teacher sees of a running class, computed from the state at an instant.

use super::Room;
use protocol::{Action, Code, Cue, HostTime, Phase, SeatId, TeaClock, TestKind};

/// The class at one instant.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// The class's title.
    pub title: String,
    /// The instant.
    pub now: HostTime,
    /// Where the class stands.
    pub phase: Phase,
    /// The round at hand, 0 before the first cue.
    pub round: u32,
    /// How many rounds there are.
    pub rounds: u32,
    /// How many seats are expected.
    pub expected: u32,
    /// How many pairs of hands pour.
    pub pourers: u8,
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
    /// Sheets in and due for everything poured so far.
    pub class_in: Tally,
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
    /// Seats that have answered, and all seats.
    pub answered: Tally,
    /// The names of those that have not.
    pub missing: Vec<String>,
}

/// How many are in, of how many due.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Filled sheets that have come in.
    pub present: usize,
    /// Sheets due: every seat for every cup poured.
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
    /// Whether it is linked just now; filled in by the owner, who knows the links.
    pub linked: bool,
    /// Its sheets for everything poured so far.
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
    /// Sheets in and due for its last poured steep.
    pub cup_in: Tally,
}

impl Room {
    /// The class at `now`, with at most `coming` cues ahead.
    pub fn view(&self, now: HostTime, coming: usize) -> View {
        let poured: Vec<(Code, u32)> = self
            .timetable
            .cues
            .iter()
            .filter(|c| c.action == Action::Pour && c.at <= now)
            .filter_map(|c| Some((c.code?, c.steep)))
            .collect();
        let round = self.timetable.round(now);
        let tally = |cups: &mut dyn Iterator<Item = &(Code, u32)>| {
            let mut tally = Tally::default();
            for &cup in cups {
                tally.due += self.seats.len();
                tally.present += self.seats.iter().filter(|s| self.scores.of(s.id, cup).is_some()).count();
            }
            tally
        };
        let seats = self.seats.iter().map(|seat| SeatView {
            id: seat.id,
            name: seat.name.clone(),
            pourer: seat.pourer,
            linked: false,
            sheets: Tally { present: self.scores.of_seat(seat.id).count(), due: poured.len() },
        });
        let teas = self.class.cards(|code| self.revealed.contains_key(&code)).into_iter().map(|card| {
            let (code, clock) = (card.code, self.timetable.clock(card.code, now));
            TeaView {
                code,
                name: card.name,
                steeps: card.steeps,
                clock,
                cup_in: tally(&mut poured.iter().filter(|&&cup| cup == (code, clock.steep))),
            }
        });
        let ahead = self.timetable.coming(now);
        View {
            title: self.class.title.clone(),
            now,
            phase: self.phase,
            round,
            rounds: self.class.rounds(),
            expected: self.class.seats,
            pourers: self.class.pourers.hands(),
            seats: seats.collect(),
            teas: teas.collect(),
            coming: ahead.iter().take(coming).cloned().collect(),
            all_done: self.phase == Phase::Running && ahead.is_empty(),
            round_in: tally(&mut poured.iter().filter(|cup| cup.1 == round)),
            class_in: tally(&mut poured.iter()),
            tests: self.test_views(),
        }
    }

    fn test_views(&self) -> Vec<TestView> {
        let each = (1..).zip(&self.class.tests).map(|(number, test)| {
            let absent = self.seats.iter().filter(|s| self.answers.of(s.id, number).is_none());
            let missing: Vec<String> = absent.map(|s| s.name.clone()).collect();
            let due = self.seats.len();
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

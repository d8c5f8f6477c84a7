//! The class as one seat knows it.

use super::alarm::Alarm;
use super::desk::Cup;
use protocol::wire::Welcome;
use protocol::{Action, Answer, Cue, HostTime, Phase, Score, SeatId, Sheet, TeaCard, TestCard, Timetable};
use std::collections::BTreeMap;
use std::fmt;
use uuid::Uuid;

/// The class, from the first welcome on.
#[derive(Clone, Debug)]
pub struct Class {
    /// The class's id.
    pub id: Uuid,
    /// Its title.
    pub title: String,
    /// The seat's id.
    pub seat: SeatId,
    /// Where the class stands.
    pub phase: Phase,
    /// What is scored.
    pub sheet: Sheet,
    /// The teas in the order of the class file.
    pub teas: Vec<TeaCard>,
    /// How many pairs of hands pour for all; `None` when each seat brews its own set.
    pub pourers: Option<u8>,
    /// Which hands this seat is.
    pub hands: Option<u8>,
    /// All the cues.
    pub timetable: Timetable,
    /// The highest number of the ledger's that the seat has heard; it has all that came before.
    pub seq: u64,
    /// The seat's own scores that the host has, the latest of each cup.
    pub taken: BTreeMap<Cup, Score>,
    /// The difference tests that are open, as this seat is asked them.
    pub tests: BTreeMap<u32, TestCard>,
    /// The seat's own answers that the host has, the latest to each test.
    pub answered: BTreeMap<u32, Answer>,
    pub(super) alarm: Alarm,
}

/// How the score of one cup stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CupState {
    /// Nothing is filled.
    Open,
    /// Something is filled and not sent.
    Draft,
    /// Sent and not acknowledged.
    Sent,
    /// The host has it on disk.
    Kept,
}

impl fmt::Display for CupState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            CupState::Open => "open",
            CupState::Draft => "draft",
            CupState::Sent => "sent",
            CupState::Kept => "kept",
        })
    }
}

impl Class {
    /// The class as a first welcome describes it.
    pub fn new(id: Uuid, title: String, welcome: &Welcome) -> Self {
        Self {
            id,
            title,
            seat: welcome.seat,
            phase: welcome.phase,
            sheet: welcome.sheet.clone(),
            teas: welcome.teas.clone(),
            pourers: welcome.pourers,
            hands: welcome.hands,
            timetable: Timetable::new(welcome.timetable.revision, welcome.timetable.cues.clone()),
            seq: welcome.seq,
            taken: taken(&welcome.scores),
            tests: BTreeMap::new(),
            answered: welcome.answers.iter().map(|answer| (answer.test, *answer)).collect(),
            alarm: Alarm::default(),
        }
    }

    /// The same class as a later welcome describes it. Without a known host time nothing can be wet yet.
    pub fn again(&mut self, welcome: &Welcome, now: Option<HostTime>) {
        let timetable = self.adopted(welcome.timetable.clone(), now);
        let (alarm, tests) = (std::mem::take(&mut self.alarm), std::mem::take(&mut self.tests));
        *self = Self { timetable, alarm, tests, ..Self::new(self.id, self.title.clone(), welcome) };
    }

    /// Takes over a newer timetable, leaving what is wet alone.
    pub fn adopt(&mut self, newer: Timetable, now: Option<HostTime>) {
        self.timetable = self.adopted(newer, now);
    }

    fn adopted(&self, newer: Timetable, now: Option<HostTime>) -> Timetable {
        // What was cued to be poured is wet, also when the host's clock has gone back behind it since.
        let has_come = |pour: &Cue| now.is_some_and(|now| pour.at <= now) || !self.alarm.is_ahead(pour);
        self.timetable.adopt_but_for(newer, has_come)
    }

    /// The cue for this seat whose work lasts at `now`: the hands' work before tasting, the latest first.
    pub fn current(&self, now: HostTime) -> Option<&Cue> {
        let lasting = || self.mine().filter(|c| c.at <= now && now < c.end());
        lasting().rfind(|c| c.action != Action::Taste).or_else(|| lasting().next_back())
    }

    /// The next cue for this seat.
    pub fn next(&self, now: HostTime) -> Option<&Cue> {
        self.mine().find(|c| c.at > now)
    }

    /// Whether the cue is the decant of leaves that are under water at `now`, or were until it.
    pub fn ends_a_wet_steep(&self, cue: &Cue, now: HostTime) -> bool {
        let poured = |code| self.timetable.poured(code, cue.steep, now);
        cue.action == Action::Decant && cue.code.is_some_and(poured)
    }

    fn mine(&self) -> impl DoubleEndedIterator<Item = &Cue> {
        self.timetable.cues.iter().filter(|c| c.action != Action::SheetCloses && c.is_for(self.hands))
    }

    /// The cups poured by `now`, in the order of their pours.
    pub fn poured(&self, now: HostTime) -> Vec<Cup> {
        self.cups(Action::Pour, now)
    }

    /// The cups decanted by `now`, in the order of their decants.
    pub fn decanted(&self, now: HostTime) -> Vec<Cup> {
        self.cups(Action::Decant, now)
    }

    /// Cups by round, and within a round as the teas stand in the table.
    pub fn in_table_order(&self, mut cups: Vec<Cup>) -> Vec<Cup> {
        cups.sort_by_key(|cup| (cup.steep, self.teas.iter().position(|t| t.code == cup.code)));
        cups
    }

    fn cups(&self, action: Action, now: HostTime) -> Vec<Cup> {
        let due = self.timetable.cues.iter().filter(|c| c.at <= now && c.action == action);
        due.filter_map(|c| c.code.map(|code| Cup { code, steep: c.steep })).collect()
    }

    /// Notes that the host has an answer.
    pub fn take_answer(&mut self, answer: Answer) {
        if self.answered.get(&answer.test).is_none_or(|known| known.revision <= answer.revision) {
            self.answered.insert(answer.test, answer);
        }
    }

    /// Notes that the host has a score.
    pub fn take(&mut self, score: Score) {
        let cup = Cup::of(&score);
        if self.taken.get(&cup).is_none_or(|known| known.revision <= score.revision) {
            self.taken.insert(cup, score);
        }
    }
}

fn taken(scores: &[Score]) -> BTreeMap<Cup, Score> {
    let mut taken = BTreeMap::<Cup, Score>::new();
    for score in scores {
        let known = taken.get(&Cup::of(score)).map_or(0, |s| s.revision);
        if score.revision >= known {
            taken.insert(Cup::of(score), score.clone());
        }
    }
    taken
}

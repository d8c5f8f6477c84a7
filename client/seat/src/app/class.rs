//! The class as one seat knows it.

use super::alarm::Alarm;
use super::desk::{Cup, Served};
use super::moments::Moments;
use crate::words;
use protocol::wire::{OpenSheet, VoidCup, Welcome};
use protocol::{
    Action, Answer, Code, Cue, HostTime, Phase, Role, Score, SeatId, Sheet, TeaCard, TestCard, Timetable,
};
use std::collections::BTreeMap;
use std::fmt;
use uuid::Uuid;

/// A cue that is a moment stands so long on the screen when nothing else is in these hands, in microseconds of host time.
const READ_US: i64 = 4_000_000;
/// And so long before the work that begins at the same instant, or that it falls into.
const GLANCE_US: i64 = 2_000_000;
/// What is done at a kettle and takes no time of its own stands so long, unless other work begins before.
const KETTLE_US: i64 = 10_000_000;

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
    /// What the seat has come for.
    pub role: Role,
    /// It owes sheets for what is in the cup later than this.
    pub owes_from: HostTime,
    /// In which order it tastes the cups of a round.
    pub order: Vec<Code>,
    /// The kettles by name, for whoever pours.
    pub kettles: Vec<String>,
    /// What these hands do at the kettles before the class begins.
    pub before_start: Option<String>,
    /// When the last call ends, if there is one.
    pub last_call: Option<HostTime>,
    /// When the class was closed, as far as the seat knows.
    pub closed_at: Option<HostTime>,
    /// Who has come, as far as the host has told: some names, and how many there are.
    pub here: Option<(Vec<String>, u32)>,
    /// All the cues.
    pub timetable: Timetable,
    /// The highest number of the ledger's that the seat has heard; it has all that came before.
    pub seq: u64,
    /// The seat's own scores that the host has, the latest of each cup.
    pub taken: BTreeMap<Cup, Score>,
    /// The cups that do not count.
    pub voided: BTreeMap<Cup, VoidCup>,
    /// The sheets that the teacher has opened again and that were not sent since, and until when.
    pub reopened: BTreeMap<Cup, HostTime>,
    /// The difference tests that are open, as this seat is asked them.
    pub tests: BTreeMap<u32, TestCard>,
    /// The seat's own answers that the host has, the latest to each test.
    pub answered: BTreeMap<u32, Answer>,
    pub(super) alarm: Alarm,
    pub(super) moments: Moments,
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
    /// The cup counts for nobody.
    Void,
}

impl fmt::Display for CupState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            CupState::Open => "open",
            CupState::Draft => "draft",
            CupState::Sent => "sent",
            CupState::Kept => "kept",
            CupState::Void => "void",
        })
    }
}

impl Class {
    /// The class as a first welcome describes it.
    pub fn new(welcome: &Welcome) -> Self {
        Self {
            id: welcome.class_id,
            title: welcome.title.clone(),
            seat: welcome.seat,
            phase: welcome.phase,
            sheet: welcome.sheet.clone(),
            teas: welcome.teas.clone(),
            pourers: welcome.pourers,
            hands: welcome.hands,
            role: welcome.role,
            owes_from: welcome.owes_from_us,
            order: welcome.order.clone(),
            kettles: welcome.kettles.clone(),
            before_start: welcome.before_start.clone(),
            last_call: welcome.last_call_us,
            closed_at: welcome.last_call_us.filter(|_| welcome.phase == Phase::Closed),
            here: None,
            timetable: Timetable::new(welcome.timetable.revision, welcome.timetable.cues.clone()),
            seq: welcome.seq,
            taken: taken(&welcome.scores),
            voided: by_cup(&welcome.voided),
            reopened: until(&welcome.reopened),
            tests: BTreeMap::new(),
            answered: welcome.answers.iter().map(|answer| (answer.test, *answer)).collect(),
            alarm: Alarm::default(),
            moments: Moments::default(),
        }
    }

    /// The same class as a later welcome describes it. Without a known host time nothing can be wet yet.
    pub fn again(&mut self, welcome: &Welcome, now: Option<HostTime>) {
        let timetable = self.adopted(welcome.timetable.clone(), now);
        let (alarm, moments) = (std::mem::take(&mut self.alarm), std::mem::take(&mut self.moments));
        let (tests, here) = (std::mem::take(&mut self.tests), self.here.take());
        let new = Self::new(welcome);
        let closed_now = now.filter(|_| welcome.phase == Phase::Closed);
        let closed_at = self.closed_at.or(new.closed_at).or(closed_now);
        *self = Self { timetable, alarm, moments, tests, here, closed_at, ..new };
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

    /// The cue for this seat whose work lasts at `now`: the hands' work before tasting, the latest first. A lid to put on is a
    /// moment; it goes before the work that begins at its instant, and stands long enough to be read. A rinse is poured off as
    /// long as the rinse lasts.
    pub fn current(&self, now: HostTime) -> Option<&Cue> {
        let lasting =
            || self.mine().filter(|c| c.at <= now && now < self.stands_until(c) && !c.action.is_within());
        let work = lasting().rfind(|c| c.action != Action::Taste);
        let stands = |c: &Cue| match work {
            None => now - c.at < READ_US,
            Some(work) if work.at > c.at => false,
            Some(work) => now - c.at < GLANCE_US || is_part_of(c, work),
        };
        let moment = self.mine().rfind(|c| c.action.is_within() && c.at <= now && stands(c));
        moment.or(work).or_else(|| lasting().next_back())
    }

    /// What the kettles that these hands set are set to: the newest cue of each that says how hot.
    pub fn kettles_set(&self, now: HostTime) -> Vec<&Cue> {
        let mut newest = std::collections::BTreeMap::new();
        let said = self.mine().filter(|cue| cue.at <= now && cue.action.is_at_kettle());
        for cue in said.filter(|cue| cue.temp_c.is_some()) {
            newest.insert(cue.kettle, cue);
        }
        newest.into_values().collect()
    }

    /// Until when a cue that has come stands on the screen.
    fn stands_until(&self, cue: &Cue) -> HostTime {
        if !cue.action.is_at_kettle() || cue.length_s > 0 {
            return self.end_of(cue);
        }
        let other = self.mine().find(|c| c.at > cue.at && !c.action.is_within());
        let until = cue.at + KETTLE_US;
        other.map_or(until, |other| until.min(other.at))
    }

    /// When the work of a cue ends; a tasting lasts until the sheet of its round closes, which a hold may put off.
    pub fn end_of(&self, cue: &Cue) -> HostTime {
        let closes = || self.timetable.find(Action::SheetCloses, None, cue.round()).map(|closes| closes.at);
        let closes = if cue.action == Action::Taste { closes() } else { None };
        closes.unwrap_or_else(|| cue.end())
    }

    /// The next cue for this seat.
    pub fn next(&self, now: HostTime) -> Option<&Cue> {
        self.next_together(now).first().copied()
    }

    /// The next cues for this seat that come at one instant, in the order in which they are done.
    pub fn next_together(&self, now: HostTime) -> Vec<&Cue> {
        let Some(at) = self.mine().find(|c| c.at > now).map(|c| c.at) else { return Vec::new() };
        let mut cues: Vec<&Cue> = self.mine().filter(|c| c.at == at).collect();
        cues.sort_by_key(|cue| done_at_its_instant(cue));
        cues
    }

    /// The tasting that lasts at `now`, whoever tastes.
    pub fn tasting(&self, now: HostTime) -> Option<&Cue> {
        let lasts = |c: &&Cue| c.action == Action::Taste && c.at <= now && now < self.end_of(c);
        self.timetable.cues.iter().rfind(lasts)
    }

    /// Whether the cue is the decant of leaves that are under water at `now`, or were until it. Once the class is closed
    /// nothing is poured any more.
    pub fn ends_a_wet_steep(&self, cue: &Cue, now: HostTime) -> bool {
        let now = match (self.phase, self.closed_at) {
            (Phase::Closed, None) => return false,
            (Phase::Closed, Some(closed)) => closed.min(now),
            _ => now,
        };
        let poured = |code| self.timetable.poured(code, cue.round(), now);
        cue.action == Action::Decant && cue.code.is_some_and(poured)
    }

    fn mine(&self) -> impl DoubleEndedIterator<Item = &Cue> {
        // A tasting is nothing for hands that only pour.
        let no_work = |c: &Cue| {
            c.action == Action::SheetCloses || c.action == Action::Taste && self.role == Role::PoursOnly
        };
        self.timetable.cues.iter().filter(move |c| !no_work(c) && c.is_for(self.hands))
    }

    /// The cups that there are at `now`, in the order of their decants.
    pub fn decanted(&self, now: HostTime) -> Vec<Cup> {
        let cups = self.decants().map(|(_, cup)| cup);
        cups.filter(|cup| self.has_cup(*cup, now)).collect()
    }

    /// Whether there is this cup at `now`, to be scored.
    pub fn has_cup(&self, cup: Cup, now: HostTime) -> bool {
        self.timetable.has_cup(cup.code, cup.steep, now)
    }

    /// When there is a cup, if its decant is planned.
    pub fn cup_from(&self, cup: Cup) -> Option<HostTime> {
        self.decants().find(|(_, of)| *of == cup).map(|(from, _)| from)
    }

    /// The cup as it is spoken of.
    pub fn served(&self, cup: Cup) -> Served {
        let decant = self.timetable.find(Action::Decant, Some(cup.code), cup.steep);
        Served { cup, steep: decant.map_or(cup.steep, |decant| decant.steep) }
    }

    /// Which steep the cups of a round are: `steep 2`, `steep 2 in round 4`, or the round alone where the teas differ in it.
    pub fn steep_of_round(&self, round: u32) -> String {
        let decants = self.timetable.cues.iter().filter(|cue| cue.action == Action::Decant);
        let mut steeps: Vec<u32> = decants.filter(|cue| cue.round() == round).map(|cue| cue.steep).collect();
        steeps.dedup();
        match steeps[..] {
            [] => words::steep(round, round),
            [steep] => words::steep(steep, round),
            _ => format!("round {round}"),
        }
    }

    /// Whether the seat tastes what others pour.
    pub fn only_tastes(&self) -> bool {
        self.role.scores() && self.pourers.is_some() && self.hands.is_none()
    }

    /// The next cup that will be there, and when.
    pub fn next_cup_from(&self, now: HostTime) -> Option<(HostTime, Cup)> {
        self.decants().filter(|(from, _)| *from > now).min_by_key(|(from, _)| *from)
    }

    /// Every cup of the timetable and when there is one.
    pub(super) fn decants(&self) -> impl Iterator<Item = (HostTime, Cup)> {
        let decants = self.timetable.cues.iter().filter(|cue| cue.action == Action::Decant);
        decants.filter_map(|cue| Some((cue.end(), Cup { code: cue.code?, steep: cue.round() })))
    }

    /// The last round in which a tea is poured by the timetable; 0 if there is none.
    pub fn last_round(&self, code: Code) -> u32 {
        let rounds = self.decants().filter(|(_, cup)| cup.code == code).map(|(_, cup)| cup.steep);
        rounds.max().unwrap_or(0)
    }

    /// The codes of a round in the order in which this seat tastes them.
    pub fn to_drink(&self, round: u32) -> Vec<Code> {
        let cued = |code| self.timetable.find(Action::Decant, Some(code), round).is_some();
        // While the class runs its timetable has every cup. In a hold it has those that are poured, and whether others will
        // come nobody knows before the class goes on: the teacher may leave them out.
        let is_cued = self.decants().any(|(_, cup)| cup.steep == round);
        let all = self.phase != Phase::Held && !(self.phase == Phase::Running && is_cued);
        let written = |tea: &TeaCard| all && (1..=tea.steeps).contains(&round);
        let teas = self.teas.iter().filter(|tea| cued(tea.code) || written(tea));
        let mut codes: Vec<Code> = teas.map(|tea| tea.code).collect();
        codes.sort_by_key(|code| self.place(*code));
        codes
    }

    /// Cups by round, and within a round as this seat tastes them.
    pub fn in_order(&self, mut cups: Vec<Cup>) -> Vec<Cup> {
        cups.sort_by_key(|cup| (cup.steep, self.place(cup.code)));
        cups
    }

    /// The place of a tea in the serving order; as in the table where that does not tell.
    fn place(&self, code: Code) -> (usize, usize) {
        let served = self.order.iter().position(|c| *c == code).unwrap_or(usize::MAX);
        (served, self.teas.iter().position(|tea| tea.code == code).unwrap_or(usize::MAX))
    }

    /// The cups of the last round of which there are any, as this seat tastes them: those that Tab goes through.
    pub fn on_the_table(&self, now: HostTime) -> Vec<Cup> {
        let mut cups = self.decanted(now);
        let round = cups.iter().map(|cup| cup.steep).max();
        cups.retain(|cup| Some(cup.steep) == round);
        self.in_order(cups)
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

/// Whether a moment falls into work on the same tea that began before it.
fn is_part_of(moment: &Cue, work: &Cue) -> bool {
    work.code == moment.code && work.at < moment.at && !work.action.is_at_kettle()
}

/// In which order these hands do the cues of one instant: what is wet first, then a lid, and a kettle last of all.
fn done_at_its_instant(cue: &Cue) -> u8 {
    match cue.action {
        Action::Decant | Action::SheetCloses | Action::Taste => 0,
        action if action.is_within() => 1,
        action if action.is_at_kettle() => 3,
        _ => 2,
    }
}

pub(super) fn until(open: &[OpenSheet]) -> BTreeMap<Cup, HostTime> {
    open.iter().map(|sheet| (Cup { code: sheet.code, steep: sheet.steep }, sheet.until_us)).collect()
}

pub(super) fn by_cup(voided: &[VoidCup]) -> BTreeMap<Cup, VoidCup> {
    let cup = |void: &VoidCup| Cup { code: void.code, steep: void.steep };
    voided.iter().map(|void| (cup(void), void.clone())).collect()
}

pub(super) fn taken(scores: &[Score]) -> BTreeMap<Cup, Score> {
    let mut taken = BTreeMap::<Cup, Score>::new();
    for score in scores {
        let known = taken.get(&Cup::of(score)).map_or(0, |s| s.revision);
        if score.revision >= known {
            taken.insert(Cup::of(score), score.clone());
        }
    }
    taken
}

//! The timetable: every cue of a class at its instant, and the steep clock read from it.

use crate::{Action, Code, HostTime};
use serde::{Deserialize, Serialize};
use std::fmt;

/// One action, for one tea and steep, at one instant of host time, for named hands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cue {
    /// When it is due.
    #[serde(rename = "at_us")]
    pub at: HostTime,
    /// What to do.
    pub action: Action,
    /// For which tea; none for what concerns the whole round (taste, sheet closes). What is done at a kettle is for the tea
    /// that is poured from it next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<Code>,
    /// The steep of the tea, from 1. What concerns no tea has the number of its round here.
    pub steep: u32,
    /// The round, where it has another number than the steep: the teacher had a steep done again, or one more.
    /// [`Cue::round`] gives it in any case.
    #[serde(default, rename = "round", skip_serializing_if = "Option::is_none")]
    pub other_round: Option<u32>,
    /// Whose hands: 1 to the number of pourers; 0 for everybody.
    pub hands: u8,
    /// How long it takes: the hands' work, or the tasting time. 0 for sheet closes.
    pub length_s: u32,
    /// On a pour: seconds from lid on (the end of the pour) to the start of the decant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steep_s: Option<u32>,
    /// Water temperature for warm, rinse and pour, the temperature to set for what is done at a kettle, in °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temp_c: Option<f64>,
    /// Which kettle, by its place in the class file from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kettle: Option<u8>,
    /// Water into each vessel, or into the kettle, in millilitres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_ml: Option<f64>,
    /// How many vessels are filled at one go, where it is more than one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vessels: Option<u32>,
    /// On a decant: the revision in which the teacher last moved it while the tea was wet. Only that ever moves it for a seat
    /// that has poured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved_in: Option<u32>,
}

impl Cue {
    /// A cue of which no more is known than what, when, how long and for whom.
    pub fn new(
        at: HostTime,
        action: Action,
        code: Option<Code>,
        steep: u32,
        hands: u8,
        length_s: u32,
    ) -> Self {
        let (other_round, moved_in) = (None, None);
        let (steep_s, temp_c, kettle, water_ml, vessels) = (None, None, None, None, None);
        Self {
            at,
            action,
            code,
            steep,
            other_round,
            hands,
            length_s,
            steep_s,
            temp_c,
            kettle,
            water_ml,
            vessels,
            moved_in,
        }
    }

    /// The same cue in a round of this number.
    pub fn in_round(self, round: u32) -> Self {
        Self { other_round: Some(round).filter(|&round| round != self.steep), ..self }
    }

    /// The round that it belongs to, from 1.
    pub fn round(&self) -> u32 {
        self.other_round.unwrap_or(self.steep)
    }

    /// When the work of this cue is done.
    pub fn end(&self) -> HostTime {
        self.at.plus_s(self.length_s)
    }

    /// What the cue is, whatever its instant: a revision may move a cue, never make it two.
    pub fn key(&self) -> (u32, Action, Option<Code>) {
        (self.round(), self.action, self.code)
    }

    /// Whether it concerns hands number `hands`, or everybody.
    pub fn is_for(&self, hands: Option<u8>) -> bool {
        self.hands == 0 || Some(self.hands) == hands
    }
}

impl fmt::Display for Cue {
    /// The cue in plain words: `pour 417`, `taste round 2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.code, self.action) {
            (Some(code), Action::Lid) => write!(f, "lid on {code}"),
            (Some(code), action) if action.is_at_kettle() => match self.kettle {
                Some(kettle) => write!(f, "{action} kettle {kettle} for {code}"),
                None => write!(f, "{action} the kettle for {code}"),
            },
            (Some(code), action) => write!(f, "{action} {code}"),
            (None, Action::SheetCloses) => write!(f, "sheet of round {} closes", self.round()),
            (None, action) => write!(f, "{action} round {}", self.round()),
        }
    }
}

/// All the cues of a class in order of time, numbered by revision.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Timetable {
    /// 0 before the class starts; every change is one higher.
    pub revision: u32,
    /// In order of instant.
    pub cues: Vec<Cue>,
}

/// What a tea is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SteepState {
    /// No water has touched the leaf.
    Dry,
    /// The vessel is being warmed.
    Warming,
    /// The leaf is being rinsed.
    Rinsing,
    /// Water goes on.
    Pouring,
    /// Lid on.
    Steeping,
    /// The vessel is being emptied into the cups.
    Decanting,
    /// Between steeps.
    Resting,
}

impl fmt::Display for SteepState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            SteepState::Dry => "to come",
            SteepState::Warming => "warming",
            SteepState::Rinsing => "rinsing",
            SteepState::Pouring => "pouring",
            SteepState::Steeping => "steeping",
            SteepState::Decanting => "decanting",
            SteepState::Resting => "resting",
        })
    }
}

/// The steep clock of one tea at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TeaClock {
    /// The steep last poured, 0 before the first.
    pub steep: u32,
    /// The round of it, 0 before the first.
    pub round: u32,
    /// What the tea is doing.
    pub state: SteepState,
    /// When that changes, if the timetable says so.
    pub until: Option<HostTime>,
}

impl Timetable {
    /// A timetable with its cues put in order: by instant, then decant before pour before the rest,
    /// so that what is wet comes first at the same instant.
    pub fn new(revision: u32, mut cues: Vec<Cue>) -> Self {
        let rank = |action: Action| match action {
            Action::Decant => 0,
            Action::SheetCloses => 1,
            Action::Taste => 2,
            _ => 3,
        };
        cues.sort_by_key(|c| (c.at, rank(c.action), c.hands, c.code));
        Self { revision, cues }
    }

    /// The timetable without what is done at the kettles, for hands that another seat fills them for.
    pub fn without_kettles(&self) -> Self {
        let cues = self.cues.iter().filter(|c| !c.action.is_at_kettle()).cloned().collect();
        Self { revision: self.revision, cues }
    }

    /// The timetable without what could tell a blind tea's name to those who only taste: heat, water and length of the
    /// steep, and what is done at the kettles.
    pub fn for_tasters(&self) -> Self {
        let cues = self.cues.iter().filter(|c| !c.action.is_at_kettle());
        let bare = |c: &Cue| Cue {
            steep_s: None,
            temp_c: None,
            kettle: None,
            water_ml: None,
            vessels: None,
            ..c.clone()
        };
        let cues = cues.map(bare).collect();
        Self { revision: self.revision, cues }
    }

    /// The cues due after `after` and no later than `upto`, in order.
    pub fn due(&self, after: HostTime, upto: HostTime) -> &[Cue] {
        let from = self.cues.partition_point(|c| c.at <= after);
        let to = self.cues.partition_point(|c| c.at <= upto).max(from);
        &self.cues[from..to]
    }

    /// The cues still to come after `now`, in order.
    pub fn coming(&self, now: HostTime) -> &[Cue] {
        &self.cues[self.cues.partition_point(|c| c.at <= now)..]
    }

    /// The cue of this kind for this tea in this round.
    pub fn find(&self, action: Action, code: Option<Code>, round: u32) -> Option<&Cue> {
        self.cues.iter().find(|c| c.key() == (round, action, code))
    }

    /// The steep clock of one tea at `now`.
    pub fn clock(&self, code: Code, now: HostTime) -> TeaClock {
        let changes = |c: &&Cue| !c.action.is_at_kettle() && !c.action.is_within();
        let mine = || self.cues.iter().filter(|c| c.code == Some(code)).filter(changes);
        let next = mine().find(|c| c.at > now).map(|c| c.at);
        let poured = mine().rfind(|c| c.at <= now && c.action == Action::Pour);
        let (steep, round) = poured.map_or((0, 0), |c| (c.steep, c.round()));
        let Some(last) = mine().rfind(|c| c.at <= now) else {
            return TeaClock { steep, round, state: SteepState::Dry, until: next };
        };
        let at_work = now < last.end();
        let (state, until) = match (last.action, at_work) {
            (Action::Warm, true) => (SteepState::Warming, Some(last.end())),
            (Action::Rinse, true) => (SteepState::Rinsing, Some(last.end())),
            (Action::Pour, true) => (SteepState::Pouring, Some(last.end())),
            (Action::Pour, false) => (SteepState::Steeping, next),
            (Action::Decant, true) => (SteepState::Decanting, Some(last.end())),
            (Action::Warm, false) => (SteepState::Dry, next),
            _ => (SteepState::Resting, next),
        };
        TeaClock { steep, round, state, until }
    }

    /// The round that is being poured, tasted or waited for at `now`: the round of the last cue that has come,
    /// 0 before the first. A sheet that has closed ends its round, so the next one is meant.
    pub fn round(&self, now: HostTime) -> u32 {
        // Kettles are made ready for a round while the one before is still tasted.
        let of_round = |c: &&Cue| !c.action.is_at_kettle();
        match self.cues.iter().filter(of_round).rfind(|c| c.at <= now) {
            None => 0,
            Some(c) if c.action == Action::SheetCloses => {
                self.coming(now).iter().find(of_round).map_or(c.round(), Cue::round)
            }
            Some(c) => c.round(),
        }
    }

    /// Whether this tea has been poured in this round, or is being poured, at `now`.
    pub fn poured(&self, code: Code, round: u32, now: HostTime) -> bool {
        self.find(Action::Pour, Some(code), round).is_some_and(|c| c.at <= now)
    }

    /// Whether there is a cup of this tea from this round at `now`: from the end of its decant on. The one rule for whether it
    /// can be scored.
    pub fn has_cup(&self, code: Code, round: u32, now: HostTime) -> bool {
        self.find(Action::Decant, Some(code), round).is_some_and(|c| c.end() <= now)
    }

    /// Takes over a newer timetable without moving what is wet: a steep whose pour has come by `now` under this
    /// timetable keeps its own pour and decant, whatever the newer one says about them (it was made before the
    /// host could know), unless that says that the teacher has moved this very decant since ([`Cue::moved_in`]). An older
    /// or equal revision changes nothing.
    pub fn adopt(&self, newer: Timetable, now: HostTime) -> Timetable {
        self.adopt_but_for(newer, |pour| pour.at <= now)
    }

    /// Like [`Self::adopt`], for whoever knows better than by the time which pours have come.
    pub fn adopt_but_for(&self, newer: Timetable, has_come: impl Fn(&Cue) -> bool) -> Timetable {
        if newer.revision <= self.revision && self.revision > 0 {
            return self.clone();
        }
        let moved = |c: &Cue| {
            let decant = newer.find(Action::Decant, c.code, c.round());
            decant.filter(|decant| decant.moved_in > Some(self.revision))
        };
        let poured: Vec<&Cue> =
            self.cues.iter().filter(|c| c.action == Action::Pour && has_come(c)).collect();
        // A steep that the teacher has moved ends as long after the pour that was cued here as the teacher's after theirs.
        let own_end = |pour: &&Cue| {
            let (decant, theirs) = (moved(pour)?, newer.find(Action::Pour, pour.code, pour.round())?);
            Some(Cue { at: decant.at + (pour.end() - theirs.end()), ..decant.clone() })
        };
        let ends: Vec<Cue> = poured.iter().filter_map(own_end).collect();
        let wet: Vec<(Option<Code>, u32)> = poured.iter().map(|c| (c.code, c.round())).collect();
        let is_wet = |c: &&Cue| {
            matches!(c.action, Action::Pour | Action::Lid | Action::Decant)
                && wet.contains(&(c.code, c.round()))
        };
        let is_ended = |c: &&Cue| {
            c.action == Action::Decant
                && ends.iter().any(|end| (end.code, end.round()) == (c.code, c.round()))
        };
        let kept = self.cues.iter().filter(|c| is_wet(c) && !is_ended(c));
        let taken = newer.cues.iter().filter(|c| !is_wet(c));
        Timetable::new(newer.revision, kept.chain(taken).chain(&ends).cloned().collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn code() -> Code {
        Code::new(417).unwrap()
    }

    fn cue(at_s: i64, action: Action, steep: u32, length_s: u32) -> Cue {
        let code = (!matches!(action, Action::Taste | Action::SheetCloses)).then(code);
        Cue::new(HostTime(at_s * 1_000_000), action, code, steep, 1, length_s)
    }

    fn one_tea() -> Timetable {
        Timetable::new(
            1,
            vec![
                cue(10, Action::Warm, 1, 5),
                cue(20, Action::Rinse, 1, 5),
                cue(30, Action::Pour, 1, 10),
                cue(80, Action::Decant, 1, 8),
                cue(88, Action::Taste, 1, 60),
                cue(148, Action::SheetCloses, 1, 0),
                cue(160, Action::Pour, 2, 10),
                cue(170, Action::Decant, 2, 8),
            ],
        )
    }

    #[test]
    fn the_steep_clock_follows_the_cues_to_the_second() {
        use SteepState::*;
        let table = [
            (0, 0, Dry, Some(10)),
            (10, 0, Warming, Some(15)),
            (15, 0, Dry, Some(20)),
            (20, 0, Rinsing, Some(25)),
            (25, 0, Resting, Some(30)),
            (30, 1, Pouring, Some(40)),
            (40, 1, Steeping, Some(80)),
            (79, 1, Steeping, Some(80)),
            (80, 1, Decanting, Some(88)),
            (88, 1, Resting, Some(160)),
            (160, 2, Pouring, Some(170)),
            (170, 2, Decanting, Some(178)),
            (178, 2, Resting, None),
        ];
        for (now_s, round, state, until_s) in table {
            let until = until_s.map(|s: i64| HostTime(s * 1_000_000));
            assert_eq!(
                one_tea().clock(code(), HostTime(now_s * 1_000_000)),
                TeaClock { steep: round, round, state, until },
                "at {now_s} s"
            );
        }
    }

    #[test]
    fn a_closed_sheet_belongs_to_the_round_to_come() {
        for (now_s, round) in [(0, 0), (10, 1), (147, 1), (148, 2), (160, 2), (500, 2)] {
            assert_eq!(one_tea().round(HostTime(now_s * 1_000_000)), round, "at {now_s} s");
        }
    }

    #[test]
    fn a_kettle_that_is_made_ready_for_the_next_round_begins_no_round() {
        let mut table = one_tea();
        table.cues.insert(4, cue(85, Action::Refill, 2, 20));
        assert_eq!([84, 85, 100].map(|now_s| table.round(HostTime(now_s * 1_000_000))), [1; 3]);
    }

    #[test]
    fn each_instant_is_due_once() {
        let table = one_tea();
        let (mut at, mut seen) = (HostTime(-1), Vec::new());
        for now in (0..200).map(|s| HostTime(s * 1_000_000)) {
            seen.extend(table.due(at, now).iter().cloned());
            at = now;
        }
        assert_eq!(seen, table.cues);
        assert!(table.due(HostTime(50), HostTime(0)).is_empty());
    }

    #[test]
    fn a_steep_that_is_done_again_is_another_cue_and_another_cup() {
        let again = [(210, Action::Pour), (250, Action::Decant)];
        let again = again.map(|(at_s, action)| cue(at_s, action, 1, 10).in_round(3));
        let table = Timetable::new(2, one_tea().cues.into_iter().chain(again).collect());
        let now = |s: i64| HostTime(s * 1_000_000);
        let clock = |s: i64| (table.clock(code(), now(s)).steep, table.clock(code(), now(s)).round);
        assert_eq!([clock(100), clock(180), clock(220)], [(1, 1), (2, 2), (1, 3)]);
        assert_eq!([table.round(now(200)), table.round(now(210))], [2, 3]);
        assert!(table.has_cup(code(), 1, now(88)) && !table.has_cup(code(), 3, now(259)));
        assert!(table.has_cup(code(), 3, now(260)));
        // On the wire the round stands only where it is another number than the steep.
        let json = |cue: &Cue| serde_json::to_string(cue).unwrap();
        let written: Vec<bool> = table.cues.iter().map(|c| json(c).contains("\"round\":3")).collect();
        assert_eq!(written, table.cues.iter().map(|c| c.round() == 3).collect::<Vec<_>>());
        for cue in &table.cues {
            assert_eq!(&serde_json::from_str::<Cue>(&json(cue)).unwrap(), cue);
        }
    }

    #[test]
    fn only_a_revision_that_says_so_moves_the_decant_of_what_is_wet() {
        let wet = HostTime(50_000_000);
        // What a seat had before, in which revision the teacher moved the decant, and when it decants now.
        for (had, moved_in, decants_s) in
            [(1, None, 80), (1, Some(2), 95), (2, Some(2), 80), (1, Some(3), 95)]
        {
            let old = Timetable { revision: had, ..one_tea() };
            let mut newer = Timetable { revision: 3, ..one_tea() };
            let decant =
                newer.cues.iter_mut().find(|c| c.key() == (1, Action::Decant, Some(code()))).unwrap();
            (decant.at, decant.moved_in) = (HostTime(95_000_000), moved_in);
            let adopted = old.adopt(Timetable::new(3, newer.cues), wet);
            let found = adopted.find(Action::Decant, Some(code()), 1).unwrap().at;
            assert_eq!(found, HostTime(decants_s * 1_000_000), "had {had}, moved in {moved_in:?}");
        }
    }

    /// A seat that had not heard of a hold poured before the others; a longer steep is as long for it.
    #[test]
    fn a_steep_that_the_teacher_has_moved_is_as_long_at_a_seat_that_poured_at_another_instant() {
        let (old, s) = (one_tea(), |s: i64| HostTime(s * 1_000_000));
        let at = |table: &Timetable, action| table.find(action, Some(code()), 1).unwrap().at;
        let mut newer = one_tea();
        for cue in newer.cues.iter_mut().filter(|c| c.round() == 1 && c.code.is_some()) {
            cue.at = cue.at.plus_s(if cue.action == Action::Decant { 7 } else { 2 });
            cue.moved_in = (cue.action == Action::Decant).then_some(4);
        }
        let adopted = old.adopt(Timetable::new(4, newer.cues), s(50));
        assert_eq!(at(&adopted, Action::Pour), at(&old, Action::Pour));
        assert_eq!(at(&adopted, Action::Decant), at(&old, Action::Decant).plus_s(5));
        assert_eq!(adopted.cues.iter().filter(|c| c.round() == 1 && c.action == Action::Decant).count(), 1);
    }

    proptest! {
        #[test]
        fn a_late_revision_never_moves_what_is_wet(now_s in 0i64..200, shift_s in -50i64..50, drop_pours: bool) {
            let old = one_tea();
            let now = HostTime(now_s * 1_000_000);
            let moved = old.cues.iter().filter(|c| !(drop_pours && c.action == Action::Pour))
                .map(|c| Cue { at: c.at + shift_s * 1_000_000, ..c.clone() }).collect();
            let merged = old.adopt(Timetable::new(2, moved), now);
            for steep in [1, 2] {
                if old.poured(code(), steep, now) {
                    for action in [Action::Pour, Action::Decant] {
                        prop_assert_eq!(merged.find(action, Some(code()), steep), old.find(action, Some(code()), steep));
                    }
                }
            }
            let mut keys: Vec<_> = merged.cues.iter().map(Cue::key).collect();
            keys.sort();
            keys.dedup();
            prop_assert_eq!(keys.len(), merged.cues.len(), "no cue twice");
            prop_assert!(merged.cues.is_sorted_by_key(|c| c.at));
        }
    }
}

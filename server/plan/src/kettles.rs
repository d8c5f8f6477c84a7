//! The kettles: how they get ready for a round, how long that takes, and what to do at them when.
//!
//! A round is planned with every kettle full and ready for its first tea. So before a round a kettle that does not hold
//! what the round draws from it is filled up (or afresh, where that is quicker), by hands that are free; one that does
//! is only set. In the round it is filled up where the round's schedule says so.

mod before;
mod deed;
mod fills;

pub(super) use before::found as found_before;
pub use before::{Before, before, line as before_line};
pub(super) use deed::{Act, kettle_number};
pub use deed::{Deed, KettleStep};
pub(super) use fills::filled_ml;

use super::exact::TeaJob;
use super::filling::{Filling, LID_S, Refill};
use super::hands::Hands;
use super::heat::{Heat, NEVER_S};
use super::rounds::{CupPlan, RoundPlan};
use class::Class;
use class::setting::Kettle;
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime};

/// Where a kettle stands.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stand {
    /// Its set point; none if it has not been switched on yet, so that it is preset for its first tea.
    set_c: Option<f64>,
    /// When it was poured from last, or got to its set point; none if neither has happened.
    free_at: Option<HostTime>,
    /// When hands have put the lid on what was poured from it last, and can see to it.
    lid_on: HostTime,
    /// What may still be drawn from it, millilitres.
    left_ml: f64,
}

/// What is to be drawn next from a kettle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Next {
    pub round: u32,
    pub code: Code,
    pub set_c: f64,
    /// What it has to hold for this, millilitres.
    pub ml: f64,
}

/// All kettles of a class as it goes on from round to round.
#[derive(Clone, Debug)]
pub(super) struct Kettles<'a> {
    class: &'a Class,
    stands: Vec<Stand>,
    /// No hands do anything new before this.
    from: HostTime,
    has_begun: bool,
    /// What is to be done, as it was planned.
    pub acts: Vec<Act>,
}

impl<'a> Kettles<'a> {
    /// The kettles as they stand when the class begins; what is still to be done begins at `from` or later.
    pub fn new(class: &'a Class, from: HostTime) -> Self {
        let stand = |k: &Kettle| Stand {
            set_c: k.starts_c,
            free_at: None,
            lid_on: HostTime(i64::MIN),
            left_ml: Filling::of(k).usable_ml,
        };
        let stands = class.setting.kettles.iter().map(stand).collect();
        Self { class, stands, from, has_begun: false, acts: Vec::new() }
    }

    /// Takes in at which set points the kettles were switched on before the class, by what was to be done then.
    pub fn were_switched_on(&mut self, acts: &[Act]) {
        self.has_begun = true;
        for act in acts {
            if let Deed::SwitchOn { set_c, .. } = act.deed {
                self.stands[act.kettle - 1].set_c = Some(set_c);
            }
        }
    }

    /// The set point of kettle `k` (from 0), once it is on.
    pub fn set_c(&self, k: usize) -> Option<f64> {
        self.stands.get(k)?.set_c
    }

    /// Whether anything has been done at a kettle or drawn from one.
    pub fn are_begun(&self) -> bool {
        self.stands.iter().any(|stand| stand.free_at.is_some())
    }

    fn kettle(&self, k: usize) -> (&'a Kettle, Filling) {
        let kettle = &self.class.setting.kettles[k];
        (kettle, Filling::of(kettle))
    }

    /// The cups of a round that come from kettle `k`, in the order of their pours.
    fn cups<'p>(&self, round: &'p RoundPlan, k: usize) -> Vec<&'p CupPlan> {
        let mut cups: Vec<&CupPlan> = round.cups.iter().filter(|c| c.kettle == Some(k + 1)).collect();
        cups.sort_by_key(|c| c.pour_at_s);
        cups
    }

    /// The quickest way to get kettle `k` to this set point, holding so much; none if it is ready as it stands.
    fn way(&self, k: usize, set_c: f64, wanted_ml: f64) -> Option<Deed> {
        let ((kettle, filling), stand) = (self.kettle(k), self.stands[k]);
        let room_c = self.class.setting.room_c;
        let Some(from_c) = stand.set_c else {
            let (ml, takes_s) = (filling.full_ml, change_s(kettle, room_c, set_c, room_c));
            // Nobody has switched it on before a class that has begun without it.
            let begun = self.has_begun;
            return Some(if begun { self.afresh(k, set_c) } else { Deed::SwitchOn { ml, set_c, takes_s } });
        };
        let left_ml = stand.left_ml.max(0.0);
        if !Filling::holds(left_ml, wanted_ml) && !filling.is_full(left_ml) {
            return Some(self.refill(k, left_ml, from_c, set_c));
        }
        if filling.emptied_s(&Heat::of(kettle), from_c, set_c, room_c, 0.0, (0, 0)).is_some() {
            return Some(self.afresh(k, set_c));
        }
        let takes_s = change_s(kettle, from_c, set_c, room_c);
        (takes_s > 0).then_some(Deed::Set { from_c, set_c, takes_s })
    }

    fn refill(&self, k: usize, left_ml: f64, from_c: f64, set_c: f64) -> Deed {
        let ((kettle, filling), room_c) = (self.kettle(k), self.class.setting.room_c);
        let Refill { ml, afresh, takes_s } =
            filling.refill(&Heat::of(kettle), left_ml, from_c, set_c, room_c, 0.0);
        if afresh { Deed::Afresh { ml, set_c, takes_s } } else { Deed::Refill { ml, set_c, takes_s } }
    }

    /// Seconds from `at` until kettle `k`, as it stands, can be ready for this tea.
    pub fn ready_in_s(&self, k: usize, tea: &TeaJob, at: HostTime) -> u32 {
        let Some(stand) = self.stands.get(k) else { return 0 };
        let (takes_s, earliest) = self.way(k, tea.temp_c, tea.ml).map_or((0, self.from), |deed| {
            let fill_s = if deed.fills() { self.kettle(k).1.fill_s } else { 0 };
            (deed.takes_s().saturating_add(fill_s), self.from.max(stand.lid_on))
        });
        let ready = stand.free_at.unwrap_or(earliest).max(earliest) + i64::from(takes_s) * SECOND_US;
        u32::try_from((ready.0 - at.0 + SECOND_US - 1).max(0) / SECOND_US).unwrap_or(NEVER_S)
    }

    /// Empties kettle `k` and fills it afresh.
    fn afresh(&self, k: usize, set_c: f64) -> Deed {
        let ((kettle, filling), room_c) = (self.kettle(k), self.class.setting.room_c);
        Deed::Afresh { ml: filling.full_ml, set_c, takes_s: change_s(kettle, room_c, set_c, room_c) }
    }

    /// Does a deed at kettle `k` and gives when the kettle is ready for `next`.
    fn act(&mut self, k: usize, next: Next, at: HostTime, hands: u8, deed: Deed) -> HostTime {
        let (_, filling) = self.kettle(k);
        let length_s = if deed.fills() && hands > 0 { filling.fill_s } else { 0 };
        let ready = at.plus_s(length_s) + i64::from(deed.takes_s()) * SECOND_US;
        let stand = &mut self.stands[k];
        if deed.fills() {
            stand.left_ml = filling.usable_ml;
        }
        (stand.set_c, stand.free_at) = (Some(next.set_c), Some(ready));
        self.acts.push(Act { kettle: k + 1, round: next.round, at, hands, length_s, code: next.code, deed });
        ready
    }

    /// Gets kettle `k` ready for `next` with hands that are free; gives when it is, and when those hands are again. One that
    /// is not on yet is switched on before the class, so that it is ready when that begins.
    pub fn make_ready(&mut self, k: usize, next: Next, hands: &mut Hands) -> (HostTime, HostTime) {
        let free_at = self.stands[k].free_at.unwrap_or(self.from).max(self.from).max(self.stands[k].lid_on);
        let Some(deed) = self.way(k, next.set_c, next.ml) else {
            return (self.stands[k].free_at.unwrap_or(self.from), self.from);
        };
        if let Deed::SwitchOn { takes_s, .. } = deed {
            let on = self.from + -i64::from(takes_s) * SECOND_US;
            return (self.act(k, next, on, 0, deed), self.from);
        }
        // Who fills it up has the same pause before and after as between two teas; to set it takes a moment.
        let (length_s, gap_s) =
            if deed.fills() { (self.kettle(k).1.fill_s, self.class.setting.gap_s) } else { (0, 0) };
        let (at, who) = hands.place_work(i64::from(length_s + 2 * gap_s) * SECOND_US, free_at);
        let at = at.plus_s(gap_s);
        (self.act(k, next, at, who, deed), at.plus_s(length_s + gap_s))
    }

    /// Gets all kettles ready for a round that could begin at `ready`; gives when it can. With `counted` the round itself
    /// counts how long a kettle that nobody has used yet heats or cools; one that is emptied is filled before it.
    pub fn begin(
        &mut self,
        round: &RoundPlan,
        ready: HostTime,
        counted: bool,
        hands: &mut Hands,
    ) -> HostTime {
        let mut begin = ready;
        let mut unused = Vec::new();
        for k in 0..self.stands.len() {
            let cups = self.cups(round, k);
            let Some(first) = cups.first() else { continue };
            let ml = cups.iter().map(|c| c.draw_ml).sum();
            let next = Next { round: round.round, code: first.code, set_c: first.set_c, ml };
            let Stand { set_c, free_at, .. } = self.stands[k];
            let filled = self.way(k, next.set_c, next.ml).is_some_and(|deed| deed.fills());
            if free_at.is_none() && counted && set_c.is_some() && !filled {
                unused.push((k, next));
                continue;
            }
            let (kettle_ready, hands_free) = self.make_ready(k, next, hands);
            begin = begin.max(kettle_ready + -i64::from(first.pour_at_s) * SECOND_US).max(hands_free);
        }
        for (k, next) in unused {
            if let Some(from_c) = self.stands[k].set_c.filter(|&from_c| from_c != next.set_c) {
                let takes_s = change_s(self.kettle(k).0, from_c, next.set_c, self.class.setting.room_c);
                self.act(k, next, begin, 1, Deed::Set { from_c, set_c: next.set_c, takes_s });
            }
        }
        begin
    }

    /// Goes on over a round that begins at `begin`; its pours and decants are among what the hands have to do.
    pub fn pass(&mut self, round: &RoundPlan, begin: HostTime, hands: &Hands) {
        for k in 0..self.stands.len() {
            let mut before: Option<&CupPlan> = None;
            for cup in self.cups(round, k) {
                let next = Next { round: round.round, code: cup.code, set_c: cup.set_c, ml: cup.draw_ml };
                if let Some(before) = before {
                    self.between(k, before, next, begin, hands);
                }
                self.pour(k, next, begin.plus_s(cup.pour_at_s), cup.pour_s, cup.pour_hands);
                before = Some(cup);
            }
        }
    }

    /// What stands between two pours of a round.
    fn between(&mut self, k: usize, before: &CupPlan, next: Next, begin: HostTime, hands: &Hands) {
        let ((kettle, filling), left_ml) = (self.kettle(k), self.stands[k].left_ml);
        let from_c = before.set_c;
        if before.refill_after {
            let deed = if Filling::holds(left_ml, next.ml) {
                // It would only have cooled for longer.
                self.afresh(k, next.set_c)
            } else {
                self.refill(k, left_ml, from_c, next.set_c)
            };
            let (at_s, who) = if Filling::follows_pour(before.steep_s, filling.fill_s, LID_S) {
                (before.pour_at_s + before.pour_s + LID_S, before.pour_hands)
            } else {
                (before.ready_at_s, before.decant_hands)
            };
            self.act(k, next, begin.plus_s(at_s), who, deed);
        } else if from_c != next.set_c {
            let takes_s = change_s(kettle, from_c, next.set_c, self.class.setting.room_c);
            let deed = Deed::Set { from_c, set_c: next.set_c, takes_s };
            let lid_on = begin.plus_s(before.pour_at_s + before.pour_s + LID_S);
            // A little sooner where they have other work by then.
            let at = hands.free_by(before.pour_hands, lid_on);
            self.act(k, next, at, before.pour_hands, deed);
        }
    }

    /// One pour from kettle `k`.
    pub fn pour(&mut self, k: usize, next: Next, at: HostTime, pour_s: u32, hands: u8) {
        let left_ml = self.stands[k].left_ml - next.ml;
        let end = at.plus_s(pour_s);
        let lid_on = end.plus_s(LID_S);
        self.stands[k] = Stand { set_c: Some(next.set_c), free_at: Some(end), lid_on, left_ml };
        let deed = Deed::Draw { code: next.code, ml: next.ml };
        let Next { round, code, .. } = next;
        self.acts.push(Act { kettle: k + 1, round, at, hands, length_s: pour_s, code, deed });
    }

    /// Takes in what has happened: the cues that stand. Which kettle it was is said by the cue, or by the plan of its round
    /// where an older program's cue does not say it.
    pub fn has_happened(&mut self, whole: &[RoundPlan], kept: &[Cue]) {
        let mut kept: Vec<&Cue> = kept.iter().collect();
        kept.sort_by_key(|cue| cue.at);
        for cue in kept {
            // What is done at a kettle may be kept apart as one after the last round.
            let plan = whole.iter().find(|plan| plan.round == cue.round().max(1)).or(whole.last());
            let (Some(round), Some(code)) = (plan, cue.code) else { continue };
            // What is done at a kettle may name a tea that this round does not serve, so that no cue is two.
            let cup = round.cups.iter().find(|c| c.code == code);
            let named = cue.kettle.map(usize::from).or(cup.and_then(|cup| cup.kettle));
            let Some(k) = named.and_then(|k| k.checked_sub(1)).filter(|&k| k < self.stands.len()) else {
                continue;
            };
            let (asked_c, ml) = cup.map_or((None, 0.0), |cup| (Some(cup.set_c), cup.draw_ml));
            let set_c = match cue.action {
                Action::Pour | Action::Rinse => asked_c,
                _ => cue.temp_c.or(asked_c),
            };
            let Some(set_c) = set_c else { continue };
            let next = Next { round: round.round, code, set_c, ml };
            if cue.action.is_at_kettle() {
                let deed = self.again(k, cue.action, set_c);
                self.act(k, next, cue.at, cue.hands, deed);
            } else if matches!(cue.action, Action::Pour | Action::Warm | Action::Rinse) {
                self.pour(k, next, cue.at, cue.length_s, cue.hands);
            }
        }
        // It is not to be done any more.
        self.acts.clear();
    }

    /// The deed that was cued, as the kettle stands.
    fn again(&self, k: usize, action: Action, set_c: f64) -> Deed {
        let (kettle, stand, room_c) = (self.kettle(k).0, self.stands[k], self.class.setting.room_c);
        let from_c = stand.set_c.unwrap_or(room_c);
        match action {
            Action::Refill => self.refill(k, stand.left_ml.max(0.0), from_c, set_c),
            Action::Fill => self.afresh(k, set_c),
            _ => Deed::Set { from_c, set_c, takes_s: change_s(kettle, from_c, set_c, room_c) },
        }
    }
}

/// Seconds for a full kettle to get from one temperature to another; tolerances have gone into the set points.
fn change_s(kettle: &Kettle, from_c: f64, to_c: f64, room_c: f64) -> u32 {
    Heat::of(kettle).set_up_s(from_c, to_c, room_c, 0.0)
}

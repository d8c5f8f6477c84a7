//! The kettles: how they get ready for a round, how long that takes, and what to do at them when.

use super::heat::Heat;
use super::placed::RoundDocument;
use super::quantities::quantities;
use super::rounds::{CupPlan, RoundPlan};
use class::setting::Kettle;
use class::{Class, Pourers};
use protocol::time::SECOND_US;
use protocol::{Code, HostTime};
use serde::Serialize;

/// A kettle keeps this part of its filling back: an element must stay under water. Common practice, no source.
const KEPT_BACK: f64 = 0.1;

/// One thing to do at a kettle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KettleStep {
    /// Which kettle, by its place in the class file from 1.
    pub kettle: usize,
    /// In which round.
    pub round: u32,
    /// Seconds from the first cue of the class; before it when less than nought.
    pub at_s: i64,
    /// What to do.
    #[serde(flatten)]
    pub deed: Deed,
}

/// What there is to do at a kettle.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Deed {
    /// Fill it and switch it on.
    SwitchOn {
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from the room's temperature, seconds.
        takes_s: u32,
    },
    /// Empty it, fill it with fresh water and set it.
    Afresh {
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from the room's temperature, seconds.
        takes_s: u32,
    },
    /// Fill it up with fresh water and set it.
    Refill {
        /// How much, millilitres.
        ml: f64,
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from what the water has become, seconds.
        takes_s: u32,
    },
    /// Change the set point.
    Set {
        /// From what, °C.
        from_c: f64,
        /// To what, °C.
        set_c: f64,
        /// How long that takes, seconds.
        takes_s: u32,
    },
    /// Pour from it.
    Draw {
        /// For which tea.
        code: Code,
        /// How much, millilitres.
        ml: f64,
    },
}

impl Deed {
    /// How long until the kettle is ready after it, seconds.
    pub fn takes_s(&self) -> u32 {
        match *self {
            Deed::SwitchOn { takes_s, .. }
            | Deed::Afresh { takes_s, .. }
            | Deed::Refill { takes_s, .. }
            | Deed::Set { takes_s, .. } => takes_s,
            Deed::Draw { .. } => 0,
        }
    }
}

/// Where a kettle stands between two rounds.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stand {
    /// Its set point; none if it has not been switched on yet, so that it is preset for its first tea.
    set_c: Option<f64>,
    /// When it was last poured from; none if it never was.
    free_at: Option<HostTime>,
    /// What may still be drawn from it, millilitres.
    left_ml: f64,
}

/// All kettles of a class as it goes on from round to round.
#[derive(Clone, Debug)]
pub struct Kettles<'a> {
    class: &'a Class,
    pours_ml: Vec<(Code, f64)>,
    stands: Vec<Stand>,
}

impl<'a> Kettles<'a> {
    /// The kettles as they stand when the class begins.
    pub fn new(class: &'a Class) -> Self {
        let needs = quantities(class);
        // A table's vessels of one tea stand side by side and are filled in one go.
        let vessels = |i: usize| match class.pourers {
            Pourers::EachSeat => 1,
            Pourers::Table(_) => needs.teas.get(i).and_then(|n| n.vessels).unwrap_or(1),
        };
        let coded = class.teas.iter().enumerate();
        let pours_ml =
            coded.filter_map(|(i, t)| Some((t.code?, t.water_ml * f64::from(vessels(i))))).collect();
        let stand = |k: &Kettle| Stand { set_c: k.starts_c, free_at: None, left_ml: usable_ml(k) };
        Self { class, pours_ml, stands: class.setting.kettles.iter().map(stand).collect() }
    }

    fn ml(&self, code: Code) -> f64 {
        self.pours_ml.iter().find(|(c, _)| *c == code).map_or(0.0, |&(_, ml)| ml)
    }

    /// The cups of a round that come from kettle `k` (from 0), in the order of their pours.
    fn cups<'p>(&self, round: &'p RoundPlan, k: usize) -> Vec<&'p CupPlan> {
        let mut cups: Vec<&CupPlan> = round.cups.iter().filter(|c| c.kettle == Some(k + 1)).collect();
        cups.sort_by_key(|c| c.pour_at_s);
        cups
    }

    /// The quickest way to get kettle `k` ready for these cups; none if it is ready as it stands.
    fn make_ready(&self, k: usize, cups: &[&CupPlan]) -> Option<Deed> {
        let (kettle, stand) = (&self.class.setting.kettles[k], self.stands[k]);
        let set_c = cups.first()?.set_c;
        let room_c = self.class.setting.room_c;
        let afresh_s = change_s(kettle, room_c, set_c, room_c);
        let Some(from_c) = stand.set_c else { return Some(Deed::SwitchOn { set_c, takes_s: afresh_s }) };
        let need_ml: f64 = cups.iter().map(|c| self.ml(c.code)).sum();
        if stand.left_ml >= need_ml || stand.left_ml >= usable_ml(kettle) {
            let takes_s = change_s(kettle, from_c, set_c, room_c);
            return match takes_s {
                0 => None,
                _ if afresh_s < takes_s => Some(Deed::Afresh { set_c, takes_s: afresh_s }),
                _ => Some(Deed::Set { from_c, set_c, takes_s }),
            };
        }
        let ml = usable_ml(kettle) - stand.left_ml;
        let mixed_c = ((kettle.fill_ml - ml) * from_c + ml * room_c) / kettle.fill_ml;
        let takes_s = change_s(kettle, mixed_c, set_c, room_c);
        let afresh = Deed::Afresh { set_c, takes_s: afresh_s };
        Some(if afresh_s < takes_s { afresh } else { Deed::Refill { ml, set_c, takes_s } })
    }

    /// How long a round that could begin at `begin` has to wait for its kettles, microseconds.
    ///
    /// A kettle that has never been poured from is preset, or the round itself has counted its first set-up.
    pub fn wait_us(&self, round: &RoundPlan, begin: HostTime) -> i64 {
        let wait = |k: usize| {
            let cups = self.cups(round, k);
            let (first, free_at) = (cups.first()?, self.stands[k].free_at?);
            let takes_us = i64::from(self.make_ready(k, &cups)?.takes_s()) * SECOND_US;
            Some(takes_us - (begin.plus_s(first.pour_at_s) - free_at))
        };
        (0..self.stands.len()).filter_map(wait).max().unwrap_or(0).max(0)
    }

    /// Goes on over a round that began at `begin`; gives what was to be done at the kettles.
    pub fn pass(&mut self, round: &RoundPlan, begin: HostTime) -> Vec<(usize, HostTime, Deed)> {
        let mut done = Vec::new();
        for k in 0..self.stands.len() {
            let cups = self.cups(round, k);
            let Some(first) = cups.first() else { continue };
            let ready = self.make_ready(k, &cups);
            let at = match (&ready, self.stands[k].free_at) {
                (Some(Deed::SwitchOn { takes_s, .. }), _) => {
                    begin.plus_s(first.pour_at_s) + -i64::from(*takes_s) * SECOND_US
                }
                (_, free_at) => free_at.unwrap_or(begin),
            };
            if let Some(Deed::Afresh { .. } | Deed::Refill { .. }) = ready {
                self.stands[k].left_ml = usable_ml(&self.class.setting.kettles[k]);
            }
            done.extend(ready.map(|deed| (k + 1, at, deed)));
            self.stands[k].set_c = Some(first.set_c);
            for cup in cups {
                self.pour(k, cup.code, cup.set_c, begin.plus_s(cup.pour_at_s), cup.pour_s, &mut done);
            }
        }
        done
    }

    /// One pour from kettle `k`, with the change of set point before it, if any.
    fn pour(
        &mut self,
        k: usize,
        code: Code,
        set_c: f64,
        at: HostTime,
        pour_s: u32,
        done: &mut Vec<(usize, HostTime, Deed)>,
    ) {
        let ml = self.ml(code);
        let (kettle, room_c) = (&self.class.setting.kettles[k], self.class.setting.room_c);
        let stand = &mut self.stands[k];
        if let Some(from_c) = stand.set_c.filter(|&from_c| from_c != set_c) {
            let takes_s = change_s(kettle, from_c, set_c, room_c);
            done.push((k + 1, stand.free_at.unwrap_or(at), Deed::Set { from_c, set_c, takes_s }));
        }
        *stand = Stand { set_c: Some(set_c), free_at: Some(at.plus_s(pour_s)), left_ml: stand.left_ml - ml };
        done.push((k + 1, at, Deed::Draw { code, ml }));
    }

    /// Takes in a pour that has happened: from which kettle is known from the plan of its round.
    pub fn has_poured(&mut self, round: &RoundPlan, code: Code, at: HostTime) {
        let cup = round.cups.iter().find(|c| c.code == code);
        if let Some((cup, k)) = cup.and_then(|c| Some((c, c.kettle? - 1))) {
            self.pour(k, code, cup.set_c, at, cup.pour_s, &mut Vec::new());
        }
    }
}

/// All steps of a class in order of time.
pub fn steps(class: &Class, rounds: &[RoundDocument]) -> Vec<KettleStep> {
    let mut kettles = Kettles::new(class);
    let mut all = Vec::new();
    for round in rounds {
        for (kettle, at, deed) in kettles.pass(&round.plan, HostTime(0).plus_s(round.begins_s)) {
            all.push(KettleStep { kettle, round: round.plan.round, at_s: at.0.div_euclid(SECOND_US), deed });
        }
    }
    all.sort_by_key(|s| (s.at_s, s.kettle));
    all
}

/// What may be drawn from a full kettle, millilitres.
pub fn usable_ml(kettle: &Kettle) -> f64 {
    kettle.fill_ml * (1.0 - KEPT_BACK)
}

/// Seconds for a full kettle to get from one temperature to another; tolerances have gone into the set points.
fn change_s(kettle: &Kettle, from_c: f64, to_c: f64, room_c: f64) -> u32 {
    Heat::of(kettle).set_up_s(from_c, to_c, room_c, 0.0)
}

//! What to do at the kettles: when to switch on, what to set, what each pour draws, when to refill.

use super::document::RoundDocument;
use super::water::{cooling_s, heating_s};
use crate::class::setting::Kettle;
use crate::class::{Class, Pourers};
use protocol::Code;
use serde::Serialize;

/// A kettle keeps so much of its filling back: an element must stay under water. Common practice, no source.
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
    /// Empty it, fill it afresh and set it: quicker than waiting for it to cool.
    Afresh {
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from the room's temperature, seconds.
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
    /// Fill it up again; heating the fresh water takes so long.
    Refill {
        /// How much, millilitres.
        ml: f64,
        /// How long it takes to be back at its set point, seconds.
        takes_s: u32,
    },
}

/// How many vessels a pour fills: a table's vessels stand side by side and are filled in one go.
pub fn vessels(class: &Class, tea: &str, needs: &super::quantities::Quantities) -> u32 {
    match class.pourers {
        Pourers::EachSeat => 1,
        Pourers::Table(_) => needs.teas.iter().find(|n| n.tea == tea).and_then(|n| n.vessels).unwrap_or(1),
    }
}

/// All steps in order of time.
pub fn steps(class: &Class, rounds: &[RoundDocument]) -> Vec<KettleStep> {
    let needs = super::quantities::quantities(class);
    let mut all = Vec::new();
    for (k, kettle) in class.setting.kettles.iter().enumerate() {
        let number = k + 1;
        let (mut stands_c, mut left_ml) = (kettle.starts_c, usable_ml(kettle));
        let mut free_at = 0i64;
        for round in rounds {
            let mut pours: Vec<_> = round.plan.cups.iter().filter(|c| c.kettle == Some(number)).collect();
            pours.sort_by_key(|c| c.pour_at_s);
            let wanted_ml = |code| {
                let tea = class.tea(code);
                tea.map_or(0.0, |t| t.water_ml * f64::from(vessels(class, &t.name, &needs)))
            };
            let round_ml: f64 = pours.iter().map(|c| wanted_ml(c.code)).sum();
            let step = |at_s, deed| KettleStep { kettle: number, round: round.plan.round, at_s, deed };
            let cooler =
                |first: f64| stands_c.is_some_and(|from_c| from_c > first + class.setting.tolerance_c);
            let afresh = pours.first().is_some_and(|c| cooler(c.temp_c)) && round.plan.round > 1;
            if round_ml > left_ml && left_ml < usable_ml(kettle) && !afresh {
                let ml = usable_ml(kettle) - left_ml;
                let to_c = stands_c.unwrap_or(class.setting.room_c);
                let part = Kettle { fill_ml: ml, ..kettle.clone() };
                let takes_s = heating_s(&part, class.setting.room_c, to_c).ceil() as u32;
                all.push(step(free_at, Deed::Refill { ml, takes_s }));
                left_ml = usable_ml(kettle);
            }
            for (nth, cup) in pours.into_iter().enumerate() {
                let pour_at = i64::from(round.begins_s) + i64::from(cup.pour_at_s);
                match stands_c {
                    None => {
                        let takes_s =
                            heating_s(kettle, class.setting.room_c, cup.temp_c).max(0.0).ceil() as u32;
                        let deed = Deed::SwitchOn { set_c: cup.temp_c, takes_s };
                        all.push(step(pour_at.min(free_at) - i64::from(takes_s), deed));
                    }
                    // Before a round that begins cooler there is time to fill it afresh.
                    Some(_) if nth == 0 && afresh => {
                        let takes_s =
                            heating_s(kettle, class.setting.room_c, cup.temp_c).max(0.0).ceil() as u32;
                        all.push(step(free_at, Deed::Afresh { set_c: cup.temp_c, takes_s }));
                        left_ml = usable_ml(kettle);
                    }
                    Some(from_c) if (from_c - cup.temp_c).abs() > class.setting.tolerance_c => {
                        let takes_s = change_s(kettle, from_c, cup.temp_c, class.setting.room_c);
                        all.push(step(free_at, Deed::Set { from_c, set_c: cup.temp_c, takes_s }));
                    }
                    Some(_) => {}
                }
                stands_c = Some(cup.temp_c);
                let ml = wanted_ml(cup.code);
                left_ml -= ml;
                all.push(step(pour_at, Deed::Draw { code: cup.code, ml }));
                free_at = pour_at + i64::from(cup.pour_s);
            }
        }
    }
    all.sort_by_key(|s| (s.at_s, s.kettle));
    all
}

/// What may be drawn from a full kettle, millilitres.
pub fn usable_ml(kettle: &Kettle) -> f64 {
    kettle.fill_ml * (1.0 - KEPT_BACK)
}

fn change_s(kettle: &Kettle, from_c: f64, to_c: f64, room_c: f64) -> u32 {
    let seconds = if to_c > from_c {
        heating_s(kettle, from_c, to_c)
    } else {
        cooling_s(kettle.cooling_s, from_c, to_c, room_c)
    };
    (seconds - 1e-9).ceil() as u32
}

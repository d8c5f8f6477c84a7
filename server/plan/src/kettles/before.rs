//! What is to be done at the kettles before the first cue: no cue tells anybody to switch a kettle on.

use super::{Act, Deed, KettleStep};
use crate::rounds::RoundPlan;
use crate::timetable::{Rest, with_kettles};
use crate::warnings::words_s;
use class::course::Course;
use class::{Class, Pourers};
use protocol::HostTime;
use protocol::say;
use serde::Serialize;

/// A kettle to be got ready before the first cue.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Before {
    /// Which kettle, by its place in the class file from 1.
    pub kettle: usize,
    /// Seconds from the first cue, so less than nought; nought for one that only has to stand ready by then.
    pub at_s: i64,
    /// What to do, in words.
    pub words: String,
}

/// What is to be done before the first cue of a class, first things first; `rounds` are its rounds as
/// [`plan_rounds`](crate::plan_rounds) gives them.
pub fn before(class: &Class, rounds: &[RoundPlan]) -> Vec<Before> {
    // What can't be planned has no first cue.
    let acts = with_kettles(class, &Course::written(class), rounds, Rest::default(), HostTime(0))
        .map_or(Vec::new(), |(_, acts)| acts);
    let steps: Vec<KettleStep> = acts.into_iter().map(Act::step).collect();
    found(class, &steps)
}

/// The same from what there is to do at the kettles.
pub(crate) fn found(class: &Class, steps: &[KettleStep]) -> Vec<Before> {
    let kettles = &class.setting.kettles;
    let names: Vec<String> = kettles.iter().map(|kettle| kettle.name.clone()).collect();
    let every_seat = class.pourers == Pourers::EachSeat && !class.setting.shared_kettles;
    let place = if every_seat { " at every seat" } else { "" };
    let one = |(i, kettle): (usize, &class::setting::Kettle)| {
        let named = say::kettle(super::kettle_number(i + 1), &names) + place;
        let mut own = steps.iter().filter(|step| step.kettle == i + 1).peekable();
        own.peek()?;
        let on = own.find_map(|step| match step.deed {
            Deed::SwitchOn { set_c, .. } => Some((step.at_s, set_c)),
            _ => None,
        });
        let (at_s, words) = match (on, kettle.starts_c) {
            (Some((at_s, set_c)), _) => (at_s, format!("fill {named}, switch it on, set {set_c} °C")),
            (None, Some(starts_c)) => (0, format!("have {named} full and at {starts_c} °C")),
            (None, None) => return None,
        };
        Some(Before { kettle: i + 1, at_s, words })
    };
    let mut all: Vec<Before> = kettles.iter().enumerate().filter_map(one).collect();
    all.sort_by_key(|before| before.at_s);
    all
}

/// All of it in a line; `None` where nothing is to be done.
pub fn line(all: &[Before]) -> Option<String> {
    let one = |before: &Before| match u32::try_from(-before.at_s) {
        Ok(ahead_s) if ahead_s > 0 => format!("{}, {} ahead", before.words, words_s(ahead_s)),
        _ => before.words.clone(),
    };
    let all: Vec<String> = all.iter().map(one).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan_rounds;
    use class::read;

    const SIX: &str = include_str!("../../../../demo/six-teas.toml");

    fn said(file: &str) -> Option<String> {
        let class = read::class(file).unwrap().with_codes(1);
        line(&before(&class, &plan_rounds(&class).unwrap()))
    }

    #[test]
    fn a_kettle_is_switched_on_so_early_that_it_is_hot_at_the_first_cue() {
        assert_eq!(said(SIX).as_deref(), Some("fill the kettle, switch it on, set 98 °C, 4 min 49 s ahead"));
    }

    #[test]
    fn a_kettle_that_is_on_already_only_has_to_stand_ready() {
        let on = SIX.replacen("[[kettle]]", "[[kettle]]\nstarts_c = 98", 1);
        assert_eq!(said(&on).as_deref(), Some("have the kettle full and at 98 °C"));
    }

    #[test]
    fn every_seat_gets_its_own_kettle_ready() {
        let seats = SIX.replacen("pourers = 1", "pourers = \"each seat\"", 1);
        let words = said(&seats).unwrap();
        assert!(words.contains("fill the kettle at every seat, switch it on"), "{words}");
    }

    #[test]
    fn without_kettles_there_is_nothing_to_do() {
        assert_eq!(said(include_str!("../../../tests/classes/two-ways.toml")), None);
    }
}

//! Laws of every timetable, for any class, any hold and any resumption.

use super::filling::LID_S;
use super::rounds::{RoundPlan, Unplannable};
use super::{Rest, held, hold, plan_rounds, steer};
use class::course::{Act, Course};
use class::setting::{Kettle, fill_s};
use class::{Class, Pourers, Tea, read};
use proptest::prelude::*;
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime, Timetable};

/// The cues of a class that is run as it was written.
fn plan(class: &Class, whole: &[RoundPlan], rest: Rest<'_>, from: HostTime) -> Result<Vec<Cue>, Unplannable> {
    super::plan(class, &Course::written(class), whole, rest, from)
}

fn base() -> Class {
    read::class(include_str!("../../tests/classes/two-ways.toml")).unwrap()
}

prop_compose! {
    fn a_tea()(steep_s in prop::collection::vec(0u32..200, 1..5), rinse_s in prop::option::of(0u32..15)) -> Tea {
        Tea { temp_c: vec![90.0; steep_s.len()], steep_s, rinse_s, code: None, ..base().teas[0].clone() }
    }
}

prop_compose! {
    fn a_class()(
        teas in prop::collection::vec(a_tea(), 1..9),
        table_hands in prop::option::of(1u8..4),
        (pour_s, decant_s, warm_s) in (1u32..30, 1u32..30, prop_oneof![Just(0), 1u32..20]),
        (taste_s, pause_s) in (10u32..200, 0u32..60),
        seed: u64,
    ) -> Class {
        let pourers = table_hands.map_or(Pourers::EachSeat, Pourers::Table);
        Class { teas, pourers, pour_s, decant_s, warm_s, taste_s, pause_s, ..base() }.with_codes(seed)
    }
}

prop_compose! {
    /// A class with kettles that have to be filled up on the way.
    fn a_class_with_kettles()(
        class in a_class(),
        most in 1usize..6,
        kettles in prop::collection::vec((500u32..1600, prop::option::of(20u32..96)), 1..3),
        temps in prop::collection::vec(prop::sample::select(vec![75.0, 90.0, 98.0]), 8),
    ) -> Class {
        let mut class = class;
        class.teas.truncate(most);
        for (tea, temp_c) in class.teas.iter_mut().zip(temps) {
            tea.temp_c = vec![temp_c; tea.steep_s.len()];
        }
        // The largest holds a pour of any tea: two vessels at a table, of 120 ml.
        let kettle = |(fill_ml, starts_c): (u32, Option<u32>)| Kettle {
            name: "kettle".into(),
            fill_ml: fill_ml.into(),
            watts: 2000.0,
            efficiency: 0.85,
            cooling_s: 2400.0,
            starts_c: starts_c.map(f64::from),
            fill_s: fill_s(),
        };
        class.setting.kettles = kettles.into_iter().map(kettle).collect();
        class
    }
}

/// What the kettles stand at when a class begins that goes by this timetable: as the class file says, or preset.
fn presets(class: &Class, cues: &[Cue]) -> Vec<Option<f64>> {
    let first_c = |number| cues.iter().find(|c| c.kettle == Some(number)).and_then(|c| c.temp_c);
    (1u8..).zip(&class.setting.kettles).map(|(number, k)| k.starts_c.or_else(|| first_c(number))).collect()
}

/// No kettle gives more than is in it, and none gives water of another temperature than it was set to last.
fn nothing_runs_dry(class: &Class, presets: &[Option<f64>], cues: &[Cue]) -> Result<(), TestCaseError> {
    for ((number, kettle), preset) in (1u8..).zip(&class.setting.kettles).zip(presets) {
        let full_ml = 0.9 * kettle.fill_ml;
        let (mut left_ml, mut set_c) = (full_ml, *preset);
        for cue in cues.iter().filter(|c| c.kettle == Some(number)) {
            match cue.action {
                Action::Fill | Action::Refill => {
                    // Emptied first, or filled up.
                    let ml = if cue.action == Action::Fill { kettle.fill_ml } else { full_ml - left_ml };
                    prop_assert!((cue.water_ml.unwrap() - ml).abs() < 0.01, "{} of {:?}", cue, cue.water_ml);
                    (left_ml, set_c) = (full_ml, cue.temp_c);
                }
                Action::Set => set_c = cue.temp_c,
                _ => {
                    left_ml -= cue.water_ml.unwrap() * f64::from(cue.vessels.unwrap_or(1));
                    prop_assert!(left_ml > -0.01, "kettle {} is empty at {}", number, cue);
                    prop_assert!(set_c.is_none() || set_c == cue.temp_c, "{} of {:?}", cue, set_c);
                }
            }
        }
    }
    let mut keys: Vec<_> = cues.iter().map(Cue::key).collect();
    keys.sort();
    let twice = keys.windows(2).find(|w| w[0] == w[1]);
    prop_assert_eq!(twice, None, "a cue is two");
    Ok(())
}

/// Every law that holds for a whole timetable.
fn check(class: &Class, cues: &[Cue]) -> Result<(), TestCaseError> {
    for hands in 1..=class.pourers.hands() {
        let work = cues.iter().filter(|c| c.hands == hands && !c.action.is_within());
        let mut work: Vec<_> = work.map(|c| (c.at, c.end())).collect();
        work.sort();
        prop_assert!(
            work.windows(2).all(|w| w[0].1 <= w[1].0),
            "hands {} do two things at once: {:?}",
            hands,
            work
        );
    }
    prop_assert!(cues.iter().all(|c| c.hands <= class.pourers.hands()));
    for pour in cues.iter().filter(|c| c.action == Action::Pour && c.kettle.is_some()) {
        let soon = |c: &&Cue| c.at >= pour.end() && c.at < pour.end().plus_s(LID_S);
        let other = cues.iter().any(|c| soon(&c) && c.hands == pour.hands && c.length_s > 0);
        let seen = cues.iter().find(|c| soon(c) && c.action.is_at_kettle() && c.kettle == pour.kettle);
        prop_assert!(other || seen.is_none(), "{:?} before the lid of {}", seen, pour);
    }
    let find =
        |action, code: Option<Code>, steep| cues.iter().filter(move |c| c.key() == (steep, action, code));
    let only = |action, code, steep| {
        let mut all = find(action, code, steep);
        let first = all.next().ok_or_else(|| TestCaseError::fail(format!("no {action} {code:?} {steep}")))?;
        prop_assert!(all.next().is_none(), "{} {:?} {} twice", action, code, steep);
        Ok::<_, TestCaseError>(first)
    };
    let mut round_begins = HostTime(0);
    for round in 1..=class.rounds() {
        let taste = only(Action::Taste, None, round)?;
        let closes = only(Action::SheetCloses, None, round)?;
        prop_assert!(closes.at >= taste.end(), "tasting is cut short");
        for (code, tea) in class.coded().filter(|(_, t)| t.steeps() >= round) {
            let (pour, decant) =
                (only(Action::Pour, Some(code), round)?, only(Action::Decant, Some(code), round)?);
            prop_assert_eq!(decant.at - pour.end(), i64::from(tea.steep_s[round as usize - 1]) * SECOND_US);
            prop_assert!(decant.end() <= taste.at, "tasting before {} is decanted", code);
            prop_assert!(pour.at >= round_begins);
            let lids = find(Action::Lid, Some(code), round).map(|c| (c.at, c.hands)).collect::<Vec<_>>();
            let lid = (decant.at > pour.end()).then_some((pour.end(), pour.hands));
            prop_assert_eq!(lids, lid.into_iter().collect::<Vec<_>>());
            if round == 1 {
                for (action, wanted) in
                    [(Action::Warm, class.warm_s > 0), (Action::Rinse, tea.rinse_s.is_some())]
                {
                    prop_assert_eq!(find(action, Some(code), 1).count(), usize::from(wanted));
                    prop_assert!(find(action, Some(code), 1).all(|c| c.end() <= pour.at));
                }
            }
        }
        round_begins = closes.at.plus_s(class.pause_s);
    }
    Ok(())
}

proptest! {
    #[test]
    fn no_hands_do_two_things_and_every_steep_is_exact_and_decants_come_before_tasting(class in a_class(), from in 0i64..1_000_000_000) {
        let whole = plan_rounds(&class).unwrap();
        let cues = plan(&class, &whole, Rest::default(), HostTime(from)).unwrap();
        check(&class, &cues)?;
        prop_assert!(cues.iter().all(|c| c.at >= HostTime(from)));
    }

    #[test]
    fn the_laws_hold_after_any_holds_and_nothing_wet_has_moved(
        class in a_class(),
        holds in prop::collection::vec((0i64..600, 0i64..300), 1..4),
    ) {
        let whole = plan_rounds(&class).unwrap();
        let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        let mut at = HostTime(0);
        for (run_s, wait_s) in holds {
            at = at + run_s * SECOND_US + 123_457;
            let kept = held(&table, at);
            for cue in table.cues.iter().filter(|c| c.action == Action::Pour && c.at <= at) {
                let decant = table.find(Action::Decant, cue.code, cue.steep);
                prop_assert!(kept.contains(cue) && decant.is_some_and(|d| kept.contains(d)), "wet leaves lost their decant");
            }
            let dry = |c: &&Cue| c.action == Action::Pour && c.at > at.plus_s(hold::BEGUN_S);
            prop_assert_eq!(kept.iter().filter(dry).count(), 0, "something dry would be poured during the hold");
            let left_s = hold::tasting_left_s(&table, at);
            at = at + wait_s * SECOND_US;
            let rest = Rest { kept: &kept, tasting_left_s: left_s };
            table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, at).unwrap());
            check(&class, &table.cues)?;
            prop_assert!(kept.iter().all(|c| table.cues.contains(c)), "a kept cue moved");
            prop_assert!(table.cues.iter().all(|c| kept.contains(c) || c.at >= at), "a new cue lies in the past");
        }
    }

    #[test]
    fn no_kettle_runs_dry_before_or_after_holds_and_no_hands_do_two_things(
        class in a_class_with_kettles(),
        holds in prop::collection::vec((0i64..900, 0i64..300), 0..4),
    ) {
        let whole = plan_rounds(&class).unwrap();
        let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        check(&class, &table.cues)?;
        let presets = presets(&class, &table.cues);
        nothing_runs_dry(&class, &presets, &table.cues)?;
        let mut at = HostTime(0);
        for (run_s, wait_s) in holds {
            at = at + run_s * SECOND_US + 123_457;
            let kept = held(&table, at);
            let left_s = hold::tasting_left_s(&table, at);
            at = at + wait_s * SECOND_US;
            let rest = Rest { kept: &kept, tasting_left_s: left_s };
            table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, at).unwrap());
            check(&class, &table.cues)?;
            nothing_runs_dry(&class, &presets, &table.cues)?;
            prop_assert!(kept.iter().all(|c| table.cues.contains(c)), "a kept cue moved");
            prop_assert!(table.cues.iter().all(|c| kept.contains(c) || c.at >= at), "a new cue lies in the past");
        }
    }

    #[test]
    fn no_kettle_runs_dry_whatever_is_left_out_or_done_again(
        class in a_class_with_kettles(),
        acts in prop::collection::vec((0i64..300, 0usize..5, 1u32..6, any::<bool>()), 1..6),
    ) {
        let whole = plan_rounds(&class).unwrap();
        let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        let presets = presets(&class, &table.cues);
        let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
        let mut course = Course::written(&class);
        let mut at = HostTime(0);
        for (run_s, tea, round, again) in acts {
            at = at + run_s * SECOND_US + 123_457;
            let code = codes[tea % codes.len()];
            let act = if again {
                let round = course.rounds() + 1;
                Act::Added { code, round, steep: 1, steep_s: 30, temp_c: class.tea(code).unwrap().temp_c[0] }
            } else {
                Act::Skipped { code, round, reason: String::new() }
            };
            let first = if again { course.rounds() + 1 } else { round };
            let is_there = again || course.steep((code, round)).is_some_and(|steep| !steep.skipped);
            if !is_there || steer::is_begun(&table, (code, first), at) {
                continue;
            }
            course = course.after(&class, &act);
            let kept = steer::standing(&table, first, at);
            let rest = Rest { kept: &kept, tasting_left_s: None };
            let cues = super::plan(&class, &course, &whole, rest, at.plus_s(steer::STEER_S)).unwrap();
            table = Timetable::new(table.revision + 1, cues);
            nothing_runs_dry(&class, &presets, &table.cues)?;
            prop_assert!(kept.iter().all(|c| table.cues.contains(c)), "a kept cue moved");
        }
    }
}

/// Some teas at one table with two kettles that have to be set anew for each; `ways` are temperature, steep and water.
fn two_kettles(ways: &[(f64, u32, f64)], fill_ml: [f64; 2], fill_s: u32) -> Class {
    let mut class = Class { pourers: Pourers::Table(1), seats: 2, pause_s: 0, taste_s: 10, ..base() };
    class.teas.truncate(ways.len());
    for (tea, &(temp_c, steep_s, water_ml)) in class.teas.iter_mut().zip(ways) {
        let (temp_c, steep_s) = (vec![temp_c; 2], vec![steep_s; 2]);
        *tea = Tea { temp_c, steep_s, water_ml, rinse_s: None, ..tea.clone() };
    }
    let kettle = |fill_ml| Kettle {
        name: "kettle".into(),
        fill_ml,
        watts: 2000.0,
        efficiency: 0.85,
        cooling_s: 2400.0,
        starts_c: None,
        fill_s,
    };
    class.setting.kettles = fill_ml.map(kettle).into();
    class.with_codes(3)
}

#[test]
fn a_class_that_is_held_at_any_second_goes_on_with_hands_and_kettles_as_they_are() {
    for class in [
        // The kettle that is needed second is being filled up when the next round could begin.
        two_kettles(&[(80.0, 240, 300.0), (98.0, 10, 600.0)], [340.0, 700.0], 60),
        // The second kettle has not been poured from yet, and stands where it was preset.
        two_kettles(&[(98.0, 120, 100.0), (75.0, 60, 100.0), (98.0, 30, 100.0)], [1200.0; 2], 20),
    ] {
        let whole = plan_rounds(&class).unwrap();
        let table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        let presets = presets(&class, &table.cues);
        let last = table.cues.iter().map(|c| c.at).max().unwrap();
        let mut at = HostTime(500_000);
        while at < last {
            let kept = held(&table, at);
            let rest = Rest { kept: &kept, tasting_left_s: hold::tasting_left_s(&table, at) };
            let cues = Timetable::new(2, plan(&class, &whole, rest, at.plus_s(10)).unwrap()).cues;
            check(&class, &cues).and_then(|()| nothing_runs_dry(&class, &presets, &cues)).unwrap();
            at = at.plus_s(1);
        }
    }
}

#[test]
fn hands_pause_between_what_a_hold_left_wet_and_what_is_poured_after_it() {
    let gap_s = 15;
    let mut class = two_kettles(&[(98.0, 120, 100.0), (98.0, 60, 100.0), (98.0, 30, 100.0)], [1200.0; 2], 20);
    (class.setting.gap_s, class.taste_s) = (gap_s, 60);
    let whole = plan_rounds(&class).unwrap();
    let table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let last = table.cues.iter().map(|c| c.at).max().unwrap();
    let mut at = HostTime(500_000);
    while at < last {
        let kept = held(&table, at);
        let rest = Rest { kept: &kept, tasting_left_s: hold::tasting_left_s(&table, at) };
        // As soon as can be: what is wet is decanted after this.
        let cues = Timetable::new(2, plan(&class, &whole, rest, at.plus_s(1)).unwrap()).cues;
        let work: Vec<&Cue> =
            cues.iter().filter(|c| matches!(c.action, Action::Pour | Action::Decant)).collect();
        for (done, next) in work.windows(2).map(|w| (w[0], w[1])).filter(|(a, b)| a.code != b.code) {
            assert!(next.at >= done.end().plus_s(gap_s), "held at {at:?}: {done}, then {next}");
        }
        at = at.plus_s(1);
    }
}

#[test]
fn what_was_done_at_a_kettle_counts_whichever_tea_its_cue_names() {
    let mut class = two_kettles(&[(75.0, 30, 100.0), (98.0, 30, 100.0)], [1200.0; 2], 20);
    class.setting.kettles.truncate(1);
    class.teas[0].steep_s.truncate(1);
    class.teas[0].temp_c.truncate(1);
    let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
    let whole = plan_rounds(&class).unwrap();
    let table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let mut kept: Vec<Cue> = table.cues.iter().filter(|c| c.steep == 1).cloned().collect();
    let at = kept.iter().map(Cue::end).max().unwrap();
    // The second round serves the other tea only.
    let set = Cue::new(at, Action::Set, Some(codes[0]), 2, 1, 0);
    kept.push(Cue { temp_c: Some(75.0), kettle: Some(1), ..set });
    let rest = Rest { kept: &kept, tasting_left_s: None };
    let cues = Timetable::new(2, plan(&class, &whole, rest, at.plus_s(10)).unwrap()).cues;
    nothing_runs_dry(&class, &presets(&class, &table.cues), &cues).unwrap();
}

#[test]
fn the_tasting_that_holds_interrupt_goes_on_for_what_was_left_of_it() {
    let class = base();
    let whole = plan_rounds(&class).unwrap();
    let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let taste = table.find(Action::Taste, None, 1).unwrap().clone();
    for (held_s, resumed_s, left_s) in [(20, 500, 40), (510, 900, 30), (928, 950, 2)] {
        let (held_at, resumed_at) = (taste.at.plus_s(held_s), taste.at.plus_s(resumed_s));
        assert_eq!(hold::tasting_left_s(&table, held_at).unwrap_or(2), left_s, "held at {held_s} s");
        let kept = held(&table, held_at);
        let rest = Rest { kept: &kept, tasting_left_s: hold::tasting_left_s(&table, held_at) };
        table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, resumed_at).unwrap());
    }
    // The last hold came within two seconds of the end: the sheet closed as planned.
    assert_eq!(table.find(Action::SheetCloses, None, 1).unwrap().at, taste.at.plus_s(930));
}

#[test]
fn a_kettle_that_stands_as_wanted_goes_on_being_poured_from_after_a_hold() {
    let ways = [(80.0, 90, 100.0), (98.0, 90, 100.0), (80.0, 60, 100.0), (98.0, 60, 100.0)];
    for fill_ml in [[1200.0; 2], [1200.0, 900.0], [600.0; 2]] {
        let class = two_kettles(&ways, fill_ml, 20);
        let whole = plan_rounds(&class).unwrap();
        let table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        let pours: Vec<&Cue> =
            table.cues.iter().filter(|c| c.action == Action::Pour && c.steep == 1).collect();
        for begun in 1..pours.len() {
            let at = pours[begun - 1].at;
            let kept = held(&table, at);
            let rest = Rest { kept: &kept, tasting_left_s: None };
            let cues = Timetable::new(2, plan(&class, &whole, rest, at.plus_s(400)).unwrap()).cues;
            // Each of the two temperatures has had its kettle since the begin.
            let again: Vec<String> = cues
                .iter()
                .filter(|c| c.action.is_at_kettle() && c.steep == 1 && !kept.contains(c))
                .map(|c| c.to_string())
                .collect();
            assert_eq!(again, Vec::<String>::new(), "{fill_ml:?} held after {begun}");
        }
    }
}

/// Eight teas and two kettles of half a litre: filled up several times in a round.
fn kettles_that_run_out() -> Class {
    let temps_c = [80.0, 95.0, 80.0, 98.0, 95.0, 80.0, 98.0, 95.0];
    let ways: Vec<_> = (0u32..8).zip(temps_c).map(|(i, c)| (c, 90 + 30 * (i % 4), 120.0)).collect();
    let mut class = two_kettles(&[], [500.0; 2], 25);
    class.teas = ways.iter().map(|_| base().teas[0].clone()).collect();
    for (tea, &(temp_c, steep_s, water_ml)) in class.teas.iter_mut().zip(&ways) {
        let code = None;
        *tea = Tea {
            temp_c: vec![temp_c],
            steep_s: vec![steep_s],
            water_ml,
            rinse_s: None,
            code,
            ..tea.clone()
        };
    }
    class.with_codes(3)
}

#[test]
fn what_is_left_dry_of_a_round_is_searched_briefly_and_yet_gets_ready_close_together() {
    let class = kettles_that_run_out();
    let whole = plan_rounds(&class).unwrap();
    let table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let pours: Vec<&Cue> = table.cues.iter().filter(|c| c.action == Action::Pour).collect();
    for begun in 1..pours.len() {
        let kept = held(&table, pours[begun - 1].at);
        let at = pours[begun - 1].at.plus_s(600);
        let cues = plan(&class, &whole, Rest { kept: &kept, tasting_left_s: None }, at).unwrap();
        let spread_s = |cues: &[Cue]| {
            let dry = |c: &&Cue| c.action == Action::Decant && !kept.iter().any(|k| k.key() == c.key());
            let ends = || cues.iter().filter(dry).map(Cue::end);
            ends().max().unwrap().seconds_until(ends().min().unwrap())
        };
        // One after the other they would take ten minutes.
        assert!(spread_s(&cues) <= spread_s(&table.cues) + 60, "held after {begun}");
    }
}

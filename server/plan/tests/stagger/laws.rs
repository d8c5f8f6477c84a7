//! Laws of every solution, on small rounds also against all schedules there are.

use crate::checker::{fault, feasible, values};
use plan::exact::{Begun, Fault, Kettle, NODE_BUDGET, Round, Solution, TeaJob, Wish, solve, solve_begun};
use plan::filling::Filling;
use plan::heat::Heat;
use proptest::prelude::*;

prop_compose! {
    fn a_tea(longest_steep_s: u32, temps: &'static [f64])(
        pour_s in 1u32..4,
        steep_s in 0..=longest_steep_s,
        decant_s in 1u32..4,
        temp_c in prop::sample::select(temps),
        ml in prop::sample::select(vec![4.0, 6.0, 10.0]),
    ) -> TeaJob {
        TeaJob { pour_s, steep_s, decant_s, temp_c, ml }
    }
}

prop_compose! {
    /// Small kettles that heat a few degrees and cool in a few seconds, so that brute force gets to the end.
    fn a_kettle()(
        (watts, times) in prop::sample::select(vec![(60.0, 20.0), (100.0, 20.0), (200.0, 10.0), (2000.0, 1.25)]),
        tau_s in prop::sample::select(vec![30.0, 60.0]),
        start_c in prop::option::of(prop::sample::select(vec![78.0, 80.0, 81.0, 84.0])),
        water in prop::option::weighted(0.7, (prop::sample::select(vec![8.0, 10.0, 14.0, 18.0, 26.0]), 0u32..5)),
    ) -> Kettle {
        let water = water.map(|(usable_ml, fill_s)| Filling { full_ml: times * usable_ml, usable_ml, fill_s });
        Kettle { heat: Heat { fill_kg: 0.02, watts, eta: 0.9, tau_s }, start_c, water }
    }
}

/// Set points within the tolerance of their neighbours but not of one another.
const TEMPS_C: &[f64] = &[80.0, 81.0, 82.0, 85.0];

prop_compose! {
    fn a_round(most: usize, longest_steep_s: u32)(
        teas in prop::collection::vec(a_tea(longest_steep_s, TEMPS_C), 1..=most),
        hands in 1u8..4,
        kettles in prop::collection::vec(a_kettle(), 0..3),
        order_fixed in prop::bool::weighted(0.2),
    ) -> Round {
        let (mut teas, mut kettles) = (teas, kettles);
        // More teas that share little water are more than can be proven in a moment.
        kettles.iter_mut().filter(|_| teas.len() > 5).for_each(|kettle| kettle.water = None);
        // Some kettle gives enough for each tea.
        let usable = |k: &Kettle| k.water.map_or(f64::INFINITY, |w| w.usable_ml);
        let most_ml = kettles.iter().map(usable).fold(0.0, f64::max);
        teas.iter_mut().filter(|_| !kettles.is_empty()).for_each(|t| t.ml = t.ml.min(most_ml));
        Round { teas, hands, by: Vec::new(), kettles, room_c: 20.0, tol_c: 1.0, order_fixed, gap_s: 0, lid_s: 0 }
    }
}

/// What a wish minimises, in order, with the vector last.
fn rank(round: &Round, wish: Wish, starts: &[u32]) -> (u32, u32, u32, Vec<u32>) {
    let (spread, makespan) = values(round, starts);
    match wish {
        Wish::StrictSpread => (spread, makespan, 0, starts.to_vec()),
        Wish::ReadyWithin { s } => (spread.saturating_sub(s), makespan, spread, starts.to_vec()),
    }
}

/// The best of all schedules in which every pour begins before `horizon`.
fn brute(round: &Round, wish: Wish, horizon: u32) -> Option<(u32, u32, u32, Vec<u32>)> {
    let n = round.teas.len() as u32;
    let mut best: Option<(u32, u32, u32, Vec<u32>)> = None;
    for code in 0..horizon.pow(n) {
        let starts: Vec<u32> = (0..n).map(|i| code / horizon.pow(i) % horizon).collect();
        let rank = rank(round, wish, &starts);
        if best.as_ref().is_none_or(|best| rank < *best) && feasible(round, &starts) {
            best = Some(rank);
        }
    }
    best
}

fn a_wish() -> impl Strategy<Value = Wish> {
    prop_oneof![2 => Just(Wish::StrictSpread), 1 => (0u32..12).prop_map(|s| Wish::ReadyWithin { s })]
}

fn solved(round: &Round, wish: Wish) -> Result<Solution, TestCaseError> {
    let found = solve(round, wish, NODE_BUDGET).map_err(|e| TestCaseError::fail(e.to_string()))?;
    prop_assert_eq!(fault(round, &found), None);
    prop_assert!(found.proof.starts && found.proof.makespan.proven() && found.proof.spread.proven());
    Ok(found)
}

prop_compose! {
    /// Kettles that run out: nearly every one has to be filled up.
    fn a_thirsty_round(least: usize, most: usize)(
        teas in prop::collection::vec(a_tea(12, TEMPS_C), least..=most),
        hands in 1u8..3,
        kettles in prop::collection::vec(a_kettle(), 1..3),
        (usable_ml, fill_s) in (10u32..20, 0u32..9),
        (gap_s, lid_s) in (0u32..3, 0u32..3),
    ) -> Round {
        let mut kettles = kettles;
        for kettle in &mut kettles {
            let usable_ml = f64::from(usable_ml);
            let full_ml = usable_ml * if kettle.heat.watts > 1000.0 { 1.25 } else { 20.0 };
            kettle.water = Some(Filling { full_ml, usable_ml, fill_s });
        }
        Round { teas, hands, by: Vec::new(), kettles, room_c: 20.0, tol_c: 0.0, order_fixed: false, gap_s, lid_s }
    }
}

prop_compose! {
    /// Kettles that heat quickly and cool slowly: nearly every one is emptied for a cooler tea, some run out, too.
    fn a_round_of_slow_coolers(least: usize, most: usize)(
        teas in prop::collection::vec(a_tea(12, TEMPS_C), least..=most),
        hands in 1u8..3,
        kettles in prop::collection::vec((a_kettle(), 2000u32..6000, 0u32..7, 10u32..40), 1..3),
        (gap_s, lid_s) in (0u32..3, 0u32..3),
    ) -> Round {
        let slow = |(kettle, watts, fill_s, usable_ml): (Kettle, u32, u32, u32)| {
            let heat = Heat { watts: watts.into(), tau_s: 120.0, ..kettle.heat };
            let water = Some(Filling { full_ml: 1.25 * f64::from(usable_ml), usable_ml: usable_ml.into(), fill_s });
            Kettle { heat, water, ..kettle }
        };
        let kettles = kettles.into_iter().map(slow).collect();
        Round { teas, hands, by: Vec::new(), kettles, room_c: 20.0, tol_c: 0.0, order_fixed: false, gap_s, lid_s }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn of_all_schedules_with_kettles_emptied_to_cool_none_ranks_before_the_solution(
        round in a_round_of_slow_coolers(2, 3),
        wish in a_wish(),
    ) {
        let round = Round { gap_s: 0, ..round };
        let found = solved(&round, wish)?;
        let horizon = 28 + found.spread_s.max(*found.starts_s.iter().max().unwrap());
        prop_assume!(horizon < 70);
        prop_assert_eq!(brute(&round, wish, horizon), Some(rank(&round, wish, &found.starts_s)));
    }

    #[test]
    fn a_plan_with_kettles_emptied_to_cool_passes_the_checker_whatever_the_budget_and_its_bounds_are_true(
        round in a_round_of_slow_coolers(3, 5),
        budget in 0u64..3000,
        wish in a_wish(),
    ) {
        let best = solved(&round, wish)?;
        let cut = solve(&round, wish, budget).unwrap();
        prop_assert_eq!(fault(&round, &cut), None);
        prop_assert!(cut.proof.excess.bound_s <= rank(&round, wish, &best.starts_s).0);
        prop_assert!(cut.proof.makespan.bound_s <= best.makespan_s);
    }

    #[test]
    fn of_all_schedules_of_up_to_three_teas_none_ranks_before_the_solution(round in a_round(3, 6), wish in a_wish()) {
        let found = solved(&round, wish)?;
        // Any schedule that ranks before the solution in spread alone could be moved to within one longest set-up
        // (9 s), one longest tea (12 s) and the spread; one that ranks before it in makespan lies within that.
        let horizon = (22 + found.spread_s).max(found.starts_s.iter().max().unwrap() + 1).min(60);
        let best = brute(&round, wish, horizon);
        prop_assert_eq!(best, Some(rank(&round, wish, &found.starts_s)));
    }

    #[test]
    fn of_all_schedules_with_refills_of_up_to_three_teas_none_ranks_before_the_solution(
        round in a_thirsty_round(2, 3),
        wish in a_wish(),
    ) {
        let round = Round { gap_s: 0, ..round };
        let found = solved(&round, wish)?;
        // As above; the steeps are at most twice as long.
        let horizon = 28 + found.spread_s.max(*found.starts_s.iter().max().unwrap());
        prop_assume!(horizon < 70);
        prop_assert_eq!(brute(&round, wish, horizon), Some(rank(&round, wish, &found.starts_s)));
    }

    #[test]
    fn a_round_that_is_taken_up_again_has_the_same_best_schedule_whatever_was_planned(
        round in prop_oneof![a_round(5, 12), a_thirsty_round(2, 4)],
        planned in prop::collection::vec((0u32..60, 0u8..3), 5),
        budget in 0u64..3000,
        wish in a_wish(),
    ) {
        let best = solved(&round, wish)?;
        let ready_s = |k: &Kettle| {
            let ready_s = |t: &TeaJob| k.start_c.map_or(0, |c| k.heat.set_up_s(c, t.temp_c, round.room_c, round.tol_c));
            round.teas.iter().map(ready_s).collect()
        };
        let begun = Begun { ready_s: round.kettles.iter().map(ready_s).collect(), planned, poured: Vec::new() };
        let again = solve_begun(&round, wish, NODE_BUDGET, Some(&begun)).unwrap();
        prop_assert_eq!(fault(&round, &again), None);
        prop_assert_eq!((again.starts_s, again.proof), (best.starts_s.clone(), best.proof));
        let cut = solve_begun(&round, wish, budget, Some(&begun)).unwrap();
        prop_assert_eq!(fault(&round, &cut), None);
        // What is said to be proven is so.
        prop_assert!(cut.proof.excess.bound_s <= best.proof.excess.value_s);
        prop_assert!(!cut.proof.starts || cut.starts_s == best.starts_s);
    }

    #[test]
    fn a_plan_with_refills_passes_the_checker_whatever_the_budget_and_its_bounds_are_true(
        round in a_thirsty_round(3, 5),
        budget in 0u64..3000,
        wish in a_wish(),
    ) {
        let best = solved(&round, wish)?;
        let cut = solve(&round, wish, budget).unwrap();
        prop_assert_eq!(fault(&round, &cut), None);
        prop_assert!(cut.proof.excess.bound_s <= rank(&round, wish, &best.starts_s).0);
        prop_assert!(cut.proof.makespan.bound_s <= best.makespan_s);
        if cut.proof.starts {
            prop_assert_eq!(cut.starts_s, best.starts_s);
        }
    }

    #[test]
    fn more_water_in_a_kettle_never_makes_the_spread_larger_where_it_then_never_runs_out(round in a_thirsty_round(2, 5)) {
        let scarce = solved(&round, Wish::StrictSpread)?;
        let mut plenty = round;
        plenty.kettles.iter_mut().for_each(|kettle| kettle.water = None);
        let plenty = solved(&plenty, Wish::StrictSpread)?;
        prop_assert!(plenty.spread_s <= scarce.spread_s || scarce.refill_after.contains(&true));
        prop_assert!(!plenty.refill_after.contains(&true));
    }

    #[test]
    fn no_shift_of_one_or_two_teas_ranks_before_the_solution(round in a_round(5, 30), wish in a_wish()) {
        let found = solved(&round, wish)?;
        let here = rank(&round, wish, &found.starts_s);
        let n = round.teas.len();
        let steps = || -6i64..=6;
        for (i, j) in (0..n).flat_map(|i| (i..n).map(move |j| (i, j))) {
            for (a, b) in steps().flat_map(|a| steps().map(move |b| (a, b))) {
                let mut starts = found.starts_s.clone();
                let moved = |start: u32, by: i64| u32::try_from(i64::from(start) + by).ok();
                let Some(first) = moved(starts[i], a) else { continue };
                starts[i] = first;
                let Some(second) = moved(starts[j], b) else { continue };
                starts[j] = second;
                if rank(&round, wish, &starts) < here {
                    prop_assert!(!feasible(&round, &starts), "{starts:?} ranks before {:?}", found.starts_s);
                }
            }
        }
    }

    #[test]
    fn the_order_of_the_file_changes_neither_spread_nor_makespan(round in a_round(6, 40), turn in 0usize..6, wish in a_wish()) {
        let round = Round { order_fixed: false, ..round };
        let mut turned = round.clone();
        let n = turned.teas.len();
        turned.teas.rotate_left(turn % n);
        if turn % 2 == 1 {
            turned.teas.reverse();
        }
        let (a, b) = (solved(&round, wish)?, solved(&turned, wish)?);
        prop_assert_eq!((a.spread_s, a.makespan_s), (b.spread_s, b.makespan_s));
    }

    #[test]
    fn teas_that_are_the_same_are_poured_in_file_order(round in a_round(3, 20), copies in 2usize..4) {
        let mut round = Round { order_fixed: false, ..round };
        let first = round.teas[0];
        round.teas.extend(std::iter::repeat_n(first, copies - 1));
        let found = solved(&round, Wish::StrictSpread)?;
        let same: Vec<u32> =
            (0..round.teas.len()).filter(|&i| round.teas[i] == first).map(|i| found.starts_s[i]).collect();
        prop_assert!(same.is_sorted());
    }

    #[test]
    fn a_gap_is_kept_and_never_makes_the_spread_smaller(round in a_round(5, 30), gap_s in 1u32..5) {
        let loose = solved(&round, Wish::StrictSpread)?;
        let kept = solved(&Round { gap_s, ..round }, Wish::StrictSpread)?;
        prop_assert!(kept.spread_s >= loose.spread_s);
    }

    #[test]
    fn a_used_up_budget_leaves_a_feasible_schedule_true_bounds_and_the_same_answer_each_time(
        round in a_round(8, 40),
        budget in 0u64..400,
        wish in a_wish(),
    ) {
        let best = solved(&round, wish)?;
        let cut = solve(&round, wish, budget).unwrap();
        prop_assert_eq!(&cut, &solve(&round, wish, budget).unwrap());
        prop_assert_eq!(fault(&round, &cut), None);
        let (cut_rank, best_rank) = (rank(&round, wish, &cut.starts_s), rank(&round, wish, &best.starts_s));
        prop_assert!(cut_rank >= best_rank);
        let proof = cut.proof;
        prop_assert!(proof.excess.bound_s <= best_rank.0, "a bound of {:?} above {:?}", proof.excess, best_rank);
        prop_assert_eq!(proof.excess.value_s, cut_rank.0);
        prop_assert!(proof.makespan.bound_s <= best.makespan_s && proof.makespan.value_s == cut.makespan_s);
        if proof.excess.proven() {
            prop_assert_eq!(cut_rank.0, best_rank.0);
            if proof.makespan.proven() {
                prop_assert_eq!(cut.makespan_s, best.makespan_s);
            }
        }
        if proof.starts {
            prop_assert_eq!(cut.starts_s, best.starts_s);
        }
    }
}

#[test]
fn a_round_that_makes_no_sense_is_refused_with_what_is_wrong() {
    let tea = TeaJob { pour_s: 5, steep_s: 20, decant_s: 5, temp_c: 90.0, ml: 100.0 };
    let kettle = Kettle {
        heat: Heat { fill_kg: 1.0, watts: 1500.0, eta: 0.85, tau_s: 2400.0 },
        start_c: Some(90.0),
        water: Some(Filling { full_ml: 1000.0, usable_ml: 900.0, fill_s: 20 }),
    };
    let sound = Round {
        teas: vec![tea; 2],
        hands: 1,
        by: Vec::new(),
        kettles: vec![kettle],
        room_c: 20.0,
        tol_c: 1.0,
        order_fixed: false,
        gap_s: 0,
        lid_s: 0,
    };
    let cold = TeaJob { temp_c: 15.0, ..tea };
    let faults = [
        (Round { teas: Vec::new(), ..sound.clone() }, Fault::TeaCount(0)),
        (Round { teas: vec![tea; 13], ..sound.clone() }, Fault::TeaCount(13)),
        (Round { hands: 0, ..sound.clone() }, Fault::NoHands),
        (Round { by: vec![2, 1], ..sound.clone() }, Fault::NoHands),
        (Round { kettles: vec![kettle; 9], ..sound.clone() }, Fault::KettleCount(9)),
        (Round { teas: vec![tea, TeaJob { pour_s: 0, ..tea }], ..sound.clone() }, Fault::Tea(1)),
        (
            Round {
                kettles: vec![Kettle { heat: Heat { watts: f64::NAN, ..kettle.heat }, ..kettle }],
                ..sound.clone()
            },
            Fault::Kettle(0),
        ),
        (Round { tol_c: -1.0, ..sound.clone() }, Fault::Setting),
        (Round { teas: vec![tea, cold], ..sound.clone() }, Fault::Kettles),
        (Round { teas: vec![tea, TeaJob { ml: f64::NAN, ..tea }], ..sound.clone() }, Fault::Tea(1)),
        (Round { teas: vec![tea, TeaJob { ml: 901.0, ..tea }], ..sound.clone() }, Fault::Draw(1)),
    ];
    for (round, fault) in faults {
        assert_eq!(solve(&round, Wish::StrictSpread, NODE_BUDGET), Err(fault));
    }
    // Two kettles do it, if one stands cold.
    let two = Round {
        teas: vec![tea, cold],
        kettles: vec![kettle, Kettle { start_c: Some(15.5), ..kettle }],
        ..sound
    };
    assert_eq!(solve(&two, Wish::StrictSpread, NODE_BUDGET).map(|s| s.kettle), Ok(vec![0, 1]));
}

#[test]
fn set_points_within_the_tolerance_one_by_one_cost_no_set_up_on_the_way() {
    let tea = |temp_c| TeaJob { pour_s: 5, steep_s: 60, decant_s: 5, temp_c, ml: 100.0 };
    let kettle = Kettle {
        heat: Heat { fill_kg: 1.5, watts: 1000.0, eta: 0.85, tau_s: 2400.0 },
        start_c: None,
        water: None,
    };
    let round = Round {
        teas: vec![tea(80.0), tea(81.0), tea(82.0)],
        hands: 1,
        by: Vec::new(),
        kettles: vec![kettle],
        room_c: 20.0,
        tol_c: 1.0,
        order_fixed: false,
        gap_s: 0,
        lid_s: 0,
    };
    let found = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
    assert_eq!((found.starts_s, found.spread_s), (vec![0, 5, 10], 10));
}

#[test]
fn a_kettle_is_filled_up_before_the_draw_that_does_not_fit() {
    // Six teas of 250 ml from a kettle that gives 1,080 ml a filling: four draws, and a refill before the fifth.
    let tea = TeaJob { pour_s: 15, steep_s: 90, decant_s: 12, temp_c: 95.0, ml: 250.0 };
    let kettle = Kettle {
        heat: Heat { fill_kg: 1.2, watts: 2000.0, eta: 0.85, tau_s: 2400.0 },
        start_c: None,
        water: Some(Filling { full_ml: 1200.0, usable_ml: 1080.0, fill_s: 20 }),
    };
    let kettles = vec![kettle];
    let round = Round {
        teas: vec![tea; 6],
        hands: 1,
        by: Vec::new(),
        kettles,
        room_c: 20.0,
        tol_c: 0.0,
        order_fixed: false,
        gap_s: 3,
        lid_s: 0,
    };
    let found = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
    assert_eq!(fault(&round, &found), None);
    assert_eq!(found.refill_after, [false, false, false, true, false, false]);
    // 1,000 ml of 20 °C into what is left at 95 °C make 32.5 °C; 62.5 K take 185 s, after 15 s of pour and 20 s of filling.
    assert_eq!(found.starts_s[4] - found.starts_s[3], 15 + 20 + 185);
    assert!(found.proof.starts);
    let one_draw = Round { teas: vec![TeaJob { ml: 1450.0, ..tea }], ..round };
    assert_eq!(
        solve(&one_draw, Wish::StrictSpread, NODE_BUDGET),
        Err(Fault::Draw(0)),
        "1,450 ml at once is refused"
    );
}

#[test]
fn a_kettle_is_emptied_for_a_cooler_tea_where_that_is_sooner_than_cooling() {
    // 150 ml at 95 °C, then 150 ml at 70 °C: 800 ml cool for 974 s, but heat from 20 to 70 °C in 110 s.
    let tea = |temp_c, steep_s| TeaJob { pour_s: 8, steep_s, decant_s: 6, temp_c, ml: 150.0 };
    let kettle = Kettle {
        heat: Heat { fill_kg: 0.8, watts: 1800.0, eta: 0.85, tau_s: 2400.0 },
        start_c: None,
        water: Some(Filling { full_ml: 800.0, usable_ml: 720.0, fill_s: 20 }),
    };
    for (steep_s, filled_at_s) in [(60, 8), (19, 8 + 19 + 6)] {
        let round = Round {
            teas: vec![tea(95.0, steep_s), tea(70.0, steep_s)],
            hands: 1,
            by: Vec::new(),
            kettles: vec![kettle],
            room_c: 20.0,
            tol_c: 0.0,
            order_fixed: true,
            gap_s: 0,
            lid_s: 0,
        };
        let found = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
        assert_eq!(fault(&round, &found), None);
        assert_eq!(found.refill_after, [true, false]);
        assert_eq!(found.starts_s[1] - found.starts_s[0], filled_at_s + 20 + 110, "steep of {steep_s} s");
        // A kettle that stands hot is emptied before second 0.
        let hot = Kettle { start_c: Some(95.0), ..kettle };
        let cool = Round { teas: vec![tea(70.0, steep_s)], kettles: vec![hot], ..round };
        let found = solve(&cool, Wish::StrictSpread, NODE_BUDGET).unwrap();
        assert_eq!(fault(&cool, &found), None);
        assert_eq!(found.starts_s, [110]);
    }
}

#[test]
fn hands_that_fill_a_kettle_do_nothing_else_meanwhile() {
    // A flash steep is decanted first, and the kettle filled up after that; a long one steeps while it is filled up.
    let tea = |steep_s| TeaJob { pour_s: 10, steep_s, decant_s: 8, temp_c: 95.0, ml: 600.0 };
    let kettle = Kettle {
        heat: Heat { fill_kg: 1.0, watts: 2093.0, eta: 1.0, tau_s: 2400.0 },
        start_c: None,
        water: Some(Filling { full_ml: 1000.0, usable_ml: 900.0, fill_s: 20 }),
    };
    for (steep_s, filled_at_s) in [(0, 10 + 8), (19, 10 + 19 + 8), (20, 10), (60, 10)] {
        let round = Round {
            teas: vec![tea(steep_s); 2],
            hands: 1,
            by: Vec::new(),
            kettles: vec![kettle],
            room_c: 20.0,
            tol_c: 0.0,
            order_fixed: true,
            gap_s: 0,
            lid_s: 0,
        };
        let found = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
        assert_eq!(fault(&round, &found), None);
        // 600 ml of 20 °C into 400 ml of 95 °C make 50 °C, and 45 K take 90 s.
        assert_eq!(found.starts_s[1] - found.starts_s[0], filled_at_s + 20 + 90, "steep of {steep_s} s");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn teas_that_are_given_to_some_hands_are_poured_by_those_and_no_worse_schedule_is_given_where_all_may_pour(
        round in a_round(5, 12), by in prop::collection::vec(1u8..8, 5), gap_s in 0u32..3,
    ) {
        let all = (1 << round.hands) - 1;
        let by: Vec<u8> = round.teas.iter().zip(by).map(|(_, by)| if by & all == 0 { all } else { by & all }).collect();
        let free = Round { gap_s, ..round };
        let given = Round { by: by.clone(), ..free.clone() };
        let Ok(found) = solve(&given, Wish::StrictSpread, NODE_BUDGET) else { return Ok(()) };
        prop_assert_eq!(fault(&given, &found), None);
        for (tea, by) in by.iter().enumerate() {
            let may = |hands: u8| by & (1 << hands) != 0;
            prop_assert!(may(found.pour_hands[tea]) && may(found.decant_hands[tea]), "tea {} by {:b}", tea, by);
        }
        let freely = solve(&free, Wish::StrictSpread, NODE_BUDGET).unwrap();
        prop_assert!(freely.spread_s <= found.spread_s);
        let everybody = Round { by: vec![all; free.teas.len()], ..free.clone() };
        prop_assert_eq!(solve(&everybody, Wish::StrictSpread, NODE_BUDGET).unwrap(), freely);
        // Teas that are all of one pair of hands are poured as if there were no other.
        let one = Round { by: vec![1 << (free.hands - 1); free.teas.len()], ..free.clone() };
        let alone = solve(&Round { hands: 1, ..free }, Wish::StrictSpread, NODE_BUDGET).unwrap();
        prop_assert_eq!(solve(&one, Wish::StrictSpread, NODE_BUDGET).unwrap().starts_s, alone.starts_s);
    }
}

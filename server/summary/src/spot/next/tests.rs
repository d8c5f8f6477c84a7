use super::choose::{BEYOND, MOST_BELOW};
use super::*;
use crate::spot::coding::What;
use crate::spot::tests::{NINE, leaf as made};
use crate::spot::{Spot, fitted, spot};
use fixtures::several;
use plan::document::boiling_here;
use proptest::prelude::*;

/// A leaf that was tasted in a grid of nine ways, with a top, a fall and scores of six tasters, drawn.
fn drawn() -> impl Strategy<Value = Spot> {
    let top = [-1.5..1.5f64, -1.5..1.5f64];
    (top, 0.2..1.5f64, prop::collection::vec(-1.5..1.5f64, 54)).prop_map(|(top, loss, wobble)| {
        let way = |n: usize| {
            let x = [(n % 3) as f64 - 1.0, (n / 3) as f64 - 1.0];
            let below = loss * ((x[0] - top[0]).powi(2) + (x[1] - top[1]).powi(2));
            let liking = |taster: usize| (7.0 - below + wobble[6 * n + taster]).round().clamp(1.0, 9.0);
            (x, (0..6).map(liking).collect())
        };
        spot(made(&(0..9).map(way).collect::<Vec<_>>(), &[]), NINE, Some(fitted::USUAL))
    })
}

/// The last class: one pair of hands and two kettles, or each seat its own set, in a room so high up.
fn last(hands: bool, altitude_m: f64) -> Class {
    let mut class = several::class("2026-11-28", false, 100);
    class.setting.altitude_m = altitude_m;
    if hands {
        class.pourers = class::Pourers::Table(1);
    }
    class
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Nobody is served what nearly everybody would dislike, nothing lies far outside what was tasted, and the class can be served.
    #[test]
    fn every_way_of_the_next_class_is_near_enough_liked_and_can_be_served(
        spot in drawn(), hands: bool, altitude_m in 0.0..2500.0f64, teas in 2..=8usize
    ) {
        let last = last(hands, altitude_m);
        let next = next(&spot, NINE, &last, Some(teas)).unwrap();
        prop_assert!(next.class.teas.len() >= 2 && next.class.teas.len() <= teas);
        prop_assert_eq!(next.why.len(), next.class.teas.len());
        prop_assert!(serves(&next.class, &[&last]).is_ok());
        let (coding, fitted) = (&spot.behind.coding, spot.behind.fitted.as_ref().unwrap());
        for tea in &next.class.teas {
            prop_assert!(tea.temp_c[0] <= boiling_here(&last), "{tea:?}");
            let way = coding.code(&spot.behind.leaf.place_of(tea).unwrap());
            for (i, x) in way.iter().enumerate() {
                let (low, high) = (fitted.tried.low[i] - BEYOND, fitted.tried.high[i] + BEYOND);
                prop_assert!((low - 1e-6..=high + 1e-6).contains(x), "{way:?}");
            }
            let below = fitted.surface.difference(spot.answer.at.as_ref().unwrap(), &way).value;
            prop_assert!(below < MOST_BELOW, "{way:?} is {below} below");
        }
    }
}

#[test]
fn where_water_boils_at_less_no_way_is_hotter() {
    // Rising with the heat, so that the hottest would tell most.
    let spot = spot(crate::spot::tests::hill([0.0, 1.5], 0.0), NINE, Some(fitted::USUAL));
    let hottest = |altitude_m: f64| {
        let teas = next(&spot, NINE, &last(false, altitude_m), None).unwrap().class.teas;
        teas.iter().map(|tea| tea.temp_c[0]).fold(0.0, f64::max)
    };
    assert!(hottest(0.0) > 95.0 && hottest(3000.0) <= 90.0, "{} {}", hottest(0.0), hottest(3000.0));
    assert!(spot.behind.coding.factors.iter().any(|factor| factor.what == What::Temperature));
}

#[test]
fn a_warning_that_the_last_class_had_not_is_a_refusal_and_is_told() {
    let spot = spot(crate::spot::tests::hill([0.3, -0.2], 0.0), NINE, Some(fitted::USUAL));
    let mut last = last(false, 0.0);
    // A minute for three cups; five would have 12 s each.
    last.taste_s = 60;
    let next = next(&spot, NINE, &last, Some(6)).unwrap();
    assert_eq!(next.class.teas.len(), 4, "{:?}", next.fewer);
    assert!(next.fewer.unwrap().contains("taste_s ="));
    last.taste_s = 90;
    let six = super::next(&spot, NINE, &last, Some(6)).unwrap();
    assert_eq!((six.class.teas.len(), six.fewer), (6, None));
}

/// A hill between two ways half a step apart, known from eight tasters in twelve ways.
fn known() -> Spot {
    let doses = [-1.0, 0.0, 0.5, 1.0];
    let places: Vec<[f64; 2]> = doses.iter().flat_map(|x| [-1.0, 0.0, 1.0].map(|y| [*x, y])).collect();
    let way = |(n, x): (usize, [f64; 2])| {
        let wobble = |taster: usize| [0.6, -0.6, 0.3, -0.3][(taster + n) % 4];
        let liking = |taster| 7.0 - 0.6 * (x[0] - 0.25).powi(2) - 1.2 * x[1].powi(2) + wobble(taster);
        (x, (0..8).map(liking).collect())
    };
    spot(made(&places.into_iter().enumerate().map(way).collect::<Vec<_>>(), &[]), NINE, Some(fitted::USUAL))
}

#[test]
fn where_the_hill_is_known_the_two_best_come_again_blind_under_names_of_their_own() {
    let mut last = last(false, 0.0);
    (last.taste_s, last.seats) = (90, 20);
    let next = next(&known(), NINE, &last, Some(6)).unwrap();
    assert!(next.again && next.class.blind && !last.blind, "{:?}", next.why);
    let ways: Vec<(f64, f64)> = next.class.teas.iter().map(|tea| (tea.leaf_g, tea.temp_c[0])).collect();
    let of = |leaf_g: f64| ways.iter().filter(|way| **way == (leaf_g, 80.0)).count();
    assert_eq!([of(3.0), of(3.7)], [3, 3], "{ways:?}");
    let names: std::collections::BTreeSet<&str> =
        next.class.teas.iter().map(|tea| tea.name.as_str()).collect();
    assert_eq!(names.len(), 6);
    assert_eq!(names.iter().filter(|name| name.contains(", again")).count(), 4, "{names:?}");
    assert!(next.why[0].starts_with("once more, blind: the way liked best"), "{:?}", next.why);
}

/// By how many teas a class repeats what was tasted.
fn repeated(spot: &Spot, class: &Class) -> usize {
    let leaf = &spot.behind.leaf;
    let near = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 0.25);
    let code = |tea: &Tea| spot.behind.coding.code(&leaf.place_of(tea).unwrap());
    let is_one = |at: &[f64]| leaf.ways.iter().any(|way| near(&spot.behind.coding.code(&way.place), at));
    class.teas.iter().filter(|tea| is_one(&code(tea))).count()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    #[test]
    fn until_the_best_is_known_at_most_half_of_the_teas_are_repeats_whatever_the_seats(
        spot in drawn(), teas in 2..=8usize
    ) {
        prop_assume!(!is_known(&spot));
        let mut last = last(false, 0.0);
        let of = |last: &Class| next(&spot, NINE, last, Some(teas)).unwrap().class.teas;
        let first = next(&spot, NINE, &last, Some(teas)).unwrap().class;
        prop_assert!(2 * repeated(&spot, &first) <= first.teas.len(), "{:?}", first.teas);
        let eight = of(&last);
        for seats in [9, 10] {
            last.seats = seats;
            prop_assert_eq!(&of(&last), &eight);
        }
    }
}

#[test]
fn each_tea_says_which_way_it_moves_from_the_best_and_the_head_how_close_that_comes_in_grams_and_degrees() {
    let mut last = last(false, 0.0);
    last.taste_s = 90;
    let spot = spot(crate::spot::tests::hill([0.3, -0.2], 0.0), NINE, Some(fitted::USUAL));
    let next = next(&spot, NINE, &last, Some(6)).unwrap();
    insta::assert_snapshot!(format!("{}\n{}", next.why.join("\n"), next.closer));
}

#[test]
fn where_the_hill_is_hardly_known_other_ways_tell_more_than_the_two_best_again() {
    let mut last = last(false, 0.0);
    last.taste_s = 90;
    let few: Vec<([f64; 2], Vec<f64>)> =
        [([-1.0, -1.0], 6.0), ([0.0, 0.0], 7.0), ([1.0, 0.0], 6.8), ([0.0, 1.0], 6.4)]
            .map(|(x, liking)| (x, vec![liking, liking + 0.7, liking - 0.9]))
            .to_vec();
    let spot = spot(made(&few, &[]), NINE, Some(fitted::USUAL));
    let next = next(&spot, NINE, &last, Some(6)).unwrap();
    assert!(!next.again && !next.class.blind);
    assert!(next.class.teas.iter().all(|tea| !tea.name.contains("again")));
}

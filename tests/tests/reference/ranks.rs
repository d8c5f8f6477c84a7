//! What ranks say, against general reference libraries and plain counting: 500 random tables, many of them broken in some
//! way. The golden file names the libraries and their versions; `tests/reference/ranks.py` rewrites it.

use super::golden::{Check, Figure, chance, full, list, rows, sets, sum};
use stats::friedman::{Friedman, friedman};
use stats::rank_sums;
use stats::skillings_mack::skillings_mack;
use stats::trend::{Trend, trend};

const GOLDEN: &str = include_str!("../../reference/ranks.json");
/// Chances of the studentized range are written to nine places.
const RANGE_P: f64 = 1e-8;

#[test]
fn friedmans_test_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        check.hold(&set["rows"], friedman(&full(&set["rows"])), &set["friedman"], |ours| {
            let f = ours.f;
            let mut figures = vec![sum(ours.chi_squared), chance(ours.p), sum(ours.kendall_w)];
            figures.extend([sum(f.map(|f| f.f)), chance(f.map(|f| f.p))]);
            figures.extend(ours.rank_sums.iter().copied().map(sum));
            figures
        });
    }
    check.covers(410, 3600);
}

#[test]
fn friedmans_exact_p_is_that_of_counting_all_orders() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "small") {
        let figures = |ours: &Friedman| vec![chance(ours.exact_p)];
        check.hold(&set["rows"], friedman(&full(&set["rows"])), &set["exact"], figures);
    }
    check.covers(435, 435);
}

#[test]
fn the_differences_of_rank_sums_and_their_chances_agree() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let found = friedman(&full(&set["rows"])).and_then(|found| rank_sums::compare(&found, 0.05));
        check.hold(&set["rows"], found, &set["pairs"], |ours| {
            let mut figures = vec![sum(ours.least_significant_difference), sum(ours.family_difference)];
            for pair in &ours.pairs {
                let in_family = Figure { value: Some(pair.p_family), absolute: RANGE_P };
                figures.extend([chance(pair.p_alone), in_family]);
            }
            figures
        });
    }
    check.covers(410, 7000);
}

#[test]
fn pages_test_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let order: Vec<usize> =
            list(&set["order"]).iter().map(|tea| usize::try_from(tea.as_u64().unwrap()).unwrap()).collect();
        let figures = |ours: &Trend| vec![sum(ours.l), chance(ours.p)];
        check.hold(&set["rows"], trend(&full(&set["rows"]), &order), &set["page"], figures);
    }
    check.covers(410, 820);
}

#[test]
fn the_skillings_mack_test_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        check.hold(&set["rows"], skillings_mack(&rows(&set["rows"])), &set["skillings_mack"], |ours| {
            let mut figures = vec![sum(ours.chi_squared), chance(ours.p)];
            figures.extend(ours.weighted_sums.iter().copied().map(sum));
            figures
        });
    }
    check.covers(440, 2700);
}

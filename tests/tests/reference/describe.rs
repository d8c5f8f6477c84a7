//! Scores described, means over classes and totals from weights, against general reference libraries: 500 random sets each.
//! The golden file names the libraries and their versions; `tests/reference/describe.py` rewrites it.

use super::golden::{Check, chance, full, list, rows, sets, sum};
use class::weights::standard::{Total, Weights};
use serde_json::{Value, json};
use stats::Cannot;
use stats::describe::{Description, MeanInterval, describe, mean_interval};
use stats::dist::TReach;
use stats::stratified::{Strata, Stratified};

const GOLDEN: &str = include_str!("../../reference/describe.json");

fn values(set: &Value) -> Vec<f64> {
    list(&set["values"]).iter().map(|value| value.as_f64().unwrap()).collect()
}

#[test]
fn mean_spread_and_quartiles_agree() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let figures = |ours: &Description| {
            let places = [ours.min, ours.lower_quartile, ours.median, ours.upper_quartile, ours.max];
            [sum(ours.mean), sum(ours.sd)].into_iter().chain(places.map(sum)).collect()
        };
        let quartile = |place: usize| &set["quartiles"][place];
        let theirs =
            [&set["mean"], &set["sd"], &set["min"], quartile(0), &set["median"], quartile(1), &set["max"]];
        let theirs = if set["mean"].is_null() { Value::Null } else { json!(theirs) };
        check.hold(&set["values"], describe(&values(&set)), &theirs, figures);
    }
    check.covers(499, 3450);
}

#[test]
fn the_t_interval_of_a_mean_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let figures = |ours: &MeanInterval| {
            [ours.standard_error, ours.interval.low, ours.interval.high].map(sum).into()
        };
        check.hold(&set["values"], mean_interval(&values(&set), 0.95), &set["interval"], figures);
    }
    check.covers(430, 1290);
}

#[test]
fn the_mean_over_blocks_agrees_with_least_squares() {
    let mut check = Check::default();
    let mut reach = TReach::new(0.95).unwrap();
    for set in sets(GOLDEN, "groups") {
        let mut strata = Strata::default();
        for group in rows(&set["rows"]) {
            strata.add(&group.into_iter().map(Option::unwrap).collect::<Vec<f64>>());
        }
        let figures = |ours: &Stratified| {
            let (low, high) = (ours.interval.low, ours.interval.high);
            let sums = [ours.mean, ours.standard_error, ours.df as f64, low, high].map(sum);
            sums.into_iter().chain([chance(ours.p)]).collect()
        };
        check.hold::<_, Cannot>(&set["rows"], strata.stratified(&mut reach), &set["mean"], figures);
    }
    check.covers(375, 2250);
}

#[test]
fn totals_from_weights_agree() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "totals") {
        let scores = rows(&set["rows"])[1].clone();
        let percent = full(&set["rows"])[0].clone();
        let names: Vec<String> = (0..percent.len()).map(|factor| factor.to_string()).collect();
        let factors: Vec<(&str, f64)> = names.iter().map(String::as_str).zip(percent).collect();
        let total = Weights::own(&factors).unwrap().total(&scores);
        check.hold(&set["rows"], total, &set["points"], |ours: &Total| vec![sum(ours.points)]);
    }
    check.covers(420, 420);
}

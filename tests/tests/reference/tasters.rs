//! Tasters as instruments, and teas by tasters with repeated scores, against general reference libraries: 500 random sets
//! each. The golden file names the libraries and their versions; `tests/reference/tasters.py` rewrites it.

use super::golden::{Check, chance, full, list, rows, sets, sum};
use serde_json::Value;
use stats::panel::habits::{Bias, Correlation, Spread, habits};
use stats::panel::performance;
use stats::replicated::{Replicated, replicated};

const GOLDEN: &str = include_str!("../../reference/tasters.json");

/// Each taster's scores of each tea: "57,6, 44,3,5".
fn repeated(text: &Value) -> Vec<Vec<Vec<f64>>> {
    let tea = |scores: &str| scores.chars().map(|c| f64::from(c.to_digit(10).unwrap())).collect();
    text.as_str().unwrap().split(' ').map(|taster| taster.split(',').map(tea).collect()).collect()
}

#[test]
fn habits_agree_where_scores_are_missing() {
    let [mut biases, mut spreads, mut correlations] = [(); 3].map(|()| Check::default());
    for set in sets(GOLDEN, "sets") {
        let taster = usize::try_from(set["taster"].as_u64().unwrap()).unwrap();
        let found = habits(&rows(&set["rows"])).unwrap().swap_remove(taster);
        let (what, theirs) = (&set["rows"], &set["habits"]);
        biases.hold(what, found.bias, &theirs[0], |bias: &Bias| {
            let test = bias.test.as_ref().ok();
            let ends = [test.map(|test| test.interval.low), test.map(|test| test.interval.high)];
            let tested = [sum(test.map(|test| test.t)), chance(test.map(|test| test.p))];
            [sum(bias.points)].into_iter().chain(tested).chain(ends.map(sum)).collect()
        });
        spreads.hold(what, found.spread, &theirs[1], |spread: &Spread| {
            vec![sum(spread.sd), sum(spread.others_mean_sd)]
        });
        correlations.hold(what, found.with_others, &theirs[2], |found: &Correlation| {
            let ends = [found.interval.map(|ends| ends.low), found.interval.map(|ends| ends.high)];
            [sum(found.r), chance(found.p)].into_iter().chain(ends.map(sum)).collect()
        });
    }
    biases.covers(480, 2000);
    spreads.covers(450, 900);
    correlations.covers(310, 1000);
}

#[test]
fn performance_agrees_where_servings_are_missing() {
    let [mut apart, mut repeats, mut beside] = [(); 3].map(|()| Check::default());
    for set in sets(GOLDEN, "panels") {
        let (what, theirs) = (&set["text"], list(&set["tasters"]));
        let found = performance(&repeated(what)).unwrap();
        assert_eq!(found.len(), theirs.len(), "{what}");
        for (ours, theirs) in found.into_iter().zip(theirs) {
            apart.hold(what, ours.discrimination, &theirs[0], |found| {
                vec![sum(found.f), chance(found.p), sum(found.share_between)]
            });
            repeats.hold(what, ours.repeatability, &theirs[1], |found| vec![sum(found.residual_sd)]);
            beside.hold(what, ours.beside_others, &theirs[2], |found| vec![sum(found.f), chance(found.p)]);
        }
    }
    apart.covers(880, 2640);
    repeats.covers(1300, 1300);
    beside.covers(1000, 2000);
}

#[test]
fn teas_by_tasters_with_their_interaction_agree() {
    let (mut check, mut alike) = (Check::default(), 0);
    for set in sets(GOLDEN, "replicates") {
        let servings = usize::try_from(set["servings"].as_u64().unwrap()).unwrap();
        let cells = |row: &Vec<f64>| row.chunks(servings).map(<[f64]>::to_vec).collect();
        let table: Vec<Vec<Vec<f64>>> = full(&set["rows"]).iter().map(cells).collect();
        let found = replicated(&table);
        alike += usize::from(found.as_ref().is_ok_and(|found| found.teas_for_other_tasters.is_none()));
        check.hold(&set["rows"], found, &set["interaction"], |ours: &Replicated| {
            let mut figures = vec![sum(ours.error.squares)];
            for effect in [&ours.teas, &ours.tasters, &ours.interaction] {
                figures.extend([sum(effect.squares), sum(effect.f), chance(effect.p)]);
            }
            let others = ours.teas_for_other_tasters;
            figures.extend([sum(others.map(|teas| teas.f)), chance(others.map(|teas| teas.p))]);
            figures
        });
    }
    check.covers(400, 4400);
    assert!(alike >= 30, "{alike} tables where tasters see the teas alike");
}

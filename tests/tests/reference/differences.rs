//! How far teas lie apart, against general reference libraries: 500 random tables and 500 pairs, many of them broken in some
//! way. The golden files name the libraries and their versions; `tests/reference/differences.py` and `pairs.py` rewrite
//! them.

use super::golden::{Check, Figure, chance, full, list, rows, sets, sum};
use serde_json::Value;
use stats::additive::additive;
use stats::anova::{Effect, OneWay, one_way};
use stats::letters::letters;
use stats::multiple::holm;
use stats::paired::{Paired, paired};
use stats::tukey;
use stats::two_way::two_way;
use stats::wilcoxon::{Wilcoxon, wilcoxon};

const DIFFERENCES: &str = include_str!("../../reference/differences.json");
const PAIRS: &str = include_str!("../../reference/pairs.json");
/// Absolute, for chances of the studentized range and ends that the reference finds by searching.
const SEARCHED: f64 = 1e-8;
/// SciPy's noncentral t has too few digits to search with above.
const KNOWN_T: f64 = 30.0;
const LEVEL: f64 = 0.05;

fn searched(value: impl Into<Option<f64>>) -> Figure {
    Figure { value: value.into(), absolute: SEARCHED }
}

/// An F and its p.
fn tested(effect: &Effect) -> [Figure; 2] {
    [sum(effect.f), chance(effect.p)]
}

/// The only row of a set.
fn values(set: &Value) -> Vec<f64> {
    full(&set["rows"]).concat()
}

#[test]
fn the_one_way_analysis_agrees_where_scores_are_missing() {
    let mut check = Check::default();
    for set in sets(DIFFERENCES, "sets") {
        let scores = rows(&set["rows"]);
        let tea = |tea: usize| scores.iter().filter_map(|row| row[tea]).collect();
        let groups: Vec<Vec<f64>> = (0..scores[0].len()).map(tea).collect();
        let figures = |ours: &OneWay| tested(&ours.between).into();
        check.hold(&set["rows"], one_way(&groups), &set["one_way"], figures);
    }
    check.covers(450, 900);
}

#[test]
fn the_two_way_analysis_agrees() {
    let mut check = Check::default();
    for set in sets(DIFFERENCES, "sets") {
        check.hold(&set["rows"], two_way(&full(&set["rows"])), &set["two_way"], |ours| {
            let mut figures = vec![sum(ours.residual.squares)];
            for effect in [&ours.teas, &ours.tasters] {
                figures.push(sum(effect.squares));
                figures.extend(tested(effect));
            }
            figures
        });
    }
    check.covers(370, 2600);
}

#[test]
fn tukeys_pairs_agree() {
    let mut check = Check::default();
    for set in sets(DIFFERENCES, "sets") {
        let found = two_way(&full(&set["rows"])).and_then(|found| tukey::of_two_way(&found, 1.0 - LEVEL));
        check.hold(&set["rows"], found, &set["tukey"], |ours| {
            let mut figures = vec![sum(ours.q_critical)];
            figures.extend(ours.pairs.iter().map(|pair| searched(pair.p)));
            figures
        });
    }
    check.covers(370, 3000);
}

#[test]
fn the_additive_model_agrees_where_scores_are_missing() {
    let mut check = Check::default();
    for set in sets(DIFFERENCES, "sets") {
        let found = additive(&rows(&set["rows"]), 1.0 - LEVEL);
        check.hold(&set["rows"], found, &set["additive"], |ours| {
            let mut figures = Vec::from(tested(&ours.tea_given_taster));
            figures.extend([sum(ours.residual.df as f64), sum(ours.residual.squares)]);
            figures.extend(ours.teas.iter().map(|tea| sum(tea.adjusted_mean)));
            figures.extend(ours.teas.iter().map(|tea| sum(tea.standard_error)));
            figures
        });
    }
    check.covers(400, 4000);
}

/// Tukey–Kramer: no published example is at hand; held to the least squares of statsmodels and SciPy's studentized range.
#[test]
fn pairs_of_adjusted_means_agree_where_scores_are_missing() {
    let mut check = Check::default();
    for set in sets(DIFFERENCES, "sets") {
        let found = additive(&rows(&set["rows"]), 1.0 - LEVEL);
        check.hold(&set["rows"], found, &set["pairs"], |ours| {
            let of_pair = |pair: &tukey::Pair| [sum(pair.standard_error), searched(pair.p)];
            ours.pairs.pairs.iter().flat_map(of_pair).collect()
        });
    }
    check.covers(400, 5000);
}

/// By the reference's chances: what they do not tell apart shares a letter of ours.
#[test]
fn two_teas_share_a_letter_exactly_if_the_reference_does_not_tell_them_apart() {
    let (mut shared, mut apart) = (0, 0);
    for set in sets(DIFFERENCES, "sets") {
        let Ok(found) = additive(&rows(&set["rows"]), 1.0 - LEVEL) else { continue };
        let pairs = &found.pairs.pairs;
        let differ = |i: usize, j: usize| {
            let place = pairs.iter().position(|pair| (pair.first, pair.second) == (i, j)).unwrap();
            list(&set["pairs"])[2 * place + 1].as_f64().unwrap() < LEVEL
        };
        let means: Vec<f64> = found.teas.iter().map(|tea| tea.adjusted_mean).collect();
        let ours = letters(&means, |i, j| pairs.iter().any(|p| (p.first, p.second) == (i, j) && p.differs));
        for pair in pairs {
            let (one, other) = (&ours[pair.first], &ours[pair.second]);
            let share = one.chars().any(|letter| other.contains(letter));
            assert_eq!(share, !differ(pair.first, pair.second), "{ours:?} of {}", set["rows"]);
            shared += usize::from(share);
            apart += usize::from(!share);
        }
    }
    assert!(shared >= 2000 && apart >= 200, "{shared} share a letter, {apart} do not");
}

#[test]
fn wilcoxons_p_is_exact_with_ties_and_zeros() {
    let mut check = Check::default();
    for set in sets(PAIRS, "sets") {
        let figures = |ours: &Wilcoxon| {
            let sums = [ours.n as f64, ours.ranks_for_first, ours.ranks_for_second].map(sum);
            sums.into_iter().chain([chance(ours.p), sum(ours.rank_biserial)]).collect()
        };
        check.hold(&set["rows"], wilcoxon(&values(&set)), &set["wilcoxon"], figures);
    }
    check.covers(450, 2250);
}

/// The interval of d_z: no published example is at hand; held to SciPy's noncentral t.
#[test]
fn the_paired_t_and_its_effect_agree() {
    let mut check = Check::default();
    for set in sets(PAIRS, "sets") {
        let figures = |ours: &Paired| {
            let interval = [ours.interval.low, ours.interval.high];
            let effect = [ours.d_z_interval.low, ours.d_z_interval.high];
            let known = |end: f64| searched((ours.t.abs() < KNOWN_T).then_some(end));
            let mut figures = vec![sum(ours.t), chance(ours.p)];
            figures.extend(interval.map(sum));
            figures.push(sum(ours.d_z));
            figures.extend(effect.map(known));
            figures
        };
        check.hold(&set["rows"], paired(&values(&set), 1.0 - LEVEL), &set["paired"], figures);
    }
    check.covers(395, 2750);
}

/// No published example is at hand; held to statsmodels.
#[test]
fn holms_adjustment_agrees() {
    let mut check = Check::default();
    for set in sets(PAIRS, "many") {
        let figures = |ours: &Vec<f64>| ours.iter().copied().map(chance).collect();
        check.hold(&set["rows"], holm(&values(&set)), &set["holm"], figures);
    }
    check.covers(500, 7000);
}

//! Whether tasters agree, against general reference libraries: 500 random tables, many of them broken in some way. The golden
//! file names the libraries and their versions; `tests/reference/agreement.py` rewrites it.

use super::golden::{Check, chance, full, sets, sum};
use stats::agreement::{Alpha, Concordance, concordance, cronbach_alpha};
use stats::icc::{Form, Icc, MeanSquares};

const GOLDEN: &str = include_str!("../../reference/agreement.json");

#[test]
fn kendalls_w_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let figures = |ours: &Concordance| {
            let spearman = ours.spearman.map(|spearman| spearman.mean);
            vec![sum(ours.w), sum(ours.chi_squared), chance(ours.p), sum(spearman)]
        };
        check.hold(&set["rows"], concordance(&full(&set["rows"])), &set["concordance"], figures);
    }
    check.covers(440, 1750);
}

#[test]
fn cronbachs_alpha_agrees() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let figures = |ours: &Alpha| vec![sum(ours.alpha)];
        check.hold(&set["rows"], cronbach_alpha(&full(&set["rows"])), &set["alpha"], figures);
    }
    check.covers(420, 420);
}

/// The libraries have no intraclass correlation: held to McGraw and Wong's formulas from statsmodels' mean squares, with
/// SciPy's F.
#[test]
fn all_six_intraclass_correlations_agree() {
    for (place, form) in Form::ALL.into_iter().enumerate() {
        let mut check = Check::default();
        for set in sets(GOLDEN, "sets") {
            let found = MeanSquares::of(&full(&set["rows"])).and_then(|squares| squares.icc(form));
            check.hold(&set["rows"], found, &set["icc"][place], |ours: &Icc| {
                let ends = [ours.interval.map(|ends| ends.low), ours.interval.map(|ends| ends.high)];
                [sum(ours.value), sum(ours.f), chance(ours.p)].into_iter().chain(ends.map(sum)).collect()
            });
        }
        check.covers(400, 1800);
    }
}

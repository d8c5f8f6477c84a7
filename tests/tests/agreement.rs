//! Agreement, performance, penalties, words and forced choices against general reference libraries. The golden file names
//! them and their versions; `tests/reference/agreement.py` writes it anew.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use protocol::Strength;
use serde_json::Value;
use server::stats::agreement::{concordance, cronbach_alpha};
use server::stats::forced_choice::{self, Test};
use server::stats::icc::{Form, MeanSquares};
use server::stats::panel::habits::habits;
use server::stats::panel::performance;
use server::stats::penalty::{penalties, steep_hint, tally};
use server::stats::two_means::TTest;
use server::stats::words::{cochran_q, mcnemar_pairs};
use server::stats::{Cannot, Interval};
use std::fmt::Debug;

/// Of the reference figure.
const RELATIVE: f64 = 1e-8;
/// A figure that may cancel to zero differs by the rounding of what it is made of.
const ROUNDING: f64 = 1e-12;

/// Holds our figures against the reference's and counts both kinds of agreement.
#[derive(Default)]
struct Check {
    sets: usize,
    figures: usize,
    refusals: usize,
}

impl Check {
    /// That `ours` are the figures in `theirs`, `null` for what is absent.
    fn figures(&mut self, what: &str, ours: &[Option<f64>], theirs: &Value) {
        let theirs = theirs.as_array().unwrap_or_else(|| panic!("{what}: we have {ours:?}, they {theirs}"));
        assert_eq!(ours.len(), theirs.len(), "{what}");
        for (ours, theirs) in ours.iter().zip(theirs) {
            self.figure(what, *ours, theirs);
        }
    }

    /// A chance: small ones must agree in relation to their size too.
    fn chance(&mut self, what: &str, ours: Option<f64>, theirs: &Value) {
        if let (Some(a), Some(b)) = (ours, theirs.as_f64()) {
            assert!((a - b).abs() <= RELATIVE * b, "{what}: {a}, reference {b}");
        }
        self.figure(what, ours, theirs);
    }

    /// That `ours` is the figure `theirs`, `null` for one that is absent.
    fn figure(&mut self, what: &str, ours: Option<f64>, theirs: &Value) {
        match (ours, theirs.as_f64()) {
            (Some(a), Some(b)) => {
                assert!((a - b).abs() <= RELATIVE * b.abs() + ROUNDING, "{what}: {a}, reference {b}");
                self.figures += 1;
            }
            (None, None) => self.refusals += 1,
            (ours, theirs) => panic!("{what}: {ours:?}, reference {theirs:?}"),
        }
    }

    /// Either figures on both sides, or a reason in words on ours and `null` on theirs.
    fn either<T: Debug>(
        &mut self,
        what: &str,
        ours: Result<T, Cannot>,
        theirs: &Value,
        figures: impl Fn(&T) -> Vec<Option<f64>>,
    ) {
        match ours {
            Ok(found) => self.figures(what, &figures(&found), theirs),
            Err(reason) => {
                assert!(theirs.is_null(), "{what}: {reason}, reference {theirs}");
                assert!(reason.to_string().contains(' '), "{reason:?} says why in words");
                self.refusals += 1;
            }
        }
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(|v| v.as_f64().unwrap()).collect()
}

fn ends(interval: Option<Interval>) -> [Option<f64>; 2] {
    [interval.map(|i| i.low), interval.map(|i| i.high)]
}

fn t_figures(test: &TTest) -> Vec<Option<f64>> {
    [test.t, test.df, test.p, test.interval.low, test.interval.high].map(Some).to_vec()
}

fn tables(check: &mut Check, golden: &Value) {
    for set in list(&golden["tables"]) {
        let scores: Vec<Vec<f64>> = list(&set["scores"]).iter().map(numbers).collect();
        let what = set["scores"].to_string();
        let w = concordance(&scores);
        check.chance(&what, w.as_ref().ok().map(|w| w.p), set["concordance"].get(2).unwrap_or(&Value::Null));
        check.either(&what, w, &set["concordance"], |w| {
            vec![Some(w.w), Some(w.chi_squared), Some(w.p), w.spearman.map(|s| s.mean)]
        });
        check.figure(&what, cronbach_alpha(&scores).ok().map(|found| found.alpha), &set["alpha"]);
        let squares = MeanSquares::of(&scores);
        assert_eq!(squares.is_err(), set["icc"].is_null(), "{what}");
        for (i, form) in Form::ALL.into_iter().enumerate() {
            let Ok(squares) = squares.as_ref() else { continue };
            let (icc, theirs) = (squares.icc(form), &set["icc"][i]);
            let what = format!("{form} of {what}");
            check.chance(&what, icc.as_ref().ok().map(|icc| icc.p), theirs.get(2).unwrap_or(&Value::Null));
            check.either(&what, icc, theirs, |icc| {
                let [lower, upper] = ends(icc.interval);
                vec![Some(icc.value), Some(icc.f), Some(icc.p), lower, upper]
            });
        }
        check.sets += 1;
    }
}

fn missing(check: &mut Check, golden: &Value) {
    for set in list(&golden["missing"]) {
        let row = |row: &Value| list(row).iter().map(Value::as_f64).collect();
        let scores: Vec<Vec<Option<f64>>> = list(&set["scores"]).iter().map(row).collect();
        let what = set["scores"].to_string();
        for (ours, theirs) in habits(&scores).unwrap().into_iter().zip(list(&set["habits"])) {
            check.either(&what, ours.bias, &theirs[0], |bias| {
                let test = bias.test.as_ref().ok();
                let [lower, upper] = ends(test.map(|test| test.interval));
                vec![Some(bias.points), test.map(|test| test.t), test.map(|test| test.p), lower, upper]
            });
            check.either(&what, ours.with_others, &theirs[1], |found| {
                let [lower, upper] = ends(found.interval);
                vec![Some(found.r), Some(found.p), lower, upper]
            });
        }
        check.sets += 1;
    }
}

fn panels(check: &mut Check, golden: &Value) {
    for set in list(&golden["panels"]) {
        let taster = |teas: &Value| list(teas).iter().map(numbers).collect();
        let scores: Vec<Vec<Vec<f64>>> = list(&set["scores"]).iter().map(taster).collect();
        let what = set["scores"].to_string();
        for (ours, theirs) in performance(&scores).unwrap().into_iter().zip(list(&set["tasters"])) {
            let (apart, beside) = (ours.discrimination.ok(), ours.beside_others.ok());
            check.chance(&what, apart.map(|found| found.p), &theirs[1]);
            check.chance(&what, beside.map(|found| found.p), &theirs[4]);
            let sd = ours.repeatability.ok().map(|found| found.residual_sd);
            let f = [apart.map(|found| found.f), apart.map(|found| found.p)];
            let ratio = [beside.map(|found| found.f), beside.map(|found| found.p)];
            check.figures(&what, &[f[0], f[1], sd, ratio[0], ratio[1]], theirs);
        }
        check.sets += 1;
    }
}

fn ticks(check: &mut Check, golden: &Value) {
    for set in list(&golden["ticks"]) {
        let row = |row: &Value| numbers(row).into_iter().map(|tick| tick == 1.0).collect();
        let ticks: Vec<Vec<bool>> = list(&set["ticks"]).iter().map(row).collect();
        let what = set["ticks"].to_string();
        check.either(&what, cochran_q(&ticks), &set["q"], |found| vec![Some(found.q), Some(found.p)]);
        let pairs = mcnemar_pairs(&ticks).unwrap();
        assert_eq!(pairs.len(), list(&set["pairs"]).len());
        for (ours, theirs) in pairs.iter().zip(list(&set["pairs"])) {
            let counts = [ours.first_only as f64, ours.second_only as f64];
            check.figures(&what, &[counts[0], counts[1], ours.p].map(Some), theirs);
        }
        check.sets += 1;
    }
}

fn votes(check: &mut Check, golden: &Value) {
    for set in list(&golden["votes"]) {
        let what = set["votes"].to_string();
        let vote = |pair: &Value| {
            let step = i8::try_from(pair[0].as_i64().unwrap()).unwrap();
            (Strength::try_from(step).unwrap(), pair[1].as_f64().unwrap())
        };
        let votes: Vec<(Strength, f64)> = list(&set["votes"]).iter().map(vote).collect();
        let found = penalties(&votes);
        assert_eq!(found.is_err(), set["penalties"].is_null(), "{what}");
        if let Ok(found) = found {
            for (side, theirs) in [found.too_thin, found.too_strong].iter().zip(list(&set["penalties"])) {
                let Some(side) = side else {
                    assert!(theirs.is_null(), "{what}");
                    continue;
                };
                check.figures(
                    &what,
                    &[Some(side.drop), Some(side.weighted)],
                    &Value::from(&list(theirs)[..2]),
                );
                assert_eq!(Some(side.large_enough), theirs[2].as_bool(), "{what}");
                check.either(&what, side.pooled, &theirs[3], t_figures);
                check.either(&what, side.welch, &theirs[4], t_figures);
            }
        }
        let steps: Vec<Strength> = votes.iter().map(|(vote, _)| *vote).collect();
        let hint = steep_hint(&tally(&steps).unwrap());
        check.chance(&what, Some(hint.sign_p), &set["sign_p"]);
        check.chance(&what, Some(hint.majority_p), &set["majority_p"]);
        check.sets += 1;
    }
}

fn test_named(name: &Value) -> Test {
    match name.as_str().unwrap() {
        "triangle" => Test::Triangle,
        "duo-trio" => Test::DuoTrio,
        "paired one-sided" => Test::PairedOneSided,
        "paired two-sided" => Test::PairedTwoSided,
        other => panic!("{other} is no test"),
    }
}

fn whole(value: &Value) -> usize {
    usize::try_from(value.as_u64().unwrap()).unwrap()
}

fn choices(check: &mut Check, golden: &Value) {
    for case in list(&golden["choices"]) {
        let what = case.to_string();
        let (test, correct, n) = (test_named(&case[0]), whole(&case[1]), whole(&case[2]));
        let (level, discriminators) = (case[3].as_f64().unwrap(), case[4].as_f64().unwrap());
        let found = forced_choice::outcome(test, correct, n).unwrap();
        check.chance(&what, Some(found.p), &case[5]);
        let [lower, upper] = ends(Some(found.share.wilson));
        let [exact_lower, exact_upper] = ends(Some(found.share.exact));
        check.figures(&what, &[lower, upper, exact_lower, exact_upper], &case[8]);
        let smallest = forced_choice::smallest_correct(test, n, level);
        assert_eq!(smallest.ok().map(|x| x as u64), case[6].as_u64(), "{what}");
        let power = forced_choice::power(test, n, level, discriminators);
        check.chance(&what, power.ok().map(|found| found.power), &case[7]);
        check.sets += 1;
    }
    for case in list(&golden["sizes"]) {
        let argument = |i: usize| case[i].as_f64().unwrap();
        let found =
            forced_choice::smallest_n(test_named(&case[0]), argument(1), argument(2), argument(3)).unwrap();
        assert_eq!((found.n, found.smallest_correct), (whole(&case[4]), whole(&case[5])), "{case}");
        check.sets += 1;
    }
}

#[test]
fn the_statistics_agree_with_general_reference_libraries() {
    let golden: Value = serde_json::from_str(include_str!("../reference/agreement.json")).unwrap();
    // How many sets, figures and things that can't be computed there are to compare in each part.
    for (name, part, expected) in [
        ("tables", tables as fn(&mut Check, &Value), (240, 8845, 370)),
        ("missing", missing, (60, 3937, 1693)),
        ("panels", panels, (80, 2644, 632)),
        ("ticks", ticks, (70, 2636, 9)),
        ("votes", votes, (50, 536, 16)),
        ("choices", choices, (320, 1770, 30)),
    ] {
        let mut check = Check::default();
        part(&mut check, &golden);
        let compared = (check.sets, check.figures, check.refusals);
        assert_eq!(compared, expected, "{name} of {}", golden["library"]);
    }
}

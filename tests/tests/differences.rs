//! What differs between teas, against general reference libraries: 500 random tables of scores, many of them broken in
//! some way. The golden file names the libraries and their versions; `tests/reference/differences.py` writes it anew.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use serde_json::Value;
use server::stats::additive::additive;
use server::stats::anova::one_way;
use server::stats::cannot::Cannot;
use server::stats::friedman::friedman;
use server::stats::incomplete::complete;
use server::stats::multiple::holm;
use server::stats::paired::paired;
use server::stats::rank_sums;
use server::stats::skillings_mack::skillings_mack;
use server::stats::tukey;
use server::stats::two_way::two_way;
use server::stats::wilcoxon::wilcoxon;
use std::fmt::Debug;

/// Relative, for what comes from sums and from the distributions.
const CLOSE: f64 = 1e-8;
/// Absolute, for chances of the studentized range.
const RANGE_P: f64 = 1e-8;
/// Relative, for what the reference finds by searching.
const SEARCHED: f64 = 1e-8;
/// Absolute: the golden file's zeros are rounding in its libraries.
const ZERO: f64 = 1e-12;

struct Set {
    golden: Value,
    rows: Vec<Vec<Option<f64>>>,
}

fn sets() -> Vec<Set> {
    let mut golden: Value = serde_json::from_str(include_str!("../reference/differences.json")).unwrap();
    let Value::Array(sets) = golden["sets"].take() else { panic!("no sets") };
    assert_eq!(sets.len(), 500, "by {}", golden["library"]);
    let row = |row: &Value| row.as_array().unwrap().iter().map(Value::as_f64).collect();
    let rows = |set: &Value| set["rows"].as_array().unwrap().iter().map(row).collect();
    sets.into_iter().map(|golden| Set { rows: rows(&golden), golden }).collect()
}

impl Set {
    /// The tasters who scored everything.
    fn full(&self) -> Vec<Vec<f64>> {
        complete(&self.rows).rows
    }

    fn differences(&self) -> Vec<f64> {
        numbers(&self.golden["differences"])
    }

    /// The reference's figures and ours, if there are any: both or none, ours finite or an error in words.
    fn both<T: Debug>(&self, name: &str, ours: Result<T, Cannot>) -> Option<(&Value, T)> {
        let theirs = &self.golden[name];
        match ours {
            Ok(found) => {
                let text = format!("{found:?}");
                assert!(!text.contains("NaN") && !text.contains("inf"), "{name} of {:?}: {text}", self.rows);
                assert!(!theirs.is_null(), "{name} of {:?}: {text}, reference nothing", self.rows);
                Some((theirs, found))
            }
            Err(why) => {
                assert!(why.to_string().contains(' '), "{why:?} has no words");
                assert!(theirs.is_null(), "{name} of {:?}: {why}, reference {theirs}", self.rows);
                None
            }
        }
    }

    fn close(&self, what: &str, ours: f64, theirs: &Value, relative: f64, absolute: f64) {
        let known = theirs.as_f64().unwrap();
        let near = (ours - known).abs() <= relative * known.abs() + absolute;
        assert!(near, "{what} of {:?}: {ours}, reference {known}", self.rows);
    }

    fn same(&self, what: &str, ours: f64, theirs: &Value) {
        self.close(what, ours, theirs, CLOSE, ZERO);
    }

    /// An F and its p. Near F = 0 the p goes with F's root, which makes much of the rounding of a 0.
    fn same_f(&self, what: &str, ours: (f64, f64), theirs: &Value) {
        self.same(what, ours.0, &theirs["f"]);
        let nothing = theirs["f"].as_f64().unwrap() < ZERO;
        self.close(what, ours.1, &theirs["p"], CLOSE, if nothing { ZERO.sqrt() } else { ZERO });
    }

    fn all_same(&self, what: &str, ours: impl IntoIterator<Item = f64>, theirs: &Value) {
        let ours: Vec<f64> = ours.into_iter().collect();
        let theirs = theirs.as_array().unwrap();
        assert_eq!(ours.len(), theirs.len(), "{what} of {:?}", self.rows);
        ours.iter().zip(theirs).for_each(|(&ours, theirs)| self.same(what, ours, theirs));
    }
}

fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

/// How many sets `compare` could compare.
fn compared(compare: impl Fn(&Set) -> bool) -> usize {
    sets().iter().filter(|set| compare(set)).count()
}

#[test]
fn friedmans_test_agrees() {
    let many = compared(|set| {
        let Some((theirs, ours)) = set.both("friedman", friedman(&set.full())) else { return false };
        set.same("chi-squared", ours.chi_squared, &theirs["chi_squared"]);
        set.same("p", ours.p, &theirs["p"]);
        set.same("W", ours.kendall_w, &theirs["kendall_w"]);
        set.all_same("rank sum", ours.rank_sums.iter().copied(), &theirs["rank_sums"]);
        assert_eq!(ours.f.is_some(), !theirs["f"].is_null(), "F of {:?}", set.rows);
        if let Some(f) = ours.f {
            set.same("F", f.f, &theirs["f"]);
            set.same("p of F", f.p, &theirs["p_f"]);
        }
        let pairs = rank_sums::compare(&ours, 0.05).unwrap();
        assert_eq!(pairs.pairs.len(), ours.teas * (ours.teas - 1) / 2);
        true
    });
    assert_eq!(many, 383);
}

#[test]
fn the_two_way_analysis_and_tukeys_pairs_agree() {
    let many = compared(|set| {
        let Some((theirs, ours)) = set.both("two_way", two_way(&set.full())) else { return false };
        for (name, ours) in [("teas", ours.teas), ("tasters", ours.tasters)] {
            set.same(name, ours.squares, &theirs[name]["squares"]);
            set.same_f(name, (ours.f, ours.p), &theirs[name]);
        }
        set.same("residual", ours.residual.squares, &theirs["residual_squares"]);
        let tukey = tukey::of_two_way(&ours, 0.95).unwrap();
        set.close("q", tukey.q_critical, &theirs["q_critical"], SEARCHED, 0.0);
        let known = theirs["tukey"].as_array().unwrap();
        assert_eq!(tukey.pairs.len(), known.len());
        tukey.pairs.iter().zip(known).for_each(|(pair, p)| set.close("Tukey's p", pair.p, p, 0.0, RANGE_P));
        true
    });
    assert_eq!(many, 351);
}

#[test]
fn the_one_way_analysis_agrees() {
    let many = compared(|set| {
        let teas = set.rows[0].len();
        let tea = |tea: usize| set.rows.iter().filter_map(|row| row[tea]).collect();
        let groups: Vec<Vec<f64>> = (0..teas).map(tea).collect();
        let Some((theirs, ours)) = set.both("one_way", one_way(&groups)) else { return false };
        set.same_f("F", (ours.between.f, ours.between.p), theirs);
        true
    });
    assert_eq!(many, 464);
}

#[test]
fn wilcoxons_exact_p_agrees_with_and_without_ties() {
    let by = |name: &str| {
        compared(|set| {
            let Some((theirs, ours)) = set.both("wilcoxon", wilcoxon(&set.differences())) else {
                return false;
            };
            assert_eq!(Some(ours.n as u64), theirs["n"].as_u64());
            set.same("rank sum", ours.ranks_for_first, &theirs["ranks_for_first"]);
            if !theirs["p"].is_null() {
                set.same("p", ours.p, &theirs["p"]);
            }
            theirs["by"] == name
        })
    };
    assert_eq!((by("scipy"), by("counting")), (87, 235));
}

#[test]
fn the_paired_t_and_its_effect_agree() {
    let many = compared(|set| {
        let Some((theirs, ours)) = set.both("paired", paired(&set.differences(), 0.95)) else { return false };
        set.same("t", ours.t, &theirs["t"]);
        set.same("p", ours.p, &theirs["p"]);
        set.same("d", ours.d_z, &theirs["d_z"]);
        set.same("low", ours.interval.low, &theirs["low"]);
        set.same("high", ours.interval.high, &theirs["high"]);
        set.close("low d", ours.d_z_interval.low, &theirs["d_z_interval"][0], SEARCHED, RANGE_P);
        set.close("high d", ours.d_z_interval.high, &theirs["d_z_interval"][1], SEARCHED, RANGE_P);
        true
    });
    assert_eq!(many, 397);
}

#[test]
fn the_additive_model_agrees_where_scores_are_missing() {
    let many = compared(|set| {
        let Some((theirs, ours)) = set.both("additive", additive(&set.rows, 0.95)) else { return false };
        set.same_f("F", (ours.tea_given_taster.f, ours.tea_given_taster.p), theirs);
        set.same("residual", ours.residual.squares, &theirs["residual_squares"]);
        assert_eq!(Some(ours.residual.df as u64), theirs["df_residual"].as_u64());
        set.all_same("mean", ours.teas.iter().map(|t| t.adjusted_mean), &theirs["means"]);
        set.all_same("error", ours.teas.iter().map(|t| t.standard_error), &theirs["standard_errors"]);
        let pairs = &ours.pairs.pairs;
        set.all_same("pair's error", pairs.iter().map(|p| p.standard_error), &theirs["pair_standard_errors"]);
        for (pair, p) in pairs.iter().zip(theirs["pair_p"].as_array().unwrap()) {
            set.close("pair's p", pair.p, p, 0.0, RANGE_P);
        }
        true
    });
    assert_eq!(many, 399);
}

#[test]
fn holms_adjustment_agrees() {
    let many = compared(|set| {
        let theirs = &set.golden["additive"];
        let given = theirs["single_p"].as_array().is_some();
        if given {
            set.all_same("Holm's p", holm(&numbers(&theirs["single_p"])).unwrap(), &theirs["holm"]);
        }
        given
    });
    assert_eq!(many, 399);
}

#[test]
fn the_skillings_mack_test_agrees() {
    let many = compared(|set| {
        let ours = skillings_mack(&set.rows);
        let Some((theirs, ours)) = set.both("skillings_mack", ours) else { return false };
        set.same("chi-squared", ours.chi_squared, &theirs["chi_squared"]);
        set.same("p", ours.p, &theirs["p"]);
        true
    });
    assert_eq!(many, 432);
}

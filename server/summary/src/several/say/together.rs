//! Whether the ways differ over all classes, in words.

use crate::several::say::{at_steeps, in_classes, these, too_few};
use crate::several::test::Test;
use crate::several::together::Together;
use stats::Cannot;
use stats::say::p as chance;

/// One comparison. `tested` is how many were tested; `why` says why this one was not.
pub(in crate::several) fn words(found: &Together, tested: usize, why: Option<Cannot>) -> String {
    let (name, of) = (&found.attribute.name, in_classes(found.tasters, found.classes));
    let (Some(test), Some(of_all), Some(highest), Some(lowest)) =
        (found.by_points, found.p_of_all, found.means.first(), found.means.last())
    else {
        let why = why.map_or(String::new(), |why| format!(": {why}"));
        return format!("{name}: too few to tell ({of}){why}");
    };
    let verdict = match (found.shown(), found.for_others(), found.moved()) {
        (true, true, true) => {
            "the ways differ, though not by as much in each class: look at each class".to_string()
        }
        (true, true, false) => "the ways differ".into(),
        (true, false, _) => format!("the ways differ{}", these(found.classes)),
        (false, _, true) => "the classes do not agree on how the ways differ: look at each class".into(),
        (false, ..) if found.only_here() => {
            format!("the ways differed in these classes; {}", too_few(found.classes))
        }
        (false, _, false) => "no difference between the ways is shown".into(),
    };
    let looked = |p: f64| {
        if tested > 1 { format!("; {} allowing for {tested} tests", chance(p)) } else { String::new() }
    };
    let f = |test: Test| {
        let below = test.df_below.unwrap_or(0);
        format!("F {:.2} on {} and {below}, {}", test.statistic, test.df, chance(test.p))
    };
    let here = format!("{}{}", f(test), looked(of_all));
    // The test that decides comes first, the other one by its name behind it.
    let evidence = match found.over_classes.zip(found.decision) {
        Some((over, decision)) => format!(
            "each class counted once, as one of many that might be given: {}{}; in these classes alone, against the spread of their \
             tasters: {here}",
            f(over),
            looked(decision.p_of_all)
        ),
        None => here,
    };
    let moves = found.moves.map_or(String::new(), |moves| {
        format!("; from class to class F {:.2} on {}, {}", moves.statistic, moves.df, chance(moves.p))
    });
    let (from, apart) = (at_steeps(&found.steeps), highest.adjusted_mean - lowest.adjusted_mean);
    format!(
        "{name}: {verdict}; highest and lowest lie {apart:.2} points apart{from} ({of}; {evidence}{moves})"
    )
}

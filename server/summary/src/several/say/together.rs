//! Whether the ways differ over all classes, in words.

use crate::several::say::{at_steeps, in_classes};
use crate::several::together::Together;
use stats::Cannot;
use stats::interval::SIGNIFICANCE;
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
    let verdict = match (of_all <= SIGNIFICANCE, found.moved()) {
        (true, true) => "the ways differ, but not alike from class to class: look at each class",
        (true, false) => "the ways differ",
        (false, true) => "the classes do not agree on how the ways differ: look at each class",
        (false, false) => "no difference between the ways is shown",
    };
    let looked =
        if tested > 1 { format!("; {} allowing for {tested} tests", chance(of_all)) } else { String::new() };
    let moves = found.moves.map_or(String::new(), |moves| {
        format!("; from class to class F {:.2} on {}, {}", moves.statistic, moves.df, chance(moves.p))
    });
    let (from, apart) = (at_steeps(&found.steeps), highest.adjusted_mean - lowest.adjusted_mean);
    format!(
        "{name}: {verdict}; highest and lowest lie {apart:.2} points apart{from} ({of}; F {:.2} on {} and {}, {}{looked}{moves})",
        test.statistic,
        test.df,
        test.df_below.unwrap_or(0),
        chance(test.p)
    )
}

//! What was found between two ways, in words.

use super::{ByClassMeans, Difference, Pair, Steeps};
use crate::pool::ways::Way;
use crate::stats::interval::SIGNIFICANCE;
use crate::summary::findings::sentences::say::{many, p as chance, plus};

/// So many classes are needed before their means are told as evidence: the interval of two spans nearly everything.
const CLASSES_TOLD: usize = 3;

/// One pair, one paragraph. `looked_at` is how many pairs were tested; `why` says why this one was not.
pub fn words(pair: &Pair, first: &Way, second: &Way, looked_at: usize, why: Option<String>) -> String {
    let Difference { n, mean, low, high } = pair.all;
    let name = &pair.attribute.name;
    let of = of(n, pair.classes.len());
    let (Some(p), Some(of_all), Some(low), Some(high)) = (pair.p, pair.p_of_all, low, high) else {
        let found = if n < 2 { "too few to tell".into() } else { format!("no test, {} points", plus(mean)) };
        let why = why.map_or(String::new(), |why| format!(": {why}"));
        return format!("{} and {}: {found} by {name} ({of}){why}", first.label(), second.label());
    };
    let looked = if looked_at > 1 {
        format!("; {} allowing for {looked_at} pairs", chance(of_all))
    } else {
        String::new()
    };
    let p = chance(p);
    let (above, below) = if mean > 0.0 { (first, second) } else { (second, first) };
    let (near, far) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
    let (above, below, size) = (above.label(), below.label(), mean.abs());
    let head = if pair.shown() {
        format!(
            "{above} is above {below} in {name} by {size:.2} points (95 % interval {near:.2} to {far:.2}; {of}; {p}{looked})"
        )
    } else if of_all <= SIGNIFICANCE {
        format!(
            "{above} came out above {below} in {name} by {size:.2} points in these classes (95 % interval {near:.2} to {far:.2}; {of}; {p}{looked}), but not alike in all of them, so nothing is shown for another class"
        )
    } else {
        format!(
            "{} and {}: no difference in {name} is shown, {} points (95 % interval {} to {}; {of}; {p}{looked}); it may still be there",
            first.label(),
            second.label(),
            plus(mean),
            plus(low),
            plus(high)
        )
    };
    head + &steeps(pair, first, second) + &from_class_to_class(pair) + &each_class_once(pair)
}

/// How many, and where they sat.
fn of(n: usize, classes: usize) -> String {
    let tasters = many(n, "taster");
    if classes == 1 {
        format!("{tasters} in 1 class")
    } else {
        format!("{tasters} in {classes} classes, each class a block")
    }
}

fn steeps(pair: &Pair, first: &Way, second: &Way) -> String {
    let (Some(steeps), Some(a_s), Some(b_s)) =
        (pair.favours, first.steeps_in_all_s(), second.steeps_in_all_s())
    else {
        return String::new();
    };
    let (which, above_s, below_s) = match steeps {
        Steeps::Longer => ("longer", a_s.max(b_s), a_s.min(b_s)),
        Steeps::Shorter => ("shorter", a_s.min(b_s), a_s.max(b_s)),
    };
    format!(
        ". For this leaf that favours the way with the {which} steeps ({above_s} s in all, not {below_s} s)"
    )
}

fn from_class_to_class(pair: &Pair) -> String {
    let Some(moves) = pair.moves else { return String::new() };
    let figures = format!("(F {:.2}, {})", moves.statistic, chance(moves.p));
    if pair.moved() {
        format!(". From class to class it moved more than chance would have it {figures}: look at each class")
    } else {
        format!(". From class to class it did not move more than chance would have it {figures}")
    }
}

fn each_class_once(pair: &Pair) -> String {
    match pair.by_class_means {
        Some(ByClassMeans { classes, mean, low, high, p, p_of_all }) if classes >= CLASSES_TOLD => format!(
            ". Each class counted once, as one of many that might be held: {} points (95 % interval {} to {}; {}; {} allowing for all pairs)",
            plus(mean),
            plus(low),
            plus(high),
            chance(p),
            chance(p_of_all)
        ),
        _ => String::new(),
    }
}

//! Two ways against each other: by how much one is scored above the other, in each class and from class to class.

use super::together::{Taster, Test, chance};
use super::ways::{Scale, Way};
use crate::stats::anova::one_way;
use crate::stats::describe::mean_interval;
use crate::stats::interval::SIGNIFICANCE;
use crate::stats::multiple::holm;
use crate::stats::paired::paired;
use serde::Serialize;
use std::cmp::Ordering;

/// Two ways that tasters have scored both.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pair {
    /// The number of the one.
    pub first: usize,
    /// The number of the other.
    pub second: usize,
    /// Whether both are one leaf.
    pub same_leaf: bool,
    /// The attribute.
    pub attribute: Scale,
    /// First less second over all classes.
    pub all: Difference,
    /// Two-sided p of the paired t test; `null` when there are too few scores.
    pub p: Option<f64>,
    /// The same with all pairs looked at (Holm).
    pub p_of_all: Option<f64>,
    /// Whether the difference moves from class to class (F test of the differences between classes); `null` when it can't
    /// be told.
    pub moves: Option<Test>,
    /// For two ways of one leaf that differ: whether the better one's steeps are longer or shorter in all.
    pub favours: Option<Steeps>,
    /// Class by class, in the order of their days.
    pub classes: Vec<InClass>,
    /// What was found, in words.
    pub words: String,
}

/// Which steeps the evidence favours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Steeps {
    /// The longer ones.
    Longer,
    /// The shorter ones.
    Shorter,
}

/// A mean difference of tasters who scored both.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// How many tasters scored both.
    pub n: usize,
    /// The mean difference, points.
    pub mean: f64,
    /// The lower end of its 95 % interval; `null` when there are too few scores.
    pub low: Option<f64>,
    /// The upper end.
    pub high: Option<f64>,
}

/// One class's part.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct InClass {
    /// The class's number.
    pub class: usize,
    /// In this class.
    pub here: Difference,
    /// In this class and all before it.
    pub so_far: Difference,
}

impl Pair {
    /// Whether a difference is shown, all pairs looked at: not where it moves from class to class, since then the tasters
    /// of one class are no evidence for another.
    pub fn shown(&self) -> bool {
        let moves = self.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE);
        !moves && self.p_of_all.is_some_and(|p| p <= SIGNIFICANCE)
    }
}

fn favours(pair: &Pair, first: &Way, second: &Way) -> Option<Steeps> {
    if !(pair.same_leaf && pair.shown()) {
        return None;
    }
    let (above, below) = if pair.all.mean > 0.0 { (first, second) } else { (second, first) };
    match above.steeps_in_all_s()?.cmp(&below.steeps_in_all_s()?) {
        Ordering::Greater => Some(Steeps::Longer),
        Ordering::Less => Some(Steeps::Shorter),
        Ordering::Equal => None,
    }
}

/// Of one difference or more.
fn difference(values: &[f64]) -> Difference {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let interval = mean_interval(values, 1.0 - SIGNIFICANCE).ok().map(|found| found.interval);
    Difference { n: values.len(), mean, low: interval.map(|i| i.low), high: interval.map(|i| i.high) }
}

/// Every pair of ways that somebody has scored both, on one attribute.
pub fn pairs(tasters: &[Taster], ways: &[Way], scale: &Scale) -> Vec<Pair> {
    let mut found = Vec::new();
    for first in 0..ways.len() {
        for second in first + 1..ways.len() {
            found.extend(pair(tasters, &ways[first], &ways[second], scale));
        }
    }
    let p: Vec<f64> = found.iter().filter_map(|(pair, _)| pair.p).collect();
    let mut of_all = holm(&p).unwrap_or_default().into_iter();
    let looked_at = p.len();
    let tell = |(mut pair, why): (Pair, Option<String>)| {
        pair.p_of_all = pair.p.and_then(|_| of_all.next());
        let (first, second) = (&ways[pair.first - 1], &ways[pair.second - 1]);
        pair.favours = favours(&pair, first, second);
        pair.words = words(&pair, first, second, looked_at, why);
        pair
    };
    found.into_iter().map(tell).collect()
}

/// A pair without its words, and why it has no p.
fn pair(tasters: &[Taster], first: &Way, second: &Way, scale: &Scale) -> Option<(Pair, Option<String>)> {
    let mut groups: Vec<(usize, Vec<f64>)> = Vec::new();
    for taster in tasters {
        let (Some(a), Some(b)) = (taster.means[first.way - 1], taster.means[second.way - 1]) else {
            continue;
        };
        match groups.last_mut().filter(|(class, _)| *class == taster.class) {
            Some((_, differences)) => differences.push(a - b),
            None => groups.push((taster.class, vec![a - b])),
        }
    }
    let mut all = Vec::new();
    let in_class = |(class, differences): &(usize, Vec<f64>)| {
        all.extend(differences);
        InClass { class: class + 1, here: difference(differences), so_far: difference(&all) }
    };
    let classes: Vec<InClass> = groups.iter().map(in_class).collect();
    let last = classes.last()?.so_far;
    let test = paired(&all, 1.0 - SIGNIFICANCE);
    let groups: Vec<Vec<f64>> = groups.into_iter().map(|(_, differences)| differences).collect();
    let moves = one_way(&groups).ok().map(|found| Test {
        statistic: found.between.f,
        df: found.between.df,
        df_below: Some(found.within.df),
        p: found.between.p,
    });
    let pair = Pair {
        first: first.way,
        second: second.way,
        same_leaf: first.same_leaf(second),
        attribute: scale.clone(),
        all: last,
        p: test.as_ref().ok().map(|t| t.p),
        p_of_all: None,
        moves,
        favours: None,
        classes,
        words: String::new(),
    };
    Some((pair, test.err().map(|why| why.to_string())))
}

fn words(pair: &Pair, first: &Way, second: &Way, looked_at: usize, why: Option<String>) -> String {
    let Difference { n, mean, low, high } = pair.all;
    let (in_classes, name) = (pair.classes.len(), &pair.attribute.name);
    let of = format!(
        "n {n} taster{} in {in_classes} class{}",
        if n == 1 { "" } else { "s" },
        if in_classes == 1 { "" } else { "es" }
    );
    let (Some(p), Some(of_all), Some(low), Some(high)) = (pair.p, pair.p_of_all, low, high) else {
        let found = if n < 2 { "too few to tell".into() } else { format!("no test, {mean:+.2} points") };
        let why = why.map_or(String::new(), |why| format!(": {why}"));
        return format!("{} and {}: {found} by {name} ({of}){why}", first.label(), second.label());
    };
    let looked = if looked_at > 1 {
        format!(", with {looked_at} pairs looked at {}", chance(of_all))
    } else {
        String::new()
    };
    let figures = format!(
        "95 % interval {:.2} to {:.2}; {of}; {}{looked}",
        low.abs().min(high.abs()),
        low.abs().max(high.abs()),
        chance(p)
    );
    let mut words = if pair.shown() {
        let (above, below) = if mean > 0.0 { (first, second) } else { (second, first) };
        format!(
            "{} is above {} in {name} by {:.2} points ({figures})",
            above.label(),
            below.label(),
            mean.abs()
        )
    } else {
        format!(
            "{} and {}: no difference in {name} is shown, {mean:+.2} points (95 % interval {low:+.2} to {high:+.2}; {of}; {}{looked}); it may still be there",
            first.label(),
            second.label(),
            chance(p)
        )
    };
    if let (Some(steeps), Some(a_s), Some(b_s)) =
        (pair.favours, first.steeps_in_all_s(), second.steeps_in_all_s())
    {
        let (which, above_s, below_s) = match steeps {
            Steeps::Longer => ("longer", a_s.max(b_s), a_s.min(b_s)),
            Steeps::Shorter => ("shorter", a_s.min(b_s), a_s.max(b_s)),
        };
        words += &format!(
            ". For this leaf that favours the way with the {which} steeps ({above_s} s in all, not {below_s} s)"
        );
    }
    match pair.moves {
        Some(moves) if moves.p <= SIGNIFICANCE => {
            words += &format!(
                ". From class to class it moved more than chance would have it (F {:.2}, {}): look at each class",
                moves.statistic,
                chance(moves.p)
            );
        }
        Some(moves) => {
            words += &format!(
                ". From class to class it did not move more than chance would have it (F {:.2}, {})",
                moves.statistic,
                chance(moves.p)
            );
        }
        None => {}
    }
    words
}

//! Two ways against each other: by how much one is scored above the other, in each class and from class to class.
//!
//! Together, each class is a block: what the classes' differences have between them is no part of the spread, and p and
//! interval speak for these classes. Whether they would hold in a class to come is asked apart, each class counting once.
//! These are figures of a pair by itself: what is shown is decided with all ways looked at, in [`settled`](crate::several::settled).

use crate::several::Looked;
use crate::several::class::Class;
use crate::several::decision::{Decision, For, decide};
use crate::several::settled::{AllWays, settle};
use crate::several::tasters::{Compared, Taster, compared};
use crate::several::test::Test;
use crate::several::together::{Behind, Together};
use crate::several::ways::{Scale, Way};
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::anova::one_way;
use stats::dist::TReach;
use stats::interval::{CONFIDENCE, SIGNIFICANCE};
use stats::multiple::holm;
use stats::over_classes::LEAST_CLASSES;
use stats::stratified::{Strata, Stratified};
use stats::wilcoxon::wilcoxon;
use std::cmp::Ordering;

/// Two ways that tasters have scored both.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledPair")]
pub struct Pair {
    /// The number of the one.
    pub first: usize,
    /// The number of the other.
    pub second: usize,
    /// Whether both are one leaf.
    pub same_leaf: bool,
    /// The attribute.
    pub attribute: Scale,
    /// The steeps that go in: those at which both were scored in every class that has both; empty where the classes have
    /// none in common, and each goes by its own.
    pub steeps: Vec<usize>,
    /// First less second over all classes, each class a block: mean of the tasters, its spread that within the classes. Its interval
    /// is that of this pair alone: what is shown goes by `all_ways`.
    pub all: Difference,
    /// Which test `p` is of: "t within classes"; "exact signed ranks" where the tasters of each class are all alike; "t of the
    /// classes' means" where each class has one taster; `null` when there are too few scores.
    pub test: Option<String>,
    /// Its two-sided p; `null` when there are too few scores.
    pub p: Option<f64>,
    /// The same with all pairs looked at (Holm).
    pub p_of_all: Option<f64>,
    /// Whether the difference moves from class to class (F test of the differences between classes); `null` when it can't
    /// be told.
    pub moves: Option<Test>,
    /// Each class counted once, as one of many that might be given; `null` with fewer than two, or when they agree exactly.
    pub by_class_means: Option<ByClassMeans>,
    /// For two ways of one leaf that differ: whether the better one's steeps are longer or shorter in all.
    pub favours: Option<Steeps>,
    /// Class by class, in the order of their days.
    pub classes: Vec<InClass>,
    /// What was found, in words; empty until it is put into words.
    pub words: String,
    /// What is shown, and for whom: behind the decision over all ways, by `all_ways`; `p_of_all` is Tukey's, and never below that of
    /// all ways. Where all ways have no test, by this pair alone and Holm over such pairs; `null` when there are too few scores.
    pub decision: Option<Decision>,
    /// The pair among all ways that tasters link with it: what its decision goes by; `null` where those have no test.
    pub all_ways: Option<AllWays>,
}

/// Which steeps the evidence favours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Steeps {
    /// The longer ones.
    Longer,
    /// The shorter ones.
    Shorter,
}

/// A mean difference of tasters who scored both.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledDifference")]
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

/// The mean of the classes' mean differences, judged by how far they lie apart: a one-sample t over the classes. It holds
/// its level also where the classes are of different sizes (Ibragimov & Müller, Journal of Business & Economic
/// Statistics 28, 2010).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ByClassMeans {
    /// How many classes.
    pub classes: usize,
    /// The mean difference, points.
    pub mean: f64,
    /// The lower end of its 95 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Two-sided p.
    pub p: f64,
    /// The same with all pairs looked at (Holm).
    pub p_of_all: f64,
}

/// One class's part.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PairInClass")]
pub struct InClass {
    /// The class's number.
    pub class: usize,
    /// In this class.
    pub here: Difference,
    /// In this class and all before it, each class a block.
    pub so_far: Difference,
}

impl Pair {
    /// Whether a difference is shown, all ways looked at. With three classes or more way × class decides; with fewer the tasters of
    /// these classes, unless the ways' differences move from class to class.
    pub fn shown(&self) -> bool {
        self.decision.is_some_and(|decision| decision.shown)
    }

    /// Whether what is shown would hold in classes like these, and not in these alone.
    pub fn for_others(&self) -> bool {
        self.decision.is_some_and(|decision| decision.speaks_for == For::ClassesLikeThese)
    }

    /// The first less the second, points, as the test has it that decides: the middle of its interval.
    pub fn points(&self) -> f64 {
        match &self.all_ways {
            Some(all_ways) => all_ways.mean,
            None => {
                self.by_class_means.filter(|_| self.for_others()).map_or(self.all.mean, |means| means.mean)
            }
        }
    }

    /// Whether the tasters of these classes tell the two apart, whatever other classes might show.
    pub fn here(&self) -> bool {
        match &self.all_ways {
            Some(all_ways) => all_ways.in_these_classes,
            None => self.p_of_all.is_some_and(|p| p <= SIGNIFICANCE),
        }
    }

    /// The steeps that what is said of it goes by.
    pub fn steeps_told(&self) -> &[usize] {
        self.all_ways.as_ref().map_or(&self.steeps, |all_ways| &all_ways.steeps)
    }

    /// Whether the difference goes the same way in all classes.
    pub fn one_way(&self) -> bool {
        self.classes.iter().all(|class| class.here.mean > 0.0)
            || self.classes.iter().all(|class| class.here.mean < 0.0)
    }

    /// Whether the difference moved from class to class more than chance would have it; behind the same question of all ways.
    pub fn moved(&self) -> bool {
        self.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE)
            && self.all_ways.as_ref().is_none_or(|all_ways| all_ways.moves)
    }
}

fn favours(pair: &Pair, first: &Way, second: &Way) -> Option<Steeps> {
    if !(pair.same_leaf && pair.shown()) {
        return None;
    }
    let (above, below) = if pair.points() > 0.0 { (first, second) } else { (second, first) };
    match above.steeps_in_all_s()?.cmp(&below.steeps_in_all_s()?) {
        Ordering::Greater => Some(Steeps::Longer),
        Ordering::Less => Some(Steeps::Shorter),
        Ordering::Equal => None,
    }
}

/// Every pair of ways that somebody has scored both, on one attribute, each by itself.
pub(crate) fn pairs(
    classes: &[Class<'_>],
    ways: &[Way],
    scale: (usize, &Scale),
) -> Looked<Pair, Option<Cannot>> {
    // A confidence between 0 and 1 is always taken.
    let Ok(mut reach) = TReach::new(CONFIDENCE) else { return Looked { found: Vec::new(), tested: 0 } };
    let mut found = Vec::new();
    for first in 0..ways.len() {
        for second in first + 1..ways.len() {
            found.extend(draft(classes, &ways[first], &ways[second], scale, &mut reach));
        }
    }
    let p: Vec<f64> = found.iter().filter_map(|(pair, _)| pair.p).collect();
    let mut of_all = holm(&p).unwrap_or_default().into_iter();
    let means: Vec<f64> = found.iter().filter_map(|(pair, _)| Some(pair.by_class_means?.p)).collect();
    let mut means_of_all = holm(&means).unwrap_or_default().into_iter();
    for (pair, _) in &mut found {
        pair.p_of_all = pair.p.and_then(|_| of_all.next());
        if let Some(means) = &mut pair.by_class_means {
            means.p_of_all = means_of_all.next().unwrap_or(1.0);
        }
    }
    Looked { found, tested: p.len() }
}

/// What is shown of the pairs: behind all ways together, and of those of which all ways have no test, one by one.
pub(crate) fn decided(
    pairs: Looked<Pair, Option<Cannot>>,
    together: &Looked<Together, Behind>,
    ways: &[Way],
) -> Looked<Pair, Option<Cannot>> {
    let Looked { mut found, tested } = pairs;
    settle(&mut found, &together.found);
    let mut alone: Vec<&mut Pair> =
        found.iter_mut().map(|(pair, _)| pair).filter(|pair| pair.all_ways.is_none()).collect();
    let decisions = decide(alone.iter().map(|pair| {
        let over = pair.by_class_means.filter(|means| means.classes >= LEAST_CLASSES).map(|means| means.p);
        (pair.p, over)
    }));
    for (pair, decision) in alone.iter_mut().zip(decisions) {
        let means_too = pair.by_class_means.is_some_and(|means| means.p_of_all <= SIGNIFICANCE);
        let agreed = !pair.moved() || means_too;
        pair.decision = decision.map(|decision| decision.if_these_agree(agreed));
    }
    for (pair, _) in &mut found {
        pair.favours = favours(pair, &ways[pair.first - 1], &ways[pair.second - 1]);
    }
    Looked { found, tested }
}

/// The differences of the tasters who scored both, class by class.
fn by_class(tasters: &[Taster]) -> Vec<(usize, Vec<f64>)> {
    let mut groups: Vec<(usize, Vec<f64>)> = Vec::new();
    for taster in tasters {
        let [Some(a), Some(b)] = taster.means[..] else { continue };
        match groups.last_mut().filter(|(class, _)| *class == taster.class) {
            Some((_, differences)) => differences.push(a - b),
            None => groups.push((taster.class, vec![a - b])),
        }
    }
    groups
}

/// A pair by itself, and why it has no test.
fn draft(
    classes: &[Class<'_>],
    first: &Way,
    second: &Way,
    scale: (usize, &Scale),
    reach: &mut TReach,
) -> Option<(Pair, Option<Cannot>)> {
    let Compared { steeps, tasters } = compared(classes, &[first.way - 1, second.way - 1], scale.0);
    let groups = by_class(&tasters);
    let mut all = Strata::default();
    let mut classes = Vec::new();
    for (class, differences) in &groups {
        let mut here = Strata::default();
        here.add(differences);
        all.add(differences);
        let (here, so_far) = (difference(&here, reach)?, difference(&all, reach)?);
        classes.push(InClass { class: class + 1, here, so_far });
    }
    let groups: Vec<Vec<f64>> = groups.into_iter().map(|(_, differences)| differences).collect();
    let by_class_means = by_class_means(&groups, reach);
    let test = match (all.stratified(reach), by_class_means) {
        (Ok(found), _) => Ok(("t within classes", found.p)),
        (Err(Cannot::NoSpread), _) => wilcoxon(&groups.concat()).map(|found| ("exact signed ranks", found.p)),
        (Err(Cannot::NoFreedom), Some(means)) => Ok(("t of the classes' means", means.p)),
        (Err(why), _) => Err(why),
    };
    let moves = one_way(&groups).ok().map(|found| Test::of(found.between, found.within));
    let pair = Pair {
        first: first.way,
        second: second.way,
        same_leaf: first.same_leaf(second),
        attribute: scale.1.clone(),
        steeps,
        all: difference(&all, reach)?,
        p: test.as_ref().ok().map(|(_, p)| *p),
        test: test.as_ref().ok().map(|(name, _)| (*name).into()),
        p_of_all: None,
        moves,
        by_class_means,
        favours: None,
        classes,
        words: String::new(),
        decision: None,
        all_ways: None,
    };
    Some((pair, test.err()))
}

/// Of one taster or more.
fn difference(strata: &Strata, reach: &mut TReach) -> Option<Difference> {
    let interval = strata.stratified(reach).ok().map(|found| found.interval);
    let (low, high) = (interval.map(|i| i.low), interval.map(|i| i.high));
    Some(Difference { n: strata.n(), mean: strata.mean()?, low, high })
}

fn by_class_means(groups: &[Vec<f64>], reach: &mut TReach) -> Option<ByClassMeans> {
    let means: Vec<f64> = groups.iter().map(|g| g.iter().sum::<f64>() / g.len() as f64).collect();
    let mut once = Strata::default();
    once.add(&means);
    let Stratified { n, mean, interval, p, .. } = once.stratified(reach).ok()?;
    Some(ByClassMeans { classes: n, mean, low: interval.low, high: interval.high, p, p_of_all: p })
}

//! What was found between two ways, in words: the verdict first, then its figures, then the classes.

use crate::several::pairs::{ByClassMeans, Difference, InClass, Pair, Steeps};
use crate::several::say::{at_steeps, in_classes, these};
use crate::several::ways::Way;
use stats::Cannot;
use stats::interval::SIGNIFICANCE;
use stats::over_classes::LEAST_CLASSES;
use stats::say::{fine, p as chance, plus};

/// One pair, one paragraph. `tested` is how many pairs were tested; `why` says why this one was not.
pub(in crate::several) fn words(
    pair: &Pair,
    first: &Way,
    second: &Way,
    tested: usize,
    why: Option<Cannot>,
) -> String {
    let (Difference { n, .. }, mean) = (pair.all, pair.points());
    let (name, from) = (&pair.attribute.name, at_steeps(&pair.steeps));
    let (one, other) = (&first.called, &second.called);
    let Some(of_all) = pair.p_of_all else {
        let found =
            if n < 2 { "too few to tell".into() } else { format!("no test, {} points{from}", plus(mean)) };
        let why = why.map_or(String::new(), |why| format!(": {why}"));
        return format!("{one} and {other}: {found} by {name} ({}){why}", in_classes(n, pair.classes.len()));
    };
    let (above, below, by) = if mean < 0.0 { (other, one, fine(-mean)) } else { (one, other, fine(mean)) };
    let here = of_all <= SIGNIFICANCE;
    let verdict = if pair.shown() && pair.for_others() {
        format!("{above} is above {below} in {name} by {by} points{from}")
    } else if pair.shown() {
        format!("{above} is above {below} in {name} by {by} points{from}{}", these(pair.classes.len()))
    } else if pair.moved() && !pair.one_way() {
        format!(
            "{one} and {other}: the classes do not agree in {name}{}, so their mean of {} points{from} says little",
            extremes(&pair.classes),
            plus(mean)
        )
    } else if here && pair.moved() {
        format!(
            "{above} was above {below} in {name} in each class, by {by} points{from} over all; by how much moves from \
             class to class, so nothing is shown for another class"
        )
    } else if here {
        format!(
            "{above} was above {below} in {name} in these classes, by {by} points{from} over all; so few classes do not show it \
             for another"
        )
    } else {
        format!(
            "{one} and {other}: no difference in {name} is shown, {} points{from}; it may still be there",
            plus(mean)
        )
    };
    // Where the verdict names the higher one first, its figures are those of the higher less the lower.
    let turned = mean < 0.0 && (pair.shown() || here && (pair.one_way() || !pair.moved()));
    let evidence = match once(pair).filter(|_| pair.for_others()) {
        Some(once) => format!(
            "({}). {}",
            each_class_once(pair, &once, tested, turned),
            these_alone(pair, tested, turned)
        ),
        None => {
            let tasters = in_classes(n, pair.classes.len());
            format!("({})", by_tasters(pair, Some(tasters), tested, turned))
        }
    };
    format!("{verdict} {evidence}") + &steeps(pair, first, second) + &from_class_to_class(pair)
}

/// The test over the classes where there are enough of them.
fn once(pair: &Pair) -> Option<ByClassMeans> {
    pair.by_class_means.filter(|means| means.classes >= LEAST_CLASSES)
}

/// "95 % interval +2.31 to +3.61".
fn interval((low, high): (f64, f64), turned: bool) -> String {
    let (low, high) = if turned { (-high, -low) } else { (low, high) };
    format!("95 % interval {} to {}", plus(low), plus(high))
}

/// "p 0.003; p 0.017 allowing for 6 pairs".
fn chances(p: f64, of_all: Option<f64>, tested: usize) -> String {
    let of_all = of_all.filter(|_| tested > 1);
    chance(p) + &of_all.map_or(String::new(), |p| format!("; {} allowing for {tested} pairs", chance(p)))
}

/// What decides with three classes or more.
fn each_class_once(pair: &Pair, once: &ByClassMeans, tested: usize, turned: bool) -> String {
    format!(
        "each class counted once, as one of many that might be given: {}; {}; t over {} classes; {}",
        interval((once.low, once.high), turned),
        in_classes(pair.all.n, pair.classes.len()),
        once.classes,
        chances(once.p, pair.decision.map(|decision| decision.p_of_all), tested)
    )
}

/// What the tasters of these classes show, behind what decides.
fn these_alone(pair: &Pair, tested: usize, turned: bool) -> String {
    let mean = if turned { -pair.all.mean } else { pair.all.mean };
    format!(
        "In these classes alone, by their tasters: {} points ({})",
        plus(mean),
        by_tasters(pair, None, tested, turned)
    )
}

/// The interval, how many if they are not said yet, the test and its chances.
fn by_tasters(pair: &Pair, tasters: Option<String>, tested: usize, turned: bool) -> String {
    let interval = pair.all.low.zip(pair.all.high).map(|ends| interval(ends, turned));
    let p = pair.p.map(|p| chances(p, pair.p_of_all, tested));
    interval.into_iter().chain(tasters).chain(pair.test.clone()).chain(p).collect::<Vec<_>>().join("; ")
}

/// The lowest and the highest class.
fn extremes(classes: &[InClass]) -> String {
    let by_mean = |a: &&InClass, b: &&InClass| a.here.mean.total_cmp(&b.here.mean);
    let (Some(low), Some(high)) = (classes.iter().min_by(by_mean), classes.iter().max_by(by_mean)) else {
        return String::new();
    };
    let (from, to) = (plus(low.here.mean), plus(high.here.mean));
    format!(" (from {from} in class {} to {to} in class {})", low.class, high.class)
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
        format!(". It moved from class to class more than chance would have it {figures}: look at each class")
    } else {
        format!(". No movement from class to class is shown {figures}")
    }
}

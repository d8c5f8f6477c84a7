//! What was found between two ways, in words: the verdict first, then its figures, then the classes.

use crate::several::pairs::{ByClassMeans, Difference, InClass, Pair, Steeps};
use crate::several::say::{at_steeps, in_classes, these, too_few};
use crate::several::ways::Way;
use stats::Cannot;
use stats::interval::SIGNIFICANCE;
use stats::over_classes::LEAST_CLASSES;
use stats::say::{fine, p as chance, plus};

/// One pair, one paragraph. `tested` is how many pairs were tested by themselves; `why` says why this one was not.
pub(in crate::several) fn words(
    pair: &Pair,
    first: &Way,
    second: &Way,
    tested: usize,
    why: Option<Cannot>,
) -> String {
    let (Difference { n, .. }, mean) = (pair.all, pair.points());
    let (name, from) = (&pair.attribute.name, at_steeps(pair.steeps_told()));
    let (one, other) = (&first.called, &second.called);
    if pair.decision.is_none() {
        let found =
            if n < 2 { "too few to tell".into() } else { format!("no test, {} points{from}", plus(mean)) };
        let why = why.map_or(String::new(), |why| format!(": {why}"));
        return format!("{one} and {other}: {found} by {name} ({}){why}", in_classes(n, pair.classes.len()));
    }
    let (above, below, by) = if mean < 0.0 { (other, one, fine(-mean)) } else { (one, other, fine(mean)) };
    let here = pair.here();
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
            "{above} was above {below} in {name} in these classes, by {by} points{from} over all; {}",
            too_few(pair.classes.len())
        )
    } else {
        // By themselves the two would be told apart: why that is not enough has to be said.
        let by_itself = pair.decision.is_some_and(|decision| decision.p <= SIGNIFICANCE);
        let looked = if by_itself { " once all ways are looked at" } else { "" };
        format!(
            "{one} and {other}: no difference in {name} is shown{looked}, {} points{from}; it may still be there",
            plus(mean)
        )
    };
    // Where the verdict names the higher one first, its figures are those of the higher less the lower.
    let turned = mean < 0.0 && (pair.shown() || here && (pair.one_way() || !pair.moved()));
    let evidence = evidence(pair, tested, turned);
    format!("{verdict} {evidence}") + &steeps(pair, first, second) + &from_class_to_class(pair)
}

/// What decides, in brackets; behind it what the tasters of these classes say by themselves where something is found.
fn evidence(pair: &Pair, tested: usize, turned: bool) -> String {
    let once =
        if pair.for_others() { "each class counted once, as one of many that might be given: " } else { "" };
    let decides: Vec<String> = match (&pair.all_ways, once_counted(pair)) {
        (Some(all), _) => {
            let ends = all.low.zip(all.high);
            let range = ends.map(|ends| interval(ends, turned) + &of_all_ways(all.ways));
            let p = pair
                .decision
                .map(|decision| chance(decision.p_of_all) + &looked_at(all.ways, ends.is_some()));
            range.into_iter().chain([tasters(pair)]).chain(p).collect()
        }
        (None, Some(once)) => {
            let p = chances(once.p, pair.decision.map(|decision| decision.p_of_all), tested);
            let range = Some(interval((once.low, once.high), turned)).filter(|_| pair.shown());
            let t = format!("t over {} classes", once.classes);
            range.into_iter().chain([tasters(pair), t, p]).collect()
        }
        (None, None) => {
            let ends = pair.all.low.zip(pair.all.high).filter(|_| pair.shown());
            let range = ends.map(|ends| interval(ends, turned) + " of this pair alone");
            range.into_iter().chain([tasters(pair)]).chain(by_itself(pair, tested)).collect()
        }
    };
    let found = pair.shown() || pair.here();
    let alone = (pair.for_others() && found && pair.p.is_some()).then(|| {
        let all_ways = pair.all_ways.as_ref();
        let settled =
            all_ways.and_then(|all| Some((all.mean_in_these_classes?, all.p_in_these_classes?, all.ways)));
        let (mean, test) = match settled {
            Some((mean, p, ways)) => (mean, chance(p) + &looked_at(ways, false)),
            None => (pair.all.mean, format!("this pair by itself, {}", by_itself(pair, tested).join("; "))),
        };
        let mean = if turned { -mean } else { mean };
        format!(". In these classes alone, by their tasters: {} points ({test})", plus(mean))
    });
    format!("({once}{})", decides.join("; ")) + &alone.unwrap_or_default()
}

/// The test over the classes where there are enough of them, of a pair that is judged by itself.
fn once_counted(pair: &Pair) -> Option<ByClassMeans> {
    pair.by_class_means.filter(|means| pair.for_others() && means.classes >= LEAST_CLASSES)
}

/// That an interval is good for every two of so many ways at once; nothing of two.
fn of_all_ways(ways: usize) -> String {
    if ways > 2 { format!(", good for every two of {ways} ways at once") } else { String::new() }
}

/// That a chance allows for so many ways, where that is not said beside an interval.
fn looked_at(ways: usize, said: bool) -> String {
    if ways > 2 && !said { format!(" with all {ways} ways looked at") } else { String::new() }
}

fn tasters(pair: &Pair) -> String {
    in_classes(pair.all.n, pair.classes.len())
}

/// "95 % interval +2.31 to +3.61".
fn interval((low, high): (f64, f64), turned: bool) -> String {
    let (low, high) = if turned { (-high, -low) } else { (low, high) };
    format!("95 % interval {} to {}", plus(low), plus(high))
}

fn chances(p: f64, of_all: Option<f64>, tested: usize) -> String {
    let of_all = of_all.filter(|_| tested > 1);
    chance(p) + &of_all.map_or(String::new(), |p| format!("; {} allowing for {tested} pairs", chance(p)))
}

/// The test of the tasters of these classes and its chances.
fn by_itself(pair: &Pair, tested: usize) -> Vec<String> {
    let p = pair.p.map(|p| chances(p, pair.p_of_all, tested));
    pair.test.clone().into_iter().chain(p).collect()
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
        let looked = if moves.p <= SIGNIFICANCE { " with all ways looked at" } else { "" };
        format!(". No movement from class to class is shown{looked} {figures}")
    }
}

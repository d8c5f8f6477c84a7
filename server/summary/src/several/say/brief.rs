//! What several classes have found, for whoever reads only a few lines.

use crate::find::strength::LIKING;
use crate::say::longer_or_shorter;
use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::together::Together;
use crate::several::votes::Rule;
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;
use stats::say::points;

/// Of so many attributes in which the ways differ each is told with its extremes.
const NAMED: usize = 2;

/// The lines; none if nothing was compared and nobody voted.
pub fn lines(pool: &Pool) -> Vec<String> {
    let mut lines = together(pool);
    lines.extend(pool.pairs.iter().filter(|pair| pair.same_leaf).filter_map(|pair| one_leaf(pool, pair)));
    lines.extend(steeps(pool));
    if !lines.is_empty() {
        let others = pool.together.iter().any(Together::for_others);
        lines.push(
            match others {
                true => "What is shown is to hold in classes like these; what is not shown may be there all the same.",
                false => "All this is about these classes and these cups; what is not shown may be there all the same.",
            }
            .into(),
        );
    }
    lines
}

fn label(pool: &Pool, way: usize) -> String {
    pool.ways.iter().find(|line| line.way.way == way).map_or(format!("way {way}"), |line| line.way.label())
}

/// In what the ways differ, and in what no difference is shown.
fn together(pool: &Pool) -> Vec<String> {
    let (mut shown, mut here, mut not, mut apart) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut all: Vec<&Together> = pool.together.iter().collect();
    // What was liked comes first; of many attributes the others are only named.
    all.sort_by_key(|found| !found.attribute.name.eq_ignore_ascii_case(LIKING));
    let differing = |others: bool| all.iter().filter(|f| f.shown() && f.for_others() == others).count();
    let many_differ = [false, true].map(|others| differing(others) > NAMED);
    for found in all {
        if found.p_of_all.is_none() {
            continue;
        }
        let (name, n) = (&found.attribute.name, many(found.tasters, "taster"));
        match (&found.means[..], found.shown()) {
            ([first, .., last], true) => {
                let whose = if found.for_others() { &mut shown } else { &mut here };
                if many_differ[usize::from(found.for_others())] && !whose.is_empty() {
                    whose.push(name.clone());
                    continue;
                }
                whose.push(format!(
                    "{name} ({} above {} by {}, {n})",
                    label(pool, first.way),
                    label(pool, last.way),
                    points(first.adjusted_mean - last.adjusted_mean)
                ));
            }
            _ if found.moved() => apart.push(name.clone()),
            _ => not.push(format!("{name} ({n})")),
        }
    }
    let mut lines = Vec::new();
    if !shown.is_empty() {
        lines.push(format!("The ways differ in {}.", list(&shown)));
    }
    if !here.is_empty() {
        lines.push(format!("In these classes the ways differ in {}.", list(&here)));
    }
    if !apart.is_empty() {
        lines.push(format!("The classes do not agree on how the ways differ in {}.", list(&apart)));
    }
    if !not.is_empty() {
        lines.push(format!("No difference between the ways is shown in {}.", list(&not)));
    }
    lines
}

/// Whether it mattered how one leaf was steeped.
fn one_leaf(pool: &Pool, pair: &Pair) -> Option<String> {
    let of_all = pair.p_of_all?;
    let known = |way: usize| pool.ways.iter().find(|line| line.way.way == way)?.way.known.as_ref();
    let leaf = &known(pair.first)?.leaf;
    let way = |way: usize| known(way).map_or(String::new(), |known| format!("way {way} ({})", known.rule()));
    let (above, below) = match pair.all.mean > 0.0 {
        true => (pair.first, pair.second),
        false => (pair.second, pair.first),
    };
    let (above, below) = (way(above), way(below));
    let (name, by) = (&pair.attribute.name, points(pair.all.mean));
    Some(if pair.shown() {
        let whose = if pair.for_others() { "" } else { " in these classes" };
        format!("{leaf}: {above} is above {below} in {name} by {by}{whose}.")
    } else if pair.moved() && !pair.one_way() {
        format!("{leaf}: the classes do not agree whether {above} or {below} is higher in {name}.")
    } else if of_all <= SIGNIFICANCE && !pair.moved() {
        format!(
            "{leaf}: {above} was above {below} in {name} in these classes, which are too few to show it for another."
        )
    } else if of_all <= SIGNIFICANCE {
        format!("{leaf}: {above} was above {below} in {name} in each class, but not by as much in all.")
    } else {
        format!("{leaf}: no difference between {above} and {below} is shown in {name}.")
    })
}

/// Which steeps the votes would change. Of so many steeps some lean one way by chance: what is only a hint stands with its steep.
fn steeps(pool: &Pool) -> Option<String> {
    let of = |rule: &Rule| {
        let what = longer_or_shorter(rule.favours).filter(|_| rule.p_of_all <= SIGNIFICANCE)?;
        let split = rule.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE);
        let but = if split { " (but the classes do not vote alike)" } else { "" };
        Some(format!("steep {} of {} {what}{but}", rule.steep, label(pool, rule.way)))
    };
    let said: Vec<String> = pool.rules.iter().filter_map(of).collect();
    (!said.is_empty()).then(|| format!("To try next time by the strength votes: {}.", list(&said)))
}

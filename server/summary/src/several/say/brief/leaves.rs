//! Whether it mattered how a leaf was steeped: a line for each leaf of which something is found, one for all others.

use super::{line, some, way};
use crate::say::brief::{Line, Matter};
use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::say::these;
use crate::several::together::Together;
use crate::several::ways::Steeped;
use protocol::say::list;
use protocol::text::name_key;
use stats::interval::SIGNIFICANCE;
use stats::say::points;
use std::collections::BTreeSet;

/// So many pairs of one leaf are told one by one.
const TOLD: usize = 3;

/// A leaf with the pairs of its ways that were tested.
struct Leaf<'a> {
    name: &'a str,
    pairs: Vec<&'a Pair>,
}

/// At most `most` lines, and one at least where there is anything to tell; `told` are comparisons that are told already, in which
/// all ways of a leaf may stand.
pub(super) fn lines(pool: &Pool, told: &[&Together], most: usize) -> Vec<Line> {
    let told: Vec<String> = told.iter().filter_map(|found| whole(pool, found)).map(name_key).collect();
    let mut leaves: Vec<Leaf<'_>> = Vec::new();
    for pair in pool.pairs.iter().filter(|pair| pair.same_leaf && pair.p_of_all.is_some()) {
        let Some(known) = way(pool, pair.first).and_then(|way| way.known.as_ref()) else { continue };
        if told.contains(&name_key(&known.leaf)) {
            continue;
        }
        match leaves.iter_mut().find(|leaf| name_key(leaf.name) == name_key(&known.leaf)) {
            Some(leaf) => leaf.pairs.push(pair),
            None => leaves.push(Leaf { name: &known.leaf, pairs: vec![pair] }),
        }
    }
    let (found, not): (Vec<&Leaf<'_>>, Vec<&Leaf<'_>>) =
        leaves.iter().partition(|leaf| leaf.pairs.iter().any(|pair| Come::of(pair) != Come::NotShown));
    let room = most.max(1).saturating_sub(usize::from(!not.is_empty())).max(1);
    let told = if found.len() > room { room - 1 } else { found.len() };
    let mut lines: Vec<Line> = found[..told].iter().map(|leaf| of_leaf(pool, leaf)).collect();
    let names = |of: &[&Leaf<'_>]| -> Vec<String> { of.iter().map(|leaf| leaf.name.to_string()).collect() };
    let attribute = leaves.first().map_or("", |leaf| leaf.pairs[0].attribute.name.as_str());
    if told < found.len() {
        let names = some(&names(&found[told..]), "more leaf or more");
        lines.push(line(
            Matter::Ways,
            format!(
                "The ways of {names} differ in {attribute} too, or not alike in all classes: see the rest."
            ),
        ));
    }
    match &not[..] {
        [] => {}
        [one] => lines.push(of_leaf(pool, one)),
        many => {
            let names = some(&names(many), "more");
            let text = format!("No difference in {attribute} is shown between the ways of {names}.");
            lines.push(line(Matter::Ways, text));
        }
    }
    lines
}

/// What a pair comes to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Come {
    Shown,
    ShownHere,
    NotAgreed,
    NotByAsMuch,
    OnlyHere,
    NotShown,
}

impl Come {
    fn of(pair: &Pair) -> Self {
        let here = pair.p_of_all.is_some_and(|p| p <= SIGNIFICANCE);
        match (pair.shown(), pair.for_others(), pair.moved()) {
            (true, true, _) => Come::Shown,
            (true, false, _) => Come::ShownHere,
            (false, _, true) if !pair.one_way() => Come::NotAgreed,
            (false, _, true) if here => Come::NotByAsMuch,
            (false, _, false) if here => Come::OnlyHere,
            (false, ..) => Come::NotShown,
        }
    }
}

/// The leaf that all ways of a comparison are of.
pub(super) fn whole<'a>(pool: &'a Pool, found: &Together) -> Option<&'a str> {
    let mut leaves = found.ways.iter().map(|&number| way(pool, number)?.known.as_ref());
    let first = leaves.next()??;
    let same = |known: Option<&Steeped>| known.is_some_and(|k| name_key(&k.leaf) == name_key(&first.leaf));
    leaves.all(same).then_some(first.leaf.as_str())
}

/// Names ways beside the name of their leaf, each with its recipe the first time unless it is `brief`.
pub(super) struct Names<'a> {
    pub(super) pool: &'a Pool,
    pub(super) brief: bool,
    pub(super) told: BTreeSet<usize>,
}

impl Names<'_> {
    pub(super) fn of(&mut self, number: usize) -> String {
        let Some(way) = way(self.pool, number) else { return String::new() };
        let recipe = way.known.as_ref().filter(|_| !self.brief && self.told.insert(number));
        way.called_of_leaf() + &recipe.map_or(String::new(), |known| format!(" ({})", known.rule()))
    }

    /// The higher one and the lower one.
    fn turned(&mut self, pair: &Pair) -> (String, String) {
        let (above, below) =
            if pair.points() > 0.0 { (pair.first, pair.second) } else { (pair.second, pair.first) };
        (self.of(above), self.of(below))
    }
}

fn of_leaf(pool: &Pool, leaf: &Leaf<'_>) -> Line {
    let said = |brief: bool| {
        let mut names = Names { pool, brief, told: BTreeSet::new() };
        match leaf.pairs[..] {
            [pair] => format!("{}: {}.", leaf.name, of_pair(pair, &mut names)),
            _ => {
                let ways: BTreeSet<usize> =
                    leaf.pairs.iter().flat_map(|pair| [pair.first, pair.second]).collect();
                format!("{}, {} ways: {}.", leaf.name, ways.len(), of_pairs(&leaf.pairs, &mut names))
            }
        }
    };
    Line { text: said(false), short: said(true), matter: Matter::Ways }
}

fn of_pair(pair: &Pair, names: &mut Names<'_>) -> String {
    let (above, below) = names.turned(pair);
    let (name, by) = (&pair.attribute.name, points(pair.points().abs()));
    match Come::of(pair) {
        Come::Shown => format!("{above} is above {below} in {name} by {by}"),
        Come::ShownHere => {
            format!("{above} is above {below} in {name} by {by}{}", these(pair.classes.len()))
        }
        Come::NotAgreed => format!("the classes do not agree whether {above} or {below} is higher in {name}"),
        Come::OnlyHere => format!(
            "{above} was above {below} in {name} in these classes, which are too few to show it for another"
        ),
        Come::NotByAsMuch => {
            format!("{above} was above {below} in {name} in each class, but not by as much in all")
        }
        Come::NotShown => format!("no difference between {above} and {below} is shown in {name}"),
    }
}

/// Of three ways and more: the pairs that are shown to differ, then what else there is.
fn of_pairs(pairs: &[&Pair], names: &mut Names<'_>) -> String {
    let name = &pairs[0].attribute.name;
    let shown: Vec<&Pair> = pairs
        .iter()
        .filter(|pair| matches!(Come::of(pair), Come::Shown | Come::ShownHere))
        .copied()
        .collect();
    let others: Vec<Come> = pairs
        .iter()
        .map(|pair| Come::of(pair))
        .filter(|come| !matches!(come, Come::Shown | Come::ShownHere))
        .collect();
    let mut said: Vec<String> = Vec::new();
    for pair in shown.iter().take(TOLD) {
        let (above, below) = names.turned(pair);
        said.push(format!("{above} is above {below} by {}", points(pair.points().abs())));
    }
    if shown.len() > TOLD {
        said.push(format!("{} more pairs differ", shown.len() - TOLD));
    }
    let here = if shown.iter().any(|pair| !pair.for_others()) { " in these classes" } else { "" };
    let told = (!said.is_empty()).then(|| format!("in {name}{here} {}", list(&said)));
    let rest = if others.iter().any(|come| *come != Come::NotShown) {
        Some("the classes do not agree, or are too few to show it for another")
    } else if !others.is_empty() {
        Some("no difference is shown")
    } else {
        None
    };
    match (told, rest) {
        (Some(told), Some(rest)) => format!("{told}; between the others {rest}"),
        (Some(told), None) => told,
        (None, rest) => format!("between them {} in {name}", rest.unwrap_or_default()),
    }
}

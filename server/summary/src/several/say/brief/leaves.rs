//! Whether it mattered how a leaf was steeped: one line, for one leaf with its ways' recipes, for several without.

use super::{some, way};
use crate::say::brief::{Line, Matter};
use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::say::{these, too_few};
use crate::several::together::Together;
use crate::several::ways::Steeped;
use protocol::say::list;
use protocol::text::name_key;
use stats::say::points;
use std::collections::BTreeSet;

/// So many pairs of one leaf are told one by one.
const TOLD: usize = 3;

/// A leaf with the pairs of its ways of which anything can be said.
struct Leaf<'a> {
    name: &'a str,
    pairs: Vec<&'a Pair>,
}

/// One line at most; `told` are comparisons that are told already, in which all ways of a leaf may stand.
pub(super) fn line(pool: &Pool, told: &[&Together]) -> Option<Line> {
    let told: Vec<String> = told.iter().filter_map(|found| whole(pool, found)).map(name_key).collect();
    let mut leaves: Vec<Leaf<'_>> = Vec::new();
    for pair in pool.pairs.iter().filter(|pair| pair.same_leaf && pair.decision.is_some()) {
        let Some(known) = way(pool, pair.first).and_then(|way| way.known.as_ref()) else { continue };
        if told.contains(&name_key(&known.leaf)) {
            continue;
        }
        match leaves.iter_mut().find(|leaf| name_key(leaf.name) == name_key(&known.leaf)) {
            Some(leaf) => leaf.pairs.push(pair),
            None => leaves.push(Leaf { name: &known.leaf, pairs: vec![pair] }),
        }
    }
    match &leaves[..] {
        [] => None,
        [one] => Some(of_leaf(pool, one)),
        all => Some(Line {
            text: together(pool, all, false),
            short: together(pool, all, true),
            matter: Matter::Ways,
        }),
    }
}

/// Leaves that were each steeped several ways, in one line.
fn together(pool: &Pool, leaves: &[Leaf<'_>], brief: bool) -> String {
    let attribute = &leaves[0].pairs[0].attribute.name;
    let come = |leaf: &Leaf<'_>| leaf.pairs.iter().map(|pair| Come::of(pair)).min().unwrap_or(Come::NotShown);
    let of = |comes: &[Come]| -> Vec<&Leaf<'_>> {
        leaves.iter().filter(|leaf| comes.contains(&come(leaf))).collect()
    };
    let bare =
        |of: &[&Leaf<'_>]| some(&of.iter().map(|leaf| leaf.name.to_string()).collect::<Vec<_>>(), "more");
    let differ = of(&[Come::Shown, Come::ShownHere]);
    let most = |leaf: &&Leaf<'_>| if brief { leaf.name.to_string() } else { most(pool, leaf) };
    let here = differ.iter().find(|leaf| come(leaf) == Come::ShownHere);
    let here = here.map_or("", |leaf| these(leaf.pairs[0].classes.len()));
    let differ = (!differ.is_empty()).then(|| {
        format!(
            "{attribute} differs{here} for {}",
            some(&differ.iter().map(most).collect::<Vec<_>>(), "more")
        )
    });
    let rest = [
        (Come::NotAgreed, "the classes do not agree"),
        (Come::NotByAsMuch, "it differed in each class, but not by as much in all"),
        (Come::OnlyHere, "it differed in these classes, too few to say it would be so in another"),
        (Come::NotShown, "no difference is shown"),
    ];
    let rest = rest.into_iter().filter_map(|(come, words)| {
        let of = of(&[come]);
        (!of.is_empty()).then(|| format!("for {} {words}", bare(&of)))
    });
    let said: Vec<String> = differ.clone().into_iter().chain(rest).collect();
    let head = if differ.is_some() {
        "Steeped several ways, ".into()
    } else {
        format!("By {attribute} of leaves steeped several ways, ")
    };
    format!("{head}{}.", said.join("; "))
}

/// "Lantern Slope (long above short by 1.2 points)", of the two ways that lie farthest apart.
fn most(pool: &Pool, leaf: &Leaf<'_>) -> String {
    let shown = leaf.pairs.iter().filter(|pair| pair.shown());
    let Some(pair) = shown.max_by(|a, b| a.points().abs().total_cmp(&b.points().abs())) else {
        return leaf.name.to_string();
    };
    let (above, below) = Names { pool, brief: true, told: BTreeSet::new() }.turned(pair);
    format!("{} ({above} above {below} by {})", leaf.name, points(pair.points().abs()))
}

/// What a pair comes to, the strongest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
        let here = pair.here();
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
    let mut names = Names { pool, brief: true, told: BTreeSet::new() };
    let ways: BTreeSet<usize> = leaf.pairs.iter().flat_map(|pair| [pair.first, pair.second]).collect();
    let said = match leaf.pairs[..] {
        [pair] => of_pair(pair, &mut names),
        _ => of_pairs(&leaf.pairs, &mut names),
    };
    // A leaf whose ways are called by its name needs no other head.
    let named = ways.iter().all(|&way| name_key(&names.of(way)).starts_with(&name_key(leaf.name)));
    let head = match (leaf.pairs.len(), named) {
        (1, true) => String::new(),
        (1, false) => format!("{}: ", leaf.name),
        _ => format!("{}, {} ways: ", leaf.name, ways.len()),
    };
    let recipe = |&number: &usize| {
        let known = way(pool, number)?.known.as_ref()?;
        Some(format!("{}: {}", names.of(number), known.rule()))
    };
    let recipes: Vec<String> = ways.iter().filter_map(recipe).collect();
    let behind = if recipes.is_empty() { String::new() } else { format!(" ({})", recipes.join("; ")) };
    Line { text: format!("{head}{said}{behind}."), short: format!("{head}{said}."), matter: Matter::Ways }
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
        Come::OnlyHere => {
            format!("{above} was above {below} in {name} in these classes; {}", too_few(pair.classes.len()))
        }
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
        Some("the classes do not agree, or are too few to tell")
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

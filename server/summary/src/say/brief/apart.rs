//! Whether two teas can be told apart: the ways of a leaf by their scores and by the difference tests on them, in one line; then the
//! other difference tests.

use crate::data::Data;
use crate::figures::Figures;
use crate::find::difference_tests::TestFound;
use crate::find::leaves::{Leaf, LeafComparison};
use crate::find::strength::LIKING;
use crate::say::compared::{one_tea_briefly, ways as in_words};
use crate::say::difference_tests::{between, name};
use protocol::say::list;
use protocol::{Code, TestKind};

/// Of more leaves than these, each in several ways, one line tells.
const LEAVES: usize = 2;
/// So many letters have room in the short form: two lines of 80.
const BRIEF: usize = 150;

/// The lines on the ways of a leaf, each with a short form, and the one on the other tests.
pub fn lines(data: &Data<'_>, found: &Figures) -> (Vec<(String, String)>, Option<String>) {
    let answered: Vec<&TestFound> = found.tests.iter().filter(|test| test.n > 0).collect();
    let leaves: Vec<&Leaf> = found.leaves.iter().filter(|leaf| !leaf.whole).collect();
    let of = |leaf: &Leaf| -> Vec<&TestFound> {
        answered.iter().copied().filter(|test| is_of_ways(test, leaf)).collect()
    };
    let told: Vec<(&Leaf, String)> =
        leaves.into_iter().filter_map(|leaf| Some((leaf, one(data, leaf, &of(leaf))?))).collect();
    let joined = told.len() > LEAVES;
    let lines = if joined {
        let scored: Vec<&Leaf> = told.iter().map(|(leaf, _)| *leaf).filter(|leaf| can_tell(leaf)).collect();
        together(&scored).into_iter().collect()
    } else {
        let each = |(leaf, text): &(&Leaf, String)| {
            let text = format!("{text}.");
            (text.clone(), briefly(leaf).unwrap_or(text))
        };
        told.iter().map(each).collect()
    };
    // Where the leaves share a line, their tests have no room in it.
    let others: Vec<String> = answered
        .iter()
        .filter(|test| joined || !told.iter().any(|(leaf, _)| is_of_ways(test, leaf)))
        .map(|test| format!("test {}: {}", test.number, by_itself(test)))
        .collect();
    let others = (!others.is_empty()).then(|| format!("T{}.", others.join("; ").split_off(1)));
    (lines, others)
}

/// Whether the scores can tell its ways apart in anything.
fn can_tell(leaf: &Leaf) -> bool {
    leaf.comparisons.iter().any(|c| c.steep.is_none() && c.test.get().is_some())
}

/// In which attributes the ways of a leaf differ, over the steeps.
fn differ_in(leaf: &Leaf) -> Vec<&str> {
    let over = leaf.comparisons.iter().filter(|c| c.steep.is_none() && c.shown());
    over.map(|c| c.attribute.as_str()).collect()
}

/// Some attributes by name, or the liking and how many others, or how many they are.
fn some(attributes: &[&str]) -> String {
    let liking = attributes.iter().find(|name| name.eq_ignore_ascii_case("liking"));
    match (attributes.len(), liking) {
        (0..=2, _) => list(&attributes.iter().map(ToString::to_string).collect::<Vec<_>>()),
        (n, Some(liking)) => format!("{liking} and {} more", n - 1),
        (n, None) => format!("{n} attributes"),
    }
}

/// What the scores of one leaf in several ways show, without the ways; `None` where they show nothing.
fn briefly(leaf: &Leaf) -> Option<String> {
    let shown = differ_in(leaf);
    let ways = in_words(leaf.ways.len());
    // Which way is the better one, first by the liking.
    let told = which(leaf).map(|(codes, attribute)| {
        let more =
            if shown.len() > 1 { format!(" (they differ in {})", some(&shown)) } else { String::new() };
        format!("{}, {ways}: {codes} in {attribute}{more}.", leaf.leaf)
    });
    let differ = || format!("{}, {ways}: the scores differ in {}.", leaf.leaf, some(&shown));
    (!shown.is_empty()).then(|| told.unwrap_or_else(differ))
}

/// Many leaves that were each steeped several ways, in one line and in a shorter one; `None` of none.
fn together(leaves: &[&Leaf]) -> Option<(String, String)> {
    let (differ, alike): (Vec<&Leaf>, Vec<&Leaf>) =
        leaves.iter().partition(|leaf| !differ_in(leaf).is_empty());
    let named = |leaves: &[&Leaf], each: &dyn Fn(&Leaf) -> String| {
        list(&leaves.iter().map(|leaf| each(leaf)).collect::<Vec<_>>())
    };
    let at_length = named(&differ, &|leaf| {
        let attributes = differ_in(leaf);
        let which = match which(leaf) {
            None => String::new(),
            Some((codes, _)) if attributes.len() == 1 => format!(": {codes}"),
            Some((codes, attribute)) => format!(": {codes} in {attribute}"),
        };
        format!("{} ({}{which})", leaf.leaf, some(&attributes))
    });
    let told = |leaf: &&Leaf| {
        let (codes, attribute) = which(leaf)?;
        Some(format!("{} {codes} in {attribute}", leaf.leaf))
    };
    let told: Option<Vec<String>> = differ.iter().map(told).collect();
    let not = named(&alike, &|leaf| leaf.leaf.clone());
    let lines = match (differ.is_empty(), alike.is_empty()) {
        (true, _) => {
            let text = format!("Steeped several ways, no difference is shown in the scores for {not}.");
            (text, format!("Of {} leaves, each steeped several ways, none shows a difference.", leaves.len()))
        }
        (false, none_alike) => {
            let rest = if none_alike { String::new() } else { format!("; for {not} no difference is shown") };
            let text = format!("Steeped several ways, the scores differ for {at_length}{rest}.");
            let of = match none_alike {
                true => format!("all {} leaves", leaves.len()),
                false => format!("{} of {} leaves", differ.len(), leaves.len()),
            };
            let rest = match alike.len() {
                0 => String::new(),
                n => format!("; no difference is shown for {n} more"),
            };
            let by_name = told.map(|told| format!("Steeped several ways: {}{rest}.", told.join("; ")));
            let by_name = by_name.filter(|line| line.chars().count() <= BRIEF);
            (text, by_name.unwrap_or_else(|| format!("Steeped several ways, the scores differ for {of}.")))
        }
    };
    (!leaves.is_empty()).then_some(lines)
}

/// Which way is the better one, "211 above 224", and in what; where the sheet asks for liking and that is shown, by it. `None`
/// where no two ways are told apart.
fn which(leaf: &Leaf) -> Option<(String, &str)> {
    let shown = leaf.comparisons.iter().filter(|c| c.steep.is_none() && c.shown());
    let mut pairs: Vec<(&str, (Code, Code))> =
        shown.filter_map(|c| Some((c.attribute.as_str(), furthest(c)?))).collect();
    pairs.sort_by_key(|(attribute, _)| !attribute.eq_ignore_ascii_case(LIKING));
    let (attribute, (above, below)) = pairs.first()?;
    Some((format!("{above} above {below}"), attribute))
}

/// Of the pairs of ways that are told apart the one that lies furthest apart, the higher first.
fn furthest(c: &LeafComparison) -> Option<(Code, Code)> {
    let told = c.over.tukey.get().into_iter().flat_map(|tukey| &tukey.pairs).filter(|pair| pair.differs);
    let pair = told.max_by(|a, b| a.difference.abs().total_cmp(&b.difference.abs()))?;
    let turned = pair.difference < 0.0;
    Some(if turned { (pair.second, pair.first) } else { (pair.first, pair.second) })
}

/// Whether a test is between two ways of a leaf.
fn is_of_ways(test: &TestFound, leaf: &Leaf) -> bool {
    let way = |code: Option<Code>| {
        leaf.ways.iter().position(|way| code.is_some_and(|code| way.teas.contains(&code)))
    };
    let [first, second] = [way(test.teas[0].code), way(test.teas[1].code)];
    first.is_some() && second.is_some() && first != second
}

/// What is known of the ways of a leaf; `None` if neither scores nor answers can tell.
fn one(data: &Data<'_>, leaf: &Leaf, tests: &[&TestFound]) -> Option<String> {
    let two = leaf.ways.len() == 2;
    let mut said: Vec<String> =
        tests.iter().map(|test| if two { answers(test) } else { by_itself(test) }).collect();
    said.extend(scores(data, leaf, !tests.is_empty()));
    (!said.is_empty()).then(|| format!("{}, {}: {}", leaf.leaf, in_words(leaf.ways.len()), said.join("; ")))
}

/// What the scores say of the ways.
fn scores(data: &Data<'_>, leaf: &Leaf, tested: bool) -> Option<String> {
    let over = leaf.comparisons.iter().filter(|c| c.steep.is_none() && c.test.get().is_some());
    let (shown, not): (Vec<&LeafComparison>, Vec<&LeafComparison>) = over.partition(|c| c.shown());
    match (shown.is_empty(), not.is_empty(), tested) {
        (true, true, _) => None,
        (true, false, true) => Some("the scores show no difference".into()),
        (true, false, false) => {
            let not: Vec<String> = not.iter().map(|c| c.attribute.clone()).collect();
            Some(format!("no difference is shown in the scores for {}", list(&not)))
        }
        (false, ..) => {
            let shown: Vec<String> = shown.iter().map(|c| most(data, c)).collect();
            Some(format!("the scores differ in {}", list(&shown)))
        }
    }
}

/// "liking (more with 211 Slope, long than with 224 Slope, short)".
fn most(data: &Data<'_>, c: &LeafComparison) -> String {
    let Some((above, below)) = furthest(c) else { return c.attribute.clone() };
    let called = |tea: Code| {
        let way = c.over.ways.iter().find(|codes| codes.contains(&tea));
        one_tea_briefly(data, way.map_or(&[tea], Vec::as_slice))
    };
    format!("{} (more with {} than with {})", c.attribute, called(above), called(below))
}

/// How many answered rightly beside what guessing brings, and what follows, where it is clear which two teas it is about.
fn answers(test: &TestFound) -> String {
    let so = if test.shown() {
        "so the difference can be tasted"
    } else {
        "which does not show that the difference can be tasted"
    };
    counts(test).map_or_else(|| called(test), |counts| format!("{counts}, {so}"))
}

/// The same with the names of both.
fn by_itself(test: &TestFound) -> String {
    let Some(counts) = counts(test) else { return called(test) };
    let so = if test.shown() {
        "so the class can tell them apart"
    } else {
        "which does not show that they can be told apart"
    };
    format!("of {}, {counts}, {so}", between(&test.teas))
}

/// "6 of 8 picked out the odd cup (about 3 by guessing)"; `None` where there is no right and wrong.
fn counts(test: &TestFound) -> Option<String> {
    let (cup, one_in) = match test.kind {
        TestKind::Triangle => ("the odd cup", 3.0),
        TestKind::DuoTrio => ("the cup that was the same", 2.0),
        TestKind::Paired | TestKind::Other => return None,
    };
    let guessed = (test.n as f64 / one_in).round();
    let guessed = if guessed < 1.0 { "fewer than 1".into() } else { format!("about {guessed}") };
    Some(format!("{} of {} picked out {cup} ({guessed} by guessing)", test.correct, test.n))
}

/// What was asked of a pair, and which of them most called so.
fn called(test: &TestFound) -> String {
    let (other, ask) = (test.n - test.correct, test.ask.as_deref().unwrap_or("so"));
    let (most, of) =
        if test.correct >= other { (&test.teas[0], test.correct) } else { (&test.teas[1], other) };
    let verdict = if test.shown() { "" } else { ", which is not enough to show it" };
    format!("{} is called {ask} by {of} of {}{verdict}", name(most), test.n)
}

//! What was found, for whoever reads only a few lines: no figures but points and counts.

use crate::data::Data;
use crate::figures::Figures;
use crate::find::difference_tests::TestFound;
use crate::find::leaves::{Leaf, LeafComparison};
use crate::find::strength::{LIKING, StrengthTea};
use crate::say::compared::ways as in_words;
use crate::say::difference_tests::{between, name};
use crate::say::differences::whole;
use crate::say::longer_or_shorter;
use crate::sentence::{About, Sentence};
use protocol::say::{list, many};
use protocol::{Code, TestKind};
use stats::interval::SIGNIFICANCE;
use stats::say::points;

/// So many lines at most, the last of which says how far all this goes.
const MOST: usize = 8;
/// Whoever is liked less than so many others is not named.
const NAMED: usize = 5;

/// The lines; none if nobody has scored and no test was answered.
pub fn lines(data: &Data<'_>, found: &Figures, sentences: &[Sentence]) -> Vec<String> {
    let mut lines: Vec<String> = liked(data, found).into_iter().collect();
    lines.extend(differences(data, found, sentences, !lines.is_empty()));
    lines.extend(ways(data, found));
    lines.extend(next_time(data, found));
    let words = found.words.iter().filter(|w| w.cochran.get().is_some_and(|q| q.p_holm <= SIGNIFICANCE));
    let words: Vec<String> = words.map(|w| format!("\"{}\"", w.word)).collect();
    if !words.is_empty() {
        lines.push(format!("Ticked more for some teas than for others: {}.", list(&words)));
    }
    lines.extend(tests(found));
    lines.truncate(MOST - 1);
    if !lines.is_empty() {
        lines.push(
            "All this is about this class and these cups; what is not shown may be there all the same."
                .into(),
        );
    }
    lines
}

/// Which tea was liked best, and whether that is shown: the order with its letters.
fn liked(data: &Data<'_>, found: &Figures) -> Option<String> {
    let is_liking = |name: &str| name.eq_ignore_ascii_case(LIKING);
    let of = found.differences.iter().find(|d| d.steep.is_none() && is_liking(&d.attribute))?;
    // The means that every picture shows.
    let mean = |tea: Code| {
        let over = found
            .described
            .iter()
            .find(|d| d.attribute == of.attribute && d.tea == Some(tea) && d.steep.is_none());
        over.and_then(|over| over.mean)
    };
    let mut order: Vec<(f64, Code)> = of.teas.iter().filter_map(|&tea| Some((mean(tea)?, tea))).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let [(best, tea), rest @ ..] = &order[..] else { return None };
    if !of.test.get().is_some_and(|test| test.p_holm <= SIGNIFICANCE) {
        return Some(format!(
            "Liked best by the figures alone: {} ({best:.1}). In {} no difference between the {} is shown.",
            data.label(*tea),
            of.attribute,
            called(found)
        ));
    }
    let letters = |tea: Code| of.letters(tea).map_or(String::new(), |letters| format!(" {letters}"));
    let mut others: Vec<String> = rest
        .iter()
        .take(NAMED - 1)
        .map(|(mean, tea)| format!("{} {mean:.1}{}", data.label(*tea), letters(*tea)))
        .collect();
    if rest.len() >= NAMED {
        others.push(many(rest.len() + 1 - NAMED, "more tea"));
    }
    Some(format!(
        "Liked best: {} {best:.1}{}; then {}. Teas with a letter in common are not shown to differ.",
        data.label(*tea),
        letters(*tea),
        list(&others)
    ))
}

/// What is compared: the teas, or the ways of the one leaf that there is.
fn called(found: &Figures) -> String {
    whole(&found.leaves).map_or("teas".to_string(), |leaf| format!("ways of {leaf}"))
}

/// The difference tests, all in one line.
fn tests(found: &Figures) -> Option<String> {
    let said: Vec<String> = found.tests.iter().filter(|test| test.n > 0).map(of_test).collect();
    match &said[..] {
        [] => None,
        [one] => Some(one.clone()),
        several => {
            let short = |said: &String| said.trim_start_matches("Test ").trim_end_matches('.').to_string();
            Some(format!("Tests: {}.", several.iter().map(short).collect::<Vec<_>>().join("; ")))
        }
    }
}

/// Over the steeps: in what the teas differ, and in what no difference is shown; `but_liking` of which that is said already.
fn differences(data: &Data<'_>, found: &Figures, sentences: &[Sentence], but_liking: bool) -> Vec<String> {
    let teas = called(found);
    let over: Vec<&Sentence> = sentences
        .iter()
        .filter(|s| s.about == About::Difference && s.evidence.steep.is_none() && s.evidence.test.is_some())
        .filter(|s| {
            let attribute = s.evidence.attribute.as_deref().unwrap_or_default();
            !(but_liking && attribute.eq_ignore_ascii_case(LIKING))
        })
        .collect();
    let attribute = |s: &Sentence| s.evidence.attribute.clone().unwrap_or_default();
    let with_pair = |s: &Sentence| match (&s.evidence.teas[..], s.evidence.points, s.evidence.interval) {
        // Only a pair that is told apart by itself.
        ([above, below], Some(by), interval) if interval.is_none_or(|interval| interval.low > 0.0) => {
            format!(
                "{} ({} above {} by {})",
                attribute(s),
                data.label(*above),
                data.label(*below),
                points(by)
            )
        }
        _ => attribute(s),
    };
    let (shown, not): (Vec<&Sentence>, Vec<&Sentence>) = over.into_iter().partition(|s| s.shown);
    let mut lines = Vec::new();
    if !shown.is_empty() {
        let said: Vec<String> = shown.into_iter().map(with_pair).collect();
        lines.push(format!("The {teas} differ in {}.", list(&said)));
    }
    if !not.is_empty() {
        let said: Vec<String> = not.into_iter().map(attribute).collect();
        lines.push(format!("In {} no difference between the {teas} is shown.", list(&said)));
    }
    lines
}

/// Whether it mattered how a leaf was steeped; a leaf that is all the class had is told with the teas.
fn ways(data: &Data<'_>, found: &Figures) -> Vec<String> {
    let of = |leaf: &Leaf| {
        let (shown, not): (Vec<&LeafComparison>, Vec<&LeafComparison>) = leaf
            .comparisons
            .iter()
            .filter(|c| c.steep.is_none() && c.test.get().is_some())
            .partition(|c| c.shown());
        let how = format!("{}, steeped {}", leaf.leaf, in_words(leaf.ways.len()));
        match (shown.is_empty(), not.is_empty()) {
            (true, true) => None,
            (true, false) => Some(format!(
                "{how}: no difference is shown in the scores for {}.",
                list(&not.iter().map(|c| c.attribute.clone()).collect::<Vec<_>>())
            )),
            (false, _) => {
                let said: Vec<String> = shown.iter().map(|c| most(data, c)).collect();
                Some(format!("{how}: it differs in {}.", list(&said)))
            }
        }
    };
    found.leaves.iter().filter(|leaf| !leaf.whole).filter_map(of).collect()
}

/// "liking (more with 211 Slope, long than with 224 Slope, short)".
fn most(data: &Data<'_>, c: &LeafComparison) -> String {
    let told = c.over.tukey.get().into_iter().flat_map(|tukey| &tukey.pairs).filter(|pair| pair.differs);
    let Some(pair) = told.max_by(|a, b| a.difference.abs().total_cmp(&b.difference.abs())) else {
        return c.attribute.clone();
    };
    let turned = pair.difference < 0.0;
    let (above, below) = if turned { (pair.second, pair.first) } else { (pair.first, pair.second) };
    format!("{} (more with {} than with {})", c.attribute, data.label(above), data.label(below))
}

/// Which teas should be steeped longer or shorter, by all their steeps: what the votes show, and what those on one tea hint at.
fn next_time(data: &Data<'_>, found: &Figures) -> Vec<String> {
    let teas = found.strength.iter().flat_map(|strength| &strength.teas);
    let said = |shown: bool| -> Vec<String> {
        let of = |tea: &StrengthTea| {
            let hint = tea.hint.get().filter(|hint| (hint.p_holm <= SIGNIFICANCE) == shown)?;
            let what = longer_or_shorter(hint.hint)?;
            let times =
                tea.estimate.as_ref().map(|estimate| &estimate.steep_s).filter(|times| !times.is_empty());
            let times = times.map_or(String::new(), |times| {
                let seconds: Vec<String> = times.iter().map(u32::to_string).collect();
                format!(" (an estimate: {} s)", list(&seconds))
            });
            Some(format!("{} {what}{times}", data.label(tea.tea)))
        };
        teas.clone().filter_map(of).collect()
    };
    let line =
        |(head, said): (&str, Vec<String>)| (!said.is_empty()).then(|| format!("{head}: {}.", list(&said)));
    let both = [
        ("By the strength votes, to steep next time", said(true)),
        ("A hint by the votes on one tea alone, to try next time", said(false)),
    ];
    both.into_iter().filter_map(line).collect()
}

fn of_test(test: &TestFound) -> String {
    let shown = test.shown();
    let (number, correct, n) = (test.number, test.correct, many(test.n, "answer"));
    match (test.kind, &test.ask) {
        (TestKind::Paired, Some(ask)) => {
            let other = test.n - correct;
            let (most, of) = if correct >= other { (&test.teas[0], correct) } else { (&test.teas[1], other) };
            let verdict = if shown { "" } else { "; that is not enough to show it" };
            format!("Test {number}: {} is called {ask} in {of} of {n}{verdict}.", name(most))
        }
        _ if shown => format!(
            "Test {number}: the class can tell {} apart ({correct} of {n} right).",
            between(&test.teas)
        ),
        _ => format!(
            "Test {number}: that the class can tell {} apart is not shown ({correct} of {n} right).",
            between(&test.teas)
        ),
    }
}

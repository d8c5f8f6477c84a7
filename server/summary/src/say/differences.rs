//! Sentences on whether the teas differ.

use crate::data::Data;
use crate::find::differences::{Difference, MainTest, MeanPair};
use crate::find::leaves::Leaf;
use crate::known::Known;
use crate::say::compared::{PAIRS, Unseen, agreeing, by, foremost, label, pairs, test_name};
use crate::sentence::{About, Evidence, Sentence};
use protocol::Code;
use protocol::say::{list, many, steeps};
use stats::interval::SIGNIFICANCE;
use stats::say::{p, p_of_family, points};

/// A sentence for every attribute over the steeps, those that differ first; then one for every steep at which an attribute
/// differs, and one for all the others.
pub fn sentences(data: &Data<'_>, all: &[Difference], leaves: &[Leaf]) -> Vec<Sentence> {
    let whole = whole(leaves);
    let one = |data: &Data<'_>, d: &Difference| one(data, d, About::Difference, whole);
    let over = all.iter().filter(|d| d.steep.is_none());
    let (tested, untested): (Vec<&Difference>, Vec<&Difference>) = over.partition(|d| d.test.get().is_some());
    let mut said: Vec<Sentence> = tested.iter().map(|d| one(data, d)).collect();
    said.sort_by_key(|sentence| !sentence.shown);
    said.extend(not_tested(&untested));
    // A class of one steep has said it all over the steeps.
    let single: Vec<&Difference> =
        all.iter().filter(|d| d.steep.is_some() && data.last_steep() > 1).collect();
    let (shown, rest): (Vec<&Difference>, Vec<&Difference>) =
        single.into_iter().partition(|d| d.test.get().is_some_and(|t| t.p_holm <= SIGNIFICANCE));
    said.extend(shown.iter().map(|d| one(data, d)));
    said.extend(others(&rest, shown.len()));
    said
}

/// One sentence for all attributes that can't be tested for the same reason.
fn not_tested(untested: &[&Difference]) -> Vec<Sentence> {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for d in untested {
        let Known::Not { why } = &d.test else { continue };
        match reasons.iter_mut().find(|(other, _)| other == why) {
            Some((_, attributes)) => attributes.push(d.attribute.clone()),
            None => reasons.push((why, vec![d.attribute.clone()])),
        }
    }
    let tasters = untested.iter().map(|d| d.tasters).max().unwrap_or(0);
    let of = |(why, attributes): &(&str, Vec<String>)| {
        let text = format!("{}: whether the teas differ can't be tested: {why}.", list(attributes));
        Sentence::plain(text, About::Difference, tasters)
    };
    reasons.iter().map(of).collect()
}

/// The leaf that all teas compared are ways of, if they are.
pub fn whole(leaves: &[Leaf]) -> Option<&str> {
    leaves.iter().find(|leaf| leaf.whole).map(|leaf| leaf.leaf.as_str())
}

/// One attribute, over the steeps or at one.
pub fn one(data: &Data<'_>, d: &Difference, about: About, whole: Option<&str>) -> Sentence {
    let what = match d.steep {
        None => d.attribute.clone(),
        Some(steep) => format!("{} at steep {steep}", d.attribute),
    };
    let left_out = left_out(d);
    let test = match &d.test {
        Known::Is(test) => test,
        Known::Not { why } => {
            let text = format!("{what}: whether the teas differ can't be tested: {why}.{left_out}");
            return Sentence { text, about, shown: false, evidence: evidence(d, None, None) };
        }
    };
    let shown = d.shown();
    let foremost = foremost(&pairs(&d.pairs()), shown);
    let by = basis(data, d, test, whole);
    let text = if shown {
        let they = whole.map_or("the teas".into(), |leaf| format!("the ways of {leaf}"));
        format!("{what}: {they} differ ({by}). {}{left_out}", which(data, d))
    } else {
        let kind = if whole.is_some() { "way" } else { "tea" };
        format!(
            "{what}: no difference between the {} is shown ({by}).{}{left_out}",
            compared(d, whole),
            unseen(data, d, test, foremost, kind)
        )
    };
    Sentence { text, about, shown, evidence: evidence(d, Some(test), foremost) }
}

/// What is compared, in words: "3 teas", "3 ways of Leaf", "3 teas under 6 codes".
fn compared(d: &Difference, whole: Option<&str>) -> String {
    let codes = d.teas.len();
    let count = d.compared().len();
    let what = match whole {
        Some(leaf) => format!("{} of {leaf}", many(count, "way")),
        None => many(count, "tea"),
    };
    if count < codes { format!("{what} under {codes} codes") } else { what }
}

fn basis(data: &Data<'_>, d: &Difference, test: &MainTest, whole: Option<&str>) -> String {
    let tasters = many(test.n, "taster");
    let all = data.teas.iter().filter(|tea| d.teas.contains(&tea.code)).all(|tea| tea.steeps == d.steeps);
    let steeps = match d.steep {
        None if !all => format!(", compared at {} only, which all were served at", steeps(&d.steeps)),
        _ => String::new(),
    };
    let gaps = if test.name.is_of_model() && d.many_missing { ", since many scores are missing" } else { "" };
    let (compared, name) = (compared(d, whole), test_name(test.name));
    let p = p_of_family(test.p, test.p_holm, test.family);
    format!("{tasters}, {compared}{steeps}; {name}{gaps}, {p}")
}

/// Which teas differ, by how much.
fn which(data: &Data<'_>, d: &Difference) -> String {
    let named = |code: Code| label(data, &d.codes(code));
    let told: Vec<MeanPair> = pairs(&d.pairs()).into_iter().filter(|pair| pair.differs).collect();
    if told.is_empty() {
        return which_alike(data, d);
    }
    // By this comparison; two ways of one leaf that only their own test tells apart stand with their leaf.
    let only = d.compared().len() == 2;
    let own: Vec<&MeanPair> = told.iter().filter(|pair| only || agreeing(pair).is_some()).collect();
    if own.is_empty() {
        return "Which of them it is stands with the ways of each leaf.".into();
    }
    let said: Vec<String> = own
        .iter()
        .take(PAIRS)
        .map(|pair| format!("{} is above {} by {}", named(pair.first), named(pair.second), by(pair)))
        .collect();
    let more = match own.len().saturating_sub(PAIRS) {
        0 => String::new(),
        1 => "; the table has one pair more".into(),
        n => format!("; the table has {n} pairs more"),
    };
    format!("{}{more}.", said.join("; "))
}

/// Which teas differ where the analysis of variance leaves nothing over: every taster finds the very same differences.
fn which_alike(data: &Data<'_>, d: &Difference) -> String {
    let named = |code: Code| label(data, &d.codes(code));
    let said: Vec<String> = alike(d)
        .iter()
        .take(PAIRS)
        .map(|(first, second, by)| {
            format!("{} is above {} by {}", named(*first), named(*second), points(*by))
        })
        .collect();
    if said.is_empty() {
        return "Which of them it is can't be shown pair by pair.".into();
    }
    format!("{}, for every taster alike.", said.join("; "))
}

/// Every two teas that differ, the higher one first, the largest difference first; none where tasters differ in them.
pub(crate) fn alike(d: &Difference) -> Vec<(Code, Code, f64)> {
    if d.pairs().get().is_some() {
        return Vec::new();
    }
    let all: Vec<(Code, f64)> =
        d.compared().into_iter().filter_map(|(codes, mean)| Some((*codes.first()?, mean))).collect();
    let mut pairs = Vec::new();
    for (i, &(a, mean_a)) in all.iter().enumerate() {
        for &(b, mean_b) in &all[i + 1..] {
            let by = mean_a - mean_b;
            pairs.push(if by < 0.0 { (b, a, -by) } else { (a, b, by) });
        }
    }
    pairs.retain(|(_, _, by)| *by > 1e-9);
    pairs.sort_by(|a, b| b.2.total_cmp(&a.2));
    pairs
}

/// What may be there unseen.
fn unseen(data: &Data<'_>, d: &Difference, test: &MainTest, largest: Option<MeanPair>, what: &str) -> String {
    let alone = if test.p <= SIGNIFICANCE {
        let others = many(test.family, "test");
        format!(" By itself {} would count, but with {others} made it may well be chance.", p(test.p))
    } else {
        String::new()
    };
    let named = |code: Code| label(data, &d.codes(code));
    let largest = largest.map(|pair| (pair, named(pair.first), named(pair.second)));
    let unseen = Unseen {
        test,
        of: (d.compared().len(), what),
        largest,
        told_apart_from: d.told_apart_from_points,
        width: data.width(&d.attribute),
    };
    format!("{alone}{}", unseen.words())
}

fn left_out(d: &Difference) -> String {
    let all_count = d.test.get().is_some_and(|test| test.name.is_of_model());
    if d.left_out.is_empty() || all_count {
        return String::new();
    }
    let names: Vec<String> = d.left_out.iter().map(|l| l.seat.clone()).collect();
    format!(" Left out, since they have no score for every tea: {}.", list(&names))
}

/// One sentence for all the single steeps at which nothing is shown.
fn others(rest: &[&Difference], shown: usize) -> Option<Sentence> {
    let tested: Vec<&MainTest> = rest.iter().filter_map(|d| d.test.get()).collect();
    let family = tested.first()?.family;
    let else_ = if shown == 0 { "" } else { " else" };
    let smallest = tested.iter().map(|t| t.p).fold(1.0, f64::min);
    let text = format!(
        "Steep by steep nothing{else_} is shown, allowing for {} (the smallest {}by itself: {}).",
        many(family, "test"),
        if shown == 0 { "" } else { "of the others " },
        p(smallest)
    );
    let n = tested.iter().map(|t| t.n).max().unwrap_or(0);
    let evidence = Evidence { n, p: Some(smallest), ..Evidence::default() };
    Some(Sentence { text, about: About::Difference, shown: false, evidence })
}

fn evidence(d: &Difference, test: Option<&MainTest>, largest: Option<MeanPair>) -> Evidence {
    let same = alike(d).first().copied();
    Evidence {
        attribute: Some(d.attribute.clone()),
        steep: d.steep,
        teas: match (largest, same) {
            (Some(pair), _) => vec![pair.first, pair.second],
            (None, Some((first, second, _))) => vec![first, second],
            (None, None) => d.teas.clone(),
        },
        n: test.map_or(d.complete, |t| t.n),
        test: test.map(|t| t.name.to_string()),
        p: test.map(|t| t.p),
        p_adjusted: test.map(|t| t.p_holm),
        points: largest.map(|pair| pair.difference).or(same.map(|(_, _, by)| by)),
        interval: largest.as_ref().and_then(agreeing),
    }
}

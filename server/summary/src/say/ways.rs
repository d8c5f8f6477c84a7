//! Sentences on the ways of steeping one leaf.

use crate::data::Data;
use crate::find::leaves::{Leaf, LeafComparison};
use crate::known::Known;
use crate::say::compared::{
    PAIRS, Unseen, agreeing, by, foremost, label, pairs, test_name, ways as in_words,
};
use crate::sentence::{About, Evidence, Sentence};
use protocol::Code;
use protocol::say::{many, steeps};
use stats::interval::SIGNIFICANCE;
use stats::say::p_of_family;

/// A sentence for every leaf and attribute over the steeps; for a single steep only where something is shown. A leaf that is
/// all the class had is told with the teas.
pub fn sentences(data: &Data<'_>, all: &[Leaf]) -> Vec<Sentence> {
    let mut said = Vec::new();
    for leaf in all.iter().filter(|leaf| !leaf.whole) {
        let (over, single): (Vec<_>, Vec<_>) = leaf.comparisons.iter().partition(|c| c.steep.is_none());
        said.extend(over.into_iter().map(|c| one(data, leaf, c)));
        said.extend(
            single.into_iter().filter(|c| c.shown() && data.last_steep() > 1).map(|c| one(data, leaf, c)),
        );
    }
    said.sort_by_key(|sentence| !sentence.shown);
    said
}

fn one(data: &Data<'_>, leaf: &Leaf, c: &LeafComparison) -> Sentence {
    let own = |code: &Code| leaf.ways.iter().any(|way| way.teas.contains(code));
    let all = data.teas.iter().filter(|tea| own(&tea.code)).all(|tea| tea.steeps == c.steeps);
    let what = match c.steep {
        None if all => c.attribute.clone(),
        None => format!("{} over {}, which all of them were served at", c.attribute, steeps(&c.steeps)),
        Some(steep) => format!("{} at steep {steep}", c.attribute),
    };
    let head = format!("{} steeped {}, {what}", leaf.leaf, in_words(leaf.ways.len()));
    let shown = c.shown();
    let tukey = match &c.over.tukey {
        Known::Is(tukey) => Known::Is(tukey),
        Known::Not { why } => Known::not(why),
    };
    let pairs = pairs(&tukey);
    let foremost = foremost(&pairs, shown);
    let named =
        |code: Code| label(data, c.over.ways.iter().find(|way| way.contains(&code)).map_or(&[][..], |w| w));
    let text = match &c.test {
        Known::Not { why } => format!("{head}: not tested: {why} ({}).", many(c.over.complete, "taster")),
        Known::Is(test) => {
            let (name, tasters) = (test_name(test.name), many(test.n, "taster"));
            let p = if c.held_by_teas {
                format!("{}; the test over all teas goes first", stats::say::p(test.p))
            } else {
                p_of_family(test.p, test.p_holm, test.family)
            };
            let by_test = format!("{tasters}; {name}, {p}");
            if shown {
                let told = pairs.iter().filter(|pair| pair.differs).take(PAIRS);
                let told: Vec<String> = told
                    .map(|pair| {
                        format!("{} lies above {} by {}", named(pair.first), named(pair.second), by(pair))
                    })
                    .collect();
                let which = if told.is_empty() {
                    "Which of them can't be shown pair by pair".into()
                } else {
                    told.join("; ")
                };
                format!("{head}: they differ ({by_test}). {which}.")
            } else {
                let alone = match (test.p <= SIGNIFICANCE, c.held_by_teas) {
                    (false, _) => "",
                    (true, false) => {
                        " By itself that would count, but with all that was looked at it may well be chance."
                    }
                    (true, true) => {
                        " By itself that would count, but between all the teas no difference is shown."
                    }
                };
                // Which difference is missed depends on the other teas too, behind whose test that of the ways stands.
                let unseen = Unseen {
                    test,
                    of: (c.over.ways.len(), "way"),
                    largest: foremost.map(|pair| (pair, named(pair.first), named(pair.second))),
                    told_apart_from: None,
                    width: data.width(&c.attribute),
                };
                format!("{head}: no difference is shown ({by_test}).{alone}{}", unseen.seen())
            }
        }
    };
    Sentence { text, about: About::Ways, shown, evidence: evidence(c, foremost.as_ref()) }
}

fn evidence(c: &LeafComparison, foremost: Option<&crate::find::differences::MeanPair>) -> Evidence {
    let test = c.test.get();
    let all = || c.over.ways.iter().flatten().copied().collect();
    Evidence {
        attribute: Some(c.attribute.clone()),
        steep: c.steep,
        teas: foremost.map_or_else(all, |pair| vec![pair.first, pair.second]),
        n: test.map_or(c.over.complete, |test| test.n),
        test: test.map(|test| test.name.to_string()),
        p: test.map(|test| test.p),
        p_adjusted: test.map(|test| test.p_holm),
        points: foremost.map(|pair| pair.difference),
        interval: foremost.and_then(agreeing),
    }
}

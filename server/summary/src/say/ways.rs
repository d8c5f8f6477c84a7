//! Sentences on two ways of one leaf.

use crate::data::Data;
use crate::find::ways::{Comparison, TwoWays};
use crate::known::Known;
use crate::say::differences::LEAST_POINTS;
use crate::sentence::{About, Evidence, Sentence};
use protocol::say::{many, steeps};
use stats::interval::SIGNIFICANCE;
use stats::power::tasters_for;
use stats::say::{p, p_of_family, points, range, turned};
use stats::wilcoxon::smallest_p;

/// A sentence for every attribute over the steeps; for a single steep only where something is shown.
pub fn sentences(data: &Data<'_>, all: &[TwoWays]) -> Vec<Sentence> {
    let mut said = Vec::new();
    for ways in all {
        let over = ways.comparisons.iter().filter(|c| c.steep.is_none());
        said.extend(over.map(|c| one(data, ways, c)));
        let single = ways.comparisons.iter().filter(|c| c.steep.is_some()).map(|c| one(data, ways, c));
        said.extend(single.filter(|sentence| sentence.shown));
    }
    said.sort_by_key(|sentence| !sentence.shown);
    said
}

fn one(data: &Data<'_>, ways: &TwoWays, c: &Comparison) -> Sentence {
    let all = data
        .teas
        .iter()
        .filter(|tea| [ways.first, ways.second].contains(&tea.code))
        .all(|tea| tea.steeps == c.steeps);
    let what = match c.steep {
        None if all => c.attribute.clone(),
        None => format!("{} over {}, which both were served at", c.attribute, steeps(&c.steeps)),
        Some(steep) => format!("{} at steep {steep}", c.attribute),
    };
    let head = if ways.same_way {
        format!("{} steeped twice the same way, {what}", ways.leaf)
    } else {
        format!("{} steeped two ways, {what}", ways.leaf)
    };
    let family = ways
        .comparisons
        .iter()
        .filter(|other| other.steep.is_some() == c.steep.is_some() && other.p_holm.is_some());
    let (p_alone, p_holm) = (c.wilcoxon.get().map(|w| w.p), c.p_holm);
    let shown = p_holm.is_some_and(|p| p <= SIGNIFICANCE);
    let text = match (&c.wilcoxon, c.mean_difference) {
        (Known::Is(found), Some(difference)) => {
            let test = p_of_family(found.p, p_holm.unwrap_or(found.p), family.clone().count());
            let size = size(data, ways, c, difference);
            let tasters = many(c.n, "taster");
            let rest = if shown {
                String::new()
            } else {
                unseen(c, found.n, found.p, difference, family.clone().count())
            };
            let verdict = if shown { "they differ" } else { "no difference is shown" };
            format!("{head}: {verdict} ({tasters}; exact signed rank test, {test}). {size}{rest}")
        }
        (Known::Not { why }, _) => format!("{head}: not tested: {why} ({}).", many(c.n, "taster")),
        (Known::Is(_), None) => format!("{head}: not tested: nobody has scored both."),
    };
    let interval = c.paired.get().map(|paired| paired.interval);
    let evidence = Evidence {
        attribute: Some(c.attribute.clone()),
        steep: c.steep,
        teas: vec![ways.first, ways.second],
        n: c.n,
        test: Some("Wilcoxon, exact".into()),
        p: p_alone,
        p_adjusted: p_holm,
        points: c.mean_difference,
        interval,
    };
    Sentence { text, about: About::Ways, shown, evidence }
}

/// Which one is higher, by how much, with the interval and the standardised effect.
fn size(data: &Data<'_>, ways: &TwoWays, c: &Comparison, difference: f64) -> String {
    let turn = difference < 0.0;
    let (higher, lower) = if turn { (ways.second, ways.first) } else { (ways.first, ways.second) };
    let spread = c.paired.get().map_or_else(
        || "all tasters alike".to_string(),
        |found| range(if turn { turned(found.interval) } else { found.interval }),
    );
    let (higher, lower) = (data.label(higher), data.label(lower));
    format!("{higher} lies above {lower} by {} on average ({spread}).", points(difference))
}

/// What may be there unseen. `differing` tasters scored the two differently.
fn unseen(c: &Comparison, differing: usize, p_alone: f64, difference: f64, family: usize) -> String {
    let least = smallest_p(differing);
    let enough = |n: &usize| smallest_p(*n) * family as f64 <= SIGNIFICANCE;
    if let (false, Some(needed)) = (enough(&differing), (1..100).find(enough)) {
        let allowing = match family {
            1 => String::new(),
            tests => format!(", allowing for {tests} tests"),
        };
        return format!(
            " Too few to tell: of {} {differing} scored the two differently, and even if they all agreed, that gave {}; \
             {needed} are needed{allowing}.",
            many(c.n, "taster"),
            p(least)
        );
    }
    let alone = if p_alone <= SIGNIFICANCE {
        " By itself that would count, but with all the attributes looked at it may well be chance."
    } else {
        ""
    };
    let sd = c.paired.get().map(|found| found.sd);
    let said = difference.abs() >= LEAST_POINTS;
    let needed = sd.filter(|_| said).and_then(|sd| tasters_for(difference, sd)).filter(|&n| n > c.n);
    let needed = needed.map_or(String::new(), |n| {
        format!(" If that were the truth, about {n} tasters would show it in four classes out of five, looking at this alone.")
    });
    format!("{alone}{needed}")
}

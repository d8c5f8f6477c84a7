//! Two ways are told apart only where all ways together are shown to differ, by the same test against the same spread: so pairs,
//! letters, sentences and the short list have one decision.

use crate::several::decision::Decision;
use crate::several::pairs::Pair;
use crate::several::together::{Behind, Together};
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::interval::SIGNIFICANCE;
use stats::tukey;
use std::collections::BTreeMap;

/// What the comparison of all ways has of two of them; its letters are made from the same.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PairOfAllWays")]
pub struct AllWays {
    /// How many ways are compared.
    pub ways: usize,
    /// The steeps that go in, those that all these ways share; empty where the classes have none in common.
    pub steeps: Vec<usize>,
    /// First less second, points: by the tasters, or by the classes' means where those decide.
    pub mean: f64,
    /// The lower end of its 95 % interval, good for all pairs at once (Tukey–Kramer). It leaves out 0 exactly where the
    /// difference is shown; `null` where it would and the ways as a whole are not shown to differ.
    pub low: Option<f64>,
    /// The upper end.
    pub high: Option<f64>,
    /// p with all pairs of these ways looked at (Tukey–Kramer).
    pub p: f64,
    /// Whether the tasters of these classes tell the two apart by the same rule, the same one above, whatever other classes might
    /// show.
    pub in_these_classes: bool,
    /// The difference by the tasters of these classes, points; `null` where their comparison has none.
    pub mean_in_these_classes: Option<f64>,
    /// Its p with all pairs of these ways looked at (Tukey–Kramer), never below that of all ways: what `in_these_classes` goes by.
    pub p_in_these_classes: Option<f64>,
    /// Whether the differences of all these ways are shown to move from class to class.
    pub moves: bool,
}

/// Decides the pairs that a comparison of all ways has a test of.
pub(super) fn settle(pairs: &mut [(Pair, Option<Cannot>)], together: &[(Together, Behind)]) {
    let Some(attribute) = pairs.first().map(|(pair, _)| pair.attribute.clone()) else { return };
    let mut told: BTreeMap<(usize, usize), (&Together, &Behind, usize)> = BTreeMap::new();
    for (found, behind) in together.iter().filter(|(found, _)| found.attribute == attribute) {
        let of = behind.deciding().into_iter().flat_map(|tukey| tukey.pairs.iter().enumerate());
        told.extend(
            of.map(|(at, two)| ((found.ways[two.first], found.ways[two.second]), (found, behind, at))),
        );
    }
    for (pair, _) in pairs {
        let of = told.get(&(pair.first, pair.second));
        let Some((all_ways, decision)) = of.and_then(|&(found, behind, at)| decided(pair, found, behind, at))
        else {
            continue;
        };
        (pair.all_ways, pair.decision) = (Some(all_ways), Some(decision));
    }
}

/// By the pair at a place among those of all ways.
fn decided(pair: &Pair, found: &Together, behind: &Behind, at: usize) -> Option<(AllWays, Decision)> {
    let (gate, two) = (found.decision?, behind.deciding()?.pairs.get(at)?);
    let shown = gate.shown && two.differs;
    let here: Option<&tukey::Pair> = behind.here.as_ref().and_then(|tukey| tukey.pairs.get(at));
    let all_ways = AllWays {
        ways: found.ways.len(),
        steeps: found.steeps.clone(),
        mean: two.difference,
        low: Some(two.interval.low).filter(|_| shown || !two.differs),
        high: Some(two.interval.high).filter(|_| shown || !two.differs),
        p: two.p,
        in_these_classes: found.p_of_all.is_some_and(|p| p <= SIGNIFICANCE)
            && here.is_some_and(|here| here.differs && here.difference * two.difference > 0.0),
        mean_in_these_classes: here.map(|here| here.difference),
        p_in_these_classes: here.zip(found.p_of_all).map(|(here, p)| here.p.max(p)),
        moves: found.moved(),
    };
    let by_itself = if found.for_others() { pair.by_class_means.map(|means| means.p) } else { pair.p };
    let decision =
        Decision { p: by_itself.unwrap_or(two.p), p_of_all: two.p.max(gate.p_of_all), shown, ..gate };
    Some((all_ways, decision))
}

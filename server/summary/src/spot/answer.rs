//! What to do by a leaf's surface: which way is best as far as is known, which can't be told from it, or where to go on.

use super::coding::{Coding, What};
use super::fitted::Fitted;
use super::pour::Pour;
use super::rows::Leaf;
use schemars::JsonSchema;
use serde::Serialize;
use stats::interval::CONFIDENCE;
use stats::surface::Estimate;
use stats::surface::canonical::Best;
use stats::surface::region::Region;
use stats::surface::shape::Shape;

/// Fewer ways than this can't be a hill.
const LEAST_WAYS: usize = 3;
/// A factor is part of a direction if it is so much of its length.
const PART: f64 = 0.2;
/// Water as hot as this can't well be made hotter, °C.
const HOT_C: f64 = 98.0;
/// Two ways differ in a factor alone if they are nearer than this in all others, steps.
const ALIKE: f64 = 0.25;

/// What was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AnswerKind {
    /// The best lies within what was tasted.
    Top,
    /// Many ways within what was tasted are about as good.
    Ridge,
    /// The best lies at the edge of what was tasted or beyond: go on that way.
    GoOn,
    /// Nothing that was varied changes the liking.
    NothingChanges,
    /// Too few ways were tasted.
    TooFew,
}

/// What to do, and how sure it is.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotAnswer")]
pub struct Answer {
    /// What was found.
    pub kind: AnswerKind,
    /// All that in words: what to do, how sure it is, what is open.
    pub words: Vec<String>,
    /// The best way as far as is known, within what was tasted, as it can be poured; `null` with too few ways.
    pub best: Option<Pour>,
    /// Where that lies in coded units, in the order of the factors.
    pub at: Option<Vec<f64>>,
    /// The liking expected there, the mean over the tasters.
    pub expected: Option<Estimate>,
    /// The ways within what was tasted that can't be told from the best; `null` without a surface.
    pub region: Option<RegionFound>,
    /// Where to go on from there, factor by factor; empty unless the best lies at the edge.
    pub go_on: Vec<GoOn>,
    /// A way to taste next, at most a step further in all; `null` unless the best lies at the edge.
    pub next: Option<Pour>,
    /// The factors that these ways can answer one by one, as ways differ in it alone.
    pub alone: Vec<Alone>,
    /// So many ways that differ would answer all that was varied without assuming a hill.
    pub ways_needed: usize,
    /// Whether the answer rests on the assumption of a hill, there being fewer ways.
    pub rests_on_prior: bool,
}

/// The ways that can't be told from the best: where all slopes could be 0 (Box & Hunter; with a prior, by the posterior).
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotRegion")]
pub struct RegionFound {
    /// Its confidence.
    pub confidence: f64,
    /// How far it reaches along each factor, within what was tasted.
    pub factors: Vec<RegionFactor>,
    /// The share of what was tasted that belongs to it, by volume in coded units.
    pub share: f64,
}

/// How far a region reaches along one factor.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotRegionFactor")]
pub struct RegionFactor {
    /// The factor.
    pub what: What,
    /// Its lowest value there, in g/100 ml, °C or s.
    pub low: f64,
    /// Its highest value.
    pub high: f64,
    /// The same in coded units.
    pub low_coded: f64,
    /// The same in coded units.
    pub high_coded: f64,
    /// Whether it reaches the lowest value that was tasted, and so perhaps beyond.
    pub open_below: bool,
    /// Whether it reaches the highest.
    pub open_above: bool,
}

/// Where to go on with one factor.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GoOn {
    /// The factor.
    pub what: What,
    /// More of it; else less.
    pub more: bool,
    /// Up to where, in g/100 ml, °C or s: a step further in all.
    pub to: f64,
}

/// A factor that some ways differ in alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Alone {
    /// The factor.
    pub what: What,
    /// At how many values, at most: two tell more or less, three tell a best.
    pub levels: usize,
}

/// The answer by a leaf's surface, if it could be fitted; its words come later.
pub fn answer(leaf: &Leaf, coding: &Coding, fitted: Option<&Fitted>, prior: bool) -> Answer {
    let factors = coding.factors.len();
    let needed = Shape::second_order(factors).terms.len() + 1;
    let tasted = leaf.ways.iter().filter(|way| way.cups > 0).count();
    let mut answer = Answer {
        kind: AnswerKind::TooFew,
        words: Vec::new(),
        best: None,
        at: None,
        expected: None,
        region: None,
        go_on: Vec::new(),
        next: None,
        alone: alone(leaf, coding),
        ways_needed: needed,
        rests_on_prior: prior && tasted < needed,
    };
    let Some(fitted) = fitted.filter(|_| tasted >= LEAST_WAYS && tasted > factors) else { return answer };
    let (kind, at, go) = kind(coding, fitted);
    let best = Pour::of(leaf, coding, &at, true);
    let poured = coding.code(&best.place());
    answer.kind = kind;
    answer.expected = Some(fitted.surface.at(&poured));
    answer.region = region(coding, fitted, &at);
    if kind == AnswerKind::GoOn {
        let to: Vec<f64> = at.iter().zip(&go).map(|(at, go)| at + go).collect();
        let next = Pour::of(leaf, coding, &to, false);
        let further = |((factor, go), to): ((&super::coding::Factor, &f64), &f64)| GoOn {
            what: factor.what,
            more: *go > 0.0,
            to: factor.said(*to),
        };
        let steps = coding.factors.iter().zip(&go).zip(&to);
        answer.go_on = steps.filter(|((_, go), _)| go.abs() >= PART).map(further).collect();
        answer.next = Some(next);
    }
    answer.at = Some(poured);
    answer.best = Some(best);
    answer
}

/// What was found, where the best lies, and the direction out of what was tasted. Water that boils gets no hotter.
fn kind(coding: &Coding, fitted: &Fitted) -> (AnswerKind, Vec<f64>, Vec<f64>) {
    let none = vec![0.0; coding.factors.len()];
    match &fitted.best {
        Best::Top { at } => (AnswerKind::Top, at.clone(), none),
        Best::Ridge { at, .. } => (AnswerKind::Ridge, at.clone(), none),
        Best::Nowhere => (AnswerKind::NothingChanges, none.clone(), none),
        Best::Edge { at, go } => {
            let held = |(factor, go): (&super::coding::Factor, &f64)| {
                if factor.what == What::Temperature && *go > 0.0 && factor.high >= HOT_C { 0.0 } else { *go }
            };
            let go: Vec<f64> = coding.factors.iter().zip(go).map(held).collect();
            let length = go.iter().map(|part| part * part).sum::<f64>().sqrt();
            match length > 0.0 {
                true => (AnswerKind::GoOn, at.clone(), go.iter().map(|part| part / length).collect()),
                false => (AnswerKind::Top, at.clone(), none),
            }
        }
    }
}

/// How finely a region is looked for along each factor, by how many there are.
fn points(factors: usize) -> usize {
    match factors {
        1 => 401,
        2 => 81,
        _ => 21,
    }
}

fn region(coding: &Coding, fitted: &Fitted, best: &[f64]) -> Option<RegionFound> {
    let tried = &fitted.tried;
    let region = Region::new(&fitted.surface, CONFIDENCE).ok()?;
    let points = points(coding.factors.len());
    let found = region.reach(&tried.low, &tried.high, points).ok()?;
    let factor = |(i, factor): (usize, &super::coding::Factor)| {
        let (low, high, open) = match &found {
            Some(found) => (found.factors[i].low, found.factors[i].high, found.goes_on[i]),
            None => (best[i], best[i], (false, false)),
        };
        let (low, high) = (low.min(best[i]), high.max(best[i]));
        RegionFactor {
            what: factor.what,
            low: factor.said(low),
            high: factor.said(high),
            low_coded: low,
            high_coded: high,
            open_below: open.0,
            open_above: open.1,
        }
    };
    Some(RegionFound {
        confidence: CONFIDENCE,
        factors: coding.factors.iter().enumerate().map(factor).collect(),
        share: found.as_ref().map_or(0.0, |found| found.share),
    })
}

/// The factors in which two ways or more differ alone.
fn alone(leaf: &Leaf, coding: &Coding) -> Vec<Alone> {
    let places: Vec<Vec<f64>> =
        leaf.ways.iter().filter(|way| way.cups > 0).map(|way| coding.code(&way.place)).collect();
    let levels = |i: usize| {
        let beside = |from: &Vec<f64>| {
            let like = |to: &&Vec<f64>| (0..from.len()).all(|j| j == i || (from[j] - to[j]).abs() < ALIKE);
            let mut values: Vec<f64> = places.iter().filter(like).map(|to| to[i]).collect();
            values.sort_by(f64::total_cmp);
            values.dedup_by(|a, b| (*a - *b).abs() < ALIKE);
            values.len()
        };
        places.iter().map(beside).max().unwrap_or(0)
    };
    let of = |(i, factor): (usize, &super::coding::Factor)| Alone { what: factor.what, levels: levels(i) };
    coding.factors.iter().enumerate().map(of).filter(|alone| alone.levels > 1).collect()
}

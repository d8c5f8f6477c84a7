//! What to do by a leaf's surface: which way is best as far as is known, which can't be told from it, or where to go on.

use super::coding::{Coding, Factor, What};
use super::fitted::Fitted;
use super::pour::Pour;
use super::region::{RegionFound, region};
use super::rows::Leaf;
use schemars::JsonSchema;
use serde::Serialize;
use stats::surface::Estimate;
use stats::surface::canonical::{Best, highest};
use stats::surface::shape::Shape;

/// Fewer ways than this can't be a hill.
const LEAST_WAYS: usize = 3;
/// A factor is part of a direction if it is so much of its length.
const PART: f64 = 0.2;
/// Water as hot as this can't well be made hotter, °C.
const HOT_C: f64 = 98.0;
/// A top so near to an edge of what was tasted, steps, may as well lie beyond it.
const NEAR: f64 = 0.25;
/// How sure it has to be that a ridge rises.
const CONFIDENCE: f64 = 0.95;
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
    /// Nothing that was varied is shown to change the liking: the best is a guess.
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
    /// How often ways that are all liked the same would differ as much as these (F over all that was varied, 0 to 1); above 0.05 nothing is
    /// shown. `null` where that can't be tested.
    pub shown_p: Option<f64>,
    /// The factors that these ways can answer one by one, as ways differ in it alone.
    pub alone: Vec<Alone>,
    /// So many ways that differ would answer all that was varied without assuming a hill.
    pub ways_needed: usize,
    /// Whether the answer rests on the assumption of a hill, there being fewer ways.
    pub rests_on_prior: bool,
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
        shown_p: fitted.and_then(|fitted| fitted.varied).map(|found| found.p),
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
    answer.region = region(coding, fitted, &at, fitted.at_edge());
    if kind == AnswerKind::GoOn {
        let to: Vec<f64> = at.iter().zip(&go).map(|(at, go)| at + go).collect();
        let next = Pour::of(leaf, coding, &to, false);
        let further = |((factor, go), to): ((&Factor, &f64), &f64)| GoOn {
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
    if fitted.may_be_flat() {
        return (AnswerKind::NothingChanges, fitted.middle(), none);
    }
    match &fitted.best {
        Best::Ridge { .. } if let Some(top) = rises(coding, fitted) => {
            match outward(coding, &near_edges(fitted, &top)) {
                Some(go) => (AnswerKind::GoOn, top, go),
                None => (AnswerKind::Ridge, top, none),
            }
        }
        Best::Top { at } | Best::Ridge { at, .. } => {
            let top = matches!(fitted.best, Best::Top { .. });
            let go = outward(coding, &near_edges(fitted, at));
            match go {
                Some(go) => (AnswerKind::GoOn, at.clone(), go),
                None if top => (AnswerKind::Top, at.clone(), none),
                None => (AnswerKind::Ridge, at.clone(), none),
            }
        }
        Best::Nowhere => (AnswerKind::NothingChanges, none.clone(), none),
        Best::Edge { at, go } => match outward(coding, go) {
            Some(go) => (AnswerKind::GoOn, at.clone(), go),
            None => (AnswerKind::Top, at.clone(), none),
        },
    }
}

/// The highest place on a ridge that rises by more than chance: such a ridge is no row of ways that are about as good.
fn rises(coding: &Coding, fitted: &Fitted) -> Option<Vec<f64>> {
    let Best::Ridge { at, uphill: Some(_) } = &fitted.best else { return None };
    let shape = Shape::second_order(coding.factors.len());
    let top = highest(&shape, &fitted.surface.coefficients, &fitted.tried);
    let rise = fitted.surface.interval(fitted.surface.difference(&top, at), CONFIDENCE).ok()?;
    (rise.low > 0.0).then_some(top)
}

/// A direction of length 1, without hotter water where it boils; nothing if none is left.
fn outward(coding: &Coding, go: &[f64]) -> Option<Vec<f64>> {
    let held = |(factor, go): (&Factor, &f64)| {
        let boils = factor.what == What::Temperature && *go > 0.0 && factor.high >= HOT_C;
        if boils { 0.0 } else { *go }
    };
    let go: Vec<f64> = coding.factors.iter().zip(go).map(held).collect();
    let length = go.iter().map(|part| part * part).sum::<f64>().sqrt();
    (length > 0.0).then(|| go.iter().map(|part| part / length).collect())
}

/// Towards the edges that a top is near to.
fn near_edges(fitted: &Fitted, at: &[f64]) -> Vec<f64> {
    let tried = &fitted.tried;
    let edge = |i: usize| match at[i] {
        x if tried.high[i] - x < NEAR => 1.0,
        x if x - tried.low[i] < NEAR => -1.0,
        _ => 0.0,
    };
    (0..at.len()).map(edge).collect()
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
    let of = |(i, factor): (usize, &Factor)| Alone { what: factor.what, levels: levels(i) };
    coding.factors.iter().enumerate().map(of).filter(|alone| alone.levels > 1).collect()
}

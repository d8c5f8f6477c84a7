//! The strength votes over the places of a leaf: where as many find it too thin as too strong.

use super::coding::{Coding, What};
use super::rows::Leaf;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::surface::Estimate;
use stats::votes_surface::{Law, Votes, VotesSurface, fit};

/// The cumulative model of the votes thin, right and strong over the coded places, one vote for each taster and way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct VotesFit {
    /// How many votes.
    pub votes: usize,
    /// The law behind the model.
    pub law: Law,
    /// Where too thin gives way to right, and right to too strong, at the centre; standard units of the law.
    pub thresholds: Vec<f64>,
    /// What a coded unit of each factor adds to the strength, in the same units; in the order of the factors.
    pub slopes: Vec<Estimate>,
    /// The natural logarithm of the likelihood.
    pub log_likelihood: f64,
    /// For each factor where it balances the votes, the others at their centre.
    pub balanced: Vec<Balanced>,
    /// What the votes do beside the liking.
    pub with_liking: WithLiking,
}

/// What the votes do beside the liking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WithLiking {
    /// They stand apart: nothing is assumed, there are fewer than three classes, or no hill along them.
    Apart,
    /// They agree with the liking to within chance, and the surface is of both.
    Joined,
    /// They ask for it stronger than the liking has its best, by more than chance; the surface is of the liking alone.
    Stronger,
    /// They ask for it lighter, likewise.
    Lighter,
}

/// Where one factor balances the votes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Balanced {
    /// The factor.
    pub what: What,
    /// Where, in coded units.
    pub coded: Estimate,
    /// The same in g/100 ml, °C or s.
    pub value: f64,
    /// Whether that lies within what was tasted.
    pub inside: bool,
}

/// The model of a leaf's votes.
///
/// # Errors
/// Why there is none.
pub fn model(leaf: &Leaf, coding: &Coding) -> Result<VotesSurface, Cannot> {
    if coding.factors.is_empty() {
        return Err(Cannot::Ways(2));
    }
    let votes: Vec<Votes> = leaf
        .ways
        .iter()
        .filter(|way| way.votes.iter().sum::<usize>() > 0)
        .map(|way| Votes { at: coding.code(&way.place), counts: way.votes.to_vec() })
        .collect();
    fit(&votes, Law::Normal)
}

impl VotesFit {
    /// The figures of a leaf's votes.
    pub fn of(leaf: &Leaf, coding: &Coding, model: VotesSurface, with_liking: WithLiking) -> Self {
        let first = model.thresholds.len();
        let slope = |(i, &value): (usize, &f64)| Estimate {
            value,
            standard_error: model.covariance[first + i][first + i].sqrt(),
        };
        let centre = vec![0.0; coding.factors.len()];
        let balanced = coding.factors.iter().enumerate().filter_map(|(i, factor)| {
            let coded = model.balanced(i, &centre).ok()?;
            let value = factor.said(coded.value);
            let inside = (factor.low..=factor.high).contains(&value);
            value.is_finite().then_some(Balanced { what: factor.what, coded, value, inside })
        });
        Self {
            votes: leaf.ways.iter().flat_map(|way| way.votes).sum(),
            law: model.law,
            balanced: balanced.collect(),
            slopes: model.slopes.iter().enumerate().map(slope).collect(),
            log_likelihood: model.log_likelihood,
            with_liking,
            thresholds: model.thresholds,
        }
    }
}

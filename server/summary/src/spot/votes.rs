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

/// Fits the votes of a leaf.
///
/// # Errors
/// Why they can't be.
pub fn votes(leaf: &Leaf, coding: &Coding) -> Result<VotesFit, Cannot> {
    if coding.factors.is_empty() {
        return Err(Cannot::Ways(2));
    }
    let votes: Vec<Votes> = leaf
        .ways
        .iter()
        .filter(|way| way.votes.iter().sum::<usize>() > 0)
        .map(|way| Votes { at: coding.code(&way.place), counts: way.votes.to_vec() })
        .collect();
    let VotesSurface { law, thresholds, slopes, covariance, log_likelihood } = fit(&votes, Law::Normal)?;
    let first = thresholds.len();
    let slope = |(i, &value): (usize, &f64)| Estimate {
        value,
        standard_error: covariance[first + i][first + i].sqrt(),
    };
    let with_errors = slopes.iter().enumerate().map(slope).collect();
    let surface = VotesSurface { law, thresholds, slopes, covariance: covariance.clone(), log_likelihood };
    let centre = vec![0.0; coding.factors.len()];
    let balanced = coding.factors.iter().enumerate().filter_map(|(i, factor)| {
        let coded = surface.balanced(i, &centre).ok()?;
        let value = factor.said(coded.value);
        let inside = (factor.low..=factor.high).contains(&value);
        value.is_finite().then_some(Balanced { what: factor.what, coded, value, inside })
    });
    Ok(VotesFit {
        votes: votes.iter().flat_map(|way| &way.counts).sum(),
        law,
        balanced: balanced.collect(),
        slopes: with_errors,
        thresholds: surface.thresholds,
        log_likelihood,
    })
}

//! Votes on strength over dose, temperature and time: where as many find a way too thin as too strong.
//!
//! The cumulative model: a vote is what a cup's strength comes to in the mouth, cut at thresholds. P(vote ≤ j) = F(θⱼ − β·x) with F
//! normal or logistic, one β for all thresholds (McCullagh's proportional odds, of any textbook of ordinal data). For three votes thin,
//! right and strong the shares of thin and strong are equal where β·x = (θ₁ + θ₂)/2: a point for one factor, a plane for several, on
//! which liking must choose.

pub mod beside;
mod law;
pub mod one_cup;
mod steps;

use super::Cannot;
use super::linear::{dot, times};
use super::sums;
use super::surface::Estimate;
pub use law::Law;

/// A slope below this is none but for rounding.
const LEVEL: f64 = 1e-9;

/// The votes on one way.
#[derive(Clone, Debug, PartialEq)]
pub struct Votes {
    /// Where the way lies, in coded units; every way has as many factors.
    pub at: Vec<f64>,
    /// How many votes of each kind, the weakest first, as too thin, right, too strong; every way has as many kinds.
    pub counts: Vec<usize>,
}

/// A cumulative model that has been fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct VotesSurface {
    pub law: Law,
    /// Where one kind of vote gives way to the next at the centre, in standard units of the law, rising. Where nobody gave the vote
    /// between two of them, they are equal.
    pub thresholds: Vec<f64>,
    /// What a coded unit of each factor adds to the strength, in standard units of the law.
    pub slopes: Vec<f64>,
    /// The variances and covariances, thresholds first.
    pub covariance: Vec<Vec<f64>>,
    /// The natural logarithm of the likelihood.
    pub log_likelihood: f64,
}

/// The cumulative model of some votes by maximum likelihood.
///
/// # Errors
/// Too few kinds of votes or of ways, ways that are not all alike in number of factors and kinds; nobody who gave the first or the last
/// kind of vote ([`Cannot::OneSidedVotes`]); votes that part at a point, so that a slope has no end ([`Cannot::VotesPart`]).
pub fn fit(votes: &[Votes], law: Law) -> Result<VotesSurface, Cannot> {
    let Some(first) = votes.first() else { return Err(Cannot::Answers(1)) };
    let (factors, kinds) = (first.at.len(), first.counts.len());
    if kinds < 2 || votes.iter().any(|way| way.at.len() != factors || way.counts.len() != kinds) {
        return Err(Cannot::Uneven);
    }
    sums::finite(votes.iter().flat_map(|way| &way.at))?;
    let given = |kind: usize| votes.iter().map(|way| way.counts[kind]).sum::<usize>();
    if votes.iter().all(|way| way.counts.iter().sum::<usize>() == 0) {
        return Err(Cannot::Answers(1));
    }
    if given(0) == 0 || given(kinds - 1) == 0 {
        return Err(Cannot::OneSidedVotes);
    }
    // A kind between that nobody gave has no room: its two thresholds are one.
    let kept: Vec<usize> = (0..kinds).filter(|&kind| given(kind) > 0).collect();
    let found = steps::climb(votes, &kept, law)?;
    let own = |threshold: usize| kept.partition_point(|&kind| kind <= threshold) - 1;
    let places: Vec<usize> =
        (0..kinds - 1).map(own).chain((0..factors).map(|i| kept.len() - 1 + i)).collect();
    let at = |place: &usize| found.parameters[*place];
    Ok(VotesSurface {
        law,
        thresholds: places[..kinds - 1].iter().map(at).collect(),
        slopes: places[kinds - 1..].iter().map(at).collect(),
        covariance: places
            .iter()
            .map(|i| places.iter().map(|j| found.covariance[*i][*j]).collect())
            .collect(),
        log_likelihood: found.log_likelihood,
    })
}

/// How far a way lies from where the votes balance.
#[derive(Clone, Debug, PartialEq)]
pub struct OffBalance {
    /// The direction in which cups get stronger the quickest, of length 1.
    pub stronger: Vec<f64>,
    /// How far along it the way lies beyond the balance, coded units: below 0 where it is too thin. The standard error is that of the
    /// balance at the foot.
    pub beyond: Estimate,
    /// The place next to the way at which the votes balance.
    pub foot: Vec<f64>,
}

impl VotesSurface {
    /// The share of each kind of vote expected at a way, in coded units; the shares add up to 1.
    pub fn shares(&self, x: &[f64]) -> Vec<f64> {
        let strength = dot(&self.slopes, x);
        let cuts = || self.thresholds.iter().map(|threshold| threshold - strength);
        let lower = [f64::NEG_INFINITY].into_iter().chain(cuts());
        lower.zip(cuts().chain([f64::INFINITY])).map(|(low, high)| self.law.between(low, high)).collect()
    }

    /// Where one factor must lie, in coded units, for as many votes too thin as too strong, the others as in `x`; with its standard
    /// error by the delta method.
    ///
    /// # Errors
    /// Votes of other than three kinds, or a factor that is none or changes nothing.
    pub fn balanced(&self, factor: usize, x: &[f64]) -> Result<Estimate, Cannot> {
        let ([first, second], Some(&slope)) = (&self.thresholds[..], self.slopes.get(factor)) else {
            return Err(Cannot::OutOfRange);
        };
        if x.len() != self.slopes.len() {
            return Err(Cannot::OutOfRange);
        }
        let others = dot(&self.slopes, x) - slope * x[factor];
        let value = ((first + second) / 2.0 - others) / slope;
        if slope.abs() < LEVEL {
            return Err(Cannot::NotLocated);
        }
        let mut moves = vec![0.5 / slope, 0.5 / slope];
        moves.extend(x.iter().enumerate().map(|(i, x)| -if i == factor { value } else { *x } / slope));
        let variance = dot(&moves, &times(&self.covariance, &moves));
        Ok(Estimate { value, standard_error: variance.sqrt() })
    }
    /// How far a way lies from the plane on which as many votes are too thin as too strong, by the delta method.
    ///
    /// # Errors
    /// Votes of other than three kinds, a way of other factors, or slopes that are all none.
    pub fn off_balance(&self, x: &[f64]) -> Result<OffBalance, Cannot> {
        let [first, second] = &self.thresholds[..] else { return Err(Cannot::OutOfRange) };
        if x.len() != self.slopes.len() {
            return Err(Cannot::OutOfRange);
        }
        let steepness = dot(&self.slopes, &self.slopes).sqrt();
        if steepness < LEVEL {
            return Err(Cannot::NotLocated);
        }
        let stronger: Vec<f64> = self.slopes.iter().map(|slope| slope / steepness).collect();
        let value = (dot(&self.slopes, x) - f64::midpoint(*first, *second)) / steepness;
        let foot: Vec<f64> = x.iter().zip(&stronger).map(|(x, part)| x - value * part).collect();
        let moves: Vec<f64> =
            [-0.5, -0.5].into_iter().chain(foot.iter().copied()).map(|part| part / steepness).collect();
        let variance = dot(&moves, &times(&self.covariance, &moves));
        Ok(OffBalance { stronger, beyond: Estimate { value, standard_error: variance.sqrt() }, foot })
    }
}

#[cfg(test)]
mod tests;

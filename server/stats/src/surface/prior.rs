//! What may be taken as known of a surface beforehand: a hill whose top lies not far outside what was tasted.

use super::shape::{Shape, Term};
use crate::Cannot;
use crate::linear::dot;

/// A normal prior on the coefficients, in points per coded unit or its square; a spread that is infinite leaves its coefficients
/// free, and zero is refused.
#[derive(Clone, Debug, PartialEq)]
pub struct Prior {
    /// The spread of one score about the surface that the other spreads are measured against, in points.
    pub noise: f64,
    /// The standard deviation of a slope at the centre about 0.
    pub slope: f64,
    /// The standard deviation of a product's coefficient about 0.
    pub cross: f64,
    /// The expected coefficient of a square: negative for a hill.
    pub bend: f64,
    /// The standard deviation of a square's coefficient about that.
    pub bend_spread: f64,
    /// What something else than the scores says of where the surface is level; nothing if nothing does.
    pub level: Option<LevelAt>,
}

/// What is taken as known of one slope: at a place, along a direction, it is 0 give or take.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelAt {
    /// The place, in coded units.
    pub at: Vec<f64>,
    /// The direction, of length 1.
    pub along: Vec<f64>,
    /// The standard deviation of the slope there about 0, points per coded unit, above 0.
    pub spread: f64,
}

impl LevelAt {
    /// How every term of a surface changes there along that direction.
    pub fn row(&self, shape: &Shape) -> Vec<f64> {
        let by_factor = shape.slopes(&self.at);
        let of_term = |term: usize| by_factor.iter().map(|factor| factor[term]).collect::<Vec<f64>>();
        (0..shape.terms.len()).map(|term| dot(&of_term(term), &self.along)).collect()
    }
}

impl Prior {
    /// A hill that is expected to lose `loss` points (above 0) one step from its top, give or take as much, with its top within
    /// `reach` steps (above 0) of the centre in two of three cases along each factor: a top at x has the slope 2·loss·x at the centre.
    /// `noise` is the spread of one score, in points. A rule of our own.
    pub fn hill(noise: f64, loss: f64, reach: f64) -> Self {
        Self { noise, slope: 2.0 * loss * reach, cross: loss, bend: -loss, bend_spread: loss, level: None }
    }

    /// For each term how much the prior weighs, on the scale of X′X, and what it expects.
    ///
    /// # Errors
    /// Spreads that are not above 0, or an infinite noise or bend.
    pub(crate) fn weights(&self, shape: &Shape) -> Result<Vec<(f64, f64)>, Cannot> {
        if !(self.noise > 0.0 && self.noise.is_finite() && self.bend.is_finite()) {
            return Err(Cannot::OutOfRange);
        }
        let weight = |term: &Term| {
            let (spread, expected) = match term {
                Term::Slope(_) => (self.slope, 0.0),
                Term::Cross(..) => (self.cross, 0.0),
                Term::Bend(_) => (self.bend_spread, self.bend),
            };
            let weight = (self.noise / spread).powi(2);
            if spread > 0.0 && weight.is_finite() { Ok((weight, expected)) } else { Err(Cannot::OutOfRange) }
        };
        shape.terms.iter().map(weight).collect()
    }
    /// What is known of a slope: its row over the terms, and how much it weighs on the scale of X′X.
    ///
    /// # Errors
    /// A place or direction of other factors than the shape's, or a spread that is not above 0.
    pub(crate) fn level(&self, shape: &Shape) -> Result<Option<(Vec<f64>, f64)>, Cannot> {
        let Some(level) = &self.level else { return Ok(None) };
        let weight = (self.noise / level.spread).powi(2);
        let fits = level.at.len() == shape.factors && level.along.len() == shape.factors;
        let row = if fits { level.row(shape) } else { Vec::new() };
        let usable = fits && level.spread > 0.0 && weight.is_finite() && row.iter().all(|v| v.is_finite());
        if usable { Ok(Some((row, weight))) } else { Err(Cannot::OutOfRange) }
    }
}

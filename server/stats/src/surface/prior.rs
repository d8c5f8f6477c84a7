//! What may be taken as known of a surface beforehand: a hill whose top lies not far outside what was tasted.

use super::shape::{Shape, Term};
use crate::Cannot;

/// A normal prior on the coefficients, in points per coded unit or its square; a spread that is infinite leaves its coefficients
/// free, and zero is refused.
#[derive(Clone, Copy, Debug, PartialEq)]
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
}

impl Prior {
    /// A hill that is expected to lose `loss` points (above 0) one step from its top, give or take as much, with its top within
    /// `reach` steps (above 0) of the centre in two of three cases along each factor: a top at x has the slope 2·loss·x at the centre.
    /// `noise` is the spread of one score, in points. A rule of our own.
    pub fn hill(noise: f64, loss: f64, reach: f64) -> Self {
        Self { noise, slope: 2.0 * loss * reach, cross: loss, bend: -loss, bend_spread: loss }
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
}

//! One-way analysis of variance: do groups of scores differ more than scores within a group?

use super::cannot::Cannot;
use super::dist::f_upper;
use super::sums;
use schemars::JsonSchema;
use serde::Serialize;

/// One source of differences, tested.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Effect {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// Sum of squares over degrees of freedom.
    pub mean_square: f64,
    /// Mean square over the mean square that it is tested against.
    pub f: f64,
    /// p of F.
    pub p: f64,
    /// The effect's size: its squares as a share of its own and those it is tested against (partial eta squared).
    pub partial_eta_squared: f64,
}

/// What is left over once the sources have been taken out: what effects are tested against.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Leftover {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// Sum of squares over degrees of freedom.
    pub mean_square: f64,
}

impl Leftover {
    /// `squares` on `df` ≥ 1 degrees of freedom.
    pub(crate) fn new(squares: f64, df: usize) -> Self {
        Self { squares, df, mean_square: squares / df as f64 }
    }

    /// An effect tested against what is left over, which must not be nothing.
    pub(super) fn test(&self, squares: f64, df: usize) -> Result<Effect, Cannot> {
        let mean_square = squares / df as f64;
        let f = mean_square / self.mean_square;
        let p = f_upper(f, df as f64, self.df as f64)?;
        let partial_eta_squared = squares / (squares + self.squares);
        Ok(Effect { squares, df, mean_square, f, p, partial_eta_squared })
    }
}

/// A one-way analysis of variance.
#[derive(Clone, Debug, PartialEq)]
pub struct OneWay {
    pub n: usize,
    pub means: Vec<f64>,
    /// Between the groups; its size is R², the share of all squares.
    pub between: Effect,
    /// Within the groups.
    pub within: Leftover,
    /// The standard deviation within groups.
    pub residual_sd: f64,
}

/// The analysis of two groups or more, none empty, with more scores than groups.
pub fn one_way(groups: &[Vec<f64>]) -> Result<OneWay, Cannot> {
    groups.iter().try_for_each(sums::finite)?;
    if groups.len() < 2 {
        return Err(Cannot::Teas(2));
    }
    if let Some(empty) = groups.iter().position(Vec::is_empty) {
        return Err(Cannot::UnscoredTea(empty));
    }
    let all = groups.concat();
    if all.len() == groups.len() {
        return Err(Cannot::NoFreedom);
    }
    if sums::all_equal(all.iter().copied()) {
        return Err(Cannot::AllEqual);
    }
    let within: f64 = groups.iter().map(|group| sums::squares_about_mean(group)).sum();
    if sums::is_rounding(within, &all) {
        return Err(Cannot::NothingLeft);
    }
    let (means, grand): (Vec<f64>, f64) = (groups.iter().map(|g| sums::mean(g)).collect(), sums::mean(&all));
    let between = groups.iter().zip(&means).map(|(g, mean)| g.len() as f64 * (mean - grand).powi(2)).sum();
    let within = Leftover::new(within, all.len() - groups.len());
    Ok(OneWay {
        n: all.len(),
        means,
        between: within.test(between, groups.len() - 1)?,
        within,
        residual_sd: within.mean_square.sqrt(),
    })
}

#[cfg(test)]
mod tests;

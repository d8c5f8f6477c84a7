//! Each taster as a measuring instrument: does the same tea get the same score again, and do different teas get
//! different ones? As in the annex on assessors' performance of ISO 8586.

pub mod habits;
#[cfg(test)]
mod tests;

use super::Cannot;
use super::dist::f_upper;
use super::interval::SIGNIFICANCE;
use super::sums::{finite, mean, size, squares, unless_rounding};
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// Whether a taster tells the teas apart: one-way analysis of variance between teas, of this taster's scores only.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Discrimination {
    /// All scores.
    pub n: usize,
    /// Teas that were scored.
    pub teas: usize,
    /// Mean square between teas.
    pub between: f64,
    /// Mean square within teas.
    pub within: f64,
    /// F between teas.
    pub f: f64,
    /// Degrees of freedom of F.
    pub df: (usize, usize),
    /// The chance of so large an F if the teas are all the same to this taster.
    pub p: f64,
    /// The share of the spread that lies between teas, eta squared.
    pub share_between: f64,
}

/// How well a taster repeats.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Repeatability {
    /// Teas that were scored twice or more.
    pub teas: usize,
    /// Degrees of freedom: scores less teas.
    pub df: usize,
    /// Standard deviation of the scores of one tea, pooled over teas; points on the scale.
    pub residual_sd: f64,
}

/// How well a taster repeats beside the others.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BesideOthers {
    /// The others' residual standard deviation, pooled.
    pub others_sd: f64,
    /// Ratio of this taster's residual variance to the others'.
    pub f: f64,
    /// Degrees of freedom: this taster's, the others'.
    pub df: (usize, usize),
    /// One-sided: the chance of so large a ratio if this taster repeats as well as the others.
    pub p: f64,
}

/// What a taster's repeated scores say, kindly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Repeats and tells the teas (or cups, whatever the columns are) apart.
    Fits,
    /// Scores of one tea vary more than the others'.
    RepeatsPoorly,
    /// No difference between the teas shows.
    DoesNotTellApart,
    /// Not enough repeated scores for either.
    TooFewToTell,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Verdict::Fits => "repeats well and tells the cups apart (teas and steeps together)",
            Verdict::RepeatsPoorly => {
                "the same tea gets different scores from time to time, more than with the others"
            }
            Verdict::DoesNotTellApart => "no difference between these cups shows in the scores yet",
            Verdict::TooFewToTell => "too few repeated scores to tell",
        })
    }
}

/// A taster's performance.
#[derive(Clone, Debug, PartialEq)]
pub struct Performance {
    /// Mean of all scores; absent if there are none.
    pub mean: Option<f64>,
    /// Whether the teas are told apart.
    pub discrimination: Result<Discrimination, Cannot>,
    /// How well the same tea is repeated.
    pub repeatability: Result<Repeatability, Cannot>,
    /// How well, beside the others.
    pub beside_others: Result<BesideOthers, Cannot>,
    /// All of it in a word.
    pub verdict: Verdict,
}

/// The performance of each taster. `scores[taster][tea]` holds every score of that tea by that taster, from replicates or
/// from cups under different codes; it may be empty.
///
/// ISO 8586 judges by a low residual standard deviation and a significant F between samples, but draws no line for "low".
/// Ours: a residual variance larger than the other tasters' pooled one, by a one-sided F test at 5 %. With many tasters
/// one in twenty is called so by chance.
///
/// # Errors
/// If a score is no number, or the tasters' rows differ in length.
pub fn performance(scores: &[Vec<Vec<f64>>]) -> Result<Vec<Performance>, Cannot> {
    size(scores, 1, 1)?;
    finite(scores.iter().flatten().flatten())?;
    let sums: Vec<Sums> = scores.iter().map(|teas| Sums::of(teas)).collect();
    Ok((0..sums.len()).map(|taster| one(&sums, taster)).collect())
}

fn one(sums: &[Sums], taster: usize) -> Performance {
    let own = sums[taster];
    let discrimination = own.discrimination();
    let others = sums.iter().enumerate().filter(|(i, _)| *i != taster).map(|(_, sums)| sums);
    let beside_others = beside(own, others);
    let verdict = if beside_others.as_ref().is_ok_and(|beside| beside.p <= SIGNIFICANCE) {
        Verdict::RepeatsPoorly
    } else {
        match &discrimination {
            Ok(found) if found.p <= SIGNIFICANCE => Verdict::Fits,
            Ok(_) | Err(Cannot::AllEqual) => Verdict::DoesNotTellApart,
            // F grows beyond all bounds where every repeat is the same and the teas differ.
            Err(Cannot::ExactRepeats) => Verdict::Fits,
            Err(_) => Verdict::TooFewToTell,
        }
    };
    let mean = (own.n > 0).then_some(own.mean);
    Performance { mean, discrimination, repeatability: own.repeatability(), beside_others, verdict }
}

fn beside<'a>(own: Sums, others: impl Iterator<Item = &'a Sums>) -> Result<BesideOthers, Cannot> {
    let (df, squares) = others.fold((0, 0.0), |(df, squares), o| (df + o.df_within, squares + o.within));
    if own.df_within == 0 {
        return Err(Cannot::Repeats);
    }
    if df == 0 {
        return Err(Cannot::Tasters(2));
    }
    if squares == 0.0 {
        return Err(Cannot::ExactRepeats);
    }
    let variance = squares / df as f64;
    let f = own.within / own.df_within as f64 / variance;
    let p = f_upper(f, own.df_within as f64, df as f64)?;
    Ok(BesideOthers { others_sd: variance.sqrt(), f, df: (own.df_within, df), p })
}

/// The sums of squares of one taster.
#[derive(Clone, Copy)]
struct Sums {
    n: usize,
    teas: usize,
    repeated_teas: usize,
    mean: f64,
    between: f64,
    within: f64,
    df_within: usize,
}

impl Sums {
    fn of(teas: &[Vec<f64>]) -> Self {
        let scored: Vec<&Vec<f64>> = teas.iter().filter(|tea| !tea.is_empty()).collect();
        let all: Vec<f64> = scored.iter().copied().flatten().copied().collect();
        let middle = if all.is_empty() { 0.0 } else { mean(&all) };
        let between = scored.iter().map(|tea| tea.len() as f64 * (mean(tea) - middle).powi(2)).sum();
        Self {
            n: all.len(),
            teas: scored.len(),
            repeated_teas: scored.iter().filter(|tea| tea.len() > 1).count(),
            mean: middle,
            between: unless_rounding(between, &all),
            within: unless_rounding(scored.iter().map(|tea| squares(tea)).sum(), &all),
            df_within: all.len() - scored.len(),
        }
    }

    fn repeatability(&self) -> Result<Repeatability, Cannot> {
        if self.df_within == 0 {
            return Err(Cannot::Repeats);
        }
        let residual_sd = (self.within / self.df_within as f64).sqrt();
        Ok(Repeatability { teas: self.repeated_teas, df: self.df_within, residual_sd })
    }

    fn discrimination(&self) -> Result<Discrimination, Cannot> {
        if self.teas < 2 {
            return Err(Cannot::Teas(2));
        }
        if self.df_within == 0 {
            return Err(Cannot::Repeats);
        }
        if self.within == 0.0 {
            return Err(if self.between == 0.0 { Cannot::AllEqual } else { Cannot::ExactRepeats });
        }
        let df = (self.teas - 1, self.df_within);
        let (between, within) = (self.between / df.0 as f64, self.within / df.1 as f64);
        let f = between / within;
        Ok(Discrimination {
            n: self.n,
            teas: self.teas,
            between,
            within,
            f,
            df,
            p: f_upper(f, df.0 as f64, df.1 as f64)?,
            share_between: self.between / (self.between + self.within),
        })
    }
}

//! How a taster uses the scale beside the class: high or low, wide or narrow, along with the others or not.

use crate::dist::{normal_quantile, t_two_sided};
use crate::interval::SIGNIFICANCE;
use crate::sums::{finite, mean, size, squares, unless_rounding};
use crate::two_means::TTest;
use crate::{Cannot, Interval};
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// The habits of one taster. A part that can't be computed says why.
#[derive(Clone, Debug, PartialEq)]
pub struct Habits {
    /// Whether the scores are high or low.
    pub bias: Result<Bias, Cannot>,
    /// How wide they are spread.
    pub spread: Result<Spread, Cannot>,
    /// Whether they go along with the others'.
    pub with_others: Result<Correlation, Cannot>,
}

/// How far a taster scores above or below the class.
#[derive(Clone, Debug, PartialEq)]
pub struct Bias {
    /// Teas that this taster and at least one other have scored.
    pub teas: usize,
    /// Mean over those teas of this taster's score less the class's mean for the tea, in points.
    pub points: f64,
    /// Paired t test of it, with its interval; this taster's own score is part of the class's mean.
    pub test: Result<TTest, Cannot>,
    /// What that says.
    pub leans: Leans,
}

/// Which way a taster leans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leans {
    /// Scores higher than the class.
    High,
    /// Scores lower than the class.
    Low,
    /// As the class, as far as can be told.
    NotShown,
}

impl fmt::Display for Leans {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Leans::High => "scores high",
            Leans::Low => "scores low",
            Leans::NotShown => "neither high nor low, as far as can be told",
        })
    }
}

/// How much of the scale a taster uses.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spread {
    /// Teas scored.
    pub teas: usize,
    /// The lowest score.
    pub lowest: f64,
    /// The highest score.
    pub highest: f64,
    /// Standard deviation over the teas.
    pub sd: f64,
    /// The others' standard deviations over the teas, their mean; `null` if no other has scored two teas.
    pub others_mean_sd: Option<f64>,
}

/// How a taster's scores go along with the mean of the others.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Correlation {
    /// Teas that this taster and at least one other have scored.
    pub teas: usize,
    /// Pearson's correlation, −1 to 1.
    pub r: f64,
    /// Its 95 % interval by Fisher's z; `null` below four teas and at ± 1.
    pub interval: Option<Interval>,
    /// Degrees of freedom, teas − 2.
    pub df: usize,
    /// Two-sided p by Student's t.
    pub p: f64,
}

/// The habits of each taster. Rows of `scores` are tasters, columns teas; cells may be missing, and a tea counts where
/// this taster and at least one other have scored it.
///
/// # Errors
/// If a score is no number, or the table is not rectangular.
pub fn habits(scores: &[Vec<Option<f64>>]) -> Result<Vec<Habits>, Cannot> {
    let (tasters, _) = size(scores, 1, 1)?;
    finite(scores.iter().flatten().flatten())?;
    let of = |taster: usize| {
        let shared = shared(scores, taster);
        Habits {
            bias: bias(&shared, tasters),
            spread: spread(scores, taster),
            with_others: with_others(&shared, tasters),
        }
    };
    Ok((0..tasters).map(of).collect())
}

/// One tea as this taster and the others have scored it.
struct Shared {
    own: f64,
    others_mean: f64,
    class_mean: f64,
}

fn shared(scores: &[Vec<Option<f64>>], taster: usize) -> Vec<Shared> {
    let one = |(tea, own): (usize, &Option<f64>)| {
        let own = (*own)?;
        let rows = scores.iter().enumerate().filter(|(i, _)| *i != taster);
        let others: Vec<f64> = rows.filter_map(|(_, row)| row[tea]).collect();
        let class: Vec<f64> = others.iter().copied().chain([own]).collect();
        (!others.is_empty()).then(|| Shared { own, others_mean: mean(&others), class_mean: mean(&class) })
    };
    scores[taster].iter().enumerate().filter_map(one).collect()
}

/// That enough teas are shared with another taster.
fn enough(shared: &[Shared], tasters: usize, teas: usize) -> Result<(), Cannot> {
    if tasters < 2 {
        Err(Cannot::Tasters(2))
    } else if shared.len() < teas {
        Err(Cannot::Teas(teas))
    } else {
        Ok(())
    }
}

fn bias(shared: &[Shared], tasters: usize) -> Result<Bias, Cannot> {
    enough(shared, tasters, 1)?;
    let differences: Vec<f64> = shared.iter().map(|tea| tea.own - tea.class_mean).collect();
    let (teas, n) = (differences.len(), differences.len() as f64);
    let points = mean(&differences);
    // Rounding is measured against the scores: their differences may be nothing else.
    let scores: Vec<f64> = shared.iter().flat_map(|tea| [tea.own, tea.class_mean]).collect();
    let around = unless_rounding(squares(&differences), &scores);
    let test = if teas < 2 {
        Err(Cannot::Teas(2))
    } else if around == 0.0 {
        Err(Cannot::NoSpread)
    } else {
        TTest::of(points, (around / (n - 1.0) / n).sqrt(), n - 1.0)
    };
    let leans = match &test {
        Ok(test) if test.interval.low > 0.0 => Leans::High,
        Ok(test) if test.interval.high < 0.0 => Leans::Low,
        _ => Leans::NotShown,
    };
    Ok(Bias { teas, points, test, leans })
}

fn spread(scores: &[Vec<Option<f64>>], taster: usize) -> Result<Spread, Cannot> {
    let sd = |row: &[Option<f64>]| {
        let given: Vec<f64> = row.iter().flatten().copied().collect();
        (given.len() > 1).then(|| ((squares(&given) / (given.len() as f64 - 1.0)).sqrt(), given))
    };
    let (own_sd, own) = sd(&scores[taster]).ok_or(Cannot::Teas(2))?;
    let rows = scores.iter().enumerate().filter(|(i, _)| *i != taster);
    let others: Vec<f64> = rows.filter_map(|(_, row)| sd(row).map(|(sd, _)| sd)).collect();
    Ok(Spread {
        teas: own.len(),
        lowest: own.iter().copied().fold(f64::INFINITY, f64::min),
        highest: own.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        sd: own_sd,
        others_mean_sd: (!others.is_empty()).then(|| mean(&others)),
    })
}

fn with_others(shared: &[Shared], tasters: usize) -> Result<Correlation, Cannot> {
    enough(shared, tasters, 3)?;
    let own: Vec<f64> = shared.iter().map(|tea| tea.own).collect();
    let others: Vec<f64> = shared.iter().map(|tea| tea.others_mean).collect();
    let (own_squares, others_squares) = (squares(&own), squares(&others));
    if own_squares == 0.0 || others_squares == 0.0 {
        return Err(Cannot::NoCorrelation);
    }
    let (own_mean, others_mean) = (mean(&own), mean(&others));
    let together: f64 = own.iter().zip(&others).map(|(a, b)| (a - own_mean) * (b - others_mean)).sum();
    let r = (together / own_squares.sqrt() / others_squares.sqrt()).clamp(-1.0, 1.0);
    let (teas, n) = (own.len(), own.len() as f64);
    // Rounding must not make a correlation of 1 into a little less, with a t of millions.
    let exact = 1.0 - r.abs() < 1e-14;
    let r = if exact { r.signum() } else { r };
    let p = if exact { 0.0 } else { t_two_sided(r * ((n - 2.0) / (1.0 - r * r)).sqrt(), n - 2.0)? };
    let interval = if teas > 3 && !exact {
        let half = normal_quantile(1.0 - SIGNIFICANCE / 2.0)? / (n - 3.0).sqrt();
        Some(Interval::around(r.atanh(), half).map(f64::tanh))
    } else {
        None
    };
    Ok(Correlation { teas, r, interval, df: teas - 2, p })
}

//! Tea means where scores are missing: the additive model tea + taster by least squares.
//!
//! A plain mean of an incomplete column favours the tea that mild tasters happened to score. The model takes each
//! taster's own level out first. In the terms of block designs: with the information matrix C and the adjusted
//! totals Q, the tea effects solve C·τ = Q (common practice; held to the least squares of statsmodels on 500 sets,
//! `tests/reference/differences.py`).

pub mod permuted;

use super::anova::{Effect, Leftover};
use super::cannot::Cannot;
use super::incomplete::{Scored, linked};
use super::linear::{dot, inverse, times};
use super::sums;
use super::tukey::{self, Tukey};
use schemars::JsonSchema;
use serde::Serialize;

/// The additive model of tea and taster.
#[derive(Clone, Debug, PartialEq)]
pub struct Additive {
    pub scores: usize,
    /// How many tasters with a score.
    pub tasters: usize,
    /// Each tea.
    pub teas: Vec<AdjustedTea>,
    /// Between teas, tasters taken out, against what is left over.
    pub tea_given_taster: Effect,
    /// What is left over.
    pub residual: Leftover,
    /// The variance of the difference of two teas, averaged over all pairs, in units of the variance left over; 2 / tasters
    /// without gaps.
    pub mean_variance: f64,
    /// Every pair of teas by their adjusted means, Tukey–Kramer: where the gaps are uneven the level is held about, and
    /// not exactly.
    pub pairs: Tukey,
}

/// One tea in the additive model.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AdjustedTea {
    /// How many scores it has.
    pub n: usize,
    /// Their plain mean.
    pub plain_mean: f64,
    /// The mean that the model expects if every taster had scored it.
    pub adjusted_mean: f64,
    /// The standard error of the adjusted mean.
    pub standard_error: f64,
}

/// The model of a table that may have gaps; all teas linked through tasters, and more scores than unknowns.
pub fn additive(rows: &[Vec<Option<f64>>], confidence: f64) -> Result<Additive, Cannot> {
    Fitted::of(rows)?.analysed(None, confidence)
}

/// The additive model where tasters sit in classes (`class` of each row): what the teas' differences have between the
/// classes is no part of what is left over, so that the tests speak for these classes; and whether they differ from class
/// to class, by the F test of tea × class. That is `None` with one class, or where the classes by themselves leave nothing
/// over; then the model is the plain one.
pub fn in_classes(
    rows: &[Vec<Option<f64>>],
    class: &[usize],
    confidence: f64,
) -> Result<(Additive, Option<Effect>), Cannot> {
    let fitted = Fitted::of(rows)?;
    let whole = fitted.left_over()?;
    let mut classes = class.to_vec();
    classes.sort_unstable();
    classes.dedup();
    let (mut squares, mut df) = (0.0, 0);
    for of in &classes {
        let own: Vec<Vec<Option<f64>>> =
            rows.iter().zip(class).filter(|(_, c)| *c == of).map(|(row, _)| row.clone()).collect();
        let scored: Vec<usize> =
            (0..fitted.teas).filter(|&tea| own.iter().any(|row| row[tea].is_some())).collect();
        let own: Vec<Vec<Option<f64>>> =
            own.iter().map(|row| scored.iter().map(|&tea| row[tea]).collect()).collect();
        match Fitted::of(&own).and_then(|fitted| fitted.left_over()) {
            Ok(left) => (squares, df) = (squares + left.squares, df + left.df),
            // One taster, one tea, or as many unknowns as scores: nothing is left over and nothing is lost.
            Err(Cannot::Tasters(_) | Cannot::Teas(_) | Cannot::NoFreedom | Cannot::AllEqual) => {}
            Err(Cannot::NothingLeft) => df += freedom(&own),
            Err(why) => return Err(why),
        }
    }
    if classes.len() < 2 || df == 0 || df >= whole.df || sums::is_rounding(squares, &fitted.all) {
        return Ok((fitted.analysed(None, confidence)?, None));
    }
    let within = Leftover::new(squares, df);
    let moves = within.test((whole.squares - squares).max(0.0), whole.df - df)?;
    Ok((fitted.analysed(Some(within), confidence)?, Some(moves)))
}

/// Scores less unknowns of a linked table.
fn freedom(rows: &[Vec<Option<f64>>]) -> usize {
    let scores = rows.iter().flatten().flatten().count();
    let tasters = rows.iter().filter(|row| row.iter().any(Option::is_some)).count();
    let teas = rows.first().map_or(0, Vec::len);
    (scores + 1).saturating_sub(tasters + teas)
}

/// Each row's mean over all columns that anybody scored, what it lacks made up by the additive model row + column: as if
/// the row had the columns' own differences in its gaps. A full row has its plain mean; so has one with gaps where columns
/// fall into groups that no row links. `None` for a row without scores.
pub fn row_means(rows: &[Vec<Option<f64>>]) -> Vec<Option<f64>> {
    let plain = |row: &Vec<Option<f64>>| {
        let scores: Vec<f64> = row.iter().copied().flatten().collect();
        (!scores.is_empty()).then(|| sums::mean(&scores))
    };
    let width = rows.first().map_or(0, Vec::len);
    let scored: Vec<usize> = (0..width).filter(|&c| rows.iter().any(|row| row[c].is_some())).collect();
    let with_gaps = |row: &Vec<Option<f64>>| scored.iter().any(|&column| row[column].is_none());
    if !rows.iter().any(|row| with_gaps(row) && row.iter().any(Option::is_some)) {
        return rows.iter().map(plain).collect();
    }
    let columns: Vec<Vec<Option<f64>>> =
        rows.iter().map(|row| scored.iter().map(|&column| row[column]).collect()).collect();
    let fit = linked(&columns, 1).ok().and_then(|(rows, columns)| Fit::of(&rows, columns));
    let mean = |row: &Vec<Option<f64>>| {
        let mean = plain(row)?;
        let Some(fit) = fit.as_ref().filter(|_| row.iter().any(Option::is_none)) else { return Some(mean) };
        let own: Vec<f64> =
            row.iter().zip(&fit.effects).filter(|(score, _)| score.is_some()).map(|(_, e)| *e).collect();
        Some(mean + (sums::mean(&fit.effects) - sums::mean(&own)))
    };
    columns.iter().map(mean).collect()
}

/// A table with its least-squares solution.
struct Fitted {
    tasters: Vec<Scored>,
    teas: usize,
    all: Vec<f64>,
    fit: Fit,
}

impl Fitted {
    fn of(rows: &[Vec<Option<f64>>]) -> Result<Self, Cannot> {
        let (tasters, teas) = linked(rows, 1)?;
        let all: Vec<f64> = tasters.iter().flat_map(|t| t.scores.iter().copied()).collect();
        if sums::all_equal(all.iter().copied()) {
            return Err(Cannot::AllEqual);
        }
        let fit = Fit::of(&tasters, teas).ok_or(Cannot::Disconnected)?;
        Ok(Self { tasters, teas, all, fit })
    }

    fn left_over(&self) -> Result<Leftover, Cannot> {
        let unknowns = self.teas + self.tasters.len();
        let df = (self.all.len() + 1).checked_sub(unknowns).filter(|&df| df > 0).ok_or(Cannot::NoFreedom)?;
        let left = self.fit.residual_squares(&self.tasters);
        if sums::is_rounding(left, &self.all) {
            return Err(Cannot::NothingLeft);
        }
        Ok(Leftover::new(left, df))
    }

    /// The model against what it leaves over, or against `residual`.
    fn analysed(&self, residual: Option<Leftover>, confidence: f64) -> Result<Additive, Cannot> {
        let Self { tasters, teas, all, fit } = self;
        let teas = *teas;
        let residual = match residual {
            Some(residual) => residual,
            None => self.left_over()?,
        };
        let df = residual.df;
        let (means, variances) = fit.adjusted(tasters);
        let adjusted_tea = |tea: usize| {
            let of_tea = |t: &Scored| t.teas.iter().position(|&other| other == tea).map(|at| t.scores[at]);
            let scores: Vec<f64> = tasters.iter().filter_map(of_tea).collect();
            let standard_error = (residual.mean_square * variances[tea]).sqrt();
            let (plain_mean, adjusted_mean) = (sums::mean(&scores), means[tea]);
            AdjustedTea { n: scores.len(), plain_mean, adjusted_mean, standard_error }
        };
        let apart = |i: usize, j: usize| (residual.mean_square * fit.contrast_variance(i, j)).sqrt();
        Ok(Additive {
            scores: all.len(),
            tasters: tasters.len(),
            teas: (0..teas).map(adjusted_tea).collect(),
            tea_given_taster: residual.test(fit.tea_squares(), teas - 1)?,
            residual,
            mean_variance: fit.mean_contrast_variance(),
            pairs: tukey::pairs(&means, df, confidence, apart)?,
        })
    }
}

/// The least-squares solution.
struct Fit {
    /// A generalised inverse of C: variances of differences, in units of the residual variance.
    inverse: Vec<Vec<f64>>,
    /// Q, each tea's total less what its tasters' means make expect.
    adjusted_totals: Vec<f64>,
    /// Tea effects, the last one 0.
    effects: Vec<f64>,
    /// Each taster's mean of the scores given.
    taster_means: Vec<f64>,
}

impl Fit {
    /// The solution for teas linked through tasters.
    fn of(tasters: &[Scored], teas: usize) -> Option<Self> {
        let taster_means: Vec<f64> = tasters.iter().map(|t| sums::mean(&t.scores)).collect();
        let mut information = vec![vec![0.0; teas]; teas];
        let mut adjusted_totals = vec![0.0; teas];
        for (taster, mean) in tasters.iter().zip(&taster_means) {
            for (&tea, score) in taster.teas.iter().zip(&taster.scores) {
                adjusted_totals[tea] += score - mean;
                information[tea][tea] += 1.0;
                taster
                    .teas
                    .iter()
                    .for_each(|&other| information[tea][other] -= 1.0 / taster.teas.len() as f64);
            }
        }
        // Effects are known up to a constant: the last is set to 0, and its row and column say nothing new.
        let free = teas - 1;
        information.truncate(free);
        information.iter_mut().for_each(|row| row.truncate(free));
        let mut inverse = inverse(&information)?;
        inverse.iter_mut().for_each(|row| row.push(0.0));
        inverse.push(vec![0.0; teas]);
        let effects = times(&inverse, &adjusted_totals);
        Some(Self { inverse, adjusted_totals, effects, taster_means })
    }

    /// The squares of teas once tasters are taken out.
    fn tea_squares(&self) -> f64 {
        dot(&self.effects, &self.adjusted_totals).max(0.0)
    }

    /// What the tasters' own levels come to once the teas that each scored are taken out.
    fn taster_levels(&self, tasters: &[Scored]) -> Vec<f64> {
        let mean_effect =
            |t: &Scored| sums::mean(&t.teas.iter().map(|&tea| self.effects[tea]).collect::<Vec<_>>());
        tasters.iter().zip(&self.taster_means).map(|(t, mean)| mean - mean_effect(t)).collect()
    }

    fn residual_squares(&self, tasters: &[Scored]) -> f64 {
        let levels = self.taster_levels(tasters);
        let of_taster = |(taster, level): (&Scored, &f64)| -> f64 {
            let each = taster.teas.iter().zip(&taster.scores);
            each.map(|(&tea, score)| ((score - self.effects[tea]) - level).powi(2)).sum()
        };
        tasters.iter().zip(&levels).map(of_taster).sum()
    }

    /// Each tea's mean over all tasters as fitted, and its variance in units of the residual variance.
    ///
    /// The mean is that of the tasters' means plus a contrast of tea effects; within and between tasters are
    /// uncorrelated, so their variances add.
    fn adjusted(&self, tasters: &[Scored]) -> (Vec<f64>, Vec<f64>) {
        let (count, level) = (tasters.len() as f64, sums::mean(&self.taster_levels(tasters)));
        let mut weights = vec![0.0; self.effects.len()];
        for taster in tasters {
            taster.teas.iter().for_each(|&tea| weights[tea] += 1.0 / (count * taster.teas.len() as f64));
        }
        let of_means: f64 = tasters.iter().map(|t| 1.0 / t.teas.len() as f64).sum::<f64>() / (count * count);
        let variance = |tea: usize| {
            let contrast: Vec<f64> =
                weights.iter().enumerate().map(|(i, w)| if i == tea { 1.0 - w } else { -w }).collect();
            of_means + dot(&contrast, &times(&self.inverse, &contrast))
        };
        (self.effects.iter().map(|e| e + level).collect(), (0..weights.len()).map(variance).collect())
    }

    fn mean_contrast_variance(&self) -> f64 {
        let teas = self.effects.len();
        let pairs = (0..teas).flat_map(|i| (i + 1..teas).map(move |j| (i, j)));
        let all: f64 = pairs.map(|(i, j)| self.contrast_variance(i, j)).sum();
        all / (teas * (teas - 1) / 2) as f64
    }

    /// The variance of the difference of two teas, in units of the residual variance.
    fn contrast_variance(&self, i: usize, j: usize) -> f64 {
        self.inverse[i][i] + self.inverse[j][j] - 2.0 * self.inverse[i][j]
    }
}

#[cfg(test)]
mod tests;

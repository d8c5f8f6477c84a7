//! Tea means where something besides the tea moves a score, as whether it was the first cup: tea + taster + x by least squares.
//!
//! Each taster's own level is taken out of scores, teas and x; the rest is least squares of small dimension (the analysis of
//! covariance of any textbook; held to statsmodels on 500 sets, `tests/reference/serving.py`).

use super::anova::{Effect, Leftover};
use super::cannot::Cannot;
use super::dist::{t_quantile, t_two_sided};
use super::incomplete::linked;
use super::interval::{CONFIDENCE, Interval};
use super::linear::{dot, inverse, times};
use super::sums;

/// The model tea + taster + x.
#[derive(Clone, Debug, PartialEq)]
pub struct Covariate {
    /// How many scores.
    pub scores: usize,
    /// What one unit of x adds to a score, points.
    pub slope: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its 95 % t interval.
    pub interval: Interval,
    /// Its two-sided p.
    pub p: f64,
    /// Each tea's mean as if every taster had scored it, at the mean of x over all scores.
    pub adjusted_means: Vec<f64>,
    /// Between teas, tasters and x taken out, against what is left over.
    pub tea_given_rest: Effect,
    /// What is left over.
    pub residual: Leftover,
}

/// What stands in the columns beside a score, and the score.
type Line = (Vec<f64>, f64);

/// The model of a table that may have gaps; `x` has a number for each score, others of it are not looked at.
///
/// # Errors
/// Teas that no taster links, too few scores, nothing left over, or an x that the teas and tasters tell already.
pub fn with_covariate(rows: &[Vec<Option<f64>>], x: &[Vec<f64>]) -> Result<Covariate, Cannot> {
    let (tasters, teas) = linked(rows, 1)?;
    let all: Vec<f64> = rows.iter().flatten().flatten().copied().collect();
    if sums::all_equal(all.iter().copied()) {
        return Err(Cannot::AllEqual);
    }
    let df = all.len().checked_sub(tasters.len() + teas).filter(|&df| df > 0).ok_or(Cannot::NoFreedom)?;
    // Of each taster the teas but the last, x, and the score, each less the taster's mean.
    let (mut lines, mut levels) = (Vec::new(), Vec::new());
    for (row, x) in rows.iter().zip(x) {
        let cells: Vec<Line> = row
            .iter()
            .enumerate()
            .filter_map(|(tea, score)| {
                let mut line: Vec<f64> =
                    (0..teas - 1).map(|other| f64::from(u8::from(other == tea))).collect();
                line.push(*x.get(tea)?);
                Some((line, (*score)?))
            })
            .collect();
        if cells.is_empty() {
            continue;
        }
        let mean = |of: &dyn Fn(&Line) -> f64| cells.iter().map(of).sum::<f64>() / cells.len() as f64;
        let means: Vec<f64> = (0..teas).map(|column| mean(&|(line, _)| line[column])).collect();
        let level = mean(&|(_, score)| *score);
        for (line, score) in &cells {
            let line: Vec<f64> = line.iter().zip(&means).map(|(value, mean)| value - mean).collect();
            lines.push((line, score - level));
        }
        levels.push((means, level));
    }
    let (left, solved) = solve(&lines, teas).ok_or(Cannot::NotApart)?;
    if sums::is_rounding(left, &all) {
        return Err(Cannot::NothingLeft);
    }
    let residual = Leftover::new(left, df);
    let (slope, se) =
        (solved.effects[teas - 1], (residual.mean_square * solved.inverse[teas - 1][teas - 1]).sqrt());
    let half = t_quantile(f64::midpoint(1.0, CONFIDENCE), df as f64)? * se;
    let without_teas: Vec<Line> = lines.iter().map(|(line, score)| (vec![line[teas - 1]], *score)).collect();
    let (left_without, _) = solve(&without_teas, 1).ok_or(Cannot::NotApart)?;
    // Each taster's level at the last tea and x 0, then every tea's effect on top at the mean of x.
    let own = |(means, level): &Line| level - dot(means, &solved.effects);
    let level = levels.iter().map(own).sum::<f64>() / levels.len() as f64;
    let scored_x =
        rows.iter().zip(x).flat_map(|(row, x)| row.iter().zip(x)).filter(|(score, _)| score.is_some());
    let mean_x = scored_x.map(|(_, x)| x).sum::<f64>() / all.len() as f64;
    let effect = |tea: usize| if tea + 1 < teas { solved.effects[tea] } else { 0.0 };
    Ok(Covariate {
        scores: all.len(),
        slope,
        standard_error: se,
        interval: Interval::usual(slope - half, slope + half),
        p: t_two_sided(slope / se, df as f64)?,
        adjusted_means: (0..teas).map(|tea| level + effect(tea) + slope * mean_x).collect(),
        tea_given_rest: residual.test((left_without - left).max(0.0), teas - 1)?,
        residual,
    })
}

/// Least squares of few columns.
struct Solved {
    effects: Vec<f64>,
    inverse: Vec<Vec<f64>>,
}

/// What is left over of the squares, and the solution; nothing if the columns say the same.
fn solve(lines: &[Line], columns: usize) -> Option<(f64, Solved)> {
    let sum = |of: &dyn Fn(&Line) -> f64| lines.iter().map(of).sum::<f64>();
    let matrix: Vec<Vec<f64>> =
        (0..columns).map(|i| (0..columns).map(|j| sum(&|(line, _)| line[i] * line[j])).collect()).collect();
    let totals: Vec<f64> = (0..columns).map(|i| sum(&|(line, score)| line[i] * score)).collect();
    let inverse = inverse(&matrix)?;
    let effects = times(&inverse, &totals);
    let left = lines.iter().map(|(line, score)| (score - dot(line, &effects)).powi(2)).sum();
    Some((left, Solved { effects, inverse }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::additive::additive;
    use crate::examples::table;

    /// Three tasters, three teas, each tea first once: whatever comes first loses two points, and a little noise.
    #[test]
    fn what_comes_first_is_taken_out() {
        let rows = table(&["475", "655", "674"]);
        let x = vec![vec![1.0, 0.0, 0.0], vec![0.0, 1.0, 0.0], vec![0.0, 0.0, 1.0]];
        let found = with_covariate(&rows, &x).unwrap();
        let plain = additive(&rows, 0.95).unwrap();
        for (ours, plain) in found.adjusted_means.iter().zip(&plain.teas) {
            assert!((ours - plain.adjusted_mean).abs() < 1e-9, "balanced, no tea gains by it: {found:?}");
        }
        assert!(found.slope < -1.5 && found.residual.mean_square < plain.residual.mean_square, "{found:?}");
    }

    #[test]
    fn what_the_teas_tell_already_can_not_be_told_apart() {
        let rows = table(&["475", "655", "674", "565"]);
        let always_first = vec![vec![1.0, 0.0, 0.0]; 4];
        assert_eq!(with_covariate(&rows, &always_first), Err(Cannot::NotApart));
        let x = vec![vec![1.0, 0.0], vec![0.0, 1.0]];
        assert_eq!(with_covariate(&table(&["47", "65"]), &x), Err(Cannot::NoFreedom));
    }
}

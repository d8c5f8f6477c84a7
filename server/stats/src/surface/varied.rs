//! Whether what was varied is shown to change the score at all.

use super::absorbed::Absorbed;
use super::shape::Shape;
use super::{Run, lines};
use crate::Cannot;
use crate::anova::{Effect, Leftover};
use crate::linear::Root;
use crate::sums;

/// All terms of a surface together against what it leaves over (F, of any textbook of response surfaces), or against `other` where that is
/// the greater spread. With fewer ways than terms these say what the ways can say, each of which then lies where it will.
///
/// # Errors
/// As [`super::fit`] without a prior, but for too few ways; ways that are all one.
pub fn varied(runs: &[Run], shape: &Shape, other: Option<Leftover>) -> Result<Effect, Cannot> {
    let lines = lines(runs, shape)?;
    let absorbed = Absorbed::of(&lines.lines);
    let columns = absorbed.totals.len();
    let before = Root::passing_over(&part(&absorbed.gram, lines.others), lines.others);
    let root = Root::passing_over(&absorbed.gram, columns).ok_or(Cannot::WaysTooAlike)?;
    let alike_before = before.ok_or(Cannot::WaysTooAlike)?.alike();
    let terms = shape.terms.len() - (root.alike() - alike_before);
    let taken_off = root.forward(&absorbed.totals);
    let squares = taken_off[lines.others..].iter().map(|part| part * part).sum();
    let taken = absorbed.blocks() + columns - root.alike();
    let df = runs.len().checked_sub(taken).filter(|&df| df > 0).ok_or(Cannot::NoFreedom)?;
    let left = absorbed.left(&lines.lines, &root.back(&taken_off));
    if terms == 0 {
        return Err(Cannot::WaysTooAlike);
    }
    if sums::is_rounding(left, runs.iter().map(|run| &run.score)) {
        return Err(Cannot::NothingLeft);
    }
    let own = Leftover::new(left, df);
    let error = other.filter(|other| other.mean_square > own.mean_square).unwrap_or(own);
    error.test(squares, terms)
}

/// The first rows and columns of a matrix.
fn part(matrix: &[Vec<f64>], size: usize) -> Vec<Vec<f64>> {
    matrix[..size].iter().map(|row| row[..size].to_vec()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::analysis::analysis;
    use crate::surface::examples::{reaction, rising_ridge};

    /// On published data the terms' squares are those of slopes, products and squares together.
    #[test]
    fn all_terms_together_are_what_the_analysis_takes_one_after_another() {
        for runs in [reaction(), rising_ridge()] {
            let shape = Shape::second_order(2);
            let parts = analysis(&runs, &shape).unwrap();
            let all = varied(&runs, &shape, None).unwrap();
            let sum = parts.slopes.squares
                + parts.crosses.map_or(0.0, |own| own.squares)
                + parts.bends.map_or(0.0, |own| own.squares);
            assert!((all.squares - sum).abs() < 1e-9 * sum && all.df == 5, "{all:?} {sum}");
            assert!((all.f - sum / 5.0 / parts.residual.mean_square).abs() < 1e-9 * all.f);
            assert!(all.p < 0.001, "{all:?}");
        }
    }

    /// Three ways of a surface of two factors are an analysis of variance of three ways and their tasters.
    #[test]
    fn with_few_ways_they_are_compared_as_ways() {
        let scores = [[5.0, 6.0, 7.5], [6.0, 6.5, 8.0], [4.0, 7.0, 6.0], [5.5, 6.0, 9.0]];
        let at = [[-1.0, 0.0], [0.0, 0.5], [1.0, -1.0]];
        let run = |(taster, way): (usize, usize)| Run {
            at: at[way].to_vec(),
            blocks: vec![taster],
            score: scores[taster][way],
        };
        let runs: Vec<Run> =
            (0..4).flat_map(|taster| (0..3).map(move |way| (taster, way))).map(run).collect();
        let found = varied(&runs, &Shape::second_order(2), None).unwrap();
        let mean = scores.iter().flatten().sum::<f64>() / 12.0;
        let way = |way: usize| scores.iter().map(|row| row[way]).sum::<f64>() / 4.0;
        let squares: f64 = (0..3).map(|n| 4.0 * (way(n) - mean).powi(2)).sum();
        let left: f64 = (0..4)
            .flat_map(|taster| (0..3).map(move |n| (taster, n)))
            .map(|(taster, n)| {
                let own = scores[taster].iter().sum::<f64>() / 3.0;
                (scores[taster][n] - own - way(n) + mean).powi(2)
            })
            .sum();
        assert!((found.squares - squares).abs() < 1e-9 && found.df == 2, "{found:?}");
        assert!((found.f - (squares / 2.0) / (left / 6.0)).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn against_a_greater_spread_it_is_shown_less() {
        let (runs, shape) = (rising_ridge(), Shape::second_order(2));
        let own = varied(&runs, &shape, None).unwrap();
        let wide = Leftover { mean_square: 1e6, df: 4, squares: 4e6 };
        let narrow = Leftover { mean_square: 1e-6, df: 4, squares: 4e-6 };
        assert!(varied(&runs, &shape, Some(wide)).unwrap().p > 0.9);
        assert_eq!(varied(&runs, &shape, Some(narrow)).unwrap(), own, "a smaller one is not taken");
        let one: Vec<Run> = runs.iter().map(|run| Run { at: vec![0.0, 0.0], ..run.clone() }).collect();
        assert_eq!(varied(&one, &shape, None), Err(Cannot::WaysTooAlike));
    }
}

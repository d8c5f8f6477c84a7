//! Where the squares of the scores go: blocks, slopes, products, bends, and whether the surface fits.

use super::absorbed::Absorbed;
use super::shape::{Shape, Term};
use super::{Run, lines, too_like, ways};
use crate::Cannot;
use crate::anova::{Effect, Leftover};
use crate::linear::Root;
use crate::sums;

/// The analysis of variance of a surface, each source after those before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// Between the blocks of all kinds; nothing if there is but one block.
    pub blocks: Option<Effect>,
    /// The slopes (first order).
    pub slopes: Effect,
    /// The products of two factors; nothing if the shape has none.
    pub crosses: Option<Effect>,
    /// The squares; nothing if the shape has none.
    pub bends: Option<Effect>,
    /// What is left over.
    pub residual: Leftover,
    /// What the surface misses of the ways' own means, against what ways and blocks leave over. Nothing where there are no more ways
    /// than the surface has coefficients, or no way is tasted often enough.
    pub lack_of_fit: Option<Effect>,
    /// What ways and blocks leave over, each way free to lie where it will: pure error.
    pub pure: Option<Leftover>,
    /// The share of all squares that blocks and surface explain.
    pub r_squared: f64,
    /// The same, less what as many columns of chance would explain.
    pub adjusted_r_squared: f64,
}

/// The analysis of variance of a surface by least squares (of any textbook of response surfaces). Pure error is what the additive
/// model of ways and blocks leaves over, so that ways that all tasters have tasted once serve as repeats.
///
/// # Errors
/// As [`super::fit`] without a prior.
pub fn analysis(runs: &[Run], shape: &Shape) -> Result<Analysis, Cannot> {
    let lines = lines(runs, shape)?;
    let absorbed = Absorbed::of(&lines.lines);
    let root = Root::passing_over(&absorbed.gram, lines.others).ok_or_else(|| too_like(runs, shape))?;
    let taken_off: Vec<f64> = root.forward(&absorbed.totals).iter().map(|part| part * part).collect();
    let solution = root.back(&root.forward(&absorbed.totals));
    let block_df = absorbed.blocks() - 1 + lines.others - root.alike();
    let taken = block_df + 1 + shape.terms.len();
    let df = runs.len().checked_sub(taken).filter(|&df| df > 0).ok_or(Cannot::NoFreedom)?;
    let scores: Vec<f64> = runs.iter().map(|run| run.score).collect();
    let left = absorbed.left(&lines.lines, &solution);
    if sums::is_rounding(left, &scores) {
        return Err(Cannot::NothingLeft);
    }
    let residual = Leftover::new(left, df);
    let source = |of: &dyn Fn(&Term) -> bool| {
        let own = || shape.terms.iter().zip(&taken_off[lines.others..]).filter(|(term, _)| of(term));
        let test = || residual.test(own().map(|(_, squares)| squares).sum(), own().count());
        (own().count() > 0).then(test).transpose()
    };
    let total = sums::squares_about_mean(&scores);
    let blocks = total - absorbed.squares + taken_off[..lines.others].iter().sum::<f64>();
    let pure = pure(runs, &lines)?.filter(|pure| !sums::is_rounding(pure.squares, &scores));
    let lack_of_fit = pure.filter(|pure| pure.df < df).map(|pure| {
        let squares = (left - pure.squares).max(0.0);
        pure.test(squares, df - pure.df)
    });
    Ok(Analysis {
        blocks: (block_df > 0).then(|| residual.test(blocks.max(0.0), block_df)).transpose()?,
        slopes: source(&|term| matches!(term, Term::Slope(_)))?.ok_or(Cannot::OutOfRange)?,
        crosses: source(&|term| matches!(term, Term::Cross(..)))?,
        bends: source(&|term| matches!(term, Term::Bend(_)))?,
        residual,
        lack_of_fit: lack_of_fit.transpose()?,
        pure,
        r_squared: 1.0 - left / total,
        adjusted_r_squared: 1.0 - residual.mean_square * (runs.len() - 1) as f64 / total,
    })
}

/// What the additive model of ways and blocks leaves over; nothing without degrees of freedom.
fn pure(runs: &[Run], lines: &super::Lines) -> Result<Option<Leftover>, Cannot> {
    let (number, ways) = ways(runs);
    let mut free = super::Lines { lines: Vec::new(), others: lines.others + ways.len() - 1 };
    for (line, way) in lines.lines.iter().zip(number) {
        let mut columns: Vec<(usize, f64)> =
            line.columns.iter().filter(|(i, _)| *i < lines.others).copied().collect();
        columns.extend(way.checked_sub(1).map(|way| (lines.others + way, 1.0)));
        free.lines.push(super::Line { block: line.block, columns, score: line.score });
    }
    let absorbed = Absorbed::of(&free.lines);
    let columns = absorbed.totals.len();
    let root = Root::passing_over(&absorbed.gram, columns).ok_or(Cannot::OutOfRange)?;
    let solution = root.back(&root.forward(&absorbed.totals));
    let df = runs.len().saturating_sub(absorbed.blocks() + columns - root.alike());
    Ok((df > 0).then(|| Leftover::new(absorbed.left(&free.lines, &solution), df)))
}

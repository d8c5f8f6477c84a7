//! Two-way analysis of variance of tea × taster, each tea served to each taster several times.

use super::anova::{Effect, Leftover};
use super::cannot::Cannot;
use super::sums;

/// A two-way analysis of variance with replicates.
#[derive(Clone, Debug, PartialEq)]
pub struct Replicated {
    /// How often each tea was served to each taster.
    pub servings: usize,
    pub scores: usize,
    pub grand_mean: f64,
    pub tea_means: Vec<f64>,
    pub taster_means: Vec<f64>,
    /// Between teas, against the error: these tasters, as they are.
    pub teas: Effect,
    /// Between teas, against the interaction: tasters like these, of whom these are a sample. `None` when the tasters
    /// see the teas exactly alike.
    pub teas_for_other_tasters: Option<Effect>,
    /// Between tasters, against the error.
    pub tasters: Effect,
    /// Tasters who see the teas differently, against the error.
    pub interaction: Effect,
    /// How far one taster's scores of one tea lie apart.
    pub error: Leftover,
}

/// The analysis of `cells[taster][tea]`, each holding as many scores; two tasters, teas and servings at least.
pub fn replicated(cells: &[Vec<Vec<f64>>]) -> Result<Replicated, Cannot> {
    let servings = cells.first().and_then(|row| row.first()).map_or(0, Vec::len);
    if cells.iter().flatten().any(|cell| cell.len() != servings) {
        return Err(Cannot::Uneven);
    }
    cells.iter().flatten().try_for_each(sums::finite)?;
    if servings == 0 {
        return Err(Cannot::Servings(2));
    }
    let means: Vec<Vec<f64>> =
        cells.iter().map(|row| row.iter().map(|cell| sums::mean(cell)).collect()).collect();
    let (tasters, teas) = sums::full_table(&means)?;
    if servings < 2 {
        return Err(Cannot::Servings(2));
    }
    let all = || cells.iter().flatten().flatten();
    if sums::all_equal(all().copied()) {
        return Err(Cannot::AllEqual);
    }
    let error = cells.iter().flatten().map(|cell| sums::squares_about_mean(cell)).sum();
    if sums::is_rounding(error, all()) {
        return Err(Cannot::NothingLeft);
    }
    let means = sums::Margins::of(&means);
    let interaction = Leftover::new(servings as f64 * means.apart, (teas - 1) * (tasters - 1));
    let error = Leftover::new(error, teas * tasters * (servings - 1));
    let between_teas = (tasters * servings) as f64 * means.about_grand(&means.teas);
    let between_tasters = (teas * servings) as f64 * means.about_grand(&means.tasters);
    let seen_alike = sums::is_rounding(interaction.squares, all());
    Ok(Replicated {
        servings,
        teas: error.test(between_teas, teas - 1)?,
        teas_for_other_tasters: (!seen_alike)
            .then(|| interaction.test(between_teas, teas - 1))
            .transpose()?,
        tasters: error.test(between_tasters, tasters - 1)?,
        interaction: error.test(interaction.squares, interaction.df)?,
        error,
        scores: tasters * teas * servings,
        grand_mean: means.grand,
        tea_means: means.teas,
        taster_means: means.tasters,
    })
}

#[cfg(test)]
mod tests;

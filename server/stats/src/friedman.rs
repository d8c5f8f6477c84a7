//! Friedman's test: do tasters rank the teas alike, beyond chance?

pub(crate) mod exact;

use super::cannot::Cannot;
use super::dist::{chi_squared_upper, f_upper};
use super::ranks::{Ranks, midranks};
use super::sums::full_table;
use schemars::JsonSchema;
use serde::Serialize;

/// What Friedman's test found.
#[derive(Clone, Debug, PartialEq)]
pub struct Friedman {
    pub tasters: usize,
    pub teas: usize,
    /// The sum of each tea's ranks; each taster ranks the lowest score 1.
    pub rank_sums: Vec<f64>,
    /// Whether some taster scored two teas alike.
    pub tied: bool,
    /// The statistic without regard to ties.
    pub uncorrected: f64,
    /// The statistic corrected for ties.
    pub chi_squared: f64,
    /// Its degrees of freedom, teas − 1.
    pub df: usize,
    /// Its p by the chi-squared distribution; too large for small classes.
    pub p: f64,
    /// The F form, which holds its level better in small classes; `None` when all tasters rank all teas in one and the
    /// same way, where F has no bound.
    pub f: Option<ImanDavenport>,
    /// The exact p, ties kept; `None` where counting it would take too long.
    pub exact_p: Option<f64>,
    /// Kendall's W from 0 (no agreement) to 1: the statistic over its greatest value.
    pub kendall_w: f64,
}

/// The F form of Friedman's test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ImanDavenport {
    /// (n − 1)·S / (n·(k − 1) − S) for n tasters, k teas and the corrected statistic S.
    pub f: f64,
    /// Degrees of freedom above, teas − 1.
    pub df: usize,
    /// Degrees of freedom below, (teas − 1)·(tasters − 1).
    pub df_below: usize,
    /// Its p.
    pub p: f64,
}

/// Friedman's test of a full table; two tasters and two teas at least.
///
/// Corrected for ties; the F form is that of Iman & Davenport, Communications in Statistics A 9, 1980.
pub fn friedman(rows: &[Vec<f64>]) -> Result<Friedman, Cannot> {
    let (tasters, teas) = full_table(rows)?;
    let ranked: Vec<Ranks> = rows.iter().map(|row| midranks(row)).collect();
    let (n, k) = (tasters as f64, teas as f64);
    let ties: f64 = ranked.iter().map(|r| r.ties).sum();
    let left_by_ties = 1.0 - ties / (n * k * (k * k - 1.0));
    if ties >= n * k * (k * k - 1.0) {
        return Err(Cannot::AllTied);
    }
    let rank_sums: Vec<f64> = (0..teas).map(|tea| ranked.iter().map(|r| r.ranks[tea]).sum()).collect();
    let expected = n * (k + 1.0) / 2.0;
    let squares: f64 = rank_sums.iter().map(|sum| (sum - expected).powi(2)).sum();
    let uncorrected = 12.0 * squares / (n * k * (k + 1.0));
    let chi_squared = uncorrected / left_by_ties;
    let (df, greatest) = (teas - 1, n * (k - 1.0));
    Ok(Friedman {
        tasters,
        teas,
        rank_sums,
        tied: ties > 0.0,
        uncorrected,
        chi_squared,
        df,
        p: chi_squared_upper(chi_squared, df as f64)?,
        f: iman_davenport(chi_squared, tasters, teas)?,
        exact_p: exact::exact_p(&ranked),
        kendall_w: (chi_squared / greatest).min(1.0),
    })
}

fn iman_davenport(chi_squared: f64, tasters: usize, teas: usize) -> Result<Option<ImanDavenport>, Cannot> {
    let (df, df_below) = (teas - 1, (teas - 1) * (tasters - 1));
    let greatest = (tasters * df) as f64;
    let room = greatest - chi_squared;
    if room <= 1e-12 * greatest {
        return Ok(None);
    }
    let f = (tasters - 1) as f64 * chi_squared / room;
    Ok(Some(ImanDavenport { f, df, df_below, p: f_upper(f, df as f64, df_below as f64)? }))
}

#[cfg(test)]
mod tests;

//! Page's test: do the teas rise in an order that was expected beforehand?

use super::cannot::Cannot;
use super::dist::normal_upper;
use super::ranks::midranks;
use super::sums::full_table;

/// What Page's test found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    pub tasters: usize,
    pub teas: usize,
    /// Σ i·Rᵢ, with Rᵢ the rank sum of the tea that was expected at place i.
    pub l: f64,
    /// L less its mean, over its standard deviation, both as without ties.
    pub standardised: f64,
    /// One-sided p by the normal distribution, for rising in the expected order.
    pub p: f64,
}

/// Page's test of a full table; two tasters and two teas at least.
///
/// `order` names the teas (counted from 0) from the lowest expected score to the highest, as expected before tasting.
/// Page, Ordered hypotheses for multiple treatments, Journal of the American Statistical Association 58, 1963.
pub fn trend(rows: &[Vec<f64>], order: &[usize]) -> Result<Trend, Cannot> {
    let (tasters, teas) = full_table(rows)?;
    let mut named = order.to_vec();
    named.sort_unstable();
    if !named.into_iter().eq(0..teas) {
        return Err(Cannot::Order);
    }
    let (n, k) = (tasters as f64, teas as f64);
    let (mut l, mut tied) = (0.0, true);
    for row in rows {
        let ranked = midranks(row);
        tied &= ranked.ties >= k * k * k - k;
        l +=
            order.iter().enumerate().map(|(place, &tea)| (place + 1) as f64 * ranked.ranks[tea]).sum::<f64>();
    }
    if tied {
        return Err(Cannot::AllTied);
    }
    let mean = n * k * (k + 1.0).powi(2) / 4.0;
    let sd = k * (k + 1.0) * (n * (k - 1.0)).sqrt() / 12.0;
    let standardised = (l - mean) / sd;
    Ok(Trend { tasters, teas, l, standardised, p: normal_upper(standardised)? })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::EIGHT_BY_FOUR;

    /// Own data, computed with scipy 1.17.1, `page_trend_test(..., method='asymptotic')`; the same
    /// formula goes with the ranking test of ISO 8587.
    #[test]
    fn the_expected_order_is_found() {
        let found = trend(&EIGHT_BY_FOUR.map(Vec::from), &[3, 2, 1, 0]).unwrap();
        assert_eq!(found.l, 232.5);
        assert!(
            (found.standardised - 3.98042).abs() < 1e-5 && (found.p / 3.4397e-5 - 1.0).abs() < 1e-4,
            "{found:?}"
        );
        let upside_down = trend(&EIGHT_BY_FOUR.map(Vec::from), &[0, 1, 2, 3]).unwrap();
        assert!((upside_down.standardised + found.standardised).abs() < 1e-12);
    }

    #[test]
    fn an_order_must_name_every_tea_once() {
        let rows = EIGHT_BY_FOUR.map(Vec::from);
        for order in [&[0, 1, 2][..], &[0, 1, 2, 2], &[0, 1, 2, 4]] {
            assert_eq!(trend(&rows, order), Err(Cannot::Order));
        }
        assert_eq!(trend(&[vec![3.0, 3.0], vec![4.0, 4.0]], &[0, 1]), Err(Cannot::AllTied));
    }
}

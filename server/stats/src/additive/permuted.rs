//! The chance of teas as far apart as these if each taster's scores had fallen on the teas by lot.
//!
//! Within a taster any order of the scores given is as likely as any other if the teas do not differ, whatever the scores
//! look like: skewed, tied, on a short scale. The statistic is the F of tea + taster; as the squares within tasters stay the
//! same in every order, it goes up and down with the squares of the teas (Pitman, Significance tests which may be applied to
//! samples from any populations III, Biometrika 29, 1938).

use super::Fit;
use crate::cannot::Cannot;
use crate::incomplete::{Scored, linked};
use crate::linear::{dot, times};
use crate::lot::Lot;
use crate::sums;
use schemars::JsonSchema;
use serde::Serialize;

/// With as many orders as this or fewer, every one is looked at.
const COUNTED: f64 = 20_000.0;
/// So many orders are drawn else.
const DRAWN: usize = 4_999;
/// Drawing ends early once so many of them were as far apart: p is then far above any level and known well enough (Besag
/// and Clifford, Sequential Monte Carlo p-values, Biometrika 78, 1991).
const ENOUGH: usize = 300;
/// Orders that differ from the one seen by rounding alone, as a share of all squares, are as far apart.
const ROUNDING: f64 = 1e-9;

/// The permutation test of a table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Permuted {
    /// How many tasters scored two teas at least.
    pub tasters: usize,
    /// How many orders were looked at.
    pub orders: usize,
    /// Whether those are all there are; else they were drawn.
    pub exact: bool,
    /// The share of orders whose F is as large as the one seen; of drawn ones, the order seen counts as one.
    pub p: f64,
}

/// The test of a table that may have gaps, which stay where they are; two tasters with two teas at least, and all teas
/// linked through tasters. The same `seed` draws the same orders.
///
/// # Errors
/// As for the additive model; and if no taster scored one tea above another.
pub fn permuted(rows: &[Vec<Option<f64>>], seed: u64) -> Result<Permuted, Cannot> {
    let (mut tasters, teas) = linked(rows, 2)?;
    let fit = Fit::of(&tasters, teas).ok_or(Cannot::Disconnected)?;
    if tasters.iter().all(|t| sums::all_equal(t.scores.iter().copied())) {
        return Err(Cannot::AllTied);
    }
    for (taster, mean) in tasters.iter_mut().zip(&fit.taster_means) {
        taster.scores.iter_mut().for_each(|score| *score -= mean);
    }
    let all_squares: f64 = tasters.iter().flat_map(|t| &t.scores).map(|score| score * score).sum();
    let seen = fit.tea_squares() - ROUNDING * all_squares;
    let mut totals = vec![0.0; teas];
    let mut as_far = |tasters: &[Scored]| {
        totals.fill(0.0);
        for taster in tasters {
            taster.teas.iter().zip(&taster.scores).for_each(|(&tea, score)| totals[tea] += score);
        }
        dot(&totals, &times(&fit.inverse, &totals)) >= seen
    };
    let count = tasters.len();
    let found = |orders, exact, p| Permuted { tasters: count, orders, exact, p };
    let all: f64 = tasters.iter().flat_map(|t| 1..=t.scores.len()).map(|factor| factor as f64).product();
    if all <= COUNTED {
        let (mut orders, mut far) = (0, 0);
        every(&mut tasters, 0, 0, &mut |tasters| {
            orders += 1;
            far += usize::from(as_far(tasters));
        });
        return Ok(found(orders, true, far as f64 / orders as f64));
    }
    let (mut lot, mut far) = (Lot::of(seed), 0);
    for drawn in 1..=DRAWN {
        tasters.iter_mut().for_each(|taster| lot.shuffle(&mut taster.scores));
        far += usize::from(as_far(&tasters));
        if far == ENOUGH {
            return Ok(found(drawn, false, far as f64 / drawn as f64));
        }
    }
    Ok(found(DRAWN, false, (far + 1) as f64 / (DRAWN + 1) as f64))
}

/// Every order of every taster's scores, from the taster and the place given on.
fn every(tasters: &mut [Scored], taster: usize, from: usize, look: &mut impl FnMut(&[Scored])) {
    let Some(count) = tasters.get(taster).map(|t| t.scores.len()) else { return look(tasters) };
    if from + 1 >= count {
        return every(tasters, taster + 1, 0, look);
    }
    for other in from..count {
        tasters[taster].scores.swap(from, other);
        every(tasters, taster, from + 1, look);
        tasters[taster].scores.swap(from, other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::table;

    #[test]
    fn who_agrees_entirely_is_as_rare_as_the_orders_are_many() {
        // Three tasters in one order out of six, whichever it is: 6 of 6³.
        let found = permuted(&table(&["123", "246", "357"]), 0).unwrap();
        assert_eq!((found.orders, found.exact), (216, true));
        assert!((found.p - 6.0 / 216.0).abs() < 1e-12, "{found:?}");
        // Two teas: the signs of the differences, both sides.
        let found = permuted(&table(&["12", "24", "36", "48", "15"]), 0).unwrap();
        assert!((found.p - 2.0 / 32.0).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn what_is_drawn_is_near_what_is_counted_and_the_same_for_the_same_seed() {
        let rows = table(&["1534", "2743", "5-34", "6625", "14-3", "2554"]);
        let (found, again, other) = (permuted(&rows, 7), permuted(&rows, 7), permuted(&rows, 8));
        assert_eq!(found, again);
        assert_ne!(found, other);
        let found = found.unwrap();
        assert!(!found.exact && (0.005..0.3).contains(&found.p), "{found:?}");
    }

    #[test]
    fn a_chance_far_above_any_level_needs_few_orders() {
        let rows = table(&["1234", "4321", "2143", "3412", "1243", "4312"]);
        let found = permuted(&rows, 1).unwrap();
        assert!(found.orders < 1_000 && found.p > 0.3, "{found:?}");
    }

    #[test]
    fn what_can_not_be_ordered_is_said() {
        assert_eq!(permuted(&table(&["111", "222"]), 0), Err(Cannot::AllTied));
        assert_eq!(permuted(&table(&["12--", "--34"]), 0), Err(Cannot::Disconnected));
    }
}

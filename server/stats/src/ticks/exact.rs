//! The exact chance of counts as uneven as these, if every taster had dealt the same number of ticks out blindly.

use std::collections::BTreeMap;

/// The most steps that counting may take; beyond that there are tasters enough for chi-squared.
const STEPS: usize = 3_000_000;

/// The share of all ways to deal each taster's ticks out to `teas` teas whose counts have a sum of squares as large as
/// `counts`; `None` where counting would take too long. `by_taster` holds how many ticks each taster gave.
///
/// Only how often each count occurs matters and not for which tea, so counts are kept in order.
pub(super) fn exact_p(by_taster: &[usize], teas: usize, counts: &[usize]) -> Option<f64> {
    let squares = |counts: &[usize]| counts.iter().map(|c| c * c).sum::<usize>();
    // In one order, so that the same class has the same digits.
    let mut chances = BTreeMap::from([(vec![0; teas], 1.0)]);
    let mut steps = 0;
    for &ticks in by_taster.iter().filter(|&&ticks| ticks > 0 && ticks < teas) {
        let deals = deals(ticks, teas)?;
        steps += deals.len() * chances.len();
        if steps > STEPS {
            return None;
        }
        let mut next: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
        for (counts, chance) in &chances {
            for deal in &deals {
                let mut counts: Vec<usize> = counts.iter().zip(deal).map(|(a, b)| a + b).collect();
                counts.sort_unstable();
                *next.entry(counts).or_default() += chance / deals.len() as f64;
            }
        }
        chances = next;
    }
    // A taster who ticked all teas adds one to every count, whichever way the others' ticks fall.
    let all = by_taster.iter().filter(|&&ticks| ticks == teas).count();
    let seen = squares(&counts.iter().map(|count| count - all).collect::<Vec<_>>());
    let reached = chances.iter().filter(|(counts, _)| squares(counts) >= seen).map(|(_, chance)| chance);
    Some(reached.sum::<f64>().min(1.0))
}

/// Every way to give `ticks` ticks to `teas` teas, one each at most; `None` with more teas than a class has.
fn deals(ticks: usize, teas: usize) -> Option<Vec<Vec<usize>>> {
    let sets = 1u32.checked_shl(u32::try_from(teas).ok()?).filter(|_| teas < 20)?;
    let of = |set: u32| (0..teas).map(|tea| (set >> tea & 1) as usize).collect();
    Some((0..sets).filter(|set| set.count_ones() as usize == ticks).map(of).collect())
}

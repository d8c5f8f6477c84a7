//! Check-all words: which words the tasters ticked for which tea.

mod exact;

use super::Cannot;
use super::binomial::uneven_split;
use super::dist::chi_squared_upper;
use super::sums::size;

/// Whether a word tells the teas apart.
#[derive(Clone, Debug, PartialEq)]
pub struct CochranQ {
    pub tasters: usize,
    pub teas: usize,
    /// How often the word was ticked for each tea.
    pub counts: Vec<usize>,
    /// How many tasters ticked it for some teas and not for others; only they count.
    pub mixed_tasters: usize,
    /// Cochran's Q.
    pub q: f64,
    /// Degrees of freedom, teas − 1.
    pub df: usize,
    /// The chance of so large a Q if the word fits all teas alike; chi-squared, too small for few mixed tasters.
    pub p: f64,
    /// The same counted exactly over all ways to deal each taster's ticks out; `None` where that would take too long.
    pub exact_p: Option<f64>,
}

/// How often a word was ticked for each tea. Rows of `ticks` are tasters, columns teas.
///
/// # Errors
/// Without tasters or teas, or if the table is not rectangular.
pub fn counts(ticks: &[Vec<bool>]) -> Result<Vec<usize>, Cannot> {
    let (_, teas) = size(ticks, 1, 1)?;
    Ok((0..teas).map(|tea| ticks.iter().filter(|row| row[tea]).count()).collect())
}

/// Cochran's Q test (Cochran 1950, Biometrika 37:256) of one word: Q = (k − 1)(k Σ C² − N²) / (k N − Σ R²), C the
/// counts of k teas, R those of the tasters, N all ticks. Rows of `ticks` are tasters, columns teas.
///
/// # Errors
/// With fewer than two tasters or teas, a table that is not rectangular, or no taster who ticked it for some teas only.
pub fn cochran_q(ticks: &[Vec<bool>]) -> Result<CochranQ, Cannot> {
    let (tasters, teas) = size(ticks, 2, 2)?;
    let counts = counts(ticks)?;
    let by_taster: Vec<usize> = ticks.iter().map(|row| row.iter().filter(|&&t| t).count()).collect();
    let mixed_tasters = by_taster.iter().filter(|&&r| r > 0 && r < teas).count();
    if mixed_tasters == 0 {
        return Err(Cannot::NothingMixed);
    }
    // Whole numbers: no rounding, and neither difference is below zero.
    let all: usize = counts.iter().sum();
    let between = teas * counts.iter().map(|c| c * c).sum::<usize>() - all * all;
    let within = teas * all - by_taster.iter().map(|r| r * r).sum::<usize>();
    let df = teas - 1;
    let q = (df * between) as f64 / within as f64;
    let p = chi_squared_upper(q, df as f64)?;
    let exact_p = exact::exact_p(&by_taster, teas, &counts);
    Ok(CochranQ { tasters, teas, counts, mixed_tasters, q, df, p, exact_p })
}

/// Whether a word was ticked more for one tea than for another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mcnemar {
    /// The two teas' columns.
    pub teas: (usize, usize),
    /// Tasters who ticked it for both.
    pub both: usize,
    /// Tasters who ticked it for the first only.
    pub first_only: usize,
    /// Tasters who ticked it for the second only.
    pub second_only: usize,
    /// Tasters who ticked it for neither.
    pub neither: usize,
    /// Share of ticks of the first tea less that of the second.
    pub difference: f64,
    /// Two-sided exact p; 1 if nobody ticked it for one of them only. Not adjusted for many pairs.
    pub p: f64,
}

/// McNemar's test (McNemar 1947), exact, of one word for every two teas, the first tea's column before the second's.
/// Rows of `ticks` are tasters, columns teas.
///
/// # Errors
/// Without tasters, with fewer than two teas, or if the table is not rectangular.
pub fn mcnemar_pairs(ticks: &[Vec<bool>]) -> Result<Vec<Mcnemar>, Cannot> {
    let (tasters, teas) = size(ticks, 1, 2)?;
    let pair = |first: usize, second: usize| {
        let count = |a: bool, b: bool| ticks.iter().filter(|row| row[first] == a && row[second] == b).count();
        let (first_only, second_only) = (count(true, false), count(false, true));
        Mcnemar {
            teas: (first, second),
            both: count(true, true),
            first_only,
            second_only,
            neither: count(false, false),
            difference: (first_only as f64 - second_only as f64) / tasters as f64,
            p: uneven_split(first_only, first_only + second_only),
        }
    };
    Ok((0..teas).flat_map(|a| (a + 1..teas).map(move |b| (a, b))).map(|(a, b)| pair(a, b)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::agreement::concordance;
    use crate::friedman::friedman;
    use proptest::prelude::*;

    fn ticks(rows: &[&str]) -> Vec<Vec<bool>> {
        rows.iter().map(|row| row.chars().map(|c| c == '1').collect()).collect()
    }

    /// A published worked example of a general statistics manual, built on Sheskin (2011), chapter 26: 12 × 3.
    #[test]
    fn cochrans_q_is_that_of_the_published_example() {
        let table =
            ticks(&["010", "110", "111", "000", "100", "011", "000", "110", "010", "111", "010", "110"]);
        let found = cochran_q(&table).unwrap();
        assert_eq!((found.counts.as_slice(), found.q, found.df), ([6, 9, 3].as_slice(), 6.75, 2));
        assert!((found.p - 0.034_218_1).abs() < 5e-8);
        assert_eq!((found.tasters, found.mixed_tasters), (12, 8));
        let pairs = mcnemar_pairs(&table).unwrap();
        let of = |p: &Mcnemar| (p.teas, p.both, p.first_only, p.second_only, p.neither);
        assert_eq!(of(&pairs[0]), ((0, 1), 5, 1, 4, 2));
        // Two-sided sign test of 1 against 4: 2 · (1 + 5) / 32.
        assert!((pairs[0].p - 0.375).abs() < 1e-12 && (pairs[0].difference + 0.25).abs() < 1e-12);
        assert_eq!(pairs.iter().map(|p| p.teas).collect::<Vec<_>>(), [(0, 1), (0, 2), (1, 2)]);
    }

    /// All mixed tasters tick one and the same tea: one of the k ways that they could all have agreed on, so k / kⁿ.
    #[test]
    fn a_few_who_all_tick_one_tea_are_counted_exactly() {
        for (teas, tasters) in [(2, 4), (2, 5), (3, 3), (4, 3), (8, 3)] {
            let row: Vec<bool> = (0..teas).map(|tea| tea == 0).collect();
            let mut rows = vec![row; tasters];
            rows.extend([vec![true; teas], vec![false; teas]]);
            let found = cochran_q(&rows).unwrap();
            let known = teas as f64 / (teas as f64).powi(tasters as i32);
            assert!((found.exact_p.unwrap() - known).abs() < 1e-12, "{found:?}");
            assert!(found.p < known, "chi-squared is too bold here");
        }
    }

    #[test]
    fn a_word_nobody_distinguishes_by_has_no_q() {
        assert_eq!(cochran_q(&ticks(&["111", "000", "111"])), Err(Cannot::NothingMixed));
        assert_eq!(cochran_q(&ticks(&["101"])), Err(Cannot::Tasters(2)));
        assert_eq!(cochran_q(&ticks(&["10", "1"])), Err(Cannot::Uneven));
        assert_eq!(counts(&[]), Err(Cannot::Tasters(1)));
        let same = mcnemar_pairs(&ticks(&["11", "00"])).unwrap();
        assert_eq!((same[0].p, same[0].difference), (1.0, 0.0));
    }

    proptest! {
        #[test]
        fn q_is_friedmans_statistic_of_the_same_table(table in prop::collection::vec(any::<[bool; 4]>(), 2..20)) {
            let rows: Vec<Vec<bool>> = table.iter().map(|row| row.to_vec()).collect();
            let scores: Vec<Vec<f64>> = table.iter().map(|row| row.map(|t| f64::from(u8::from(t))).to_vec()).collect();
            match (cochran_q(&rows), concordance(&scores)) {
                (Ok(q), Ok(w)) => {
                    prop_assert!((q.q - w.chi_squared).abs() < 1e-9 && (q.p - w.p).abs() < 1e-9);
                    if let (Some(ours), Some(theirs)) = (q.exact_p, friedman(&scores).unwrap().exact_p) {
                        prop_assert!((ours - theirs).abs() < 1e-9, "{} and {}", ours, theirs);
                    }
                    // Rows all ticked or all left change nothing.
                    let more: Vec<Vec<bool>> = rows.into_iter().chain([vec![true; 4], vec![false; 4]]).collect();
                    prop_assert_eq!(cochran_q(&more).unwrap().q, q.q);
                }
                (Err(a), Err(b)) => prop_assert_eq!((a, b), (Cannot::NothingMixed, Cannot::AllTied)),
                (q, w) => prop_assert!(false, "{:?} but {:?}", q, w),
            }
        }
    }
}

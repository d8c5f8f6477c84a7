//! Exact binomial tails.

use statrs::function::factorial::ln_binomial;

/// The chance of exactly `x` out of `n`, each with the chance `p` (between 0 and 1, both included).
pub(super) fn exactly(x: usize, n: usize, p: f64) -> f64 {
    if p <= 0.0 {
        return if x == 0 { 1.0 } else { 0.0 };
    }
    if p >= 1.0 {
        return if x == n { 1.0 } else { 0.0 };
    }
    // In logarithms, since the factors alone leave the range of f64 for a large class.
    (ln_binomial(n as u64, x as u64) + x as f64 * p.ln() + (n - x) as f64 * (-p).ln_1p()).exp()
}

/// The chance of `x` or more out of `n`. All terms are positive and the smallest come first, so that a tiny tail is as
/// accurate as a large one.
pub(super) fn at_least(x: usize, n: usize, p: f64) -> f64 {
    if x == 0 { 1.0 } else { (x..=n).rev().map(|k| exactly(k, n, p)).sum::<f64>().min(1.0) }
}

/// The two-sided chance, if both answers are equally likely, of a split at least as uneven as `x` against `n` − `x`: the
/// sign test and McNemar's exact test.
pub(super) fn uneven_split(x: usize, n: usize) -> f64 {
    (2.0 * at_least(x.max(n - x), n, 0.5)).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with scipy 1.17.1, `binom.sf(x - 1, n, p)`; the first one also in whole fractions.
    #[test]
    fn tails_are_exact() {
        let third = 1.0 / 3.0;
        for (x, n, p, tail) in [
            (8, 12, third, 0.018758432262),
            (13, 24, third, 0.028441128095),
            (5, 6, third, 0.017832647462),
            (18, 36, third, 0.028349210191),
            (15, 20, 0.5, 0.020694732666),
        ] {
            assert!((at_least(x, n, p) - tail).abs() < 1e-12, "{x} of {n}");
        }
        assert!(
            (at_least(100, 100, 0.5) / 0.5f64.powi(100) - 1.0).abs() < 1e-12,
            "a tiny tail keeps its digits"
        );
    }

    #[test]
    fn the_ends_are_certain() {
        assert_eq!((at_least(0, 9, 0.3), at_least(9, 9, 1.0), at_least(1, 9, 0.0)), (1.0, 1.0, 0.0));
        assert_eq!((uneven_split(0, 0), uneven_split(2, 4), uneven_split(3, 6)), (1.0, 1.0, 1.0));
        assert!((uneven_split(0, 5) - 0.0625).abs() < 1e-15 && uneven_split(0, 5) == uneven_split(5, 5));
    }
}

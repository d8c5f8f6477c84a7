//! How far a standard deviation that is found may lie from the true one.
//!
//! Found over true, u = s/σ, is √(χ²/df). What depends on such a ratio is averaged over its distribution by the
//! trapezoidal rule on ln u, where the density is smooth and dies out at both ends: there the rule's error falls
//! exponentially with the step (Trefethen & Weideman, The exponentially convergent trapezoidal rule, SIAM Review 56,
//! 2014).

/// Weights smaller than e^−`FAINT` of the greatest are left out.
const FAINT: f64 = 37.0;
/// The widest step, for few degrees of freedom.
const STEP: f64 = 0.1;

/// The distribution of s/σ as points with weights.
pub(super) struct Spread {
    points: Vec<(f64, f64)>,
}

impl Spread {
    /// `df` ≥ 1 degrees of freedom; infinitely many leave the one ratio 1. What is averaged may change over
    /// a stretch of ln u as short as `1 / sharpness`.
    pub(super) fn new(df: f64, sharpness: f64) -> Self {
        if df.is_infinite() {
            return Self { points: vec![(1.0, 1.0)] };
        }
        // The density of ln u less a constant, so chosen that it is 0 at its greatest, u = 1. The constant drops out
        // because the weights are made to add up to one.
        let log_density = |log: f64| df * (log - (2.0 * log).exp() / 2.0 + 0.5);
        let step = STEP.min(0.4 / df.sqrt()).min(0.8 / sharpness.max(1.0));
        let walk = |direction: f64| {
            let place = move |i: u32| direction * step * f64::from(i);
            (0..).map(place).skip(1).take_while(move |&log| log_density(log) > -FAINT)
        };
        let logs = std::iter::once(0.0).chain(walk(1.0)).chain(walk(-1.0));
        let mut points: Vec<(f64, f64)> = logs.map(|log| (log.exp(), log_density(log).exp())).collect();
        let total: f64 = points.iter().map(|&(_, weight)| weight).sum();
        points.iter_mut().for_each(|(_, weight)| *weight /= total);
        Self { points }
    }

    /// The mean of a function of the ratio.
    pub(super) fn average(&self, of: impl Fn(f64) -> f64) -> f64 {
        self.points.iter().map(|&(ratio, weight)| weight * of(ratio)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// E u² = 1 for every df; E u = √(2/df)·Γ((df+1)/2)/Γ(df/2), for df 1 √(2/π), for df 2 √π/2.
    #[test]
    fn the_moments_are_those_of_the_distribution() {
        for df in [1.0, 2.0, 3.0, 7.0, 23.0, 161.0, 5000.0, f64::INFINITY] {
            let spread = Spread::new(df, 1.0);
            let error = spread.average(|u| u * u) - 1.0;
            assert!(error.abs() < 1e-13, "df {df}: {error:e}");
        }
        for (df, mean) in
            [(1.0, (2.0 / std::f64::consts::PI).sqrt()), (2.0, std::f64::consts::PI.sqrt() / 2.0)]
        {
            assert!((Spread::new(df, 1.0).average(|u| u) - mean).abs() < 1e-13, "df {df}");
            assert!((Spread::new(df, 200.0).average(|u| u) - mean).abs() < 1e-13, "df {df}, fine");
        }
    }
}

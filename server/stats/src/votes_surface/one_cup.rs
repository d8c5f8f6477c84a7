//! Votes on one cup: to which side it is off, and how wide "just right" is.
//!
//! The 2-AC model (Christensen, Lee & Brockhoff, Food Quality and Preference 24, 2012): the perceived difference from what a taster
//! wants is normal with mean d′ and variance 2, and a vote is "right" within ± τ of none.

use super::{Law, Votes, fit};
use crate::dist::{chi_squared_quantile, chi_squared_upper};
use crate::interval::CONFIDENCE;
use crate::root::{root, root_above};
use crate::{Cannot, Interval};
use std::f64::consts::SQRT_2;

/// What the votes on one cup come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneCup {
    /// How far the cup lies above what its tasters want, in standard deviations of one perception (d′).
    pub off: Off,
    /// Half the width of "just right" in the same unit (τ); nothing where all find the cup off to one side.
    pub half_width: Option<f64>,
    /// The standard errors of both; nothing where all are of one mind or nobody finds the cup right.
    pub standard_errors: Option<(f64, f64)>,
    /// The signed root of the likelihood ratio against as many thin as strong.
    pub likelihood_root: f64,
    /// The two-sided p of it, by chi-squared.
    pub p: f64,
}

/// How far a cup is off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Off {
    /// So far, in standard deviations of one perception; below 0 it is too thin.
    By(f64),
    /// Nobody finds it too strong: too thin without measure.
    AllThin,
    /// Nobody finds it too thin: too strong without measure.
    AllStrong,
}

/// The votes on one cup by the 2-AC model.
///
/// # Errors
/// Without a vote for too thin or too strong.
pub fn one_cup(thin: usize, right: usize, strong: usize) -> Result<OneCup, Cannot> {
    if thin + strong == 0 {
        return Err(Cannot::NothingMixed);
    }
    let likelihood_root = 2.0 * (own(thin, right, strong) - equal(thin, right, strong));
    let likelihood_root = likelihood_root.max(0.0).sqrt().copysign(strong as f64 - thin as f64);
    let p = chi_squared_upper(likelihood_root.powi(2), 1.0)?;
    let votes = Votes { at: vec![], counts: vec![thin, right, strong] };
    let (off, half_width, standard_errors) = if strong == 0 {
        (Off::AllThin, None, None)
    } else if thin == 0 {
        (Off::AllStrong, None, None)
    } else {
        let found = fit(&[votes], Law::Normal)?;
        let [first, second] = found.thresholds[..] else { return Err(Cannot::OutOfRange) };
        let [[a, c], [_, b]] = [0, 1].map(|i| [found.covariance[i][0], found.covariance[i][1]]);
        // Means and halved differences of two, times √2.
        let errors = (((a + b + 2.0 * c) / 2.0).sqrt(), ((a + b - 2.0 * c) / 2.0).sqrt());
        let half_width = (second - first) / SQRT_2;
        (Off::By(-(first + second) / SQRT_2), Some(half_width), (right > 0).then_some(errors))
    };
    Ok(OneCup { off, half_width, standard_errors, likelihood_root, p })
}

/// The interval of d′ by the profile of the likelihood, with the usual confidence.
///
/// # Errors
/// As [`one_cup`], and where nobody finds the cup too thin, or too strong, or right.
pub fn profile(thin: usize, right: usize, strong: usize) -> Result<Interval, Cannot> {
    let Off::By(middle) = one_cup(thin, right, strong)?.off else { return Err(Cannot::OneSidedVotes) };
    if right == 0 {
        return Err(Cannot::NoJustRight);
    }
    let most = own(thin, right, strong);
    let allowed = chi_squared_quantile(CONFIDENCE, 1.0)?;
    let lost = |off: f64| 2.0 * (most - given(off, [thin, right, strong])) - allowed;
    let high = root_above(middle, 1.0, 8, lost);
    let low = middle - root_above(0.0, 1.0, 8, |down| lost(middle - down));
    Ok(Interval::usual(low, high))
}

/// The greatest logarithm of the likelihood of votes.
fn own(thin: usize, right: usize, strong: usize) -> f64 {
    let all = (thin + right + strong) as f64;
    let part = |count: usize| if count == 0 { 0.0 } else { count as f64 * (count as f64 / all).ln() };
    part(thin) + part(right) + part(strong)
}

/// The same if thin and strong are as likely.
fn equal(thin: usize, right: usize, strong: usize) -> f64 {
    let sides = thin + strong;
    own(sides, right, 0) - sides as f64 * 2.0_f64.ln()
}

/// The same if d′ is given: at the half width where it changes no more with that.
fn given(off: f64, votes: [usize; 3]) -> f64 {
    let law = Law::Normal;
    let cuts = |half: f64| ((-half - off) / SQRT_2, (half - off) / SQRT_2);
    let shares = |half: f64| {
        let (low, high) = cuts(half);
        [law.between(f64::NEG_INFINITY, low), law.between(low, high), law.between(high, f64::INFINITY)]
    };
    let falls = |half: f64| {
        let (low, high) = cuts(half);
        let (at_low, at_high) = (law.density(low).0, law.density(high).0);
        let gains = [-at_low, at_low + at_high, -at_high];
        -votes
            .iter()
            .zip(shares(half).iter().zip(gains))
            .map(|(n, (share, gain))| *n as f64 * gain / share)
            .sum::<f64>()
    };
    let half = root(1e-9, 12.0, falls);
    votes.iter().zip(shares(half)).map(|(n, share)| *n as f64 * share.ln()).sum()
}

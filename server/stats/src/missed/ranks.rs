//! Three teas or more, judged by Friedman's test and behind it by Tukey: how often two of them are told apart.
//!
//! How the two tests hang together, and how both stand to scores that fall on steps, no formula holds for a small class. So a fixed
//! set of classes is gone through, and each is judged by the rule itself. What lies behind the scores is normal; each taster has a
//! level of their own, from which every score falls on the nearest step. After a class the spread is known from its own tasters only,
//! so that each of these classes has its own true one, as the chi-squared distribution has it (by Wilson and Hilferty,
//! Proceedings of the National Academy of Sciences 17, 1931).

use super::Design;
use crate::lot::Lot;
use crate::power::POWER;
use statrs::distribution::{ContinuousCDF, Normal};
use std::f64::consts::PI;

/// As many classes are gone through as so many cups make, within [`CLASSES`].
const CUPS: usize = 32_000;
/// The fewest and the most. As the two things that count most are spread evenly, the chance of 80 % is had to within about a point.
const CLASSES: (usize, usize) = (300, 700);
/// Rounding can't make up more of the spread than this.
const ROUNDED: f64 = 0.9;
/// Where a difference of so many standard deviations is not found nothing is.
const FURTHEST: f64 = 20.0;
/// The chance found may lie so far from the one asked for.
const NEAR: f64 = 0.005;
/// It is looked for so often.
const TRIES: usize = 6;

/// What has to be passed.
#[derive(Clone, Copy)]
pub(super) struct Lines {
    /// By Friedman's statistic, corrected for ties.
    pub statistic: f64,
    /// By the difference of the two means, in standard errors as they are found.
    pub tukey: f64,
}

/// One class: by how much the spread found is off, and of each taster where the level lies between two steps and a normal number
/// for each tea.
struct Drawn {
    ratio: f64,
    tasters: Vec<(f64, Vec<f64>)>,
}

/// The true difference found in four classes of five, in standard deviations of what is left over; `None` where nothing is, however
/// large.
pub(super) fn smallest(design: &Design, lines: Lines) -> Option<f64> {
    let classes = drawn(design);
    let chance = |apart: f64| {
        let found = classes.iter().filter(|class| class.is_found(design, lines, apart)).count();
        found as f64 / classes.len() as f64
    };
    // As a normal quantile the chance is nearly straight: about one for each standard error.
    let normal = Normal::standard();
    let short = |chance: f64| normal.inverse_cdf(POWER) - normal.inverse_cdf(chance.clamp(0.01, 0.99));
    let standard_error = design.variance.sqrt();
    let mut tried: Vec<(f64, f64)> = Vec::new();
    let mut apart = 4.0 * standard_error;
    for _ in 0..TRIES {
        let had = chance(apart);
        tried.push((apart, short(had)));
        if tried.len() == 1 && had < POWER / 2.0 && chance(FURTHEST) < POWER {
            return None;
        }
        if (had - POWER).abs() <= NEAR {
            break;
        }
        // Between the nearest that is not found often enough and the nearest that is, else a step further.
        let below =
            tried.iter().copied().filter(|(_, short)| *short > 0.0).max_by(|a, b| a.0.total_cmp(&b.0));
        let above =
            tried.iter().copied().filter(|(_, short)| *short <= 0.0).min_by(|a, b| a.0.total_cmp(&b.0));
        apart = match (below, above) {
            (Some((low, lacks)), Some((high, spare))) if high > low => {
                low + (high - low) * (lacks / (lacks - spare)).clamp(0.1, 0.9)
            }
            _ => (apart + short(had) * standard_error).clamp(apart / 2.0, 2.0 * apart),
        };
    }
    tried.into_iter().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map(|(apart, _)| apart)
}

/// The same classes every time.
fn drawn(design: &Design) -> Vec<Drawn> {
    let Design { teas, tasters, df, .. } = *design;
    let mut lot = Lot::of(23);
    let mut spare = None;
    let mut normal = |lot: &mut Lot| -> f64 {
        spare.take().unwrap_or_else(|| {
            let (radius, angle) = ((-2.0 * lot.share().ln()).sqrt(), 2.0 * PI * lot.share());
            spare = Some(radius * angle.sin());
            radius * angle.cos()
        })
    };
    let classes = (CUPS / (teas * tasters).max(1)).clamp(CLASSES.0, CLASSES.1);
    // The spread, and how far the two teas' means lie apart by chance, are spread evenly over their distributions.
    let even = |number: usize| Normal::standard().inverse_cdf((number as f64 + 0.5) / classes as f64);
    let mut apart: Vec<f64> = (0..classes).map(even).collect();
    lot.shuffle(&mut apart);
    let off = 2.0 / (9.0 * df as f64);
    let root = (2.0 * tasters as f64).sqrt();
    let of = |(number, apart): (usize, f64)| {
        let ratio = match design.step {
            Some(_) => (1.0 - off + even(number) * off.sqrt()).max(0.05).powf(1.5),
            None => 1.0,
        };
        let mut taster = || (lot.share(), (0..teas).map(|_| normal(&mut lot)).collect());
        let mut all: Vec<(f64, Vec<f64>)> = (0..tasters).map(|_| taster()).collect();
        let by_chance = all.iter().map(|(_, of)| of[0] - of[1]).sum::<f64>() / root;
        let more = (apart - by_chance) / root;
        for (_, of) in &mut all {
            (of[0], of[1]) = (of[0] + more, of[1] - more);
        }
        Drawn { ratio, tasters: all }
    };
    apart.into_iter().enumerate().map(of).collect()
}

impl Drawn {
    /// Whether the first two teas, so far apart in units of the spread that was found, are told apart; the others lie halfway.
    fn is_found(&self, design: &Design, lines: Lines, apart: f64) -> bool {
        let (k, n) = (design.teas as f64, design.tasters as f64);
        let step = design.step.unwrap_or(0.0) * self.ratio;
        let sd = (1.0 - (step * step / 12.0).min(ROUNDED)).sqrt();
        let half = apart * self.ratio / 2.0;
        let score = |tea: usize, level: f64, normal: f64| {
            let lift = [half, -half].get(tea).copied().unwrap_or(0.0);
            let exact = lift + sd * normal;
            if step > 0.0 { (exact / step + level).round() } else { exact }
        };
        let mut teas = vec![(0.0f64, 0.0f64); design.teas];
        let mut scores = vec![0.0f64; design.teas];
        let (mut ties, mut squares, mut tasters) = (0.0, 0.0, 0.0);
        for (level, normals) in &self.tasters {
            scores.iter_mut().zip(normals).enumerate().for_each(|(tea, (s, z))| *s = score(tea, *level, *z));
            for (own, (ranks, sum)) in scores.iter().zip(&mut teas) {
                let below = scores.iter().filter(|other| *other < own).count() as f64;
                let alike = scores.iter().filter(|other| *other == own).count() as f64;
                *ranks += below + (alike + 1.0) / 2.0;
                *sum += own;
                squares += own * own;
                // Σ (t³ − t) over the groups, each counted by its t members.
                ties += alike * alike - 1.0;
            }
            tasters += scores.iter().sum::<f64>().powi(2) / k;
        }
        let untied = 1.0 - ties / (n * k * (k * k - 1.0));
        let expected = n * (k + 1.0) / 2.0;
        let uneven: f64 = teas.iter().map(|(ranks, _)| (ranks - expected).powi(2)).sum();
        let statistic = 12.0 * uneven / (n * k * (k + 1.0));
        if untied <= 0.0 || statistic / untied <= lines.statistic + 1e-9 {
            return false;
        }
        let sums: f64 = teas.iter().map(|(_, sum)| sum).sum();
        let of_teas = teas.iter().map(|(_, sum)| sum * sum).sum::<f64>() / n;
        let left = (squares - of_teas - tasters + sums * sums / (n * k)).max(0.0);
        let standard_error = (left / design.df as f64 * design.variance).sqrt();
        (teas[0].1 - teas[1].1).abs() / n > lines.tukey * standard_error
    }
}

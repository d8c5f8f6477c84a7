//! The steps up to the greatest likelihood of a cumulative model.

use super::{Law, Votes};
use crate::Cannot;
use crate::linear::{Root, dot};
use crate::sums;

/// Steps at most; a handful is enough where there is a greatest likelihood.
const STEPS: usize = 200;
/// The last step gains no more than this share of the logarithm of the likelihood, which may be but rounding.
const GAIN: f64 = 1e-14;
/// A last step that gains nothing and is longer than this, in standard units: the likelihood goes on rising, ever less, without end.
const SETTLED: f64 = 1e-4;

/// A step is shortened to this share of it at most.
const SHORTEST: f64 = 1e-6;

pub(super) struct Climbed {
    /// Thresholds, then slopes.
    pub(super) parameters: Vec<f64>,
    pub(super) covariance: Vec<Vec<f64>>,
    pub(super) log_likelihood: f64,
}

/// The likelihood about some parameters: its logarithm, how it changes, and how it bends.
struct About {
    log: f64,
    slope: Vec<f64>,
    bend: Vec<Vec<f64>>,
}

/// Newton's steps, each halved until it gains; the logarithm has but one top (Pratt 1981).
pub(super) fn climb(votes: &[Votes], kept: &[usize], law: Law) -> Result<Climbed, Cannot> {
    let factors = votes[0].at.len();
    let counts: Vec<Vec<f64>> =
        votes.iter().map(|way| kept.iter().map(|&kind| way.counts[kind] as f64).collect()).collect();
    let start = start(&counts, law)?;
    let mut at: Vec<f64> = start.into_iter().chain(vec![0.0; factors]).collect();
    let mut here = about(votes, &counts, law, &at);
    for _ in 0..STEPS {
        let root = Root::of(&here.bend).ok_or(Cannot::VotesPart)?;
        let step = root.back(&root.forward(&here.slope));
        let promised = dot(&step, &here.slope);
        let rounding = GAIN * (1.0 + here.log.abs());
        let mut share = 1.0;
        let (to, there) = loop {
            let to: Vec<f64> = at.iter().zip(&step).map(|(at, step)| at + share * step).collect();
            let there = about(votes, &counts, law, &to);
            if there.log >= here.log - rounding || share < SHORTEST {
                break (to, there);
            }
            share /= 2.0;
        };
        if !there.log.is_finite() {
            return Err(Cannot::VotesPart);
        }
        (at, here) = (to, there);
        if promised < rounding {
            if step.iter().any(|step| step.abs() > SETTLED) {
                return Err(Cannot::VotesPart);
            }
            let covariance = Root::of(&here.bend).ok_or(Cannot::VotesPart)?.inverse();
            return Ok(Climbed { parameters: at, covariance, log_likelihood: here.log });
        }
    }
    Err(Cannot::VotesPart)
}

/// The thresholds as if the ways were one.
fn start(counts: &[Vec<f64>], law: Law) -> Result<Vec<f64>, Cannot> {
    let kinds: Vec<f64> = (0..counts[0].len()).map(|kind| counts.iter().map(|way| way[kind]).sum()).collect();
    let all: f64 = kinds.iter().sum();
    let mut below = 0.0;
    let below = kinds[..kinds.len() - 1].iter().map(|count| {
        below += count;
        below / all
    });
    below.map(|share| law.quantile(share)).collect()
}

fn about(votes: &[Votes], counts: &[Vec<f64>], law: Law, at: &[f64]) -> About {
    let thresholds = counts[0].len() - 1;
    let size = at.len();
    let mut found = About { log: 0.0, slope: vec![0.0; size], bend: vec![vec![0.0; size]; size] };
    for (way, counts) in votes.iter().zip(counts) {
        let strength = dot(&way.at, &at[thresholds..]);
        for (kind, &count) in counts.iter().enumerate().filter(|(_, count)| **count > 0.0) {
            let low = if kind == 0 { f64::NEG_INFINITY } else { at[kind - 1] - strength };
            let high = if kind == thresholds { f64::INFINITY } else { at[kind] - strength };
            let share = law.between(low, high);
            let ((at_low, turn_low), (at_high, turn_high)) = (law.density(low), law.density(high));
            // By each parameter: how the share's two ends move, and so the share.
            let moves: Vec<(f64, f64)> = (0..size)
                .map(|i| match i.checked_sub(thresholds) {
                    Some(factor) => (-way.at[factor], -way.at[factor]),
                    None => (f64::from(u8::from(i + 1 == kind)), f64::from(u8::from(i == kind))),
                })
                .collect();
            let gains: Vec<f64> =
                moves.iter().map(|(low, high)| (at_high * high - at_low * low) / share).collect();
            found.log += count * share.ln();
            for i in 0..size {
                found.slope[i] += count * gains[i];
                for j in 0..size {
                    let turns = turn_high * moves[i].1 * moves[j].1 - turn_low * moves[i].0 * moves[j].0;
                    found.bend[i][j] += count * (gains[i] * gains[j] - turns / share);
                }
            }
        }
    }
    if sums::finite(found.slope.iter().chain([&found.log])).is_err() {
        found.log = f64::NEG_INFINITY;
    }
    found
}

//! How fast a tea's leaf gives: a start by its form, moved by what the votes on its steeps tell.
//!
//! Votes say how far a steep is from what the class wants, and beside the plan the class wants the same of every steep. So where a
//! steep was served otherwise than planned, the votes on it and on the next ones show whether strengths changed, beside the plan, as
//! the model reckons: leaf that gives faster than thought is the emptier after a longer steep and has the more left after a shorter
//! one. A handful of votes tells little of it, so the start weighs more until many have voted on several steeps. Where all went as
//! planned, votes tell nothing of it.

use super::Course;
use class::start::leaf::Form;
use stats::extraction::PER_MIN;
use stats::votes::{OFF_BY_VARIANCE, off_by};
use std::ops::RangeInclusive;

/// What was published for leaf of any form, k per minute.
const PUBLISHED: RangeInclusive<f64> = 0.2..=2.1;
/// How far k of a leaf may well lie from its start, in units of its natural logarithm: published figures for like leaf differ by
/// half to two thirds.
const START_SPREAD: f64 = 0.5;
/// Values of k are tried in steps of a tenth.
const STEP: f64 = 0.1;

/// k per minute to begin with, by the form of the leaf. Rolled: two oolongs brewed for 5 min in boiling water gave 0.22 and 0.25
/// (Hicks, Hsieh and Bell 1996, at second hand). Broken: black leaf of 1.4 to 2 mm at 80 °C, 0.99 (Jaganyi and Price 1999). For other
/// forms nothing was found; they begin as leaf of which nothing is known.
pub(crate) fn start(form: Option<Form>) -> f64 {
    match form {
        Some(Form::BallRolled) => 0.23,
        Some(Form::Broken) => 0.99,
        Some(Form::Twisted | Form::Open | Form::Compressed) | None => PER_MIN,
    }
}

/// The likeliest k per minute in the water of the first steep: at the start, unless the votes on two steeps or more say otherwise.
pub(super) fn per_min(course: &Course<'_>) -> f64 {
    let start = start(course.form);
    // From the start outwards, so that of two as likely the nearer one is taken.
    let steps = (0i32..).flat_map(|n| [n, -n]).take(50);
    let tried = steps.map(|n| (f64::from(n) * STEP, start * (f64::from(n) * STEP).exp()));
    let (_, likeliest) = tried
        .filter(|(_, per_min)| PUBLISHED.contains(per_min))
        .map(|(away, per_min)| ((away / START_SPREAD).powi(2) + misfit(course, per_min), per_min))
        .fold((f64::INFINITY, start), |best, one| if one.0 < best.0 { one } else { best });
    likeliest
}

/// How badly the votes on the steeps go with a k: squares of how far they lie from it, each over its variance. What the class wants,
/// beside the plan, is not known; it is taken as that which fits best.
fn misfit(course: &Course<'_>, per_min: f64) -> f64 {
    let (given, _) = course.given(per_min, course.as_served());
    let (planned, _) = course.given(per_min, course.planned(course.served.len()));
    let wanted: Vec<(f64, f64)> = course
        .served
        .iter()
        .zip(given.iter().zip(&planned))
        .filter(|(_, (given, planned))| **given > 0.0 && **planned > 0.0)
        .filter_map(|(steep, (given, planned))| {
            let votes = &steep.votes;
            let off = off_by(votes.thin(), votes.right(), votes.strong())?;
            Some(((given / planned).ln() - off, votes.all() as f64 / OFF_BY_VARIANCE))
        })
        .collect();
    let weight: f64 = wanted.iter().map(|(_, weight)| weight).sum();
    let mean =
        wanted.iter().map(|(wanted, weight)| wanted * weight).sum::<f64>() / weight.max(f64::MIN_POSITIVE);
    wanted.iter().map(|(wanted, weight)| weight * (wanted - mean).powi(2)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ladder::{Served, Votes};
    use protocol::Code;

    /// k after two steeps planned for a minute each, served for so long, with votes on each.
    fn after(form: Option<Form>, served_s: [u32; 2], votes: [[usize; 5]; 2]) -> f64 {
        let steep =
            |n: usize| Served { seconds: served_s[n], temp_c: 95.0, votes: Votes(votes[n]), could_vote: 12 };
        let (tea, served) = (Code::new(417).unwrap(), [steep(0), steep(1)]);
        per_min(&Course {
            tea,
            form,
            rinse_s: None,
            planned_s: &[60; 3],
            temp_c: &[95.0; 3],
            served: &served,
        })
    }

    const THIN: [usize; 5] = [0, 9, 3, 0, 0];
    const RIGHT: [usize; 5] = [0, 1, 10, 1, 0];
    const STRONG: [usize; 5] = [0, 0, 3, 9, 0];

    #[test]
    fn where_nothing_tells_of_it_k_is_that_of_the_form() {
        for (form, known) in [(None, 0.46), (Some(Form::BallRolled), 0.23), (Some(Form::Broken), 0.99)] {
            for (served_s, votes) in
                [([90, 60], [[0; 5]; 2]), ([90, 60], [THIN, [0; 5]]), ([60, 60], [STRONG, THIN])]
            {
                assert_eq!(after(form, served_s, votes), known, "{served_s:?} {votes:?}");
            }
        }
    }

    #[test]
    fn leaf_that_is_emptier_than_thought_after_a_longer_steep_gives_faster_but_never_as_no_leaf_does() {
        let [thinner, as_thought, stronger] =
            [THIN, RIGHT, STRONG].map(|second| after(None, [120, 60], [STRONG, second]));
        assert!(thinner > as_thought && as_thought > stronger, "{thinner} {as_thought} {stronger}");
        let (all_thin, all_strong) = ([0, 500, 0, 0, 0], [0, 0, 0, 500, 0]);
        let fastest = after(Some(Form::Broken), [120, 60], [all_strong, all_thin]);
        let slowest = after(Some(Form::BallRolled), [120, 60], [all_thin, all_strong]);
        assert!(PUBLISHED.contains(&fastest) && PUBLISHED.contains(&slowest), "{fastest} {slowest}");
        assert!(fastest > thinner && slowest < as_thought, "{fastest} {slowest}");
    }
}

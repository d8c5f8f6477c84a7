//! The strength vote from too thin over just right to too strong: what it costs in liking, and what the steep should do.

mod steep;
#[cfg(test)]
mod tests;

pub use steep::{Hint, SteepHint, Tally, steep_hint, tally};

use super::Cannot;
use super::sums::{finite, mean};
use super::two_means::{TTest, pooled, welch};

/// The steps of the vote, from much too thin to much too strong; see [`JUST_RIGHT`].
pub const STEPS: [i8; 5] = [-2, -1, 0, 1, 2];
/// The step in the middle.
pub(crate) const JUST_RIGHT: i8 = 0;
/// A group smaller than this share of the votes is not looked at. Common practice, made for 60 people and
/// more: in a class of eight it means two of them.
pub(crate) const LARGE_ENOUGH: f64 = 0.2;

/// The cost of a strength that is not right.
#[derive(Clone, Debug, PartialEq)]
pub struct Penalties {
    /// All votes with a score.
    pub n: usize,
    /// The mean score of all.
    pub mean: f64,
    /// How many voted for just right.
    pub just_right: usize,
    /// Their mean score.
    pub just_right_mean: f64,
    /// Those who find it too thin, much or little; absent if there are none.
    pub too_thin: Option<Penalty>,
    /// Those who find it too strong, much or little; absent if there are none.
    pub too_strong: Option<Penalty>,
    /// The mean score of just right less that of all others, in points; absent if there are no others.
    pub overall_drop: Option<f64>,
    /// The sum of the weighted penalties: the mean score of just right less that of all.
    pub weighted_sum: f64,
}

/// What one side of the vote costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Penalty {
    /// How many.
    pub n: usize,
    /// Their share of all votes with a score.
    pub share: f64,
    /// Whether the share reaches [`LARGE_ENOUGH`].
    pub large_enough: bool,
    /// Their mean score.
    pub mean: f64,
    /// The mean score of just right less theirs, in points.
    pub drop: f64,
    /// The drop times the share.
    pub weighted: f64,
    /// Student's t of the drop, with the pooled variance.
    pub pooled: Result<TTest, Cannot>,
    /// Welch's t of the drop.
    pub welch: Result<TTest, Cannot>,
}

/// Penalty analysis of one tea: each vote, one of [`STEPS`], with the liking score of the same person. Common practice; the
/// reference text is ASTM MNL63 (2009). Its t tests are held to SciPy on 500 sets (`tests/reference/answers.py`).
///
/// # Errors
/// If nobody voted, nobody voted for just right, or a score is no number.
pub fn penalties(votes: &[(i8, f64)]) -> Result<Penalties, Cannot> {
    finite(votes.iter().map(|(_, score)| score))?;
    if votes.is_empty() {
        return Err(Cannot::Answers(1));
    }
    let scores = |wanted: &dyn Fn(i8) -> bool| -> Vec<f64> {
        votes.iter().filter(|(vote, _)| wanted(*vote)).map(|(_, score)| *score).collect()
    };
    let just_right = scores(&|vote| vote == JUST_RIGHT);
    if just_right.is_empty() {
        return Err(Cannot::NoJustRight);
    }
    let overall = mean(&scores(&|_| true));
    let just_right_mean = mean(&just_right);
    let side = |wanted: &dyn Fn(i8) -> bool| {
        let group = scores(wanted);
        (!group.is_empty()).then(|| penalty(&just_right, &group, votes.len()))
    };
    let others = scores(&|vote| vote != JUST_RIGHT);
    Ok(Penalties {
        n: votes.len(),
        mean: overall,
        just_right: just_right.len(),
        just_right_mean,
        too_thin: side(&|vote| vote < JUST_RIGHT),
        too_strong: side(&|vote| vote > JUST_RIGHT),
        overall_drop: (!others.is_empty()).then(|| just_right_mean - mean(&others)),
        weighted_sum: just_right_mean - overall,
    })
}

/// Whether a group of so many of all votes is looked at: a fifth of them at least.
pub fn large_enough(group: usize, all: usize) -> bool {
    group as f64 >= LARGE_ENOUGH * all as f64
}

/// Of a group with at least one score.
fn penalty(just_right: &[f64], group: &[f64], all: usize) -> Penalty {
    let share = group.len() as f64 / all as f64;
    let group_mean = mean(group);
    let drop = mean(just_right) - group_mean;
    Penalty {
        n: group.len(),
        share,
        large_enough: large_enough(group.len(), all),
        mean: group_mean,
        drop,
        weighted: drop * share,
        pooled: pooled(just_right, group),
        welch: welch(just_right, group),
    }
}

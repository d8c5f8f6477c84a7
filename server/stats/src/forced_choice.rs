//! Can people tell two teas apart at all? Forced-choice tests, exact and computed: printed tables of these tests contain
//! misprints, so none is embedded.

use super::binomial::{at_least, exactly, uneven_split};
use super::proportion::{Proportion, at_least as at_least_share, proportion};
use super::{Cannot, Interval};
use schemars::JsonSchema;
use serde::Serialize;

/// The most answers that a search for a number of answers goes through.
pub(crate) const MOST_ANSWERS: usize = 1000;
/// How far a sum of exact terms may be off by rounding, as a share: a chance of exactly 1/32 must count as 1/32.
const ROUNDING: f64 = 1e-12;

/// A way of asking.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// Three cups, two the same: which is the odd one? (ISO 4120)
    Triangle,
    /// A known cup, then two: which is the same as the first? (ISO 10399)
    DuoTrio,
    /// Two cups: which is more so, and it is known beforehand which would be right? (ISO 5495)
    PairedOneSided,
    /// Two cups: which is more so, and either answer would be news? (ISO 5495)
    PairedTwoSided,
}

impl Test {
    /// The chance of a correct answer by guessing.
    pub fn guess(self) -> f64 {
        if self == Test::Triangle { 1.0 / 3.0 } else { 0.5 }
    }

    /// The chance of a correct answer if a share of people truly tells the teas apart and the others guess.
    fn correct(self, discriminators: f64) -> f64 {
        discriminators + (1.0 - discriminators) * self.guess()
    }
}

/// What some answers show.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Outcome {
    /// Which test.
    pub test: Test,
    /// Correct answers; in a two-sided test the answers for the first tea.
    pub correct: usize,
    /// All answers.
    pub n: usize,
    /// The chance of this many or more (two-sided: a split this uneven) if all guess.
    pub p: f64,
    /// The share of correct answers with its intervals.
    pub share: Proportion,
    /// How many truly tell the teas apart; `null` in a two-sided test, where nothing is correct.
    pub discriminators: Option<Discriminators>,
}

/// The share of people who truly tell the teas apart, if the others guess: (share − guess) / (1 − guess), not below 0.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Discriminators {
    /// The share.
    pub share: f64,
    /// From Wilson's interval of the share of correct answers.
    pub wilson: Interval,
    /// From the exact interval of the share of correct answers, which leaves out 2.5 % on either side; the test asks one side
    /// only, so that this can begin at 0 where it shows something.
    pub exact: Interval,
    /// That so many at least tell them apart: the exact bound that leaves out 5 % below, as the test does. Above 0 exactly
    /// where p is below 5 %.
    pub at_least: f64,
}

/// What `correct` answers out of `n` show. The answers must come from different people.
///
/// # Errors
/// Without answers, or if more are correct than were given.
pub fn outcome(test: Test, correct: usize, n: usize) -> Result<Outcome, Cannot> {
    let share = proportion(correct, n)?;
    let beyond_guessing = |c: f64| ((c - test.guess()) / (1.0 - test.guess())).max(0.0);
    let two_sided = test == Test::PairedTwoSided;
    let at_least_right = at_least_share(correct, n)?;
    Ok(Outcome {
        test,
        correct,
        n,
        p: if two_sided { uneven_split(correct, n) } else { at_least(correct, n, test.guess()) },
        share,
        discriminators: (!two_sided).then(|| Discriminators {
            share: beyond_guessing(share.share),
            wilson: share.wilson.map(beyond_guessing),
            exact: share.exact.map(beyond_guessing),
            at_least: beyond_guessing(at_least_right),
        }),
    })
}

/// The smallest number of correct answers out of `n` that is significant at the level `alpha`: the smallest x with
/// P(X ≥ x) ≤ alpha if all guess; two-sided, alpha / 2 for each side, x of the larger side.
///
/// # Errors
/// If even `n` correct answers are not significant, or `alpha` does not lie between 0 and 1.
pub fn smallest_correct(test: Test, n: usize, alpha: f64) -> Result<usize, Cannot> {
    share("the level", alpha)?;
    let allowed = if test == Test::PairedTwoSided { alpha / 2.0 } else { alpha } * (1.0 + ROUNDING);
    let mut tail = 0.0;
    let smallest = (0..=n).rev().take_while(|&x| {
        tail += exactly(x, n, test.guess());
        tail <= allowed
    });
    smallest.last().ok_or(Cannot::NeverSignificant(n))
}

/// What a test with n answers can find.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Power {
    /// Which test.
    pub test: Test,
    /// Answers.
    pub n: usize,
    /// The smallest significant number of correct answers.
    pub smallest_correct: usize,
    /// The chance of a significant result if all guess: the level that is really used, at most the one asked for.
    pub actual_alpha: f64,
    /// The true share of people who tell the teas apart.
    pub discriminators: f64,
    /// The chance of a significant result then.
    pub power: f64,
}

/// The chance that `n` answers are significant at the level `alpha` if the share `discriminators` of people truly tells
/// the teas apart and the others guess.
///
/// # Errors
/// If no result can be significant, or an argument does not lie between 0 and 1.
pub fn power(test: Test, n: usize, alpha: f64, discriminators: f64) -> Result<Power, Cannot> {
    share("the share of discriminators", discriminators)?;
    let smallest = smallest_correct(test, n, alpha)?;
    let significant = |chance: f64| {
        let other_side = if test == Test::PairedTwoSided { at_least(smallest, n, 1.0 - chance) } else { 0.0 };
        (at_least(smallest, n, chance) + other_side).min(1.0)
    };
    Ok(Power {
        test,
        n,
        smallest_correct: smallest,
        actual_alpha: significant(test.guess()),
        discriminators,
        power: significant(test.correct(discriminators)),
    })
}

/// The smallest number of answers with at least this power. Power goes up in a sawtooth: one answer more can have a
/// little less.
///
/// # Errors
/// If [`MOST_ANSWERS`] are not enough, or an argument does not lie between 0 and 1.
pub fn smallest_n(test: Test, alpha: f64, discriminators: f64, wanted: f64) -> Result<Power, Cannot> {
    share("the level", alpha)?;
    share("the power", wanted)?;
    share("the share of discriminators", discriminators)?;
    (1..=MOST_ANSWERS)
        .filter_map(|n| power(test, n, alpha, discriminators).ok())
        .find(|found| found.power >= wanted * (1.0 - ROUNDING))
        .ok_or(Cannot::MoreThan(MOST_ANSWERS))
}

/// That `value` lies between 0 and 1.
fn share(what: &'static str, value: f64) -> Result<(), Cannot> {
    if (0.0..=1.0).contains(&value) { Ok(()) } else { Err(Cannot::NotAShare(what)) }
}

#[cfg(test)]
mod tests;

//! What the votes say about the steep.

use crate::Cannot;
use crate::binomial::{at_least, uneven_split};
use crate::interval::SIGNIFICANCE;
use schemars::JsonSchema;
use serde::Serialize;
use std::fmt;

/// How the votes are spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tally {
    /// All votes.
    pub n: usize,
    /// How many for each of [`STEPS`](super::STEPS).
    pub counts: [usize; 5],
    /// Their shares.
    pub shares: [f64; 5],
    /// Votes for too thin, much or little.
    pub too_thin: usize,
    /// Votes for just right.
    pub just_right: usize,
    /// Votes for too strong, much or little.
    pub too_strong: usize,
}

/// The spread of the votes, each one of [`STEPS`](super::STEPS).
///
/// # Errors
/// Without votes.
pub fn tally(votes: &[i8]) -> Result<Tally, Cannot> {
    if votes.is_empty() {
        return Err(Cannot::Answers(1));
    }
    let counts = super::STEPS.map(|step| votes.iter().filter(|&&vote| vote == step).count());
    Ok(Tally {
        n: votes.len(),
        counts,
        shares: counts.map(|count| count as f64 / votes.len() as f64),
        too_thin: counts[0] + counts[1],
        just_right: counts[2],
        too_strong: counts[3] + counts[4],
    })
}

/// What the steep should do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Hint {
    /// Steep longer: more find it too thin than too strong.
    Lengthen,
    /// Steep shorter: more find it too strong than too thin.
    Shorten,
    /// Leave it: most find it just right.
    Leave,
    /// The votes don't say.
    TooFewToTell,
}

impl Hint {
    /// Leave where a majority is shown, else longer or shorter where the test of sides (signs or signed ranks) shows one; all at the level, by itself.
    pub fn by(majority_p: f64, side_p: f64, more_too_thin: bool) -> Self {
        match (majority_p <= SIGNIFICANCE, side_p <= SIGNIFICANCE, more_too_thin) {
            (true, _, _) => Hint::Leave,
            (false, false, _) => Hint::TooFewToTell,
            (false, true, true) => Hint::Lengthen,
            (false, true, false) => Hint::Shorten,
        }
    }

    /// Of something for the test of sides and for the majority test what belongs to the test that the hint goes by; without a
    /// hint the smaller.
    pub fn deciding(self, side: f64, majority: f64) -> f64 {
        match self {
            Hint::Leave => majority,
            Hint::Lengthen | Hint::Shorten => side,
            Hint::TooFewToTell => side.min(majority),
        }
    }
}

impl fmt::Display for Hint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Hint::Lengthen => "lengthen",
            Hint::Shorten => "shorten",
            Hint::Leave => "leave",
            Hint::TooFewToTell => "too few to tell",
        })
    }
}

/// A hint and what it stands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteepHint {
    /// The hint.
    pub hint: Hint,
    /// Votes for too thin.
    pub too_thin: usize,
    /// Votes for just right.
    pub just_right: usize,
    /// Votes for too strong.
    pub too_strong: usize,
    /// Votes that the sign test is about: too thin and too strong together.
    pub unhappy: usize,
    /// Exact two-sided sign test of too thin against too strong.
    pub sign_p: f64,
    /// Exact one-sided binomial test that more than half of all find it just right.
    pub majority_p: f64,
}

/// A hint for the steep, only where an exact test at 5 % carries it: leave, if more than half are shown to find it just
/// right; else longer or shorter, by the sign test of too thin against too strong.
pub fn steep_hint(tally: &Tally) -> SteepHint {
    let Tally { too_thin, just_right, too_strong, n, .. } = *tally;
    let unhappy = too_thin + too_strong;
    let sign_p = uneven_split(too_thin, unhappy);
    let majority_p = at_least(just_right, n, 0.5);
    let hint = Hint::by(majority_p, sign_p, too_thin > too_strong);
    SteepHint { hint, too_thin, just_right, too_strong, unhappy, sign_p, majority_p }
}

impl fmt::Display for SteepHint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { hint, too_thin, just_right, too_strong, unhappy, sign_p, majority_p } = self;
        let n = unhappy + just_right;
        write!(f, "{hint}: ")?;
        match hint {
            Hint::Leave => {
                write!(
                    f,
                    "{just_right} of {n} find it just right (exact binomial test, n {n}, p {majority_p:.3})"
                )
            }
            _ => write!(
                f,
                "{too_thin} find it too thin, {too_strong} too strong (exact sign test, n {unhappy}, p {sign_p:.3})"
            ),
        }
    }
}

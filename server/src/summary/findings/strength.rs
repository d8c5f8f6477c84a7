//! The strength vote: what it says about each steep, and what a wrong strength costs in liking.

use super::Known;
use crate::stats::penalty::Hint;
use crate::stats::two_means::TTest;
use protocol::Code;
use serde::Serialize;

/// The vote of the whole class.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StrengthFindings {
    /// The attribute whose name is "liking", in whatever case; `null` if there is none, and then no penalties.
    pub liking: Option<String>,
    /// Each cup: tea after tea, steep after steep.
    pub cups: Vec<StrengthCup>,
    /// Each tea over its steeps, then all teas together (`tea` is `null`): the penalties without tests, since the same
    /// people voted several times.
    pub over_steeps: Vec<PenaltyLine>,
}

/// The vote on one cup.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StrengthCup {
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// The steep's time as it was, s; `null` while the tea is blind.
    pub steep_s: Option<u32>,
    /// Votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// What to do next time; `why` without votes.
    pub hint: Known<HintFinding>,
    /// Liking of those who find it too thin or too strong beside those who find it just right.
    pub penalty: Known<PenaltyFinding>,
}

/// What to do next time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HintFinding {
    /// "lengthen", "shorten", "leave" or "too_few_to_tell".
    pub hint: Hint,
    /// Exact two-sided sign test of too thin against too strong, this cup by itself.
    pub sign_p: f64,
    /// Exact one-sided binomial test that more than half find it just right.
    pub majority_p: f64,
}

/// A penalty analysis of several cups.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PenaltyLine {
    /// The tea; `null` for all teas.
    pub tea: Option<Code>,
    /// What was found.
    pub penalty: Known<PenaltyFinding>,
}

/// Liking by strength vote.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PenaltyFinding {
    /// Votes with a liking.
    pub n: usize,
    /// Those for just right.
    pub just_right: usize,
    /// Their mean liking.
    pub just_right_mean: f64,
    /// Too thin, much or little; `null` if nobody.
    pub too_thin: Option<PenaltySide>,
    /// Too strong, much or little; `null` if nobody.
    pub too_strong: Option<PenaltySide>,
}

/// One side of the vote.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PenaltySide {
    /// How many.
    pub n: usize,
    /// Their share, 0 to 1.
    pub share: f64,
    /// Whether the share is a fifth at least; smaller groups are not looked at (common practice, no source).
    pub large_enough: bool,
    /// Their mean liking.
    pub mean: f64,
    /// Just right's mean less theirs, points.
    pub drop: f64,
    /// Welch's t of the drop; `null` where votes of one person come several times.
    pub test: Option<Known<TTest>>,
}

//! Whether the teas differ, and which.

use super::Known;
use crate::stats::Interval;
use crate::stats::anova::{Effect, Leftover};
use crate::stats::friedman::ImanDavenport;
use protocol::Code;
use serde::Serialize;

/// Where more than this share of the scores due from those who took part is missing, tasters with gaps are not left out:
/// Skillings–Mack and the additive model take the place of Friedman and the analysis of variance.
pub const MANY_MISSING: f64 = 0.1;

/// One attribute compared between teas: over the steeps (one value for each taster and tea, the taster's mean over the
/// steeps) or at one steep.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// The attribute; "total" for weighted totals.
    pub attribute: String,
    /// The steep, `null` over the steeps.
    pub steep: Option<u32>,
    /// The teas compared, in the order of the summary. Numbers for each tea stand in this order.
    pub teas: Vec<Code>,
    /// Tasters with a value for at least one of them.
    pub tasters: usize,
    /// Values: at most tasters × teas.
    pub values: usize,
    /// Tasters with a value for every tea.
    pub complete: usize,
    /// Those with gaps, and for which teas.
    pub left_out: Vec<LeftOut>,
    /// The share of tasters × teas that is missing, 0 to 1.
    pub missing_share: f64,
    /// Whether that is more than [`MANY_MISSING`].
    pub many_missing: bool,
    /// The one test that the sentences and Holm's adjustment go by.
    pub test: Known<MainTest>,
    /// Friedman's test over the complete tasters.
    pub friedman: Known<FriedmanFinding>,
    /// Every two teas by their rank sums, after Friedman.
    pub rank_sums: Known<RankSums>,
    /// Two-way analysis of variance, tea × taster, over the complete tasters.
    pub anova: Known<Anova>,
    /// Every two teas by their means, after the analysis of variance.
    pub tukey: Known<Tukey>,
    /// Where many are missing, Skillings–Mack over all; else `null`.
    pub skillings_mack: Option<Known<SkillingsMack>>,
    /// Where many are missing, the additive model tea + taster over all; else `null`.
    pub additive: Option<Known<Additive>>,
    /// Where the same leaf, steeped the same way, stands under several codes (and is revealed): the analysis of variance
    /// with interaction; else `null`.
    pub repeated: Option<Known<Repeated>>,
}

/// A taster with gaps.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LeftOut {
    /// The seat's name.
    pub seat: String,
    /// The teas without a value.
    pub missing: Vec<Code>,
}

/// The test that counts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MainTest {
    /// Its name: "Friedman, F form", "Friedman, exact", "Wilcoxon, exact" (two teas) or "Skillings–Mack".
    pub name: String,
    /// Tasters in it.
    pub n: usize,
    /// Its p by itself.
    pub p: f64,
    /// Its p by Holm: over the attributes for tests over the steeps, over attributes and steeps for tests at one steep.
    pub p_holm: f64,
    /// How many tests Holm went over.
    pub family: usize,
}

/// Friedman's test, corrected for ties.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FriedmanFinding {
    /// Complete tasters.
    pub tasters: usize,
    /// Rank sums in the order of the teas; each taster ranks the lowest score 1.
    pub rank_sums: Vec<f64>,
    /// Whether some taster scored two teas alike.
    pub tied: bool,
    /// The statistic, corrected for ties.
    pub chi_squared: f64,
    /// Degrees of freedom, teas − 1.
    pub df: usize,
    /// p by chi-squared; rough in small classes.
    pub p: f64,
    /// The F form after Iman and Davenport; `null` when all tasters rank all teas in one and the same way.
    pub iman_davenport: Option<ImanDavenport>,
    /// The exact p where all rank alike and F has no bound; else `null`.
    pub p_all_alike: Option<f64>,
    /// Kendall's W, 0 to 1.
    pub kendall_w: f64,
}

/// Every two teas by their rank sums.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RankSums {
    /// The least significant difference of two rank sums for each pair by itself (ISO 8587): no guard against looking at
    /// many pairs, and of meaning only after a significant test over all teas.
    pub least_significant_difference: f64,
    /// The difference that holds the level over all pairs together (Nemenyi).
    pub family_difference: f64,
    /// The pairs.
    pub pairs: Vec<RankSumPair>,
}

/// Two teas by their rank sums.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RankSumPair {
    /// One tea.
    pub first: Code,
    /// The other.
    pub second: Code,
    /// First rank sum less second.
    pub difference: f64,
    /// p of this pair by itself.
    pub p_alone: f64,
    /// p with all pairs looked at.
    pub p_family: f64,
}

/// A two-way analysis of variance without repeats.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Anova {
    /// Means in the order of the teas.
    pub means: Vec<f64>,
    /// Between teas.
    pub teas: Effect,
    /// Between tasters.
    pub tasters: Effect,
    /// What is left over.
    pub residual: Leftover,
}

/// Every two teas by their means, Tukey's honestly significant differences.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tukey {
    /// Degrees of freedom of the spread.
    pub df: usize,
    /// The chance that all intervals together hold.
    pub confidence: f64,
    /// The pairs.
    pub pairs: Vec<MeanPair>,
    /// Letters in the order of the teas: teas that share one do not differ, the first letters go to the highest means.
    pub letters: Vec<String>,
}

/// Two teas by their means.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeanPair {
    /// One tea.
    pub first: Code,
    /// The other.
    pub second: Code,
    /// First mean less second, points.
    pub difference: f64,
    /// Its interval, simultaneous for all pairs.
    pub interval: Interval,
    /// p with all pairs looked at.
    pub p: f64,
    /// Whether the interval leaves out 0.
    pub differs: bool,
}

/// The Skillings–Mack test.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SkillingsMack {
    /// Tasters with two teas at least.
    pub tasters: usize,
    /// The statistic.
    pub chi_squared: f64,
    /// Degrees of freedom, teas − 1.
    pub df: usize,
    /// p by chi-squared; rough in small classes.
    pub p: f64,
}

/// The additive model tea + taster.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Additive {
    /// Each tea, in their order.
    pub teas: Vec<AdjustedTea>,
    /// Between teas, tasters taken out.
    pub tea_given_taster: Effect,
    /// What is left over.
    pub residual: Leftover,
    /// Every two teas by their adjusted means (Tukey–Kramer).
    pub tukey: Tukey,
}

/// One tea in the additive model.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AdjustedTea {
    /// How many values it has.
    pub n: usize,
    /// Their plain mean.
    pub plain_mean: f64,
    /// The mean expected if every taster had scored it.
    pub adjusted_mean: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// The analysis of variance where the same leaf, steeped the same way, was served under several codes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeated {
    /// The groups of codes that are one and the same.
    pub groups: Vec<Vec<Code>>,
    /// Complete tasters.
    pub tasters: usize,
    /// Means of the groups.
    pub means: Vec<f64>,
    /// Between the groups, against the error: these tasters.
    pub teas: Effect,
    /// Between the groups, against the interaction: tasters like these; `null` when all see them exactly alike.
    pub teas_for_other_tasters: Option<Effect>,
    /// Between tasters.
    pub tasters_effect: Effect,
    /// Tasters who see the teas differently.
    pub interaction: Effect,
    /// How far one taster's scores of the same tea lie apart.
    pub error: Leftover,
}

//! The tests and tables behind a comparison, as they are reported: figures of the statistics with the teas' codes.

use crate::data::{Attribute, Data};
use crate::find::ways::repeats;
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::additive::{AdjustedTea, additive};
use stats::anova::{Effect, Leftover};
use stats::friedman::{Friedman, ImanDavenport};
use stats::interval::{CONFIDENCE, SIGNIFICANCE};
use stats::letters::letters;
use stats::rank_sums::compare;
use stats::ranks::midranks;
use stats::replicated::replicated;
use stats::tukey::Tukey as Pairs;
use stats::two_way::TwoWay;
use stats::{Cannot, Interval};

/// Friedman's test, corrected for ties.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
    /// The exact p, ties kept; `null` where counting it would take too long.
    pub p_exact: Option<f64>,
    /// Kendall's W, 0 to 1.
    pub kendall_w: f64,
}

/// Every two teas by their rank sums.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
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
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Tukey {
    /// Degrees of freedom of the spread.
    pub df: usize,
    /// The chance that all intervals together hold.
    pub confidence: f64,
    /// The pairs.
    pub pairs: Vec<MeanPair>,
    /// Letters in the order of the teas: teas that share one are not shown to differ, the first letters go to the highest
    /// means. All share one where the test over all teas shows nothing.
    pub letters: Vec<String>,
}

/// Two teas by their means.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
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
    /// Whether the two are told apart: the test over all, adjusted, shows that they differ at all, and the interval leaves
    /// out 0. Two ways of one leaf are told apart where that leaf's own tests do it; of only two, the test decides.
    pub differs: bool,
}

/// The Skillings–Mack test.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Additive {
    /// Each tea, in their order.
    pub teas: Vec<AdjustedTea>,
    /// Between teas, tasters taken out.
    pub tea_given_taster: Effect,
    /// What is left over.
    pub residual: Leftover,
    /// The variance of the difference of two teas in units of what is left over, averaged over the pairs.
    #[serde(skip)]
    pub(super) mean_variance: f64,
    /// Every two teas by their adjusted means (Tukey–Kramer).
    pub tukey: Tukey,
}

/// The analysis of variance where the same leaf, steeped the same way, was served under several codes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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

impl FriedmanFinding {
    pub(super) fn of(found: Friedman, full: &[Vec<f64>]) -> Self {
        Self {
            tasters: found.tasters,
            tied: found.tied,
            chi_squared: found.chi_squared,
            df: found.df,
            p: found.p,
            iman_davenport: found.f,
            p_exact: found.exact_p,
            p_all_alike: found.f.is_none().then(|| all_alike(full)),
            kendall_w: found.kendall_w,
            rank_sums: found.rank_sums,
        }
    }
}

impl RankSums {
    pub(super) fn of(found: &Friedman, teas: &[Code]) -> Result<Self, Cannot> {
        let found = compare(found, SIGNIFICANCE)?;
        let pairs = found.pairs.iter().map(|pair| RankSumPair {
            first: teas[pair.first],
            second: teas[pair.second],
            difference: pair.difference,
            p_alone: pair.p_alone,
            p_family: pair.p_family,
        });
        Ok(Self {
            least_significant_difference: found.least_significant_difference,
            family_difference: found.family_difference,
            pairs: pairs.collect(),
        })
    }
}

impl Anova {
    pub(super) fn of(found: TwoWay) -> Self {
        Self { means: found.tea_means, teas: found.teas, tasters: found.tasters, residual: found.residual }
    }
}

impl Tukey {
    pub(super) fn of(found: &Pairs, means: &[f64], teas: &[Code]) -> Result<Self, Cannot> {
        let differs = |first: usize, second: usize| {
            found.pairs.iter().any(|p| p.differs && (p.first, p.second) == (first, second))
        };
        let letters = letters(means, differs);
        let pairs = found.pairs.iter().map(|pair| MeanPair {
            first: teas[pair.first],
            second: teas[pair.second],
            difference: pair.difference,
            interval: pair.interval,
            p: pair.p,
            differs: pair.differs,
        });
        Ok(Self { df: found.df, confidence: found.confidence, pairs: pairs.collect(), letters })
    }

    /// No two are told apart.
    pub(super) fn show_no_pair(&mut self) {
        self.pairs.iter_mut().for_each(|pair| pair.differs = false);
        self.letters.iter_mut().for_each(|letters| *letters = "a".into());
    }

    /// Some pairs are told apart, or not, by others' word; `None` leaves a pair as it is.
    pub(super) fn retell(&mut self, told: &impl Fn(Code, Code) -> Option<bool>) {
        for pair in &mut self.pairs {
            pair.differs = told(pair.first, pair.second).unwrap_or(pair.differs);
        }
        // The pairs stand in the order of their first, then of their second.
        let mut named: Vec<Code> = Vec::new();
        for code in
            self.pairs.first().map(|pair| pair.first).into_iter().chain(self.pairs.iter().map(|p| p.second))
        {
            if !named.contains(&code) {
                named.push(code);
            }
        }
        // A mean less all others': as good as the mean where only the order counts.
        let above = |code: &Code| -> f64 {
            let of = |pair: &MeanPair| match (pair.first == *code, pair.second == *code) {
                (true, _) => pair.difference,
                (_, true) => -pair.difference,
                _ => 0.0,
            };
            self.pairs.iter().map(of).sum()
        };
        let order: Vec<f64> = named.iter().map(above).collect();
        let both = |pair: &MeanPair, i: usize, j: usize| (pair.first, pair.second) == (named[i], named[j]);
        self.letters = letters(&order, |i, j| self.pairs.iter().any(|pair| both(pair, i, j) && pair.differs));
    }
}

impl SkillingsMack {
    pub(super) fn of(found: stats::skillings_mack::SkillingsMack) -> Self {
        Self { tasters: found.tasters, chi_squared: found.chi_squared, df: found.df, p: found.p }
    }
}

impl Additive {
    pub(super) fn of(rows: &[Vec<Option<f64>>], teas: &[Code]) -> Result<Self, Cannot> {
        let found = additive(rows, CONFIDENCE)?;
        let means: Vec<f64> = found.teas.iter().map(|tea| tea.adjusted_mean).collect();
        Ok(Self {
            tukey: Tukey::of(&found.pairs, &means, teas)?,
            teas: found.teas,
            tea_given_taster: found.tea_given_taster,
            residual: found.residual,
            mean_variance: found.mean_variance,
        })
    }
}

impl Repeated {
    /// `None` where nothing was served twice.
    pub(super) fn of(data: &Data<'_>, attribute: &Attribute, steep: Option<u32>) -> Option<Known<Self>> {
        let groups: Vec<Vec<usize>> = repeats(data);
        let servings = groups.iter().map(Vec::len).min()?;
        let groups: Vec<Vec<usize>> = groups.into_iter().map(|group| group[..servings].to_vec()).collect();
        if groups.len() < 2 {
            return Some(Known::not("needs two teas that were served twice at least"));
        }
        let mut columns = attribute.compared(&groups.concat(), steep).columns.into_iter();
        let columns: Vec<Vec<Vec<Option<f64>>>> =
            groups.iter().map(|group| columns.by_ref().take(group.len()).collect()).collect();
        let value = |column: &Vec<Option<f64>>, seat: usize| column.get(seat).copied().flatten();
        let cell = |group: &Vec<Vec<Option<f64>>>, seat: usize| -> Option<Vec<f64>> {
            group.iter().map(|column| value(column, seat)).collect()
        };
        let row = |seat: usize| -> Option<Vec<Vec<f64>>> { columns.iter().map(|g| cell(g, seat)).collect() };
        let rows: Vec<Vec<Vec<f64>>> = (0..data.seats.len()).filter_map(row).collect();
        let codes = |group: &Vec<usize>| group.iter().map(|&tea| data.teas[tea].code).collect();
        let found = replicated(&rows).map(|found| Self {
            groups: groups.iter().map(codes).collect(),
            tasters: rows.len(),
            means: found.tea_means,
            teas: found.teas,
            teas_for_other_tasters: found.teas_for_other_tasters,
            tasters_effect: found.tasters,
            interaction: found.interaction,
            error: found.error,
        });
        Some(found.into())
    }
}

/// The chance that all tasters rank alike if each had drawn the order of the same ranks blindly: one in the number of
/// orders, for every taster but the first.
pub(super) fn all_alike(full: &[Vec<f64>]) -> f64 {
    let Some(ranks) = full.first().map(|row| midranks(row).ranks) else { return 1.0 };
    // k! / (t₁! · t₂! · …) orders: each place's number over its number within its group of ties.
    let tied_before = |i: usize| ranks[..=i].iter().filter(|&&rank| rank == ranks[i]).count();
    let orders: f64 = (0..ranks.len()).map(|i| (i + 1) as f64 / tied_before(i) as f64).product();
    (1..full.len()).fold(1.0, |p, _| p / orders)
}

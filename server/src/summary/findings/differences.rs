//! Whether the teas differ, and which.

use super::Known;
use super::data::{Attribute, Compared, Data};
use super::ways::repeats;
use crate::stats::additive::additive;
use crate::stats::anova::{Effect, Leftover};
use crate::stats::friedman::{Friedman, ImanDavenport, friedman};
use crate::stats::incomplete::complete;
use crate::stats::interval::{CONFIDENCE, SIGNIFICANCE};
use crate::stats::letters::letters;
use crate::stats::multiple::holm;
use crate::stats::rank_sums::compare;
use crate::stats::ranks::midranks;
use crate::stats::replicated::replicated;
use crate::stats::skillings_mack::skillings_mack;
use crate::stats::tukey::{Tukey as Pairs, of_two_way};
use crate::stats::two_way::{TwoWay, two_way};
use crate::stats::wilcoxon::wilcoxon;
use crate::stats::{Cannot, Interval};
use protocol::Code;
use serde::Serialize;

/// Where more than this share of the scores due from those who took part is missing, or fewer than half of them scored
/// every tea, tasters with gaps are not left out: Skillings–Mack and the additive model take the place of Friedman and
/// the analysis of variance.
pub const MANY_MISSING: f64 = 0.1;

/// One attribute compared between teas: over the steeps (one value for each taster and tea, the taster's mean over the
/// steeps) or at one steep.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// The attribute; "total" for weighted totals.
    pub attribute: String,
    /// The steep, `null` over the steeps.
    pub steep: Option<u32>,
    /// The steeps that go in: over the steeps those that all these teas were served at.
    pub steeps: Vec<u32>,
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
    /// Whether that is more than [`MANY_MISSING`], or fewer than half are complete.
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
    /// Its name: "Friedman, F form", "Friedman, exact", "Friedman" (by chi-squared), "Wilcoxon, exact" (two teas) or
    /// "Skillings–Mack".
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
    /// The exact p, ties kept; `null` where counting it would take too long.
    pub p_exact: Option<f64>,
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
    /// Letters in the order of the teas: teas that share one are not shown to differ, the first letters go to the highest
    /// means. All share one where the test over all teas shows nothing.
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
    /// Whether the interval leaves out 0 and the test over all teas, adjusted, shows that they differ at all.
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

/// Every attribute compared, over the steeps and then at each steep with two teas at least; Holm's adjustment included.
pub fn differences(data: &Data<'_>) -> Vec<Difference> {
    let mut all = Vec::new();
    for attribute in &data.attributes {
        let steeps = (1..=data.last_steep()).filter(|s| at_steep(data, *s) > 1).map(Some);
        all.extend(std::iter::once(None).chain(steeps).map(|steep| difference(data, attribute, steep)));
    }
    adjust(&mut all, |d| d.steep.is_none());
    adjust(&mut all, |d| d.steep.is_some());
    all
}

fn at_steep(data: &Data<'_>, steep: u32) -> usize {
    data.teas.iter().filter(|t| t.steeps.contains(&steep)).count()
}

/// Holm over the tests of one family.
pub fn adjust(all: &mut [Difference], family: impl Fn(&Difference) -> bool) {
    let mut tests: Vec<&mut MainTest> = all
        .iter_mut()
        .filter(|d| family(d))
        .filter_map(|d| match &mut d.test {
            Known::Is(test) => Some(test),
            Known::Not { .. } => None,
        })
        .collect();
    let p: Vec<f64> = tests.iter().map(|t| t.p).collect();
    // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    for (test, p_holm) in tests.iter_mut().zip(adjusted) {
        (test.p_holm, test.family) = (p_holm, p.len());
    }
    let not_shown =
        |d: &&mut Difference| family(d) && d.test.get().is_none_or(|test| test.p_holm > SIGNIFICANCE);
    all.iter_mut().filter(not_shown).for_each(Difference::tell_nothing_apart);
}

impl Difference {
    /// Where it is not shown that the teas differ at all, no two of them are told apart.
    fn tell_nothing_apart(&mut self) {
        let adjusted = self.additive.as_mut().and_then(Known::get_mut).map(|additive| &mut additive.tukey);
        for tukey in [self.tukey.get_mut(), adjusted].into_iter().flatten() {
            tukey.pairs.iter_mut().for_each(|pair| pair.differs = false);
            tukey.letters.iter_mut().for_each(|letters| *letters = "a".into());
        }
    }
}

/// One attribute compared. Holm's adjustment is still to come.
pub fn difference(data: &Data<'_>, attribute: &Attribute, steep: Option<u32>) -> Difference {
    let places = attribute.scored(steep);
    let Compared { steeps, columns } = attribute.compared(&places, steep);
    let row = |seat: usize| -> Vec<Option<f64>> { columns.iter().map(|column| column[seat]).collect() };
    let tasters: Vec<usize> =
        (0..data.seats.len()).filter(|&seat| row(seat).iter().any(Option::is_some)).collect();
    let rows: Vec<Vec<Option<f64>>> = tasters.iter().map(|&seat| row(seat)).collect();
    let teas: Vec<Code> = places.iter().map(|&tea| data.teas[tea].code).collect();
    let (cells, values) = (rows.len() * teas.len(), rows.iter().flatten().flatten().count());
    let full = complete(&rows);
    let missing_share = if cells == 0 { 0.0 } else { (cells - values) as f64 / cells as f64 };
    let many_missing = missing_share > MANY_MISSING || full.kept.len() * 2 < rows.len();
    let left_out = full.left_out.iter().map(|&place| {
        let gaps = teas.iter().zip(&rows[place]).filter(|(_, value)| value.is_none());
        LeftOut { seat: data.seats[tasters[place]].into(), missing: gaps.map(|(&tea, _)| tea).collect() }
    });
    let test = friedman(&full.rows);
    let skillings_mack = many_missing.then(|| skillings_mack(&rows).map(SkillingsMack::of).into());
    let two_way = two_way(&full.rows);
    Difference {
        attribute: attribute.name.clone(),
        steep,
        steeps,
        tasters: rows.len(),
        values,
        complete: full.rows.len(),
        left_out: left_out.collect(),
        missing_share,
        many_missing,
        test: main_test(&full.rows, &rows, teas.len(), &test, skillings_mack.as_ref()),
        rank_sums: test.clone().and_then(|found| RankSums::of(&found, &teas)).into(),
        friedman: test.map(|found| FriedmanFinding::of(found, &full.rows)).into(),
        tukey: two_way
            .clone()
            .and_then(|found| Tukey::of(&of_two_way(&found, CONFIDENCE)?, &found.tea_means, &teas))
            .into(),
        anova: two_way.map(Anova::of).into(),
        skillings_mack,
        additive: many_missing.then(|| Additive::of(&rows, &teas).into()),
        repeated: Repeated::of(data, attribute, steep),
        teas,
    }
}

/// With fewer tasters than this, and no exact p, the more cautious chi-squared p counts and not the F form; a line of our
/// own.
const F_FROM: usize = 8;

/// The test that counts: two teas by signed ranks; more by Skillings–Mack where many values are missing, else by
/// Friedman's test in the form that holds in small classes.
fn main_test(
    full: &[Vec<f64>],
    rows: &[Vec<Option<f64>>],
    teas: usize,
    friedman: &Result<Friedman, Cannot>,
    gaps: Option<&Known<SkillingsMack>>,
) -> Known<MainTest> {
    let main = |name: &str, n: usize, p: f64| MainTest { name: name.into(), n, p, p_holm: p, family: 1 };
    if rows.is_empty() {
        return Known::not("nobody has scored it");
    }
    if teas == 2 && !full.is_empty() {
        let differences: Vec<f64> = full.iter().map(|row| row[0] - row[1]).collect();
        return wilcoxon(&differences).map(|w| main("Wilcoxon, exact", full.len(), w.p)).into();
    }
    if let Some(Known::Is(found)) = gaps {
        return Known::Is(main("Skillings–Mack", found.tasters, found.p));
    }
    let found = match friedman {
        Ok(found) => found,
        Err(why) => return Known::not(why),
    };
    Known::Is(match (found.exact_p, found.f) {
        (Some(p), _) => main("Friedman, exact", full.len(), p),
        (None, None) => main("Friedman, exact", full.len(), all_alike(full)),
        (None, Some(f)) if full.len() >= F_FROM => main("Friedman, F form", full.len(), f.p),
        // The F form is too bold in classes as small as these, chi-squared too timid.
        (None, Some(_)) => main("Friedman", full.len(), found.p),
    })
}

/// The chance that all tasters rank alike if each had drawn the order of the same ranks blindly: one in the number of
/// orders, for every taster but the first.
fn all_alike(full: &[Vec<f64>]) -> f64 {
    let Some(ranks) = full.first().map(|row| midranks(row).ranks) else { return 1.0 };
    // k! / (t₁! · t₂! · …) orders: each place's number over its number within its group of ties.
    let tied_before = |i: usize| ranks[..=i].iter().filter(|&&rank| rank == ranks[i]).count();
    let orders: f64 = (0..ranks.len()).map(|i| (i + 1) as f64 / tied_before(i) as f64).product();
    (1..full.len()).fold(1.0, |p, _| p / orders)
}

impl FriedmanFinding {
    fn of(found: Friedman, full: &[Vec<f64>]) -> Self {
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
    fn of(found: &Friedman, teas: &[Code]) -> Result<Self, Cannot> {
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
    fn of(found: TwoWay) -> Self {
        Self { means: found.tea_means, teas: found.teas, tasters: found.tasters, residual: found.residual }
    }
}

impl Tukey {
    fn of(found: &Pairs, means: &[f64], teas: &[Code]) -> Result<Self, Cannot> {
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
}

impl SkillingsMack {
    fn of(found: crate::stats::skillings_mack::SkillingsMack) -> Self {
        Self { tasters: found.tasters, chi_squared: found.chi_squared, df: found.df, p: found.p }
    }
}

impl Additive {
    fn of(rows: &[Vec<Option<f64>>], teas: &[Code]) -> Result<Self, Cannot> {
        let found = additive(rows, CONFIDENCE)?;
        let means: Vec<f64> = found.teas.iter().map(|tea| tea.adjusted_mean).collect();
        let tea = |tea: &crate::stats::additive::AdjustedTea| AdjustedTea {
            n: tea.n,
            plain_mean: tea.plain_mean,
            adjusted_mean: tea.adjusted_mean,
            standard_error: tea.standard_error,
        };
        Ok(Self {
            teas: found.teas.iter().map(tea).collect(),
            tea_given_taster: found.tea_given_taster,
            residual: found.residual,
            tukey: Tukey::of(&found.pairs, &means, teas)?,
        })
    }
}

impl Repeated {
    /// `None` where nothing was served twice.
    fn of(data: &Data<'_>, attribute: &Attribute, steep: Option<u32>) -> Option<Known<Self>> {
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

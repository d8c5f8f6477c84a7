//! The rule by which some teas, or ways of steeping, are said to differ: one test over all of them, and pairs behind it.

use super::parts::{Additive, Tukey, all_alike};
use super::{AdjustedTea, DecidingTest, MANY_MISSING, MainTest, means};
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::additive::additive;
use stats::additive::permuted::permuted;
use stats::anova::{Effect, Leftover};
use stats::friedman::{Friedman, friedman};
use stats::incomplete::complete;
use stats::interval::CONFIDENCE;
use stats::missed::{Design, Overall, smallest_told_apart};
use stats::tukey::of_two_way;
use stats::two_way::two_way;
use stats::wilcoxon::wilcoxon;

/// With fewer tasters than this, and no exact p, the more cautious chi-squared p counts and not Friedman's F form; a line of
/// our own.
const F_FROM: usize = 8;
/// With fewer tasters than this the F of tea + taster is judged by permutations within tasters and not by its
/// distribution, which supposes normal scores; a line of our own.
const PERMUTED_BELOW: usize = 12;
/// Draws the permutations where they are too many to count: the same for everybody, so that a summary stays the same.
const SEED: u64 = 0x7EA5_7EA5;

/// Ways of steeping compared: each taster's mean of all codes that one way was served under counts once.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OverWays {
    /// The codes of each way; in pairs a way goes by its first.
    pub ways: Vec<Vec<Code>>,
    /// Tasters with a value for at least one way.
    pub tasters: usize,
    /// Tasters with a value for every way.
    pub complete: usize,
    /// The share of tasters × ways that is missing, 0 to 1.
    pub missing_share: f64,
    /// Means in the order of the ways: of the complete tasters, or adjusted ones where the additive model decides.
    pub means: Vec<f64>,
    /// Between the ways, tasters taken out, against how differently tasters see them (way × taster).
    pub by_points: Known<Effect>,
    /// That spread; `null` without the test.
    pub residual: Option<Leftover>,
    /// What the additive model, where it decides, has of each way.
    #[serde(skip)]
    pub(super) adjusted: Vec<AdjustedTea>,
    /// The variance of the difference of two ways in its units.
    #[serde(skip)]
    pub(super) mean_variance: Option<f64>,
    /// Every two ways; letters in the order of the ways.
    pub tukey: Known<Tukey>,
}

/// Whether so much is missing that the additive model decides.
pub(super) fn many_missing(missing_share: f64, complete: usize, tasters: usize) -> bool {
    missing_share > MANY_MISSING || complete * 2 < tasters
}

/// The test that counts: two columns by signed ranks; more by the F of the additive model where many values are missing or
/// a way stands under several codes, else by Friedman's test in the form that holds in small classes.
pub(super) fn main_test(
    full: &[Vec<f64>],
    rows: &[Vec<Option<f64>>],
    columns: usize,
    friedman: &Result<Friedman, Cannot>,
    by_model: bool,
) -> Known<MainTest> {
    let main = |name: DecidingTest, n: usize, p: f64| MainTest { name, n, p, p_holm: p, family: 1 };
    if rows.is_empty() {
        return Known::not("nobody has scored it");
    }
    if columns == 2 && !full.is_empty() {
        let differences: Vec<f64> = full.iter().map(|row| row[0] - row[1]).collect();
        return wilcoxon(&differences).map(|w| main(DecidingTest::WilcoxonExact, full.len(), w.p)).into();
    }
    if let Some(found) = by_model.then(|| of_model(rows)).and_then(Result::ok) {
        return Known::Is(found);
    }
    let found = match friedman {
        Ok(found) => found,
        Err(why) => return Known::not(why),
    };
    Known::Is(match (found.exact_p, found.f) {
        (Some(p), _) => main(DecidingTest::FriedmanExact, full.len(), p),
        (None, None) => main(DecidingTest::FriedmanExact, full.len(), all_alike(full)),
        (None, Some(f)) if full.len() >= F_FROM => main(DecidingTest::FriedmanF, full.len(), f.p),
        // The F form is too bold in classes as small as these, chi-squared too timid.
        (None, Some(_)) => main(DecidingTest::Friedman, full.len(), found.p),
    })
}

/// The F of the additive model: by its distribution, or by permutations in a small class and where it has no bound.
fn of_model(rows: &[Vec<Option<f64>>]) -> Result<MainTest, Cannot> {
    let comparing = rows.iter().filter(|row| row.iter().flatten().count() > 1).count();
    let main = |name: DecidingTest, p: f64| MainTest { name, n: comparing, p, p_holm: p, family: 1 };
    if comparing >= PERMUTED_BELOW {
        match additive(rows, CONFIDENCE) {
            Ok(found) => return Ok(main(DecidingTest::AdditiveF, found.tea_given_taster.p)),
            Err(Cannot::NothingLeft) => {}
            Err(why) => return Err(why),
        }
    }
    permuted(rows, SEED).map(|found| main(DecidingTest::AdditivePermuted, found.p))
}

/// Ways compared: `rows` has a value for each way (in the order of `ways`) or none. `repeated` says that a way stands under
/// several codes.
pub(crate) fn over_ways(
    rows: &[Vec<Option<f64>>],
    ways: Vec<Vec<Code>>,
    repeated: bool,
) -> (Known<MainTest>, OverWays) {
    let rows: Vec<Vec<Option<f64>>> =
        rows.iter().filter(|row| row.iter().any(Option::is_some)).cloned().collect();
    let full = complete(&rows).rows;
    let (cells, values) = (rows.len() * ways.len(), rows.iter().flatten().flatten().count());
    let missing_share = if cells == 0 { 0.0 } else { (cells - values) as f64 / cells as f64 };
    let by_model = repeated || many_missing(missing_share, full.len(), rows.len());
    let named: Vec<Code> = ways.iter().filter_map(|codes| codes.first().copied()).collect();
    let test = if named.len() < 2 {
        Known::not("all of them are one leaf steeped in one way")
    } else {
        main_test(&full, &rows, named.len(), &friedman(&full), by_model)
    };
    let over = OverWays {
        tasters: rows.len(),
        complete: full.len(),
        missing_share,
        means: means(&full),
        by_points: Known::not("there is nothing to compare"),
        residual: None,
        adjusted: Vec::new(),
        mean_variance: None,
        tukey: Known::not("there is nothing to compare"),
        ways,
    };
    let over = if by_model { of_adjusted(over, &rows, &named) } else { of_full(over, &full, &named) };
    (test, over)
}

fn of_adjusted(over: OverWays, rows: &[Vec<Option<f64>>], named: &[Code]) -> OverWays {
    match Additive::of(rows, named) {
        Ok(model) => OverWays {
            means: model.teas.iter().map(|way| way.adjusted_mean).collect(),
            by_points: Known::Is(model.tea_given_taster),
            residual: Some(model.residual),
            mean_variance: Some(model.mean_variance),
            adjusted: model.teas,
            tukey: Known::Is(model.tukey),
            ..over
        },
        Err(why) => OverWays { by_points: Known::not(why), tukey: Known::not(why), ..over },
    }
}

fn of_full(over: OverWays, full: &[Vec<f64>], named: &[Code]) -> OverWays {
    match two_way(full) {
        Ok(found) => OverWays {
            by_points: Known::Is(found.teas),
            residual: Some(found.residual),
            mean_variance: Some(2.0 / full.len() as f64),
            tukey: of_two_way(&found, CONFIDENCE)
                .and_then(|pairs| Tukey::of(&pairs, &found.tea_means, named))
                .into(),
            ..over
        },
        Err(why) => OverWays { by_points: Known::not(why), tukey: Known::not(why), ..over },
    }
}

impl OverWays {
    /// No two of them are told apart.
    pub(crate) fn show_no_pair(&mut self) {
        self.tukey.get_mut().into_iter().for_each(Tukey::show_no_pair);
    }

    /// Of two only, the test over both is the pair's own.
    pub(crate) fn show_the_only_pair(&mut self) {
        let only = self.tukey.get_mut().filter(|tukey| tukey.pairs.len() == 1);
        only.into_iter().for_each(|tukey| tukey.retell(&|_, _| Some(true)));
    }

    /// How far apart two ways would have to lie to be told apart, the test being at this level.
    pub(crate) fn told_apart_from(&self, test: &MainTest, level: f64, steeps: usize) -> Option<f64> {
        let left = self.residual.as_ref().filter(|left| left.mean_square > 0.0)?;
        let step_points = step_points(steeps, &self.ways);
        let design = test.design(
            self.ways.len(),
            (left.mean_square, left.df, self.mean_variance?),
            level,
            step_points,
        );
        Some(smallest_told_apart(&design)? * left.mean_square.sqrt())
    }
}

/// The step from one possible value to the next of a mean over so many steeps and all codes of a way, scores being whole
/// points.
pub(super) fn step_points(steeps: usize, ways: &[Vec<Code>]) -> f64 {
    let codes = ways.iter().map(Vec::len).max().unwrap_or(1);
    1.0 / (steeps * codes).max(1) as f64
}

impl MainTest {
    /// The comparison for which it is asked what could have been missed, at a level. `variance` is that of a difference in
    /// units of what is left over, `step_points` the step from one possible value to the next.
    pub(super) fn design(
        &self,
        columns: usize,
        (mean_square, df, variance): (f64, usize, f64),
        level: f64,
        step_points: f64,
    ) -> Design {
        let overall = match self.name {
            DecidingTest::WilcoxonExact => Overall::SignedRanks,
            DecidingTest::FriedmanF | DecidingTest::FriedmanExact => Overall::Friedman,
            DecidingTest::Friedman => Overall::FriedmanChiSquared,
            DecidingTest::AdditiveF | DecidingTest::AdditivePermuted => Overall::F,
        };
        // Of means the step makes no difference.
        let step = if overall == Overall::F { 0.0 } else { step_points / mean_square.sqrt() };
        Design { overall, level, teas: columns, tasters: self.n, df, variance, step: Some(step) }
    }
}

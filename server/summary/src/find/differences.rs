//! Whether the teas differ, and which.

mod parts;

pub use stats::additive::AdjustedTea;

pub use parts::{
    Additive, Anova, FriedmanFinding, MeanPair, RankSumPair, RankSums, Repeated, SkillingsMack, Tukey,
};

use crate::data::{Attribute, Compared, Data};
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::friedman::{Friedman, friedman};
use stats::incomplete::complete;
use stats::interval::{CONFIDENCE, SIGNIFICANCE};
use stats::multiple::holm;
use stats::skillings_mack::skillings_mack;
use stats::tukey::of_two_way;
use stats::two_way::two_way;
use stats::wilcoxon::wilcoxon;
use std::fmt;

/// Where more than this share of the scores due from those who took part is missing, or fewer than half of them scored
/// every tea, tasters with gaps are not left out: Skillings–Mack and the additive model take the place of Friedman and
/// the analysis of variance.
pub(crate) const MANY_MISSING: f64 = 0.1;

/// One attribute compared between teas: over the steeps (one value for each taster and tea, the taster's mean over the
/// steeps) or at one steep.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
    /// Whether that is more than a tenth, or fewer than half are complete.
    pub many_missing: bool,
    /// The complete tasters' means in the order of the teas; empty without any.
    pub means: Vec<f64>,
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
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeftOut {
    /// The seat's name.
    pub seat: String,
    /// The teas without a value.
    pub missing: Vec<Code>,
}

/// The test that counts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MainTest {
    /// Which: "Friedman, F form", "Friedman, exact", "Friedman" (by chi-squared), "Wilcoxon, exact" (two teas) or
    /// "Skillings–Mack".
    pub name: RankTest,
    /// Tasters in it.
    pub n: usize,
    /// Its p by itself.
    pub p: f64,
    /// Its p by Holm: over the attributes for tests over the steeps, over attributes and steeps for tests at one steep.
    pub p_holm: f64,
    /// How many tests Holm went over.
    pub family: usize,
}

/// The tests that may count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(into = "String")]
pub enum RankTest {
    /// Friedman's, by its F form.
    FriedmanF,
    /// Friedman's, counted out.
    FriedmanExact,
    /// Friedman's, by chi-squared.
    Friedman,
    /// Signed ranks of two teas, counted out.
    WilcoxonExact,
    /// The one that allows for gaps.
    SkillingsMack,
}

impl fmt::Display for RankTest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            RankTest::FriedmanF => "Friedman, F form",
            RankTest::FriedmanExact => "Friedman, exact",
            RankTest::Friedman => "Friedman",
            RankTest::WilcoxonExact => "Wilcoxon, exact",
            RankTest::SkillingsMack => "Skillings–Mack",
        })
    }
}

impl From<RankTest> for String {
    fn from(test: RankTest) -> Self {
        test.to_string()
    }
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
pub(crate) fn adjust(all: &mut [Difference], family: impl Fn(&Difference) -> bool) {
    let mut tests: Vec<&mut MainTest> =
        all.iter_mut().filter(|d| family(d)).filter_map(|d| d.test.get_mut()).collect();
    let p: Vec<f64> = tests.iter().map(|t| t.p).collect();
    // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    for (test, p_holm) in tests.iter_mut().zip(adjusted) {
        (test.p_holm, test.family) = (p_holm, p.len());
    }
    let not_shown =
        |d: &&mut Difference| family(d) && d.test.get().is_none_or(|test| test.p_holm > SIGNIFICANCE);
    all.iter_mut().filter(not_shown).for_each(Difference::show_no_pair);
}

impl Difference {
    /// Every two teas: by adjusted means where many values are missing and that can be had, else by plain ones.
    pub fn pairs(&self) -> Known<&Tukey> {
        match (self.additive.as_ref().and_then(Known::get), &self.tukey) {
            (Some(additive), _) => Known::Is(&additive.tukey),
            (None, Known::Is(tukey)) => Known::Is(tukey),
            (None, Known::Not { why }) => Known::not(why),
        }
    }

    /// The letters of a tea among all that are compared.
    pub fn letters(&self, tea: Code) -> Option<String> {
        let place = self.teas.iter().position(|&other| other == tea)?;
        self.pairs().get()?.letters.get(place).cloned()
    }

    /// Where it is not shown that the teas differ at all, no two of them are told apart.
    fn show_no_pair(&mut self) {
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
        means: means(&full.rows),
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

fn means(rows: &[Vec<f64>]) -> Vec<f64> {
    let teas = rows.first().map_or(0, Vec::len);
    (0..teas).map(|tea| rows.iter().map(|row| row[tea]).sum::<f64>() / rows.len() as f64).collect()
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
    let main = |name: RankTest, n: usize, p: f64| MainTest { name, n, p, p_holm: p, family: 1 };
    if rows.is_empty() {
        return Known::not("nobody has scored it");
    }
    if teas == 2 && !full.is_empty() {
        let differences: Vec<f64> = full.iter().map(|row| row[0] - row[1]).collect();
        return wilcoxon(&differences).map(|w| main(RankTest::WilcoxonExact, full.len(), w.p)).into();
    }
    if let Some(Known::Is(found)) = gaps {
        return Known::Is(main(RankTest::SkillingsMack, found.tasters, found.p));
    }
    let found = match friedman {
        Ok(found) => found,
        Err(why) => return Known::not(why),
    };
    Known::Is(match (found.exact_p, found.f) {
        (Some(p), _) => main(RankTest::FriedmanExact, full.len(), p),
        (None, None) => main(RankTest::FriedmanExact, full.len(), parts::all_alike(full)),
        (None, Some(f)) if full.len() >= F_FROM => main(RankTest::FriedmanF, full.len(), f.p),
        // The F form is too bold in classes as small as these, chi-squared too timid.
        (None, Some(_)) => main(RankTest::Friedman, full.len(), found.p),
    })
}

//! Whether the teas differ, and which.

mod parts;
mod rule;

pub use stats::additive::AdjustedTea;

pub use parts::{
    Additive, Anova, FriedmanFinding, MeanPair, RankSumPair, RankSums, Repeated, SkillingsMack, Tukey,
};

pub use rule::OverWays;
pub(crate) use rule::over_ways;

use crate::data::{Attribute, Compared, Data, most_of};
use crate::find::totals::TOTAL;
use crate::find::ways::repeats;
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::friedman::friedman;
use stats::incomplete::complete;
use stats::interval::{CONFIDENCE, SIGNIFICANCE};
use stats::missed::{Design, smallest_told_apart};
use stats::multiple::holm;
use stats::skillings_mack::skillings_mack;
use stats::tukey::of_two_way;
use stats::two_way::two_way;
use std::fmt;

/// Where more than this share of the scores due from those who took part is missing, or fewer than half of them scored
/// every tea, tasters with gaps are not left out: the additive model takes the place of Friedman and the analysis of
/// variance.
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
    /// Where one way stands under several of these codes: the ways, which the test, the sentences and the letters then go by,
    /// figures of single codes being evidence only; else `null`.
    pub by_ways: Option<OverWays>,
    /// Where no difference is shown over the steeps: how far apart two teas, the others halfway between them, would truly
    /// have to lie to be told apart in four classes of five, points; else, or where nothing would be, `null`.
    pub told_apart_from_points: Option<f64>,
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
    /// Which: "Friedman, F form", "Friedman, exact", "Friedman" (by chi-squared), "Wilcoxon, exact" (two teas or ways), or,
    /// where many values are missing or a way stands under several codes, "F, tea + taster" and, in a small class, the same
    /// judged by permutations within tasters, "F, tea + taster, permuted".
    pub name: DecidingTest,
    /// Tasters in it.
    pub n: usize,
    /// Its p by itself.
    pub p: f64,
    /// Its p by Holm: over the attributes for tests over the steeps, over attributes and steeps for tests at one steep.
    pub p_holm: f64,
    /// How many tests Holm went over.
    pub family: usize,
}

/// The tests that may decide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(into = "String")]
pub enum DecidingTest {
    /// Friedman's, by its F form.
    FriedmanF,
    /// Friedman's, counted out.
    FriedmanExact,
    /// Friedman's, by chi-squared.
    Friedman,
    /// Signed ranks of two teas, counted out.
    WilcoxonExact,
    /// The additive model's F.
    AdditiveF,
    /// The same judged by permutations within tasters.
    AdditivePermuted,
}

impl DecidingTest {
    /// Whether it is of the additive model, which leaves nobody out.
    pub fn is_of_model(self) -> bool {
        matches!(self, DecidingTest::AdditiveF | DecidingTest::AdditivePermuted)
    }
}

impl fmt::Display for DecidingTest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            DecidingTest::FriedmanF => "Friedman, F form",
            DecidingTest::FriedmanExact => "Friedman, exact",
            DecidingTest::Friedman => "Friedman",
            DecidingTest::WilcoxonExact => "Wilcoxon, exact",
            DecidingTest::AdditiveF => "F, tea + taster",
            DecidingTest::AdditivePermuted => "F, tea + taster, permuted",
        })
    }
}

impl From<DecidingTest> for String {
    fn from(test: DecidingTest) -> Self {
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
    let shown = all.iter().filter(|d| family(d) && d.shown()).count();
    all.iter_mut().filter(|d| family(d) && d.shown()).for_each(Difference::show_the_only_pair);
    // Those that are shown leave their part of the level to the others.
    let level = SIGNIFICANCE / p.len().saturating_sub(shown).max(1) as f64;
    let mut known = Vec::new();
    for d in all.iter_mut().filter(|d| family(d) && !d.shown()) {
        d.show_no_pair();
        if d.steep.is_none() {
            d.told_apart_from_points = d.told_apart_from(level, &mut known);
        }
    }
}

/// Smallest differences, as they take some reckoning and most attributes have the same design.
type Reached = Vec<(Design, Option<f64>)>;

/// In standard deviations of what is left over.
fn reached(design: Design, known: &mut Reached) -> Option<f64> {
    if let Some((_, reached)) = known.iter().find(|(other, _)| *other == design) {
        return *reached;
    }
    let reached = smallest_told_apart(&design);
    known.push((design, reached));
    reached
}

impl Difference {
    /// Whether the test that counts shows that they differ, all that was tested allowed for.
    pub fn shown(&self) -> bool {
        self.test.get().is_some_and(|test| test.p_holm <= SIGNIFICANCE)
    }

    /// Every two teas: by ways where one stands under several codes (a way goes by its first code), else by adjusted means
    /// where many values are missing and that can be had, else by plain ones.
    pub fn pairs(&self) -> Known<&Tukey> {
        let tukey = match (&self.by_ways, self.additive.as_ref().and_then(Known::get)) {
            (Some(ways), _) => &ways.tukey,
            (None, Some(additive)) => return Known::Is(&additive.tukey),
            (None, None) => &self.tukey,
        };
        match tukey {
            Known::Is(tukey) => Known::Is(tukey),
            Known::Not { why } => Known::not(why),
        }
    }

    /// What [`Self::pairs`] compares, in the order of its letters: the teas, or each way's codes, and their means.
    pub fn compared(&self) -> Vec<(Vec<Code>, f64)> {
        if let Some(ways) = &self.by_ways {
            return ways.ways.iter().cloned().zip(ways.means.iter().copied()).collect();
        }
        let adjusted = self.additive.as_ref().and_then(Known::get);
        let adjusted = adjusted.map(|a| a.teas.iter().map(|tea| tea.adjusted_mean).collect::<Vec<f64>>());
        let means = adjusted.unwrap_or_else(|| self.means.clone());
        self.teas.iter().map(|&tea| vec![tea]).zip(means).collect()
    }

    /// The model's figures of a tea or a way where many scores are missing: what it would have if every taster had scored it, which
    /// its test, its pairs and its letters go by; `None` where these go by plain means.
    pub fn adjusted(&self, tea: Code) -> Option<AdjustedTea> {
        let by_model = self.test.get().is_none_or(|test| test.name.is_of_model());
        if !by_model || !self.many_missing {
            return None;
        }
        if let Some(over) = &self.by_ways {
            let place = over.ways.iter().position(|codes| codes.contains(&tea))?;
            return over.adjusted.get(place).copied();
        }
        let place = self.teas.iter().position(|&other| other == tea)?;
        self.additive.as_ref()?.get()?.teas.get(place).copied()
    }

    /// The codes of the way that a code stands for in [`Self::pairs`].
    pub fn codes(&self, tea: Code) -> Vec<Code> {
        let ways = self.by_ways.iter().flat_map(|over| &over.ways);
        ways.clone().find(|codes| codes.contains(&tea)).cloned().unwrap_or_else(|| vec![tea])
    }

    /// The letters of a tea among all that are compared.
    pub fn letters(&self, tea: Code) -> Option<String> {
        let place = match &self.by_ways {
            Some(over) => over.ways.iter().position(|codes| codes.contains(&tea))?,
            None => self.teas.iter().position(|&other| other == tea)?,
        };
        self.pairs().get()?.letters.get(place).cloned()
    }

    /// What is left over once the teas and the tasters are told apart: the mean square, on how many degrees of freedom, and
    /// the variance of a difference in its units.
    fn left_over(&self) -> Option<(f64, usize, f64)> {
        if let Some(over) = &self.by_ways {
            let left = over.residual.as_ref()?;
            return Some((left.mean_square, left.df, over.mean_variance?));
        }
        match self.additive.as_ref().and_then(Known::get) {
            Some(model) => Some((model.residual.mean_square, model.residual.df, model.mean_variance)),
            None => {
                let left = &self.anova.get()?.residual;
                Some((left.mean_square, left.df, 2.0 / self.complete as f64))
            }
        }
    }

    fn told_apart_from(&self, level: f64, known: &mut Reached) -> Option<f64> {
        let left = self.left_over().filter(|(mean_square, ..)| *mean_square > 0.0)?;
        let columns = self.by_ways.as_ref().map_or(self.teas.len(), |over| over.ways.len());
        let ways = self.by_ways.as_ref().map_or(&[][..], |over| &over.ways);
        // Totals are weighed and stretched, so that any value may come.
        let step = if self.attribute == TOTAL { 0.0 } else { rule::step_points(self.steeps.len(), ways) };
        let design = self.test.get()?.design(columns, left, level, step);
        Some(reached(design, known)? * left.0.sqrt())
    }

    /// All tables of pairs.
    fn tables(&mut self) -> impl Iterator<Item = &mut Tukey> {
        let adjusted = self.additive.as_mut().and_then(Known::get_mut).map(|additive| &mut additive.tukey);
        let ways = self.by_ways.as_mut().and_then(|over| over.tukey.get_mut());
        [self.tukey.get_mut(), adjusted, ways].into_iter().flatten()
    }

    /// Where it is not shown that the teas differ at all, no two of them are told apart.
    fn show_no_pair(&mut self) {
        self.tables().for_each(Tukey::show_no_pair);
    }

    /// Of two only, the test over all of them is the pair's own.
    fn show_the_only_pair(&mut self) {
        self.tables()
            .filter(|tukey| tukey.pairs.len() == 1)
            .for_each(|tukey| tukey.retell(&|_, _| Some(true)));
    }

    /// Some pairs are told apart, or not, by others' word; `None` leaves a pair as it is.
    pub(crate) fn retell(&mut self, told: &impl Fn(Code, Code) -> Option<bool>) {
        self.tables().for_each(|tukey| tukey.retell(told));
    }

    /// Where ways are compared, single codes are told apart as their ways are, and never from their own way.
    pub(crate) fn echo(&mut self) {
        let Some(over) = self.by_ways.clone() else { return };
        let way =
            |tea: Code| over.ways.iter().find(|codes| codes.contains(&tea)).and_then(|w| w.first().copied());
        let told = |first: Code, second: Code| {
            let (first, second) = (way(first)?, way(second)?);
            let pairs = over.tukey.get().map_or(&[][..], |tukey| &tukey.pairs);
            let both = |a: Code, b: Code| (a, b) == (first, second) || (b, a) == (first, second);
            Some(pairs.iter().find(|pair| both(pair.first, pair.second)).is_some_and(|pair| pair.differs))
        };
        let adjusted = self.additive.as_mut().and_then(Known::get_mut).map(|additive| &mut additive.tukey);
        [self.tukey.get_mut(), adjusted].into_iter().flatten().for_each(|tukey| tukey.retell(&told));
    }
}

/// The rows of a table of ways: each taster's mean over the codes of each, `groups` having as many places one after the
/// other as there are `columns`; nothing where too few of them are scored.
pub(crate) fn averaged(
    columns: &[Vec<Option<f64>>],
    groups: &[Vec<usize>],
    seats: usize,
) -> Vec<Vec<Option<f64>>> {
    let row = |seat: usize| {
        let mut columns = columns.iter();
        let of = |group: &Vec<usize>| -> Option<f64> {
            let own: Vec<Option<f64>> =
                columns.by_ref().take(group.len()).map(|c| c.get(seat).copied().flatten()).collect();
            most_of(&own)
        };
        groups.iter().map(of).collect()
    };
    (0..seats).map(row).collect()
}

/// The teas compared, those of one way together; nothing where every way has one code.
fn grouped(data: &Data<'_>, places: &[usize]) -> Option<Vec<Vec<usize>>> {
    let same = repeats(data);
    let group = |tea: usize| same.iter().position(|group| group.contains(&tea));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for &tea in places {
        let of = group(tea).and_then(|own| groups.iter_mut().find(|other| group(other[0]) == Some(own)));
        match of {
            Some(of) => of.push(tea),
            None => groups.push(vec![tea]),
        }
    }
    (groups.len() < places.len()).then_some(groups)
}

/// The codes of each way; and by seat and way a mean, or none.
type CodesAndMeans = (Vec<Vec<Code>>, Vec<Vec<Option<f64>>>);

/// The codes of each way, and each seat's mean of it, where a way stands under several of the codes of these teas; `columns` are theirs.
pub(crate) fn by_ways(
    data: &Data<'_>,
    places: &[usize],
    columns: &[Vec<Option<f64>>],
) -> Option<CodesAndMeans> {
    let groups = grouped(data, places)?;
    // As the ways need them: all codes of one after the other.
    let of = |tea: &usize| places.iter().position(|place| place == tea).map(|at| columns[at].clone());
    let ordered: Vec<Vec<Option<f64>>> = groups.iter().flatten().filter_map(of).collect();
    let codes = |group: &Vec<usize>| group.iter().map(|&tea| data.teas[tea].code).collect();
    Some((groups.iter().map(codes).collect(), averaged(&ordered, &groups, data.seats.len())))
}

/// Whether complete tasters have an order of so many teas in common, by their ranks.
pub(crate) fn in_order(full: &[Vec<f64>], teas: usize) -> Known<MainTest> {
    let rows: Vec<Vec<Option<f64>>> =
        full.iter().map(|row| row.iter().map(|value| Some(*value)).collect()).collect();
    rule::main_test(full, &rows, teas, &friedman(full), false)
}

/// One attribute compared. Holm's adjustment is still to come.
pub fn difference(data: &Data<'_>, attribute: &Attribute, steep: Option<u32>) -> Difference {
    let places = attribute.scored(steep);
    let Compared { steeps, columns } = attribute.compared(&places, steep);
    let row = |seat: usize| -> Vec<Option<f64>> { columns.iter().map(|column| column[seat]).collect() };
    let by_ways = by_ways(data, &places, &columns).map(|(codes, rows)| over_ways(&rows, codes, true));
    let tasters: Vec<usize> =
        (0..data.seats.len()).filter(|&seat| row(seat).iter().any(Option::is_some)).collect();
    let rows: Vec<Vec<Option<f64>>> = tasters.iter().map(|&seat| row(seat)).collect();
    let teas: Vec<Code> = places.iter().map(|&tea| data.teas[tea].code).collect();
    let (cells, values) = (rows.len() * teas.len(), rows.iter().flatten().flatten().count());
    let full = complete(&rows);
    let missing_share = if cells == 0 { 0.0 } else { (cells - values) as f64 / cells as f64 };
    let many_missing = rule::many_missing(missing_share, full.kept.len(), rows.len());
    let left_out = full.left_out.iter().map(|&place| {
        let gaps = teas.iter().zip(&rows[place]).filter(|(_, value)| value.is_none());
        LeftOut { seat: data.seats[tasters[place]].into(), missing: gaps.map(|(&tea, _)| tea).collect() }
    });
    let test = friedman(&full.rows);
    let skillings_mack = many_missing.then(|| skillings_mack(&rows).map(SkillingsMack::of).into());
    let two_way = two_way(&full.rows);
    let (deciding, by_ways) = match by_ways {
        Some((test, over)) => (test, Some(over)),
        None => (rule::main_test(&full.rows, &rows, teas.len(), &test, many_missing), None),
    };
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
        test: deciding,
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
        by_ways,
        told_apart_from_points: None,
        teas,
    }
}

fn means(rows: &[Vec<f64>]) -> Vec<f64> {
    let teas = rows.first().map_or(0, Vec::len);
    (0..teas).map(|tea| rows.iter().map(|row| row[tea]).sum::<f64>() / rows.len() as f64).collect()
}

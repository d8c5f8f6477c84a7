//! The ways compared over all classes at once, each taster against their own level.
//!
//! Each taster of each class is a block of its own, so that the class they sat in is taken out with them: what is
//! compared is how one person in one class scored one way above another. Two seats of one name in two classes count as
//! two tasters.

use crate::several::Looked;
use crate::several::class::Class;
use crate::several::decision::{Decision, For, decide};
use crate::several::tasters::{Compared, compared, scored};
use crate::several::test::Test;
use crate::several::ways::{Scale, Way};
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::additive::{AdjustedTea, in_classes};
use stats::dist::TReach;
use stats::incomplete::groups;
use stats::interval::{CONFIDENCE, SIGNIFICANCE};
use stats::letters::letters;
use stats::multiple::holm;
use stats::over_classes::over_classes;
use stats::skillings_mack::skillings_mack;
use stats::tukey::Tukey;
use std::collections::BTreeSet;

/// Ways that tasters have scored against one another, on one attribute.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Together {
    /// The attribute.
    pub attribute: Scale,
    /// The numbers of the ways.
    pub ways: Vec<usize>,
    /// The steeps that go in: those at which all these ways were scored, in every class that compares two of them; empty
    /// where the classes have none in common, and each goes by its own.
    pub steeps: Vec<usize>,
    /// How many classes they were scored in.
    pub classes: usize,
    /// How many tasters.
    pub tasters: usize,
    /// Each way's mean, best first; empty when there are too few scores.
    pub means: Vec<Mean>,
    /// Whether the ways differ at all, each taster's level taken out (additive model, F test against the spread within the
    /// classes); `null` when there are too few scores.
    pub by_points: Option<Test>,
    /// The p of that with all comparisons looked at (Holm).
    pub p_of_all: Option<f64>,
    /// Whether the differences move from class to class (F test of way × class); `null` when that can't be computed.
    pub moves: Option<Test>,
    /// The same as `by_points` by ranks (Skillings–Mack).
    pub by_ranks: Option<Test>,
    /// What was found, in words; empty until it is put into words.
    pub words: String,
    /// Whether the ways differ over classes like these, each class counted once (F test of the ways against way × class, on the
    /// classes' means); `null` with fewer than three classes, or when that can't be computed.
    pub over_classes: Option<Test>,
    /// What is shown, and for whom: with three classes or more it goes by `over_classes`, with fewer by `by_points`, and then
    /// only if the differences do not move from class to class; `null` when there are too few scores.
    pub decision: Option<Decision>,
}

/// One way's mean.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledMean")]
pub struct Mean {
    /// The way's number.
    pub way: usize,
    /// How many tasters scored it.
    pub n: usize,
    /// The plain mean of the tasters' means.
    pub mean: f64,
    /// What the mean would be if all had scored it: by the tasters, or by the classes' means where those decide.
    pub adjusted_mean: f64,
    /// The standard error of that.
    pub standard_error: f64,
    /// The lower end of its 95 % interval, of this way alone, by the same test.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// Ways that share a letter are not shown to differ (Tukey–Kramer, 5 % for all pairs, by the test that decides); all share
    /// one where the comparison as a whole, adjusted, shows nothing. Of the attribute that ways are judged by, two share a letter
    /// exactly if their pair is not shown.
    pub letters: String,
}

/// One comparison for each attribute and each set of ways that tasters link.
pub(crate) fn together(classes: &[Class<'_>], ways: &[Way], scales: &[Scale]) -> Looked<Together, Behind> {
    let mut all = Vec::new();
    for (at, scale) in scales.iter().enumerate() {
        let linked = groups(scored(classes, at), ways.len());
        all.extend(linked.iter().filter(|g| g.len() > 1).map(|group| compare(classes, (at, scale), group)));
    }
    let p: Vec<f64> = all.iter().filter_map(|(found, _)| Some(found.by_points?.p)).collect();
    let mut of_all = holm(&p).unwrap_or_default().into_iter();
    for (found, _) in &mut all {
        found.p_of_all = found.by_points.and_then(|_| of_all.next());
    }
    let decided = decide(all.iter().map(|(found, _)| {
        let p = |test: Option<Test>| test.map(|test| test.p);
        (p(found.by_points), p(found.over_classes))
    }));
    for ((found, _), decision) in all.iter_mut().zip(decided) {
        found.decision = decision.map(|decision| decision.if_these_agree(!found.moved()));
        if !found.shown() {
            found.means.iter_mut().for_each(|mean| mean.letters = "a".into());
        }
    }
    Looked { found: all, tested: p.len() }
}

impl Together {
    /// Whether the ways are shown to differ, all comparisons looked at.
    pub fn shown(&self) -> bool {
        self.decision.is_some_and(|decision| decision.shown)
    }

    /// Whether what is shown would hold in classes like these, and not in these alone.
    pub fn for_others(&self) -> bool {
        self.decision.is_some_and(|decision| decision.speaks_for == For::ClassesLikeThese)
    }

    /// Whether letters tell any two ways apart; one that all have in common tells nothing.
    pub fn by_letters(&self) -> bool {
        let (first, rest) =
            self.means.split_first().map_or(("", &[][..]), |(mean, rest)| (mean.letters.as_str(), rest));
        !first.chars().any(|letter| rest.iter().all(|mean| mean.letters.contains(letter)))
    }

    /// Whether the ways differed in these classes, which do not show it for another.
    pub fn only_here(&self) -> bool {
        !self.shown()
            && self.for_others()
            && !self.moved()
            && self.p_of_all.is_some_and(|p| p <= SIGNIFICANCE)
    }

    /// Whether the differences are shown to move from class to class.
    pub fn moved(&self) -> bool {
        self.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE)
    }
}

/// What stands behind a comparison: why it has no test, or all pairs of its ways.
#[derive(Debug, Default)]
pub(crate) struct Behind {
    pub(crate) why: Option<Cannot>,
    /// Against the spread of the tasters of these classes.
    pub(crate) here: Option<Tukey>,
    /// Against way × class, where that decides.
    over: Option<Tukey>,
}

impl Behind {
    /// The pairs that decide, in the order of the ways.
    pub(crate) fn deciding(&self) -> Option<&Tukey> {
        self.over.as_ref().or(self.here.as_ref())
    }
}

/// A comparison without its words, and what is behind it.
fn compare(classes: &[Class<'_>], scale: (usize, &Scale), group: &[usize]) -> (Together, Behind) {
    let Compared { steeps, tasters } = compared(classes, group, scale.0);
    let rows: Vec<Vec<Option<f64>>> = tasters.iter().map(|t| t.means.clone()).collect();
    let of_rows: Vec<usize> = tasters.iter().map(|t| t.class).collect();
    let of_classes: BTreeSet<usize> = of_rows.iter().copied().collect();
    let ranks = skillings_mack(&rows).ok();
    let by_ranks = ranks.map(|r| Test { statistic: r.chi_squared, df: r.df, df_below: None, p: r.p });
    let mut found = Together {
        attribute: scale.1.clone(),
        ways: group.iter().map(|w| w + 1).collect(),
        steeps,
        classes: of_classes.len(),
        tasters: rows.len(),
        means: Vec::new(),
        by_points: None,
        p_of_all: None,
        moves: None,
        by_ranks,
        words: String::new(),
        over_classes: None,
        decision: None,
    };
    let (model, moves) = match in_classes(&rows, &of_rows, CONFIDENCE) {
        Err(why) => return (found, Behind { why: Some(why), ..Behind::default() }),
        Ok(model) => model,
    };
    // Where the classes' means leave nothing over, the tasters of these classes decide.
    let over = over_classes(&rows, &of_rows, CONFIDENCE).and_then(Result::ok);
    let deciding = over.as_ref().unwrap_or(&model);
    let apart = |pairs: &Tukey, i: usize, j: usize| {
        pairs.pairs.iter().any(|p| (p.first, p.second) == (i.min(j), i.max(j)) && p.differs)
    };
    let values: Vec<f64> = deciding.teas.iter().map(|t| t.adjusted_mean).collect();
    let letters = letters(&values, |i, j| apart(&deciding.pairs, i, j));
    let reach = TReach::new(CONFIDENCE).and_then(|mut reach| reach.of(deciding.residual.df)).unwrap_or(0.0);
    let mean = |(((way, own), tea), letters): (((&usize, &AdjustedTea), &AdjustedTea), String)| Mean {
        way: way + 1,
        n: own.n,
        mean: own.plain_mean,
        adjusted_mean: tea.adjusted_mean,
        standard_error: tea.standard_error,
        low: tea.adjusted_mean - reach * tea.standard_error,
        high: tea.adjusted_mean + reach * tea.standard_error,
        letters,
    };
    found.means = group.iter().zip(&model.teas).zip(&deciding.teas).zip(letters).map(mean).collect();
    found.means.sort_by(|a, b| b.adjusted_mean.total_cmp(&a.adjusted_mean));
    found.by_points = Some(Test::of(model.tea_given_taster, model.residual));
    found.moves = moves.map(|effect| Test::of(effect, model.residual));
    found.over_classes = over.as_ref().map(|over| Test::of(over.tea_given_taster, over.residual));
    (found, Behind { why: None, here: Some(model.pairs), over: over.map(|over| over.pairs) })
}

//! Which ways to taste side by side: the middle way, and those around it that tell most about what is liked.
//!
//! Liking is taken for a hill over leaf and seconds of the first steep (both on the logarithm) and the water's °C, whose top is not far
//! from the middle. The ways that make all its coefficients together surest are taken (D-optimal, found by exchange); so few ways can
//! not tell all of them, so the hill counts as known beforehand as far as [`HILL`] says. Then the planner has its word: while it
//! refuses the class or warns of it, the change of one way (for another one, or for none) that leaves least to complain of is made.

use super::{Factor, Group};
use class::ways::Way;
use stats::Cannot;
use stats::design::exchange::{Aim, Search, exchange};
use stats::design::{Model, Planned};
use stats::surface::prior::Prior;
use stats::surface::shape::Shape;

/// One step of leaf or seconds, as a fold. Our own rule.
pub const STEP_FOLD: f64 = 1.5;
/// One step of water, °C. Our own rule.
pub const STEP_C: f64 = 10.0;
/// What is assumed of the liking beforehand, wherever something is. Its loss was measured on drawn classes.
pub const HILL: Hill = Hill { noise: 1.5, loss: 0.5, reach: 1.0 };
/// Starts of the search.
const STARTS: usize = 20;
/// A class of so few ways beside the middle one is made no smaller for a warning, only where the planner refuses it.
const LEAST_FOR_WARNINGS: usize = 3;

/// So many other ways are tried in the place of one: each is a plan.
const TRIED: usize = 8;

/// A hill of liking, in points of a scale from 1 to 9.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hill {
    /// The spread of one score.
    pub noise: f64,
    /// So many points are lost one step from the top.
    pub loss: f64,
    /// Two tops of three lie within so many steps of the middle, along each factor.
    pub reach: f64,
}

/// What the planner says of a class: its warnings, or why it can't be planned.
pub type Verdict = Result<Vec<String>, String>;

/// A way that was chosen and then put out for the planner's sake.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// Its place in the group, from 0.
    pub way: usize,
    /// The way that is there in its place, if one is.
    pub instead: Option<usize>,
    /// What the planner said while it was there.
    pub why: Verdict,
}

/// The ways to taste beside the middle way, by their places in the group.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// In the order of the file.
    pub ways: Vec<usize>,
    /// Those that the planner put out.
    pub left_out: Vec<LeftOut>,
}

impl Group {
    /// Where a way lies from the middle, in steps of leaf, water and first steep.
    fn coded(&self, way: &Way) -> Option<Vec<f64>> {
        let middle = self.middle.as_way(self.kind);
        let coded = |factor: Factor| {
            let values = factor.values(&[way, &middle])?;
            let (own, middle) = (*values.first()?, *values.last()?);
            let folds = || (own / middle).ln() / STEP_FOLD.ln();
            Some(if factor.in_folds() { folds() } else { (own - middle) / STEP_C })
        };
        [Factor::Leaf, Factor::Water, Factor::FirstSteep].into_iter().map(coded).collect()
    }

    /// The `most` ways that tell most beside the middle one, or all if there are no more.
    ///
    /// # Errors
    /// Where the search fails, as for no ways at all.
    pub fn telling(&self, most: usize) -> Result<Vec<usize>, Cannot> {
        if self.ways.len() <= most {
            return Ok((0..self.ways.len()).collect());
        }
        let at: Option<Vec<Vec<f64>>> = self.ways.iter().map(|beside| self.coded(&beside.way)).collect();
        let at = at.ok_or(Cannot::OutOfRange)?;
        let search = Search {
            model: &Model { shape: Shape::second_order(3), blocks: 1 },
            candidates: &at,
            made: &[Planned { at: vec![0.0; 3], block: 0 }],
            wanted: &[most],
            repeats: false,
            aim: Aim::D,
            prior: Some(&Prior::hill(HILL.noise, HILL.loss, HILL.reach)),
        };
        let mut ways: Vec<usize> = Vec::new();
        for run in exchange(&search, STARTS, 0)? {
            // Two people may have the same way.
            let way = (0..at.len()).find(|way| at[*way] == run.at && !ways.contains(way));
            ways.extend(way);
        }
        ways.sort_unstable();
        Ok(ways)
    }

    /// The same as far as the planner can serve them: `planned` says what it thinks of the middle way with some others.
    pub fn feasible(&self, mut ways: Vec<usize>, mut planned: impl FnMut(&[usize]) -> Verdict) -> Choice {
        let mut left_out: Vec<LeftOut> = Vec::new();
        let mut verdict = planned(&ways);
        while burden(&verdict) > 0 {
            let fewer = ways.len() > if verdict.is_err() { 1 } else { LEAST_FOR_WARNINGS };
            let others = (0..self.ways.len())
                .filter(|way| !ways.contains(way) && left_out.iter().all(|out| out.way != *way))
                .take(TRIED);
            let instead: Vec<Option<usize>> = others.map(Some).chain(fewer.then_some(None)).collect();
            let changes = instead.iter().flat_map(|instead| ways.iter().map(move |way| (*way, *instead)));
            let tried: Vec<(Vec<usize>, LeftOut, Verdict)> = changes
                .map(|(way, instead)| {
                    let mut with: Vec<usize> = ways.iter().copied().filter(|one| *one != way).collect();
                    with.extend(instead);
                    with.sort_unstable();
                    let verdict = planned(&with);
                    (with, LeftOut { way, instead, why: Ok(Vec::new()) }, verdict)
                })
                .collect();
            // Of changes that leave as much to complain of: another way rather than none, unless it is refused all the same.
            let Some((with, out, better)) = tried
                .into_iter()
                .min_by_key(|(_, out, verdict)| (burden(verdict), verdict.is_err() == out.instead.is_some()))
            else {
                break;
            };
            // One tea fewer is a step towards what can be planned, even if more steps are needed.
            if burden(&better) >= burden(&verdict) && !(better.is_err() && fewer) {
                break;
            }
            left_out.push(LeftOut { why: verdict, ..out });
            (ways, verdict) = (with, better);
        }
        Choice { ways, left_out }
    }
}

/// How much there is to complain of: so many warnings; a refusal is worse than any.
fn burden(verdict: &Verdict) -> usize {
    verdict.as_ref().map_or(usize::MAX, Vec::len)
}

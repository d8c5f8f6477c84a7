//! The runs that tell most, beside those already made: exchange over candidate ways.
//!
//! From a drawn start each run in turn gives place to the candidate that tells most beside all others, until none is better (Fedorov's
//! exchange, a run at a time). The best of several starts is taken: seldom less than the very best, and never sure to be it.

use super::{Model, Planned, add, trace_of_product};
use crate::Cannot;
use crate::linear::{Root, dot, sandwich, times};
use crate::lot::Lot;
use crate::surface::prior::Prior;

/// What the runs should tell.
#[derive(Clone, Debug, PartialEq)]
pub enum Aim {
    /// All coefficients together: the largest |X′X|.
    D,
    /// Each coefficient: the smallest mean variance.
    A,
    /// The surface: the smallest mean variance of the expected score by these moments ([`Model::moments`]).
    I(Vec<Vec<f64>>),
}

/// Which runs are looked for.
#[derive(Clone, Debug)]
pub struct Search<'a> {
    pub model: &'a Model,
    /// The ways that a run may have, in coded units. They must hold those that tell most, as ends and middle of each factor.
    pub candidates: &'a [Vec<f64>],
    /// The runs already made; they stay.
    pub made: &'a [Planned],
    /// How many runs each block gets beside them, as many numbers as blocks.
    pub wanted: &'a [usize],
    /// Whether a block may get a way twice.
    pub repeats: bool,
    pub aim: Aim,
    /// What is known beforehand, so that fewer runs than coefficients may do.
    pub prior: Option<&'a Prior>,
}

/// What is added to X′X so that too few runs have an inverse: next to nothing beside one run.
pub(super) const NEXT_TO_NOTHING: f64 = 1e-6;
/// A change must gain this share, or rounding would turn runs about for ever.
const BETTER: f64 = 1e-9;

/// The runs that tell most, block by block in the order of the candidates, without those already made. `starts` ≥ 1 are drawn from
/// `seed`: the same numbers give the same runs.
///
/// # Errors
/// Numbers that do not fit the model, candidates fewer than runs where none may repeat, and runs that can't tell all coefficients.
pub fn exchange(search: &Search, starts: usize, seed: u64) -> Result<Vec<Planned>, Cannot> {
    let model = search.model;
    let fits = search.wanted.len() == model.blocks
        && search.made.iter().all(|run| run.block < model.blocks && run.at.len() == model.shape.factors)
        && search.candidates.iter().all(|way| way.len() == model.shape.factors);
    let most = search.wanted.iter().copied().max().unwrap_or(0);
    let enough = !search.candidates.is_empty() && (search.repeats || most <= search.candidates.len());
    if !fits || !enough || starts == 0 {
        return Err(Cannot::OutOfRange);
    }
    let beforehand = beforehand(search)?;
    let mut lot = Lot::of(seed);
    let mut best: Option<(f64, Vec<(usize, usize)>)> = None;
    for _ in 0..starts {
        let mut chosen = drawn(search, &mut lot);
        improve(search, &beforehand, &mut chosen);
        chosen.sort_unstable();
        if let Some(worth) = worth(search, &beforehand, &chosen)
            && best.as_ref().is_none_or(|(known, _)| worth > *known + BETTER)
        {
            best = Some((worth, chosen));
        }
    }
    let (_, chosen) = best.ok_or(Cannot::Ways(model.columns()))?;
    Ok(chosen.iter().map(|place| planned(search, *place)).collect())
}

impl Search<'_> {
    /// The mean variance that some runs leave by the search's own aim, over that of one score; by D and A that of the coefficients.
    /// Nothing if they don't tell enough.
    pub fn variance(&self, runs: &[Planned]) -> Option<f64> {
        let mut information = information(self, runs).ok()?;
        (0..information.len()).for_each(|i| information[i][i] += NEXT_TO_NOTHING);
        let inverse = Root::of(&information)?.inverse();
        Some(match &self.aim {
            Aim::D | Aim::A => (0..inverse.len()).map(|i| inverse[i][i]).sum::<f64>() / inverse.len() as f64,
            Aim::I(moments) => trace_of_product(&inverse, moments),
        })
    }
}

/// X′X of the runs already made, and what the prior adds to it.
fn beforehand(search: &Search) -> Result<Vec<Vec<f64>>, Cannot> {
    information(search, search.made)
}

/// X′X of some runs, and what the prior adds to it.
fn information(search: &Search, runs: &[Planned]) -> Result<Vec<Vec<f64>>, Cannot> {
    let mut information = search.model.information(runs);
    let weights =
        search.prior.map(|prior| prior.weights(&search.model.shape)).transpose()?.unwrap_or_default();
    for (i, (weight, _)) in weights.into_iter().enumerate() {
        information[search.model.blocks + i][search.model.blocks + i] += weight;
    }
    Ok(information)
}

/// A run by its block and the number of its candidate.
fn planned(search: &Search, (block, candidate): (usize, usize)) -> Planned {
    Planned { at: search.candidates[candidate].clone(), block }
}

fn drawn(search: &Search, lot: &mut Lot) -> Vec<(usize, usize)> {
    let mut chosen = Vec::new();
    for (block, &wanted) in search.wanted.iter().enumerate() {
        for _ in 0..wanted {
            let mut candidate = lot.below(search.candidates.len());
            while !search.repeats && chosen.contains(&(block, candidate)) {
                candidate = (candidate + 1) % search.candidates.len();
            }
            chosen.push((block, candidate));
        }
    }
    chosen
}

/// How much all runs tell, on a scale of which more is better; nothing if not all.
fn worth(search: &Search, beforehand: &[Vec<f64>], chosen: &[(usize, usize)]) -> Option<f64> {
    let mut information = beforehand.to_vec();
    for place in chosen {
        add(&mut information, 1.0, &search.model.row(&planned(search, *place)));
    }
    let root = Root::of(&information)?;
    let inverse = root.inverse();
    Some(match &search.aim {
        Aim::D => root.log_determinant(),
        Aim::A => -(0..inverse.len()).map(|i| inverse[i][i]).sum::<f64>().ln(),
        Aim::I(moments) => -trace_of_product(&inverse, moments).ln(),
    })
}

/// Exchanges run after run until a round changes none.
fn improve(search: &Search, beforehand: &[Vec<f64>], chosen: &mut [(usize, usize)]) {
    let model = search.model;
    let rows: Vec<Vec<Vec<f64>>> = (0..model.blocks)
        .map(|block| {
            let row = |candidate| model.row(&planned(search, (block, candidate)));
            (0..search.candidates.len()).map(row).collect()
        })
        .collect();
    let mut information = beforehand.to_vec();
    chosen.iter().for_each(|&(block, candidate)| add(&mut information, 1.0, &rows[block][candidate]));
    (0..information.len()).for_each(|i| information[i][i] += NEXT_TO_NOTHING);
    let mut changed = true;
    while changed {
        changed = false;
        for place in 0..chosen.len() {
            let (block, candidate) = chosen[place];
            add(&mut information, -1.0, &rows[block][candidate]);
            let next = Root::of(&information).map_or(candidate, |root| {
                let gain = Gain::beside(root.inverse(), &search.aim);
                let free = |other: &usize| search.repeats || !chosen.contains(&(block, *other));
                let now = gain.of(&rows[block][candidate]) * (1.0 + BETTER);
                let others = (0..search.candidates.len()).filter(free);
                let gains = others.map(|other| (other, gain.of(&rows[block][other])));
                gains.fold((candidate, now), |best, other| if other.1 > best.1 { other } else { best }).0
            });
            changed |= next != candidate;
            chosen[place].1 = next;
            add(&mut information, 1.0, &rows[block][next]);
        }
    }
}

/// What one run more would tell: with V the covariances so far and c its row, the determinant grows by 1 + c·V·c, and the mean
/// variance with weights W falls by c·VWV·c over that.
struct Gain {
    covariance: Vec<Vec<f64>>,
    falls: Option<Vec<Vec<f64>>>,
}

impl Gain {
    fn beside(covariance: Vec<Vec<f64>>, aim: &Aim) -> Self {
        let falls = match aim {
            Aim::D => None,
            Aim::A => Some(covariance.iter().map(|row| times(&covariance, row)).collect()),
            Aim::I(moments) => Some(sandwich(&covariance, moments)),
        };
        Self { covariance, falls }
    }

    fn of(&self, row: &[f64]) -> f64 {
        let within = |matrix: &[Vec<f64>]| {
            matrix.iter().zip(row).map(|(own, value)| value * dot(own, row)).sum::<f64>()
        };
        let grown = 1.0 + within(&self.covariance);
        self.falls.as_ref().map_or(grown, |falls| within(falls) / grown)
    }
}

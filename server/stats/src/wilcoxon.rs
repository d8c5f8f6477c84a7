//! Wilcoxon's signed rank test, exact for any class that fits a room: does one way of steeping score above another?

use super::cannot::Cannot;
use super::dist::normal_upper;
use super::ranks::midranks;
use super::sums;
use schemars::JsonSchema;
use serde::Serialize;

/// Up to this many tasters every way in which the signs could fall is counted; above, the work would grow too large and
/// the normal distribution is as good.
const COUNTED: usize = 500;
/// With more tasters than this the levels that can be had lie so near to each other that any is reached.
const MANY: usize = 40;
/// With more ranks than this those that are tied are counted together, as far as that is less work.
const TIED_TOGETHER: usize = 60;
/// The most ways in which the tied ranks, but for those of the largest group, may be shared out.
const SHARED_OUT: usize = 1_000_000;

/// What the signed rank test found.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Wilcoxon {
    /// How many tasters scored both.
    pub pairs: usize,
    /// How many of them scored both alike; they are left out, as Wilcoxon did.
    pub alike: usize,
    /// How many tasters are left.
    pub n: usize,
    /// The sum of the ranks of those who scored the first higher.
    pub ranks_for_first: f64,
    /// The sum of the ranks of those who scored the second higher.
    pub ranks_for_second: f64,
    /// Two-sided p: over all 2ⁿ ways in which the signs could have fallen, the ranks (and ties) being given.
    pub p: f64,
    /// Whether the ways were counted, which is so up to 500 tasters; above, p is by the normal distribution, with the
    /// ties' own variance and a continuity correction.
    pub exact: bool,
    /// The smallest p that n tasters can reach, all agreeing.
    pub smallest_p: f64,
    /// The effect from −1 to 1: the share of rank sum for the first less that for the second (matched-pairs
    /// rank-biserial correlation).
    pub rank_biserial: f64,
}

/// The smallest two-sided p that `n` tasters who score the two differently can reach: 2 / 2ⁿ. With five it is 0.0625,
/// so five tasters can show nothing at 5 %.
pub fn smallest_p(n: usize) -> f64 {
    (1..n).fold(1.0, |p, _| p / 2.0)
}

/// The highest level up to `level` that the test of `n` tasters who score the two differently, and no two as differently, can
/// have; `None` where it is 0.
pub(crate) fn level_reached(n: usize, level: f64) -> Option<f64> {
    if n > MANY {
        return Some(level);
    }
    let ranks: Vec<f64> = (1..=n).map(|rank| rank as f64).collect();
    let p = (0..=n * (n + 1) / 4).map(|sum| 2.0 * at_most(&ranks, sum as f64));
    p.take_while(|p| *p <= level).last()
}

/// The signed rank test of each taster's first score less the second.
pub fn wilcoxon(differences: &[f64]) -> Result<Wilcoxon, Cannot> {
    sums::finite(differences)?;
    if differences.is_empty() {
        return Err(Cannot::Tasters(1));
    }
    // Zero is ranked among the sizes, so that what differs from it by rounding alone is alike too.
    let sizes: Vec<f64> = differences.iter().map(|d| d.abs()).chain([0.0]).collect();
    let with_zero = midranks(&sizes).ranks;
    let zero = with_zero[differences.len()];
    let left: Vec<f64> =
        differences.iter().zip(&with_zero).filter(|&(_, &rank)| rank > zero).map(|(&d, _)| d).collect();
    if left.is_empty() {
        return Err(Cannot::NoDifference);
    }
    let ranks = midranks(&left.iter().map(|d| d.abs()).collect::<Vec<f64>>()).ranks;
    let total: f64 = ranks.iter().sum();
    let ranks_for_first: f64 = left.iter().zip(&ranks).filter(|(d, _)| **d > 0.0).map(|(_, r)| r).sum();
    let ranks_for_second = total - ranks_for_first;
    let (n, least) = (left.len(), ranks_for_first.min(ranks_for_second));
    let exact = n <= COUNTED;
    let below = if exact { at_most(&ranks, least) } else { about_at_most(&ranks, least)? };
    Ok(Wilcoxon {
        pairs: differences.len(),
        alike: differences.len() - n,
        n,
        ranks_for_first,
        ranks_for_second,
        p: (2.0 * below).min(1.0),
        exact,
        smallest_p: smallest_p(n),
        rank_biserial: (ranks_for_first - ranks_for_second) / total,
    })
}

/// The chance that those ranks whose coin falls heads add up to `sum` or less.
///
/// Mean ranks are halves at most, so doubled ranks are whole numbers, and the chance of every sum is built up one rank
/// after the other.
fn at_most(ranks: &[f64], sum: f64) -> f64 {
    if let Some(tied) = Tied::of(ranks).filter(|_| ranks.len() > TIED_TOGETHER) {
        return at_most_tied(&tied, doubled(sum));
    }
    one_by_one(ranks, sum)
}

/// A rank as a whole number.
fn doubled(rank: f64) -> usize {
    (2.0 * rank).round() as usize
}

/// Ranks that are tied.
struct Tied {
    /// Twice the rank.
    doubled: usize,
    /// The chance of each number of heads among them.
    heads: Vec<f64>,
    /// The chance of so many or fewer.
    or_fewer: Vec<f64>,
}

impl Tied {
    /// All groups, the largest last; `None` where one rank after the other is less work, as with few ties.
    fn of(ranks: &[f64]) -> Option<Vec<Self>> {
        let mut all: Vec<usize> = ranks.iter().map(|&rank| doubled(rank)).collect();
        all.sort_unstable();
        let mut groups: Vec<&[usize]> = all.chunk_by(|a, b| a == b).collect();
        groups.sort_by_key(|group| group.len());
        let (_, others) = groups.split_last()?;
        others.iter().try_fold(1usize, |ways, group| {
            Some(ways.checked_mul(group.len() + 1)?).filter(|ways| *ways <= SHARED_OUT)
        })?;
        let group = |group: &&[usize]| {
            let n = group.len();
            let none = 0.5f64.powi(n as i32);
            let heads: Vec<f64> = (0..n)
                .scan(none, |chance, i| {
                    *chance *= (n - i) as f64 / (i + 1) as f64;
                    Some(*chance)
                })
                .collect();
            let heads = [vec![none], heads].concat();
            let or_fewer = heads.iter().scan(0.0, |sum, chance| {
                *sum += chance;
                Some(*sum)
            });
            Self { doubled: group[0], or_fewer: or_fewer.collect(), heads }
        };
        Some(groups.iter().map(group).collect())
    }
}

/// The chance that the heads of all groups add up to `left` or less, twice their ranks.
fn at_most_tied(groups: &[Tied], left: usize) -> f64 {
    match groups {
        [] => 1.0,
        [last] => last.or_fewer[(left / last.doubled).min(last.or_fewer.len() - 1)],
        [first, rest @ ..] => {
            let fit = first.heads.iter().enumerate().take_while(|(heads, _)| heads * first.doubled <= left);
            fit.map(|(heads, chance)| chance * at_most_tied(rest, left - heads * first.doubled)).sum()
        }
    }
}

/// The same, one rank after the other.
fn one_by_one(ranks: &[f64], sum: f64) -> f64 {
    let highest = doubled(sum);
    let mut chances = vec![0.0; highest + 1];
    chances[0] = 1.0;
    for &rank in ranks {
        let step = doubled(rank);
        for total in (0..=highest).rev() {
            let with = if total >= step { chances[total - step] } else { 0.0 };
            chances[total] = (chances[total] + with) / 2.0;
        }
    }
    chances.iter().sum()
}

/// The same by the normal distribution with the sum's own mean and variance.
fn about_at_most(ranks: &[f64], sum: f64) -> Result<f64, Cannot> {
    let mean = ranks.iter().sum::<f64>() / 2.0;
    let sd = ranks.iter().map(|rank| rank * rank).sum::<f64>().sqrt() / 2.0;
    normal_upper((mean - sum - 0.5) / sd)
}

#[cfg(test)]
mod tests;

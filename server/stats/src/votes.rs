//! Strength votes of people who voted on one tea several times, steep after steep.
//!
//! The votes of one person on one tea hang together: who likes strong tea finds every steep of it thin. So the taster is the
//! unit, as in the comparison of scores, and each counts once: by the balance of their votes, the share for too strong less the
//! share for too thin. If a tea were as likely too thin as too strong, a taster's balance would be as likely so far to the one
//! side as to the other however the votes of one taster hang together, so that Wilcoxon's signed rank test of the balances,
//! counted with its ties, holds its level exactly; and one taster who leans a little to the other side weighs little.

use super::Cannot;
use super::binomial::{at_least, uneven_split};
use super::interval::SIGNIFICANCE;
use super::penalty::{Hint, JUST_RIGHT};
use super::wilcoxon::{smallest_p, wilcoxon};

/// What the votes on one tea come to, each taster counted once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverTasters {
    /// Tasters with a vote.
    pub tasters: usize,
    /// Those who find it too thin more often than too strong.
    pub too_thin: usize,
    /// Those who find it too strong more often than too thin.
    pub too_strong: usize,
    /// Those for whom more than half of their votes are just right; some of them may lean to a side all the same.
    pub mostly_right: usize,
    /// What to do, by this tea alone: leave it, if more than half of the tasters are shown to find it mostly just right; else
    /// longer or shorter, by the signed rank test.
    pub hint: Hint,
    /// Exact two-sided sign test of those who lean to too thin against those who lean to too strong.
    pub sign_p: f64,
    /// Exact two-sided signed rank test of the tasters' balances; 1 where nobody leans to a side.
    pub signed_rank_p: f64,
    /// Exact one-sided binomial test that more than half of the tasters find it mostly just right.
    pub majority_p: f64,
    /// How far the votes lie to the strong side, −1 to 1: a taster's share of votes for too strong less that for too thin, the
    /// mean over the tasters.
    pub balance: f64,
}

/// The votes on one tea, taster by taster, each one of [`super::penalty::STEPS`]; who has not voted is passed over.
///
/// # Errors
/// Without votes.
pub fn over_tasters(votes: &[Vec<i8>]) -> Result<OverTasters, Cannot> {
    let voted: Vec<&Vec<i8>> = votes.iter().filter(|own| !own.is_empty()).collect();
    if voted.is_empty() {
        return Err(Cannot::Answers(1));
    }
    let thin = |own: &[i8]| own.iter().filter(|&&vote| vote < JUST_RIGHT).count();
    let strong = |own: &[i8]| own.iter().filter(|&&vote| vote > JUST_RIGHT).count();
    let mostly = |own: &[i8]| own.iter().filter(|&&vote| vote == JUST_RIGHT).count() * 2 > own.len();
    let tasters = voted.len();
    let too_thin = voted.iter().filter(|own| thin(own) > strong(own)).count();
    let too_strong = voted.iter().filter(|own| strong(own) > thin(own)).count();
    let mostly_right = voted.iter().filter(|own| mostly(own)).count();
    let balance = |own: &&Vec<i8>| (strong(own) as f64 - thin(own) as f64) / own.len() as f64;
    let sign_p = uneven_split(too_thin, too_thin + too_strong);
    let balances: Vec<f64> = voted.iter().map(balance).collect();
    // Without a balance to either side there is no test.
    let (signed_rank_p, thin_side) = wilcoxon(&balances)
        .map_or((1.0, false), |found| (found.p, found.ranks_for_second > found.ranks_for_first));
    let majority_p = at_least(mostly_right, tasters, 0.5);
    Ok(OverTasters {
        tasters,
        too_thin,
        too_strong,
        mostly_right,
        hint: Hint::by(majority_p, signed_rank_p, thin_side),
        sign_p,
        signed_rank_p,
        majority_p,
        balance: balances.iter().sum::<f64>() / tasters as f64,
    })
}

/// The smallest number of tasters whose votes could show, all agreeing, on which side one of so many teas lies (Holm): the first
/// of them has to reach the level over the number of teas, and the smallest p of n is 2 / 2ⁿ.
pub fn tasters_to_show(teas: usize) -> usize {
    let enough = |n: &usize| smallest_p(*n) * teas as f64 <= SIGNIFICANCE;
    // Every taster more halves the chance.
    (1..).find(enough).unwrap_or(usize::MAX)
}

/// The share of the balance of the votes by which the strength is changed, in units of its natural logarithm: of the steps
/// tried on drawn panels of 6 to 12 tasters (own model), the one that is near right after two classes and does not swing.
const OF_BALANCE: f64 = 0.5;
/// The most that the strength is changed in one go, times or divided by.
const MOST: f64 = 1.5;

/// How much stronger a tea should be made by the balance of its votes (−1 to 1, positive where it is too strong): a factor
/// from 1/1.5 to 1.5. A rule of our own.
pub fn stronger_by(balance: f64) -> f64 {
    (-OF_BALANCE * balance).exp().clamp(1.0 / MOST, MOST)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_taster_who_votes_three_times_counts_once() {
        let all_thin = vec![vec![-1, -2, -1]; 8];
        let found = over_tasters(&all_thin).unwrap();
        assert_eq!((found.tasters, found.too_thin, found.hint), (8, 8, Hint::Lengthen));
        for p in [found.sign_p, found.signed_rank_p] {
            assert!((p - 2.0 / 256.0).abs() < 1e-12, "and not 2 of 2^24: {found:?}");
        }
        assert_eq!(found.balance, -1.0);
    }

    #[test]
    fn who_leans_to_neither_side_tells_nothing_of_the_side() {
        let votes = [vec![-1, 1, 0], vec![0, 0, 0], vec![-1, -1, 1], vec![1, 0], vec![]];
        let found = over_tasters(&votes).unwrap();
        assert_eq!((found.tasters, found.too_thin, found.too_strong, found.mostly_right), (4, 1, 1, 1));
        assert_eq!((found.sign_p, found.signed_rank_p, found.hint), (1.0, 1.0, Hint::TooFewToTell));
        assert_eq!(over_tasters(&[vec![]]), Err(Cannot::Answers(1)));
    }

    /// Eight tasters, seven of them all too strong, one of three steeps too thin for the eighth: by sides 7 of 8 is 2 · 9 / 2⁸,
    /// by ranks only the smallest lies on the other side, 2 · 2 / 2⁸.
    #[test]
    fn one_taster_who_leans_a_little_the_other_way_does_not_hide_what_all_others_say() {
        let mut votes = vec![vec![1, 1, 2]; 7];
        votes.push(vec![-1, 0, 0]);
        let found = over_tasters(&votes).unwrap();
        assert!((found.sign_p - 18.0 / 256.0).abs() < 1e-12, "{found:?}");
        assert!((found.signed_rank_p - 4.0 / 256.0).abs() < 1e-12, "{found:?}");
        assert_eq!(found.hint, Hint::Shorten);
    }

    #[test]
    fn half_of_the_votes_are_not_most() {
        let found = over_tasters(&vec![vec![0, 0, 1]; 8]).unwrap();
        assert!((found.majority_p - 1.0 / 256.0).abs() < 1e-12 && found.hint == Hint::Leave, "{found:?}");
        assert_eq!(over_tasters(&vec![vec![0, 1]; 8]).unwrap().mostly_right, 0);
    }

    /// 2 / 2ⁿ times the teas is 5 % at most.
    #[test]
    fn so_many_tasters_are_needed_at_least() {
        let needed: Vec<usize> = (1..=6).map(tasters_to_show).collect();
        assert_eq!(needed, [6, 7, 7, 8, 8, 8]);
    }

    #[test]
    fn the_strength_is_moved_by_half_of_the_balance_and_never_by_more_than_half() {
        assert_eq!(stronger_by(0.0), 1.0);
        assert!((stronger_by(-0.5) - 0.25f64.exp()).abs() < 1e-12);
        assert!((stronger_by(0.5) * stronger_by(-0.5) - 1.0).abs() < 1e-12);
        assert_eq!((stronger_by(-1.0), stronger_by(1.0)), (1.5, 1.0 / 1.5));
    }

    proptest! {
        /// Turned about, thin is strong: everything else stays.
        #[test]
        fn thin_and_strong_are_alike(votes in prop::collection::vec(prop::collection::vec(-2i8..=2, 1..4), 1..12)) {
            let turned: Vec<Vec<i8>> = votes.iter().map(|own| own.iter().map(|vote| -vote).collect()).collect();
            let (found, other) = (over_tasters(&votes).unwrap(), over_tasters(&turned).unwrap());
            prop_assert_eq!((found.too_thin, found.sign_p, found.majority_p), (other.too_strong, other.sign_p, other.majority_p));
            prop_assert_eq!(found.signed_rank_p, other.signed_rank_p);
            prop_assert!((found.balance + other.balance).abs() < 1e-12);
        }
    }
}

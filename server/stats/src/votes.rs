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

/// The share of the balance of the first votes by which the strength is changed, in units of its natural logarithm: of the steps
/// tried on drawn panels of 6 to 12 tasters (own model), the one that is near right after two votes and does not swing.
const OF_BALANCE: f64 = 0.5;
/// Over the votes on one tea, one after the other, the share falls as this over their number, so that chance moves the strength
/// less and less (stochastic approximation, after Robbins and Monro 1951). From the first vote on it would move a tea that is
/// right already by more than tasters notice (own model).
const OF_BALANCE_FALLING: f64 = 0.8;
/// The most that the strength, or the time of a steep, is changed in one go, times or divided by.
pub const MOST: f64 = 1.5;

/// How much stronger a tea should be made by the balance of its votes (−1 to 1, positive where it is too strong), the `nth` (from
/// 1) votes that it is changed by: a factor from 1/1.5 to 1.5. A rule of our own.
pub fn stronger_by(balance: f64, nth: usize) -> f64 {
    let share = OF_BALANCE.min(OF_BALANCE_FALLING / nth.max(1) as f64);
    (-share * balance).exp().clamp(1.0 / MOST, MOST)
}

/// Half the width of what a taster calls just right, and how far one taster's votes spread, both in units of the strength's natural
/// logarithm and the latter as the scale of a logistic distribution: a spread of 0.3 between tasters and of 0.2 between cups (own
/// model, no source).
const JUST_RIGHT_HALF: f64 = 0.25;
const SPREAD: f64 = 0.2;
/// The variance of [`off_by`] times the number of votes, where the strength is nearly right (the same model).
pub const OFF_BY_VARIANCE: f64 = 0.16;

/// How far the strength of a cup lies above what its tasters want, in units of its natural logarithm, by their votes. Votes are
/// taken as one more than they are, the odd one right, so that a vote of one mind stays finite. `None` without votes.
pub fn off_by(thin: usize, right: usize, strong: usize) -> Option<f64> {
    let votes = thin + right + strong;
    let balance = (strong as f64 - thin as f64) / (votes + 1) as f64;
    // With tasters spread as by a logistic distribution the balance is sinh x / (cosh x + c); solved for x.
    let c = (JUST_RIGHT_HALF / SPREAD).cosh();
    let root = (balance.powi(2) * (c.powi(2) - 1.0) + 1.0).sqrt();
    (votes > 0).then(|| SPREAD * ((balance * c + root) / (1.0 - balance)).ln())
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
        assert_eq!(stronger_by(0.0, 1), 1.0);
        assert!((stronger_by(-0.5, 1) - 0.25f64.exp()).abs() < 1e-12);
        assert!((stronger_by(0.5, 1) * stronger_by(-0.5, 1) - 1.0).abs() < 1e-12);
        assert_eq!((stronger_by(-1.0, 1), stronger_by(1.0, 1)), (1.5, 1.0 / 1.5));
    }

    #[test]
    fn later_votes_move_it_less() {
        for (nth, share) in [(1, 0.5), (2, 0.4), (4, 0.2), (8, 0.1)] {
            assert!((stronger_by(-0.5, nth) - (share * 0.5f64).exp()).abs() < 1e-12, "{nth}");
        }
    }

    /// 40 of 100 too strong and 3 too thin: a logistic distribution of scale 0.2 and a just right of ± 0.25 say 0.17 too strong.
    #[test]
    fn votes_tell_how_far_the_strength_is_off() {
        let share = |from: f64| 1.0 / (1.0 + (-from / 0.2).exp());
        for off in [-0.6, -0.17, 0.0, 0.3] {
            let (strong, thin) = (share(off - 0.25), share(-off - 0.25));
            let many = |share: f64| (share * 1e6).round() as usize;
            let found = off_by(many(thin), 1_000_000 - many(thin) - many(strong), many(strong)).unwrap();
            assert!((found - off).abs() < 1e-4, "{found} is not {off}");
        }
        assert_eq!(off_by(0, 0, 0), None);
        assert!(off_by(8, 0, 0).is_some_and(|off| off < -0.5 && off > -1.0));
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

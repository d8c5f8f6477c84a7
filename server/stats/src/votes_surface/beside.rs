//! The votes beside a surface of liking: the votes say how strong, the liking says which way of being so strong.
//!
//! Where as many find a way too thin as too strong, making it stronger or weaker should gain no liking, give or take. So the votes tell one
//! slope of the liking: that along the direction in which cups get stronger, at the balance. A rule of our own.

use super::VotesSurface;
use crate::Cannot;
use crate::dist::t_quantile;
use crate::linear::{dot, times};
use crate::surface::Surface;
use crate::surface::prior::LevelAt;

/// They agree unless they lie farther apart than in so many of all cases by chance. Less than the usual share, as votes that are joined in
/// error cost more than votes that are left out in error. A rule of our own.
const AGREE: f64 = 0.8;

/// What the votes say beside the liking.
#[derive(Clone, Debug, PartialEq)]
pub enum Beside {
    /// They agree with its best to within chance, and tell this of its surface.
    Agree(LevelAt),
    /// They ask for it stronger than the liking has its best, by more than chance at 20 %.
    Stronger,
    /// They ask for it lighter, likewise.
    Lighter,
}

impl VotesSurface {
    /// What the votes say beside a surface of liking whose best lies at `best`, in the same coded units; the best may lie `off` such units
    /// (a standard deviation, above 0) off the balance of the votes. Whether they agree is judged by t at 20 %.
    ///
    /// # Errors
    /// As [`Self::off_balance`]; a surface that does not bend down along the votes.
    pub fn beside(&self, surface: &Surface, best: &[f64], off: f64) -> Result<Beside, Cannot> {
        let balance = self.off_balance(best)?;
        let (_, bends) = surface.shape.parted(&surface.coefficients);
        let bend = dot(&balance.stronger, &times(&bends, &balance.stronger));
        // So far off its top along the votes a hill has the slope 2·bend times that.
        let spread = -2.0 * bend * off.hypot(balance.beyond.standard_error);
        let (slopes, covariance) = surface.slopes(&balance.foot);
        let slope = dot(&slopes, &balance.stronger);
        let chance = dot(&balance.stronger, &times(&covariance, &balance.stronger)).sqrt().hypot(spread);
        if !(spread > 0.0 && slope.is_finite() && chance.is_finite()) {
            return Err(Cannot::NotLocated);
        }
        let reach = t_quantile(f64::midpoint(1.0, AGREE), surface.residual.df as f64)? * chance;
        Ok(match slope {
            slope if slope < -reach => Beside::Stronger,
            slope if slope > reach => Beside::Lighter,
            _ => Beside::Agree(LevelAt { at: balance.foot, along: balance.stronger, spread }),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::prior::Prior;
    use crate::surface::shape::Shape;
    use crate::surface::{Run, fit};
    use crate::votes_surface::{Law, Votes, fit as fit_votes};

    /// A hill with its top at 0 along the first of two factors and votes that balance at `balance` along it, by so many tasters.
    fn beside(balance: f64, tasters: usize) -> Beside {
        let run = |n: usize| {
            let at = vec![(n % 3) as f64 - 1.0, (n / 3 % 3) as f64 - 1.0];
            let wobble = [0.9, -0.8, 0.3, -0.6, 0.2][n * 7 % 5];
            Run { score: 6.0 - at[0] * at[0] - at[1] * at[1] + wobble, at, blocks: vec![n / 9] }
        };
        let runs: Vec<Run> = (0..9 * tasters).map(run).collect();
        let shape = Shape::second_order(2);
        let surface = fit(&runs, &shape, Some(&Prior::hill(1.0, 0.5, 1.0))).unwrap();
        let way = |n: usize| {
            let at = vec![(n % 3) as f64 - 1.0, (n / 3) as f64 - 1.0];
            let thin = ((0.5 - 0.3 * (at[0] - balance)) * 100.0).clamp(2.0, 98.0) as usize;
            Votes { at, counts: vec![thin, 20, 100 - thin] }
        };
        let votes = fit_votes(&(0..9).map(way).collect::<Vec<_>>(), Law::Normal).unwrap();
        votes.beside(&surface, &[0.0, 0.0], 0.5).unwrap()
    }

    #[test]
    fn votes_that_balance_near_the_best_agree_with_it_and_tell_a_slope_at_their_balance() {
        let Beside::Agree(level) = beside(0.4, 8) else { panic!("{:?}", beside(0.4, 8)) };
        assert!((level.at[0] - 0.4).abs() < 0.05 && level.at[1].abs() < 0.05, "{level:?}");
        assert!(level.along[0] > 0.99, "{level:?}");
        // A hill that loses a point a step, half a step off: a slope of 1.
        assert!((level.spread - 1.0).abs() < 0.2, "{level:?}");
    }

    #[test]
    fn votes_that_balance_far_off_ask_for_it_stronger_or_lighter() {
        assert_eq!(beside(1.6, 8), Beside::Stronger);
        assert_eq!(beside(-1.6, 8), Beside::Lighter);
    }
}

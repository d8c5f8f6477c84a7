//! The votes on the strength of one steep.

use protocol::Strength;
use serde::{Deserialize, Serialize};

/// Fewer votes between too thin and too strong tell no side: one person could have made them even. Our own rule.
const SIDE_VOTES: usize = 2;

/// The votes on one steep: much too thin, too thin, just right, too strong, much too strong.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Votes(pub [usize; 5]);

/// What the votes on one steep come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Nobody voted.
    NoVotes,
    /// More find it too thin than too strong, by two votes or more.
    TooThin,
    /// More find it too strong, by two votes or more.
    TooStrong,
    /// Neither, and half of them or more find it just right.
    Right,
    /// Neither, and fewer find it just right.
    Mixed,
}

impl Votes {
    /// Those for too thin, much or little.
    pub fn thin(&self) -> usize {
        self.0[0] + self.0[1]
    }

    /// Those for just right.
    pub fn right(&self) -> usize {
        self.0[2]
    }

    /// Those for too strong, much or little.
    pub fn strong(&self) -> usize {
        self.0[3] + self.0[4]
    }

    /// All of them.
    pub fn all(&self) -> usize {
        self.0.iter().sum()
    }

    /// The share for too strong less the share for too thin, −1 to 1; 0 without votes.
    pub fn balance(&self) -> f64 {
        (self.strong() as f64 - self.thin() as f64) / self.all().max(1) as f64
    }

    /// What they come to.
    pub fn side(&self) -> Side {
        let (thin, strong) = (self.thin(), self.strong());
        match self.all() {
            0 => Side::NoVotes,
            _ if thin >= strong + SIDE_VOTES => Side::TooThin,
            _ if strong >= thin + SIDE_VOTES => Side::TooStrong,
            all if 2 * self.right() >= all => Side::Right,
            _ => Side::Mixed,
        }
    }
}

impl FromIterator<Strength> for Votes {
    fn from_iter<I: IntoIterator<Item = Strength>>(votes: I) -> Self {
        let mut counts = [0; 5];
        votes.into_iter().for_each(|vote| counts[vote as usize] += 1);
        Self(counts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Strength::{JustRight, MuchTooStrong, MuchTooThin, TooStrong, TooThin};

    #[test]
    fn much_too_thin_is_too_thin_and_a_side_takes_two_votes_more_than_the_other() {
        for (votes, side, balance) in [
            (&[][..], Side::NoVotes, 0.0),
            (&[MuchTooThin], Side::Mixed, -1.0),
            (&[MuchTooThin, TooThin], Side::TooThin, -1.0),
            (&[TooStrong, MuchTooStrong, TooThin], Side::Mixed, 1.0 / 3.0),
            (&[TooStrong, MuchTooStrong, TooStrong, TooThin], Side::TooStrong, 0.5),
            (&[JustRight, TooThin], Side::Right, -0.5),
            (&[JustRight, JustRight, JustRight, TooThin, TooThin], Side::TooThin, -0.4),
        ] {
            let counted: Votes = votes.iter().copied().collect();
            assert_eq!(
                (counted.all(), counted.side(), counted.balance()),
                (votes.len(), side, balance),
                "{votes:?}"
            );
        }
    }
}

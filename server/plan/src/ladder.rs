//! How long the next steep of a tea should be, by the votes on those before it.
//!
//! The ladder is how a tea's seconds go from steep to steep. The teacher's own ladder says how strong each steep should be beside the
//! one before; what may be wrong is how strong all of them are. So the votes move the strength of what is still to come, beside the
//! plan, and the seconds follow from what the leaf still holds (extraction of the first order, `stats::extraction`). A tea whose
//! votes ask for nothing stays as it is planned, whatever the model thinks of the plan.

#[cfg(test)]
mod back_test;
mod gives;
mod say;
mod seconds;
#[cfg(test)]
mod tests;
mod votes;

pub use votes::{Side, Votes};

use class::Adapt;
use class::start::leaf::Form;
pub(crate) use gives::start as form_per_min;
use protocol::Code;
use seconds::nearest;
pub(crate) use seconds::poured_s;
pub use seconds::water_s;
use serde::{Deserialize, Serialize};
use stats::extraction::{ACTIVATION_J_PER_MOL, Leaf, per_min_at};
use stats::votes::{MOST, stronger_by};
use std::ops::RangeInclusive;

/// A suggestion that rests on fewer votes is never taken without the teacher's word. Common practice, no source.
pub const FOLLOWED_VOTES: usize = 4;
/// Where the leaf can't give the strength wanted, a steep is made longer all the same if it gets so many times as strong by that:
/// less than a tenth more is not worth the wait. Our own rule.
const WORTH: f64 = 1.1;
/// Strengths so near to each other are the same but for rounding.
const SAME: f64 = 1e-9;

/// A tea's steeps as planned and as far as they have been served.
#[derive(Clone, Copy, Debug)]
pub struct Course<'a> {
    /// The tea.
    pub tea: Code,
    /// The form of the leaf, if it is known.
    pub form: Option<Form>,
    /// Seconds of a rinse before the first steep, if the leaf is rinsed.
    pub rinse_s: Option<u32>,
    /// Each steep as the class file has it, seconds.
    pub planned_s: &'a [u32],
    /// Water of each steep, °C; as many as there are steeps.
    pub temp_c: &'a [f64],
    /// The steeps that have been served, from the first on.
    pub served: &'a [Served],
}

/// A steep as it was really served.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Served {
    /// From lid on to the start of the decant, seconds.
    pub seconds: u32,
    /// Its water, °C.
    pub temp_c: f64,
    /// The votes on its strength.
    pub votes: Votes,
    /// How many could have voted.
    pub could_vote: usize,
}

/// What is suggested for a tea's next steep, and why. Its words are `to_string` (one line) and [`Suggestion::why`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Suggestion {
    /// The tea.
    pub tea: Code,
    /// The steep that the suggestion is for; the votes are on the one before it.
    pub steep: u32,
    /// The votes on the steep before.
    pub votes: Votes,
    /// How many could have voted there.
    pub could_vote: usize,
    /// The steep as planned, seconds.
    pub planned_s: u32,
    /// What is suggested.
    pub answer: Answer,
    /// How many times as strong as planned the steep should be: by the votes, and as the steep before was beside its plan.
    pub stronger_by: f64,
    /// Whether that would change the seconds by more than is changed in one go.
    pub cut_short: bool,
    /// The share of all the leaf had that it has given already, 0 to 1.
    pub given: f64,
}

/// What is suggested for a steep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// It stays as planned.
    Stays,
    /// It takes so many seconds instead.
    Takes(u32),
    /// The leaf can't give the strength any more, nor anything near it, however long it steeps.
    Spent,
}

impl Suggestion {
    /// The seconds to be served unless the teacher says no before the pour; `None` where nothing changes without the teacher's word.
    pub fn followed_s(&self, adapt: Adapt) -> Option<u32> {
        match self.answer {
            Answer::Takes(seconds) if adapt == Adapt::Follow && self.votes.all() >= FOLLOWED_VOTES => {
                Some(seconds)
            }
            _ => None,
        }
    }
}

/// What the votes suggest for the steep after the last one served; `None` before the first steep and after the last.
pub fn suggest(course: &Course<'_>) -> Option<Suggestion> {
    let next = course.served.len();
    let last = course.served.last()?;
    let (&planned_s, &temp_c) = (course.planned_s.get(next)?, course.temp_c.get(next)?);
    let per_min = gives::per_min(course);
    let (planned, mut as_planned) = course.given(per_min, course.planned(next));
    let (served, leaf) = course.given(per_min, course.as_served());
    let beside = |served: f64, planned: f64| if planned > 0.0 { served / planned } else { 1.0 };
    let beside: Vec<f64> =
        served.iter().zip(&planned).map(|(served, planned)| beside(*served, *planned)).collect();
    let before = course.wanted(&beside[..next - 1]);
    let stronger_by = course.wanted(&beside);
    let at_c = course.per_min_at(per_min, temp_c);
    let wanted = stronger_by * as_planned.give(water_s(planned_s), at_c);
    let was = water_s(last.seconds) / water_s(course.planned_s[next - 1]) * water_s(planned_s);
    let within = bounds(last.votes.side(), was, water_s(planned_s), before, stronger_by);
    let gives = |seconds: f64| { leaf }.give(seconds, at_c);
    let (answer, cut_short) = match leaf.seconds_for(wanted, at_c) {
        _ if (stronger_by - 1.0).abs() < SAME && course.went_as_planned() => (Answer::Stays, false),
        // What is too strong already is no reason to end a tea.
        None if last.votes.side() != Side::TooStrong
            && gives(*within.end()) < WORTH * gives(*within.end() / MOST) =>
        {
            (Answer::Spent, false)
        }
        found => {
            let seconds = found.unwrap_or(f64::INFINITY);
            let takes = nearest(seconds, &within, planned_s);
            (takes.map_or(Answer::Stays, Answer::Takes), !within.contains(&seconds))
        }
    };
    Some(Suggestion {
        tea: course.tea,
        steep: next as u32 + 1,
        votes: last.votes,
        could_vote: last.could_vote,
        planned_s,
        answer,
        stronger_by,
        cut_short,
        given: 1.0 - leaf.left(),
    })
}

/// Between how many seconds the next steep may be: half as long again or two thirds of what the last one `was` beside its plan. Where
/// that was a slip (served shorter than wanted `before`, and called too thin), what was wanted counts as well; and what is called too
/// thin is no reason for less than `planned`, nor too strong for more.
fn bounds(side: Side, was: f64, planned: f64, before: f64, stronger_by: f64) -> RangeInclusive<f64> {
    let (least, most) = (was / MOST, was * MOST);
    let wanted = planned * before;
    match side {
        Side::TooThin => {
            let least = if stronger_by >= 1.0 { least.max(planned) } else { least };
            least..=most.max(wanted * MOST).max(least)
        }
        Side::TooStrong => {
            let most = if stronger_by <= 1.0 { most.min(planned) } else { most };
            least.min(wanted / MOST).min(most)..=most
        }
        Side::NoVotes | Side::Right | Side::Mixed => least..=most,
    }
}

impl Course<'_> {
    /// How many times as strong as planned the class wants its steeps, by the votes on the first of them, each of which was so many
    /// times as strong as planned: as strong as the last one, moved by the votes on it. One that was served weaker than wanted and is
    /// called too thin tells that more is wanted than it had, but not that less is wanted than before; too strong likewise.
    fn wanted(&self, beside: &[f64]) -> f64 {
        let mut voted = 0;
        self.served.iter().zip(beside).fold(1.0, |before, (steep, beside)| {
            voted += usize::from(steep.votes.all() > 0);
            let by_votes = || beside * stronger_by(steep.votes.balance(), voted);
            match steep.votes.side() {
                Side::TooThin => by_votes().max(before),
                Side::TooStrong => by_votes().min(before),
                Side::NoVotes | Side::Right | Side::Mixed => *beside,
            }
        })
    }

    fn planned(&self, steeps: usize) -> impl Iterator<Item = (u32, f64)> {
        self.planned_s.iter().copied().zip(self.temp_c.iter().copied()).take(steeps)
    }

    fn as_served(&self) -> impl Iterator<Item = (u32, f64)> {
        self.served.iter().map(|steep| (steep.seconds, steep.temp_c))
    }

    fn went_as_planned(&self) -> bool {
        self.planned(self.served.len()).eq(self.as_served())
    }

    /// k in water of `c` °C, known in that of the first steep.
    fn per_min_at(&self, per_min: f64, c: f64) -> f64 {
        per_min_at(per_min, self.temp_c[0], c, ACTIVATION_J_PER_MOL)
    }

    /// What each of some steeps gives, as a share of all the leaf had, at k `per_min` in the water of the first steep; and the leaf
    /// after them.
    fn given(&self, per_min: f64, steeps: impl Iterator<Item = (u32, f64)>) -> (Vec<f64>, Leaf) {
        let mut leaf = Leaf::new(true);
        if let Some(rinse_s) = self.rinse_s {
            leaf.give(water_s(rinse_s), per_min);
        }
        let given =
            steeps.map(|(seconds, c)| leaf.give(water_s(seconds), self.per_min_at(per_min, c))).collect();
        (given, leaf)
    }
}

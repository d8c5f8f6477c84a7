//! What is answered: a schedule, and how far it is proven.

use super::hands::hand_out;
use super::kettle::{fills, refills};
use super::problem::{Best, Problem};
use super::round::Fault;

/// A value of the schedule and how low it could be at best, seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bound {
    /// What the schedule has.
    pub value_s: u32,
    /// What no schedule can be below that is at least as good in everything that comes before this.
    pub bound_s: u32,
}

impl Bound {
    pub(super) fn new(value: i32, open: Option<i32>) -> Self {
        Self { value_s: whole(value), bound_s: whole(open.map_or(value, |open| open.min(value))) }
    }

    /// Nothing smaller is possible.
    pub fn proven(self) -> bool {
        self.value_s == self.bound_s
    }

    /// Seconds that could be gained at most.
    pub fn gap_s(self) -> u32 {
        self.value_s.saturating_sub(self.bound_s)
    }
}

/// How far each objective, in the order of the wish, is proven.
///
/// A bound holds among the schedules that do not have more of what comes before than this one has. So if the spread
/// is not proven, the makespan's bound is still a true bound for the best plan, but the best plan may need more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Proof {
    /// Seconds of spread over what was wished for; the spread itself when none was wished for.
    pub excess: Bound,
    /// The last cup.
    pub makespan: Bound,
    /// The spread: of the strict wish the first objective, otherwise the one after the makespan.
    pub spread: Bound,
    /// The starts are the smallest vector there is, and with that everything is proven.
    pub starts: bool,
}

/// A schedule of a round, in whole seconds from its begin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Solution {
    /// Start of the pour of each tea, in the order of the teas.
    pub starts_s: Vec<u32>,
    /// The kettle of each tea, from 0; empty when the round has none.
    pub kettle: Vec<u8>,
    /// After which teas their kettle is filled, up or afresh: after the pour and its lid by the hands that poured, or where the steep
    /// is shorter than that, directly after the decant by the hands that decanted.
    pub refill_after: Vec<bool>,
    /// Whose hands pour each tea, from 0.
    pub pour_hands: Vec<u8>,
    /// Whose hands decant each tea, from 0.
    pub decant_hands: Vec<u8>,
    /// Last decant end − first decant end.
    pub spread_s: u32,
    /// Last decant end.
    pub makespan_s: u32,
    /// What is proven of it.
    pub proof: Proof,
    /// Branches of the search that were looked at.
    pub nodes: u64,
}

fn whole(seconds: i32) -> u32 {
    u32::try_from(seconds).unwrap_or(0)
}

/// A schedule with its hands.
pub(super) fn solution(problem: &Problem, best: &Best, proof: Proof, nodes: u64) -> Result<Solution, Fault> {
    let n = problem.dry;
    let tasks = problem.work(&fills(problem, best));
    let hands = hand_out(problem, &tasks, &best.starts).ok_or(Fault::Steeping)?;
    let (pour_hands, decant_hands) = hands.into_iter().take(n).unzip();
    let refills = refills(problem, best);
    Ok(Solution {
        starts_s: best.starts[..n].iter().map(|&s| whole(s)).collect(),
        kettle: if problem.kettles.is_empty() { Vec::new() } else { best.kettle[..n].to_vec() },
        refill_after: (0..n).map(|i| refills & (1 << i) != 0).collect(),
        pour_hands,
        decant_hands,
        spread_s: whole(problem.spread(&best.starts)),
        makespan_s: whole(problem.makespan(&best.starts)),
        proof,
        nodes,
    })
}

//! The exact stagger of one round: who pours what when, so that the cups get ready close together.
//!
//! # The problem
//! Tea i keeps a pair of hands for its pour, steeps for exactly its time, and keeps a pair of hands for its decant;
//! once poured its decant is fixed. A kettle serves one pour at a time and needs a set-up between set points. With
//! pour starts s_i and decant ends e_i = s_i + pour + steep + decant, [`Wish::StrictSpread`] minimises, one after the
//! other, the spread (last e − first e), the makespan (last e), and the vector s itself, compared from the first tea
//! on, so that the starts of the answer are unique. These are coupled tasks (Shapiro 1980; Orman & Potts 1997,
//! NP-hard in general) with sequence-dependent set-up times.
//!
//! # The method, and why its bounds are right
//! Whatever is decided in a branch of the search ("tea 3 before tea 5", "the decant of 2 after the pour of 4") is a
//! difference constraint s_j − s_i ≥ c between two teas. A branch keeps the longest-path closure of its constraints
//! (`bounds`), which gives three things:
//! - *What cannot be.* For one pair of hands, or one kettle, each pair of teas has ranges of s_j − s_i in which they
//!   would collide. Where the closure shows that the difference must lie in such a range, its bound moves to the end
//!   of the range, and the closure moves on (`propagate`). With two pairs of hands the same holds for two tasks that
//!   both must overlap a third. And what has to be done between the first cup and the last must fit into the hands'
//!   time (`work`).
//! - *A bound.* Every schedule of the branch obeys the constraints, so none has a spread below the longest path from
//!   one decant end to another, nor a makespan below the longest path from second 0 to a decant end.
//! - *A candidate.* Difference constraints have a solution that is least in every tea at once. It attains both
//!   bounds, and no solution has a smaller vector. If it collides with nothing, the branch is solved: this one vector
//!   settles value and tie-break together. If it collides, the collision names the question to branch on: a forbidden
//!   range is left downwards or upwards, a tea takes one kettle or another, of too many tasks at once two follow one
//!   another (`conflict`). The children of a question hold every schedule of the branch between them. Of several
//!   questions all are tried, and the one is put whose answers raise the bounds most; one with a single possible
//!   answer is no question (`search`).
//!
//! A branch whose bound (and, among equals, whose least vector) does not beat the best schedule known holds nothing
//! better and is dropped; the best schedule known also limits spread and makespan in all other branches.
//!
//! The spread is searched first, without second 0: pours may begin before it and start temperatures are forgotten.
//! That loses nothing, because any such schedule can be moved as a whole to where the kettles are ready, which keeps
//! its spread (a first set-up that is impossible stays so); and it rids the search of all the copies of a schedule that differ by such a move. The spread found is
//! then a constraint of a second search, for makespan and vector together, in which starts count from second 0.
//! Teas that are the same in everything keep their file order (`problem` says why that loses nothing).
//!
//! # Effort
//! The search counts branches, never time, so that a plan is the same on every machine. When the budget is used up
//! the best schedule known is given with the smallest bound of the branches that were left open ([`Proof`]).

mod bounds;
mod conflict;
mod hands;
mod kettle;
mod problem;
mod propagate;
mod search;
mod work;

use problem::{NEVER, Problem};
use search::{Best, Goal, Search};

/// A budget that proves rounds of up to eight teas with room to spare.
pub const NODE_BUDGET: u64 = 2_000_000;

/// One tea's work in a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TeaJob {
    /// Seconds of hands and kettle to pour, at least 1.
    pub pour_s: u32,
    /// Seconds from lid on to the start of the decant, 0 for a flash steep.
    pub steep_s: u32,
    /// Seconds of hands to decant, at least 1.
    pub decant_s: u32,
    /// Water temperature, °C.
    pub temp_c: f64,
}

/// A kettle that the pours of a round share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kettle {
    /// Water in it, kg.
    pub fill_kg: f64,
    /// Heating power, W.
    pub watts: f64,
    /// Part of the power that reaches the water, 0–1.
    pub eta: f64,
    /// Time constant of its cooling, s.
    pub tau_s: f64,
    /// Its temperature at second 0, °C; `None`: preset for its first tea.
    pub start_c: Option<f64>,
}

/// One round to be planned.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The teas in file order.
    pub teas: Vec<TeaJob>,
    /// Pairs of hands.
    pub hands: u8,
    /// The kettles; none: kettles are not modelled.
    pub kettles: Vec<Kettle>,
    /// Room temperature, °C.
    pub room_c: f64,
    /// Set points that differ by no more than this need no set-up, °C.
    pub tol_c: f64,
    /// Pours must begin in file order.
    pub order_fixed: bool,
    /// Least seconds between the work of the same hands for two different teas; 0: none. A steep shorter than this
    /// is decanted by the hands that poured it, which do nothing else meanwhile.
    pub gap_s: u32,
}

/// What the plan is to be good at, first things first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Spread, then makespan, then the smallest vector of pour starts.
    StrictSpread,
    /// Excess of the spread over `s`, then makespan, then spread, then the smallest vector of pour starts.
    ReadyWithin {
        /// Seconds between the first and the last cup that do no harm.
        s: u32,
    },
}

/// Why a round cannot be planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// No teas, or too many.
    #[error("a round has 1 to 12 teas, not {0}")]
    TeaCount(usize),
    /// Nobody to pour.
    #[error("a round needs at least one pair of hands")]
    NoHands,
    /// Too many kettles.
    #[error("a round has at most 8 kettles, not {0}")]
    KettleCount(usize),
    /// Numbers of a tea out of range (place from 0).
    #[error("tea {}: pour and decant take 1 s to a day, a steep at most a day, and its temperature is a number", .0 + 1)]
    Tea(usize),
    /// Numbers of a kettle out of range (place from 0).
    #[error("kettle {}: fill, power, efficiency and time constant are above 0, and its temperature is a number", .0 + 1)]
    Kettle(usize),
    /// Room temperature, tolerance or gap out of range.
    #[error("room temperature and tolerance are numbers, the tolerance at least 0, the gap at most a day")]
    Setting,
    /// No kettle can be brought to what the teas need, in any order that is allowed.
    #[error("no kettle can serve these teas in any allowed order: water does not cool below the room")]
    Kettles,
}

/// A value of the schedule and how low it could be at best, seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bound {
    /// What the schedule has.
    pub value_s: u32,
    /// What no schedule can be below that is at least as good in everything that comes before this.
    pub bound_s: u32,
}

impl Bound {
    fn new(value: i32, open: Option<i32>) -> Self {
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

/// The best schedule of a round, or the best one found with `node_budget` branches looked at (exceeded at most by
/// the questions of one branch). Same round, wish and budget: same answer.
///
/// # Errors
/// If the round's numbers make no sense, or no kettle can be brought to what the teas need.
pub fn solve(round: &Round, wish: Wish, node_budget: u64) -> Result<Solution, Fault> {
    let problem = &Problem::new(round)?;
    let (starts, kettle) = kettle::serial(problem).ok_or(Fault::Kettles)?;
    let floor = match wish {
        Wish::StrictSpread => 0,
        Wish::ReadyWithin { s } => i32::try_from(s).unwrap_or(NEVER).min(NEVER / 4),
    };
    let strict = wish == Wish::StrictSpread;

    let first = Best { value: problem.spread(&starts).max(floor), starts, kettle };
    // A quarter is kept for what comes after the spread.
    let close = closest(problem, floor, first, node_budget - node_budget / 4);
    let limit = close.best.value;
    let mut nodes = close.nodes;

    let first = problem.anchor(&close.best);
    let first = Best { value: problem.makespan(&first.starts), ..first };
    let quick = Search::new(problem, Goal::Makespan, strict, first, node_budget.saturating_sub(nodes))
        .within(limit, NEVER / 2)
        .run();
    nodes += quick.nodes;
    // Looking for a shorter round may have come upon a smaller spread, too, while that was not proven yet.
    let excess = |best: &Best| {
        let reached = problem.spread(&best.starts).max(floor);
        Bound::new(reached - floor, close.open.map(|open| open - floor))
    };
    let makespan = Bound::new(quick.best.value, quick.open);
    let so_far = close.open.is_none() && quick.open.is_none();
    if strict {
        let excess = excess(&quick.best);
        let proof = Proof { excess, makespan, spread: excess, starts: so_far };
        return Ok(solution(problem, &quick.best, proof, nodes));
    }

    let first = Best { value: problem.spread(&quick.best.starts), ..quick.best };
    let last =
        Search::new(problem, Goal::Spread { floor: 0 }, true, first, node_budget.saturating_sub(nodes))
            .within(limit, quick.best.value)
            .run();
    nodes += last.nodes;
    let spread = Bound::new(last.best.value, last.open);
    let starts = so_far && last.open.is_none();
    let proof = Proof { excess: excess(&last.best), makespan, spread, starts };
    Ok(solution(problem, &last.best, proof, nodes))
}

/// The smallest spread, though no less than `floor` counts.
///
/// Limits below what the first schedule has are tried first, a quarter of the way up at a time. A limit that cannot
/// be kept is mostly seen not to be at once; under the first one that can, the search runs to the end and proves the
/// smallest.
fn closest<'a>(problem: &'a Problem, floor: i32, first: Best, node_budget: u64) -> Search<'a> {
    let (mut proven, mut nodes) = (floor, 0);
    loop {
        let limit = proven + (first.value - 1 - proven).max(0) / 4;
        let mut search = Search::new(problem, Goal::Spread { floor }, false, first, node_budget - nodes)
            .free()
            .within(limit, NEVER / 2)
            .run();
        nodes += search.nodes;
        let found = search.best.value < first.value;
        if found || search.open.is_some() || limit + 1 >= first.value || nodes >= node_budget {
            if !found && search.open.is_none() && limit + 1 < first.value {
                search.open = Some(limit + 1);
            }
            search.open = search.open.map(|open| open.max(proven));
            search.nodes = nodes;
            return search;
        }
        proven = limit + 1;
    }
}

fn solution(problem: &Problem, best: &Best, proof: Proof, nodes: u64) -> Solution {
    let n = problem.n;
    let (pour_hands, decant_hands) = hands::hand_out(problem, &best.starts).into_iter().unzip();
    Solution {
        starts_s: best.starts[..n].iter().map(|&s| whole(s)).collect(),
        kettle: if problem.kettles.is_empty() { Vec::new() } else { best.kettle[..n].to_vec() },
        pour_hands,
        decant_hands,
        spread_s: whole(problem.spread(&best.starts)),
        makespan_s: whole(problem.makespan(&best.starts)),
        proof,
        nodes,
    }
}

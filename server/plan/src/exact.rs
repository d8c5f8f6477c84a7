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
//! *Water.* A kettle is full at second 0 (or holds enough for the whole round, which is the same) and each pour takes
//! its millilitres. It is filled between two pours for two reasons, and then always ([`crate::filling`] has the rule):
//! - The next pour does not fit into what is left. The kettle is filled up; then what is in it, mixed with the fresh
//!   water, heats or cools to the next set point. If that is quicker, it is emptied first and filled afresh.
//! - The next pour fits, but at a lower set point, and the kettle is ready sooner emptied and filled afresh than left
//!   to cool. A kettle that stands hot before its first tea is emptied likewise, before second 0.
//!
//! Kettles are seen to only after the lid, `lid_s` after the end of the pour before: to heat and to cool counts from then.
//! Filling takes hands: after that lid, the same that poured; where the steep is shorter than the
//! filling, directly after the decant, the same that decanted. A tea whose pour takes more than a full kettle gives can't
//! be poured from that kettle. So the set-up before a pour depends on all the pours before it.
//!
//! What is proven is proven of the schedules that keep to this. One that fills a kettle though the next pour fits, so
//! that it need not be filled later, may have a smaller spread: it is not looked for.
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
//!   another, of a kettle that may run out one tea comes next (`conflict`). The children of a question hold every schedule of the branch between them. Of several
//!   questions all are tried, and the one is put whose answers raise the bounds most; one with a single possible
//!   answer is no question (`search`).
//!
//! Water enters in two ways. Everywhere the set-up between two teas is the least that any order and any refill would
//! leave of it, a true bound. What an order really costs is drawn from its known beginning, pour by pour (`order`);
//! where a schedule runs dry beyond that, the question is which tea comes next, and every schedule has one answer.
//! Without a kettle that can run out none of this takes part.
//!
//! A branch whose bound (and, among equals, whose least vector) does not beat the best schedule known holds nothing
//! better and is dropped; the best schedule known also limits spread and makespan in all other branches.
//!
//! The spread is searched first, without second 0: pours may begin before it and start temperatures are forgotten.
//! That loses nothing, because any such schedule can be moved as a whole to where the kettles are ready, which keeps
//! its spread (a first set-up that is impossible stays so); and it rids the search of all the copies of a schedule that differ by such a move. The spread found is
//! then a constraint of a second search, for makespan and vector together, in which starts count from second 0.
//! In a round that is taken up again while some of its teas are poured, these stand fast, at starts that are known from
//! second 0; there all searches count from it.
//! Teas that are the same in everything keep their file order (`problem` says why that loses nothing).
//!
//! # Effort
//! The search counts branches, never time, so that a plan is the same on every machine. When the budget is used up
//! the best schedule known is given with the smallest bound of the branches that were left open ([`Proof`]).

mod begun;
mod bounds;
mod conflict;
mod hands;
mod kettle;
mod order;
mod problem;
mod propagate;
mod ranges;
mod round;
mod search;
mod set_up;
mod solution;
mod work;

pub use begun::{Begun, Poured};
pub use round::{Fault, Kettle, Round, TeaJob, Wish};
pub use solution::{Bound, Proof, Solution};

use problem::{Best, Problem};
use round::NEVER;
use search::{Goal, Search};
use solution::solution;

/// A budget that proves rounds of up to eight teas with room to spare.
pub const NODE_BUDGET: u64 = 2_000_000;

/// The best schedule of a round, or the best one found with `node_budget` branches looked at (exceeded at most by
/// the questions of one branch). Same round, wish and budget: same answer.
///
/// # Errors
/// If the round's numbers make no sense, or no kettle can be brought to what the teas need.
pub fn solve(round: &Round, wish: Wish, node_budget: u64) -> Result<Solution, Fault> {
    solve_begun(round, wish, node_budget, None)
}

/// The same for a round that is taken up again. Where the kettles stand is part of the problem, and so is what is poured
/// already: its decants keep their hands, and its cups count for spread and makespan. What was planned is only where the
/// search begins, and what is proven is proven of all schedules.
///
/// # Errors
/// As for [`solve`]; and if what is steeping leaves no hands for the schedule that was found.
pub fn solve_begun(
    round: &Round,
    wish: Wish,
    node_budget: u64,
    begun: Option<&Begun>,
) -> Result<Solution, Fault> {
    match search_begun(round, wish, node_budget, begun) {
        // Where some teas are given to some hands alone, and the others leave no hands for them, each is given to one.
        Err(Fault::Steeping) if round.by.iter().any(|by| !by.is_power_of_two()) => {
            let round = Round { by: one_each(round), ..round.clone() };
            search_begun(&round, wish, node_budget, begun)
        }
        done => done,
    }
}

/// Each tea to one pair of hands that may pour it: those that have least to do.
fn one_each(round: &Round) -> Vec<u8> {
    let mut work_s = [0; 8];
    let works = |tea: &TeaJob| tea.pour_s + tea.decant_s;
    let given = round.teas.iter().zip(&round.by);
    for (tea, by) in given.clone().filter(|(_, by)| by.is_power_of_two()) {
        work_s[by.trailing_zeros() as usize] += works(tea);
    }
    let one = |(tea, &by): (&TeaJob, &u8)| {
        if by.is_power_of_two() {
            return by;
        }
        let hands = (0..usize::from(round.hands).min(8)).filter(|hands| by & (1 << hands) != 0);
        let Some(least) = hands.min_by_key(|&hands| work_s[hands]) else { return by };
        work_s[least] += works(tea);
        1 << least
    };
    given.map(one).collect()
}

fn search_begun(
    round: &Round,
    wish: Wish,
    node_budget: u64,
    begun: Option<&Begun>,
) -> Result<Solution, Fault> {
    let problem = &Problem::new(round, begun)?;
    let serial = kettle::serial(problem).ok_or(Fault::Kettles)?;
    let followed = begun.and_then(|begun| begun::followed(problem, begun));
    let quicker = followed.filter(|(starts, _)| problem.spread(starts) < problem.spread(&serial.0));
    let (starts, kettle) = quicker.unwrap_or(serial);
    let floor = match wish {
        Wish::StrictSpread => 0,
        Wish::ReadyWithin { s } => i32::try_from(s).unwrap_or(NEVER).min(NEVER / 4),
    };
    let strict = wish == Wish::StrictSpread;

    let first = Best { value: problem.spread(&starts).max(floor), starts, kettle };
    // A quarter is kept for what comes after the spread.
    let budget = node_budget - node_budget / 4;
    // Of few branches a part goes into any better schedule at all.
    let better =
        begun.map(|_| Search::new(problem, Goal::Spread { floor }, false, first, budget / 4).loose().run());
    let close = match better {
        Some(found) if found.open.is_none() => found,
        Some(found) => closest(problem, floor, found.best, budget, found.nodes),
        None => closest(problem, floor, first, budget, 0),
    };
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
        return solution(problem, &quick.best, proof, nodes);
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
    solution(problem, &last.best, proof, nodes)
}

/// The smallest spread, though no less than `floor` counts.
///
/// Limits below what the first schedule has are tried first, a quarter of the way up at a time. A limit that cannot
/// be kept is mostly seen not to be at once; under the first one that can, the search runs to the end and proves the
/// smallest. `spent` branches of the budget have been looked at.
fn closest<'a>(problem: &'a Problem, floor: i32, first: Best, node_budget: u64, spent: u64) -> Search<'a> {
    let (mut proven, mut nodes) = (floor, spent);
    loop {
        let limit = proven + (first.value - 1 - proven).max(0) / 4;
        let mut search =
            Search::new(problem, Goal::Spread { floor }, false, first, node_budget.saturating_sub(nodes))
                .loose()
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

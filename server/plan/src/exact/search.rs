//! Depth-first branch and bound.

use super::bounds::Branch;
use super::conflict::{Conflict, conflicts};
use super::problem::{Best, Problem};
use super::round::NEVER;
use super::work::more_than_hands_can_do;

/// What a search minimises; of equal values always the smallest vector of starts when `smallest` is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// Last cup − first cup, though no less than `floor` counts.
    Spread { floor: i32 },
    /// The last cup.
    Makespan,
}

/// What a second of the bound counts in the choice of a conflict, where a second of one tea's start counts one.
const SECOND_OF_BOUND: i64 = 4;

/// How often the child that gains least counts against the one that gains most: both have to be searched.
const WORST_CHILD: i64 = 8;

/// One search: its goal, its limits, the best found, and how far it got.
pub(super) struct Search<'a> {
    problem: &'a Problem,
    goal: Goal,
    /// Starts count from second 0 and start temperatures matter.
    anchored: bool,
    /// Go on among equal values for the smallest vector.
    smallest: bool,
    spread_limit: i32,
    deadline: i32,
    /// The best found so far.
    pub best: Best,
    /// Branches looked at.
    pub nodes: u64,
    budget: u64,
    /// The smallest bound of the branches left open when the budget ran out.
    pub open: Option<i32>,
    pool: Vec<Vec<Branch>>,
}

impl<'a> Search<'a> {
    /// A search that starts from a known schedule and may look at `budget` branches.
    pub fn new(problem: &'a Problem, goal: Goal, smallest: bool, best: Best, budget: u64) -> Self {
        Self {
            problem,
            goal,
            anchored: true,
            smallest,
            spread_limit: NEVER / 2,
            deadline: NEVER / 2,
            best,
            nodes: 0,
            budget,
            open: None,
            pool: Vec::new(),
        }
    }

    /// Lets pours begin before second 0 and forgets the start temperatures; not where what is poured holds it fast.
    pub fn loose(mut self) -> Self {
        self.anchored = self.problem.has_begun();
        self
    }

    /// Only schedules with at most this spread and this makespan count.
    pub fn within(mut self, spread: i32, makespan: i32) -> Self {
        (self.spread_limit, self.deadline) = (spread, makespan);
        self
    }

    /// Searches to the end or until the budget is used up.
    pub fn run(mut self) -> Self {
        let mut root = Branch::root(self.problem, self.anchored);
        if self.settle(&mut root, None) {
            self.explore(root, 0);
        }
        self
    }

    fn size(&self) -> usize {
        self.problem.n + usize::from(self.anchored)
    }

    fn better(&self, branch: &Branch) -> bool {
        let n = self.problem.n;
        branch.bound < self.best.value
            || self.smallest && branch.bound == self.best.value && branch.starts[..n] < self.best.starts[..n]
    }

    /// Brings a branch up to date with all limits and draws the consequences; `false` if it holds nothing better.
    /// `parent` is a settled branch from which this one was made.
    fn settle(&mut self, branch: &mut Branch, parent: Option<&Branch>) -> bool {
        self.nodes += 1;
        let (problem, size) = (self.problem, self.size());
        let beat = self.best.value - i32::from(!self.smallest);
        let spread_limit = match self.goal {
            Goal::Spread { floor } if beat < floor => return false,
            Goal::Spread { .. } => self.spread_limit.min(beat),
            Goal::Makespan => self.spread_limit,
        };
        let deadline = if self.goal == Goal::Makespan { self.deadline.min(beat) } else { self.deadline };
        if !branch.limit_spread(problem, size, spread_limit)
            || self.anchored && !branch.limit_makespan(problem, deadline)
            || !branch.propagate(problem, self.anchored, parent)
        {
            return false;
        }
        let free_starts = branch.free_starts(problem);
        if more_than_hands_can_do(problem, &free_starts, spread_limit) {
            return false;
        }
        match self.goal {
            Goal::Spread { floor } => {
                // The longest path from any decant end to another is that to the last one when none ends before 0.
                branch.bound = problem.makespan(&free_starts).max(floor);
                branch.starts = if self.anchored {
                    let mut tight = branch.clone();
                    tight.limit_spread(problem, size, branch.bound);
                    tight.anchored_starts(problem)
                } else {
                    free_starts
                };
            }
            Goal::Makespan => {
                branch.starts = branch.anchored_starts(problem);
                let ends = (0..problem.n).map(|i| branch.starts[i] + problem.jobs[i].length);
                branch.bound = ends.max().unwrap_or(0);
            }
        }
        self.better(branch)
    }

    fn explore(&mut self, mut branch: Branch, depth: usize) {
        if self.pool.len() < depth + 2 {
            self.pool.resize_with(depth + 2, Vec::new);
        }
        loop {
            if !self.better(&branch) {
                return;
            }
            if self.nodes >= self.budget {
                self.open = Some(self.open.map_or(branch.bound, |open| open.min(branch.bound)));
                return;
            }
            let conflicts = match conflicts(self.problem, &branch, self.anchored) {
                Ok(kettle) => {
                    self.best = Best { value: branch.bound, starts: branch.starts, kettle };
                    return;
                }
                Err(conflicts) => conflicts,
            };
            let mut children = self.choose(&branch, &conflicts, depth);
            match children.len() {
                0 => {
                    self.pool[depth] = children;
                    return;
                }
                1 => {
                    branch = children.remove(0);
                    self.pool[depth] = children;
                    continue;
                }
                _ => {}
            }
            children.sort_by_key(|child| (child.bound, child.starts));
            for mut child in children.drain(..) {
                // What was found in the children before may have tightened the limits.
                if !self.better(&child) {
                    continue;
                }
                let settled = child.clone();
                if self.settle(&mut child, Some(&settled)) {
                    self.explore(child, depth + 1);
                }
            }
            self.pool[depth] = children;
            return;
        }
    }

    /// Tries every conflict and gives the children of the one that raises the bounds most.
    fn choose(&mut self, branch: &Branch, conflicts: &[Conflict], depth: usize) -> Vec<Branch> {
        let mut chosen = std::mem::take(&mut self.pool[depth]);
        let mut trial = std::mem::take(&mut self.pool[depth + 1]);
        let mut top = None;
        for conflict in conflicts {
            trial.clear();
            self.split(branch, conflict, &mut trial);
            let gain = |child: &Branch| {
                let n = self.problem.n;
                let later: i32 = (0..n).map(|i| child.starts[i] - branch.starts[i]).sum();
                SECOND_OF_BOUND * i64::from(child.bound - branch.bound) + i64::from(later)
            };
            let score = match trial.len() {
                // Whatever has no child or one needs no decision at all.
                0 | 1 => i64::MAX - trial.len() as i64,
                count => {
                    let (low, high) =
                        trial.iter().map(gain).fold((i64::MAX, 0), |(l, h), g| (l.min(g), h.max(g)));
                    (WORST_CHILD * low + high) / count as i64
                }
            };
            if top.is_none_or(|top| score > top) {
                top = Some(score);
                std::mem::swap(&mut chosen, &mut trial);
                if chosen.len() < 2 {
                    break;
                }
            }
        }
        self.pool[depth + 1] = trial;
        chosen
    }

    /// Puts the children of a branch for one conflict that may hold something better into `children`.
    fn split(&mut self, branch: &Branch, conflict: &Conflict, children: &mut Vec<Branch>) {
        conflict.split(self.problem, branch, self.anchored, &mut |mut child| {
            if self.settle(&mut child, Some(branch)) {
                children.push(child);
            }
        });
    }
}

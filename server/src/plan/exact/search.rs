//! Depth-first branch and bound.

use super::bounds::Branch;
use super::hands::overloads;
use super::kettle::assign;
use super::problem::{MAX_TEAS, NEVER, Problem};

/// What a search minimises; of equal values always the smallest vector of starts when `smallest` is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goal {
    /// Last cup − first cup, though no less than `floor` counts.
    Spread { floor: i32 },
    /// The last cup.
    Makespan,
}

/// A schedule and its value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Best {
    pub value: i32,
    pub starts: [i32; MAX_TEAS],
    pub kettle: [u8; MAX_TEAS],
}

/// Something about the least schedule of a branch that cannot be, and so has to be decided one way or another.
#[derive(Clone, Debug)]
enum Conflict {
    /// s_j − s_i lies in this forbidden range.
    Pair { i: usize, j: usize, range: (i32, i32) },
    /// No choice of kettles serves these starts, and this tea's is open.
    Kettle(usize),
    /// Two pours of kettle `k` that follow one another too closely, though over other teas it would do;
    /// `before` is `None` for second 0.
    Between { k: usize, before: Option<usize>, next: usize },
    /// More tasks at once than hands.
    Hands(Vec<usize>),
}

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

    /// Lets pours begin before second 0 and forgets the start temperatures.
    pub fn free(mut self) -> Self {
        self.anchored = false;
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
        if self.settle(&mut root) {
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
    fn settle(&mut self, branch: &mut Branch) -> bool {
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
            || !branch.propagate(problem, self.anchored)
        {
            return false;
        }
        match self.goal {
            Goal::Spread { floor } => {
                let spread = branch.spread(problem);
                branch.bound = spread.max(floor);
                branch.starts = if self.anchored {
                    let mut tight = branch.clone();
                    tight.limit_spread(problem, size, branch.bound);
                    tight.anchored_starts(problem)
                } else {
                    branch.free_starts(problem)
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
            let conflicts = match self.conflicts(&branch) {
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
            children.sort_by(|a, b| (a.bound, a.starts).cmp(&(b.bound, b.starts)));
            for mut child in children.drain(..) {
                // What was found in the children before may have tightened the limits.
                if self.better(&child) && self.settle(&mut child) {
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
                i64::from(child.bound - branch.bound) * 32 + i64::from(later)
            };
            let score = match trial.len() {
                0 | 1 => i64::MAX - trial.len() as i64,
                _ => {
                    let (low, high) =
                        trial.iter().map(gain).fold((i64::MAX, 0), |(l, h), g| (l.min(g), h.max(g)));
                    (8 * low + high.min(100_000)) / trial.len() as i64
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

    fn push(&mut self, mut child: Branch, possible: bool, children: &mut Vec<Branch>) {
        if possible && self.settle(&mut child) {
            children.push(child);
        }
    }

    /// The children of a branch for one conflict: together they hold every schedule of the branch, and none of them
    /// has the conflict.
    fn split(&mut self, branch: &Branch, conflict: &Conflict, children: &mut Vec<Branch>) {
        let (problem, size) = (self.problem, self.size());
        match *conflict {
            Conflict::Pair { i, j, range: (low, high) } => {
                for (a, b, seconds) in [(i, j, high + 1), (j, i, 1 - low)] {
                    let mut child = branch.clone();
                    let possible = child.require(size, a, b, seconds);
                    self.push(child, possible, children);
                }
            }
            Conflict::Kettle(tea) => {
                for k in (0..problem.kettles.len()).filter(|k| branch.kettles[tea] & (1 << k) != 0) {
                    let mut child = branch.clone();
                    child.kettles[tea] = 1 << k;
                    self.push(child, true, children);
                }
            }
            Conflict::Between { k, before, next } => {
                let kettle = &problem.kettles[k];
                let mut child = branch.clone();
                let possible = match before {
                    Some(before) => {
                        let direct = kettle.direct[before][next];
                        direct < NEVER && child.require(size, before, next, direct)
                    }
                    None if self.anchored => {
                        kettle.first[next] < NEVER && child.require(size, problem.n, next, kettle.first[next])
                    }
                    None => kettle.first[next] < NEVER,
                };
                self.push(child, possible, children);
                if let Some(before) = before {
                    let mut child = branch.clone();
                    let possible = child.require(size, next, before, kettle.any[next][before]);
                    self.push(child, possible, children);
                }
                let here = |&c: &usize| c != next && Some(c) != before && branch.kettles[c] == 1 << k;
                for c in (0..problem.n).filter(here) {
                    let mut child = branch.clone();
                    let possible = child.require(size, c, next, kettle.any[c][next])
                        && before.is_none_or(|before| child.require(size, before, c, kettle.any[before][c]));
                    self.push(child, possible, children);
                }
            }
            Conflict::Hands(ref set) => {
                // Two of the tasks must follow one another. Each child takes one such pair and rules out those of the
                // children before it, so that no schedule is looked at twice.
                let mut rest = branch.clone();
                for (x, y) in set.iter().flat_map(|&x| set.iter().map(move |&y| (x, y))) {
                    let (x, y) = (problem.tasks[x], problem.tasks[y]);
                    if x.tea == y.tea {
                        continue;
                    }
                    let mut child = rest.clone();
                    let possible = child.require(size, x.tea, y.tea, x.to - y.from);
                    self.push(child, possible, children);
                    if !rest.require(size, y.tea, x.tea, 1 - (x.to - y.from)) {
                        return;
                    }
                }
            }
        }
    }

    /// The kettles with which the least schedule of a branch is feasible, or why it is not.
    fn conflicts(&self, branch: &Branch) -> Result<[u8; MAX_TEAS], Vec<Conflict>> {
        let (problem, starts) = (self.problem, &branch.starts);
        let n = problem.n;
        let mut all = Vec::new();
        for i in 0..n {
            for j in i + 1..n {
                let ranges = problem.ranges(i, j, (branch.kettles[i], branch.kettles[j]));
                if let Some(range) = ranges.holding(starts[j] - starts[i]) {
                    all.push(Conflict::Pair { i, j, range });
                }
            }
        }
        let kettle = assign(problem, starts, &branch.kettles, self.anchored);
        if kettle.is_none() {
            let open = (0..n).filter(|&i| !branch.kettles[i].is_power_of_two());
            all.extend(open.map(Conflict::Kettle));
            if all.is_empty() {
                all.extend(self.too_close(branch));
            }
        }
        if all.is_empty() && problem.hands > 1 {
            all.extend(overloads(problem, starts).into_iter().map(Conflict::Hands));
        }
        match kettle {
            Some(kettle) if all.is_empty() => Ok(kettle),
            _ => Err(all),
        }
    }

    /// The first pour that comes too soon after the one before it on its kettle, when all kettles are chosen.
    fn too_close(&self, branch: &Branch) -> Option<Conflict> {
        let (problem, starts) = (self.problem, &branch.starts);
        problem.kettles.iter().enumerate().find_map(|(k, kettle)| {
            let mut order: Vec<usize> = (0..problem.n).filter(|&i| branch.kettles[i] == 1 << k).collect();
            order.sort_unstable_by_key(|&i| (starts[i], i));
            let mut before: Option<usize> = None;
            order.into_iter().find_map(|next| {
                let early = match before {
                    Some(before) => starts[next] - starts[before] < kettle.direct[before][next],
                    None if self.anchored => starts[next] < kettle.first[next],
                    None => kettle.first[next] >= NEVER,
                };
                let found = early.then_some(Conflict::Between { k, before, next });
                before = Some(next);
                found
            })
        })
    }
}

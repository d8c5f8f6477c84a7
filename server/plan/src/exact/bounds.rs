//! What is known of the start differences in one branch of the search, and what follows from it.

use super::problem::Problem;
use super::round::{MAX_TEAS, NEVER};

/// Room for the teas and second 0; a row is whole vector registers.
pub(super) const SIZE: usize = 16;

/// One branch: the longest-path closure of its difference constraints, and the kettles its teas may use.
#[derive(Clone)]
pub(super) struct Branch {
    /// `after[i][j]`: s_j − s_i is at least this. Place n stands for second 0 where starts are anchored.
    pub after: [[i32; SIZE]; SIZE],
    /// Kettles each tea may use, as bits.
    pub kettles: [u8; MAX_TEAS],
    /// No schedule of the branch has a smaller value of the objective.
    pub bound: i32,
    /// The limits on spread and makespan that the closure holds.
    limits: (i32, i32),
    /// The schedule that is least in every tea among those that reach `bound`, were there no more constraints.
    pub starts: [i32; MAX_TEAS],
}

impl Branch {
    /// Nothing known but the fixed order and the set-ups from the start temperatures.
    pub fn root(problem: &Problem, anchored: bool) -> Self {
        let mut branch = Self {
            after: [[-NEVER; SIZE]; SIZE],
            kettles: problem.allowed,
            bound: 0,
            limits: (NEVER, NEVER),
            starts: [0; MAX_TEAS],
        };
        let n = problem.n.min(SIZE);
        for (i, row) in branch.after.iter_mut().enumerate() {
            row[i] = 0;
        }
        for j in 0..n {
            for i in (0..n).filter(|i| problem.before[j] & (1 << i) != 0) {
                branch.after[i][j] = 0;
            }
            if anchored {
                branch.after[n][j] = 0;
            }
        }
        if anchored {
            // What is poured stands fast.
            for i in problem.dry..n {
                branch.after[n][i] = problem.fixed[i];
                branch.after[i][n] = -problem.fixed[i];
                for j in (0..n).filter(|&j| j != i) {
                    let at = if j < problem.dry { 0 } else { problem.fixed[j] };
                    branch.after[i][j] = at - problem.fixed[i];
                }
            }
        }
        branch
    }

    /// Asks s_j − s_i ≥ `seconds`; `false` if that cannot be.
    pub fn require(&mut self, size: usize, i: usize, j: usize, seconds: i32) -> bool {
        if seconds <= self.after[i][j] {
            return true;
        }
        if self.after[j][i] + seconds > 0 {
            return false;
        }
        let from_j = self.after[j];
        for row in self.after.iter_mut().take(size) {
            let by = row[i] + seconds;
            if by > row[j] {
                for (known, step) in row.iter_mut().zip(from_j) {
                    *known = (*known).max(by + step);
                }
            }
        }
        true
    }

    /// Asks that all decants end within `limit` seconds of one another; `false` if that cannot be.
    ///
    /// The constraints e_j ≥ e_i − limit all run over one pair of instants (first and last cup), and a longest path
    /// uses that pair once at most, so one pass keeps the closure.
    pub fn limit_spread(&mut self, problem: &Problem, size: usize, limit: i32) -> bool {
        if limit >= self.limits.0 {
            return true;
        }
        self.limits.0 = limit;
        let n = problem.n.min(SIZE);
        let (mut to_last, mut from_first) = ([-NEVER; SIZE], [-NEVER; SIZE]);
        for u in 0..size {
            for i in 0..n {
                let length = problem.jobs[i].length;
                to_last[u] = to_last[u].max(self.after[u][i] + length);
                from_first[u] = from_first[u].max(self.after[i][u] - length);
            }
        }
        if self.spread(problem) > limit {
            return false;
        }
        for (row, to_last) in self.after.iter_mut().zip(to_last).take(size) {
            for (known, step) in row.iter_mut().zip(from_first) {
                *known = (*known).max(to_last - limit + step);
            }
        }
        true
    }

    /// Asks that all decants end by `deadline`; `false` if that cannot be.
    pub fn limit_makespan(&mut self, problem: &Problem, deadline: i32) -> bool {
        if deadline >= self.limits.1 {
            return true;
        }
        self.limits.1 = deadline;
        let n = problem.n.min(SIZE);
        if (0..n).any(|i| self.after[n][i] + problem.jobs[i].length > deadline) {
            return false;
        }
        let from_zero = self.after[n];
        for row in self.after.iter_mut().take(n + 1) {
            let to_last = (0..n).map(|i| row[i] + problem.jobs[i].length).max().unwrap_or(0);
            for (known, step) in row.iter_mut().zip(from_zero) {
                *known = (*known).max(to_last - deadline + step);
            }
        }
        true
    }

    /// The smallest spread that the difference constraints alone allow: the longest path between two decant ends.
    pub fn spread(&self, problem: &Problem) -> i32 {
        let n = problem.n.min(SIZE);
        let mut most = 0;
        for i in 0..n {
            for j in 0..n {
                most = most.max(self.after[i][j] + problem.jobs[j].length - problem.jobs[i].length);
            }
        }
        most
    }

    /// The least starts when every decant ends at or after 0.
    pub fn free_starts(&self, problem: &Problem) -> [i32; MAX_TEAS] {
        let mut starts = [0; MAX_TEAS];
        for (j, start) in starts.iter_mut().enumerate().take(problem.n) {
            let least = (0..problem.n).map(|i| self.after[i][j] - problem.jobs[i].length).max();
            *start = least.unwrap_or(0);
        }
        starts
    }

    /// The least starts when every pour begins at or after 0.
    pub fn anchored_starts(&self, problem: &Problem) -> [i32; MAX_TEAS] {
        let mut starts = [0; MAX_TEAS];
        starts[..problem.n].copy_from_slice(&self.after[problem.n][..problem.n]);
        starts
    }

    /// Whether s_j − s_i ≥ `seconds` is possible.
    pub fn allows(&self, i: usize, j: usize, seconds: i32) -> bool {
        self.after[j][i] + seconds <= 0
    }
}

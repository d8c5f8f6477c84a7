//! What is known of the start differences in one branch of the search, and what follows from it.

use super::problem::{MAX_TEAS, NEVER, Problem};

/// Room for the teas and second 0, a power of two so that a row is whole vector registers.
const SIZE: usize = 16;

/// One branch: the longest-path closure of its difference constraints, and the kettles its teas may use.
#[derive(Clone)]
pub(super) struct Branch {
    /// `after[i][j]`: s_j − s_i is at least this. Place n stands for second 0 where starts are anchored.
    after: [[i32; SIZE]; SIZE],
    /// Kettles each tea may use, as bits.
    pub kettles: [u8; MAX_TEAS],
    /// No schedule of the branch has a smaller value of the objective.
    pub bound: i32,
    /// The schedule that is least in every tea among those that reach `bound`, were there no more constraints.
    pub starts: [i32; MAX_TEAS],
}

impl Branch {
    /// Nothing known but the fixed order and the set-ups from the start temperatures.
    pub fn root(problem: &Problem, anchored: bool) -> Self {
        let mut branch =
            Self { after: [[-NEVER; SIZE]; SIZE], kettles: problem.allowed, bound: 0, starts: [0; MAX_TEAS] };
        let n = problem.n;
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
        let n = problem.n;
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
        let n = problem.n;
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
        let n = problem.n;
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

    /// Draws the consequences: start differences move out of forbidden ranges, and teas off kettles on which they
    /// would be in nothing but forbidden ranges. `false` if nothing is left.
    pub fn propagate(&mut self, problem: &Problem, anchored: bool) -> bool {
        loop {
            if !self.leave_ranges(problem, anchored) {
                return false;
            }
            match self.leave_kettles(problem, anchored) {
                None => return false,
                Some(false) => return true,
                Some(true) => {}
            }
        }
    }

    fn leave_ranges(&mut self, problem: &Problem, anchored: bool) -> bool {
        let n = problem.n;
        let size = n + usize::from(anchored);
        loop {
            let mut moved = false;
            for i in 0..n {
                for j in i + 1..n {
                    let (least, most) = (self.after[i][j], -self.after[j][i]);
                    let ranges = problem.ranges(i, j, (self.kettles[i], self.kettles[j]));
                    let (up, down) = (ranges.up_from(least), ranges.down_from(most));
                    if up > down {
                        return false;
                    }
                    if up > least {
                        moved = true;
                        if !self.require(size, i, j, up) {
                            return false;
                        }
                    }
                    if down < most {
                        moved = true;
                        if !self.require(size, j, i, -down) {
                            return false;
                        }
                    }
                }
            }
            if !moved {
                return true;
            }
        }
    }

    /// `None` if a tea has no kettle left, otherwise whether anything changed.
    fn leave_kettles(&mut self, problem: &Problem, anchored: bool) -> Option<bool> {
        if problem.kettles.is_empty() {
            return Some(false);
        }
        let n = problem.n;
        let mut changed = false;
        for i in 0..n {
            if !self.kettles[i].is_power_of_two() {
                let mut left = self.kettles[i];
                for k in (0..problem.kettles.len()).filter(|k| self.kettles[i] & (1 << k) != 0) {
                    let here = 1u8 << k;
                    let blocked = (0..n).any(|j| {
                        j != i && self.kettles[j] == here && {
                            let (a, b) = (i.min(j), i.max(j));
                            let ranges = problem.ranges(a, b, (here, here));
                            ranges.up_from(self.after[a][b]) > ranges.down_from(-self.after[b][a])
                        }
                    });
                    let late = anchored && problem.kettles[k].any_first[i] + self.after[i][n] > 0;
                    if blocked || late {
                        left &= !here;
                    }
                }
                if left == 0 {
                    return None;
                }
                changed |= left != self.kettles[i];
                self.kettles[i] = left;
            }
            if anchored {
                let kettles = problem.kettles.iter().enumerate();
                let open = kettles.filter(|&(k, _)| self.kettles[i] & (1 << k) != 0);
                let ready = open.map(|(_, kettle)| kettle.any_first[i]).min().unwrap_or(0);
                if ready > self.after[n][i] {
                    changed = true;
                    if !self.require(n + 1, n, i, ready) {
                        return None;
                    }
                }
            }
        }
        Some(changed)
    }
}

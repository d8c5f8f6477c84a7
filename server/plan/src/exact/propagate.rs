//! What follows from what is known of the start differences in one branch.

use super::bounds::{Branch, SIZE};
use super::problem::Problem;
use super::round::{MAX_TEAS, NEVER};

/// Differences that no branch has.
const UNSEEN: [[i32; SIZE]; SIZE] = [[NEVER; SIZE]; SIZE];

impl Branch {
    /// Draws the consequences: start differences move out of forbidden ranges, teas off kettles on which they would be
    /// in nothing but forbidden ranges, pours away from the refills before them, and with two hands a third task away
    /// from two that overlap. `false` if nothing is left. Pairs that are as they were in `parent`, where nothing was left to draw, are not looked at again.
    pub fn propagate(&mut self, problem: &Problem, anchored: bool, parent: Option<&Self>) -> bool {
        let mut seen = match parent {
            Some(parent) if parent.kettles == self.kettles => parent.after,
            _ => UNSEEN,
        };
        let may_run_out = problem.may_run_out();
        loop {
            if !self.leave_ranges(problem, anchored, &mut seen) {
                return false;
            }
            match self.leave_kettles(problem, anchored) {
                None => return false,
                Some(true) => {
                    seen = UNSEEN;
                    continue;
                }
                Some(false) => {}
            }
            if may_run_out {
                match self.draw_down(problem, anchored) {
                    None => return false,
                    Some(true) => continue,
                    Some(false) => {}
                }
            }
            if problem.hands != 2 {
                return true;
            }
            match self.leave_overlaps(problem, anchored) {
                None => return false,
                Some(true) => {}
                Some(false) => return true,
            }
        }
    }

    fn leave_ranges(&mut self, problem: &Problem, anchored: bool, seen: &mut [[i32; SIZE]; SIZE]) -> bool {
        let size = problem.n + usize::from(anchored);
        loop {
            let mut moved = false;
            for &(i, j) in &problem.pairs {
                let (least, most) = (self.after[i][j], -self.after[j][i]);
                if seen[i][j] == least && seen[j][i] == -most {
                    continue;
                }
                let ranges = problem.ranges(i, j, (self.kettles[i], self.kettles[j]));
                let (up, down) = ranges.shrink(least, most);
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
                seen[i][j] = up;
                seen[j][i] = -down;
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
        for i in 0..problem.dry {
            if !self.kettles[i].is_power_of_two() {
                let mut left = self.kettles[i];
                for k in (0..problem.kettles.len()).filter(|k| self.kettles[i] & (1 << k) != 0) {
                    let here = 1u8 << k;
                    let blocked = (0..n).any(|j| {
                        j != i && self.kettles[j] == here && {
                            let (a, b) = (i.min(j), i.max(j));
                            let ranges = problem.ranges(a, b, (here, here));
                            let (up, down) = ranges.shrink(self.after[a][b], -self.after[b][a]);
                            up > down
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

    /// With two hands, two tasks that both have to overlap a third cannot overlap one another: three intervals of which
    /// each two meet have a second in common. `None` if nothing is left, otherwise whether anything changed.
    fn leave_overlaps(&mut self, problem: &Problem, anchored: bool) -> Option<bool> {
        let size = problem.n + usize::from(anchored);
        let tasks = &problem.tasks;
        let count = tasks.len();
        let mut with = [0u32; 2 * MAX_TEAS];
        for x in 0..count {
            let a = tasks[x];
            for y in x + 1..count {
                let b = tasks[y];
                // Overlap: s_a + a.from < s_b + b.to and s_b + b.from < s_a + a.to.
                if a.tea != b.tea
                    && self.after[a.tea][b.tea] > a.from - b.to
                    && self.after[b.tea][a.tea] > b.from - a.to
                {
                    with[x] |= 1 << y;
                    with[y] |= 1 << x;
                }
            }
        }
        let mut changed = false;
        for x in 0..count {
            let a = tasks[x];
            for y in x + 1..count {
                let b = tasks[y];
                if a.tea == b.tea || with[x] & with[y] == 0 {
                    continue;
                }
                let (low, high) = (a.from - b.to + 1, a.to - b.from - 1);
                let (least, most) = (self.after[a.tea][b.tea], -self.after[b.tea][a.tea]);
                let up = if least >= low { least.max(high + 1) } else { least };
                let down = if most <= high { most.min(low - 1) } else { most };
                if up > down {
                    return None;
                }
                if up > least {
                    changed = true;
                    if !self.require(size, a.tea, b.tea, up) {
                        return None;
                    }
                }
                if down < most {
                    changed = true;
                    if !self.require(size, b.tea, a.tea, -down) {
                        return None;
                    }
                }
            }
        }
        Some(changed)
    }
}

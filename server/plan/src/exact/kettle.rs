//! Which kettle can serve which pour.

use super::problem::Problem;
use super::round::{MAX_TEAS, NEVER};
use std::collections::BTreeSet;

/// Kettles for all teas at these starts, each from what its mask allows, such that every set-up between pours that
/// follow one another is kept; with `anchored` the first set-up of a kettle counts from second 0, otherwise it only
/// has to be possible at all.
pub(super) fn assign(
    problem: &Problem,
    starts: &[i32; MAX_TEAS],
    allowed: &[u8; MAX_TEAS],
    anchored: bool,
) -> Option<[u8; MAX_TEAS]> {
    if problem.kettles.is_empty() {
        return Some([0; MAX_TEAS]);
    }
    let mut order: [u8; MAX_TEAS] = std::array::from_fn(|i| i as u8);
    order[..problem.n].sort_unstable_by_key(|&i| (starts[usize::from(i)], i));
    let mut walk =
        Walk { problem, starts, allowed, anchored, order, kettle: [0; MAX_TEAS], dead: BTreeSet::new() };
    walk.go(0, u64::MAX).then_some(walk.kettle)
}

struct Walk<'a> {
    problem: &'a Problem,
    starts: &'a [i32; MAX_TEAS],
    allowed: &'a [u8; MAX_TEAS],
    anchored: bool,
    order: [u8; MAX_TEAS],
    kettle: [u8; MAX_TEAS],
    dead: BTreeSet<(u8, u64)>,
}

impl Walk<'_> {
    /// `last` packs the last tea of every kettle, eight bits each, 255 for none.
    fn go(&mut self, position: u8, last: u64) -> bool {
        if usize::from(position) == self.problem.n {
            return true;
        }
        if self.dead.contains(&(position, last)) {
            return false;
        }
        let tea = usize::from(self.order[usize::from(position)]);
        for (k, kettle) in self.problem.kettles.iter().enumerate() {
            if self.allowed[tea] & (1 << k) == 0 {
                continue;
            }
            let before = (last >> (8 * k)) as u8;
            let ready = if before != u8::MAX {
                let before = usize::from(before);
                self.starts[before].saturating_add(kettle.direct[before][tea]) <= self.starts[tea]
            } else if self.anchored {
                kettle.first[tea] <= self.starts[tea]
            } else {
                kettle.first[tea] < NEVER
            };
            if ready {
                self.kettle[tea] = k as u8;
                let next = last & !(0xff << (8 * k)) | ((tea as u64) << (8 * k));
                if self.go(position + 1, next) {
                    return true;
                }
            }
        }
        self.dead.insert((position, last));
        false
    }
}

/// One tea after the other, nothing at the same time: a first schedule, or `None` if no order and no choice of
/// kettles gives every kettle only set-ups that are possible.
///
/// Any feasible schedule, sorted by pour starts, is such a walk, so `None` means that there is no schedule at all.
/// The shortest wait goes first, which keeps equal set points together.
pub(super) fn serial(problem: &Problem) -> Option<([i32; MAX_TEAS], [u8; MAX_TEAS])> {
    let mut serial = Serial { problem, starts: [0; MAX_TEAS], kettle: [0; MAX_TEAS], dead: BTreeSet::new() };
    serial.go(0, u64::MAX, 0).then_some((serial.starts, serial.kettle))
}

struct Serial<'a> {
    problem: &'a Problem,
    starts: [i32; MAX_TEAS],
    kettle: [u8; MAX_TEAS],
    dead: BTreeSet<(u16, u64)>,
}

impl Serial<'_> {
    fn go(&mut self, done: u16, last: u64, now: i32) -> bool {
        let n = self.problem.n;
        if done.count_ones() as usize == n {
            return true;
        }
        if self.dead.contains(&(done, last)) {
            return false;
        }
        let mut moves: Vec<(i32, usize, usize)> = Vec::new();
        for tea in (0..n).filter(|&tea| done & (1 << tea) == 0 && self.problem.before[tea] & !done == 0) {
            if self.problem.kettles.is_empty() {
                moves.push((now, tea, 0));
            }
            for (k, kettle) in self.problem.kettles.iter().enumerate() {
                let before = (last >> (8 * k)) as u8;
                let ready = if before == u8::MAX {
                    kettle.first[tea]
                } else {
                    let before = usize::from(before);
                    self.starts[before].saturating_add(kettle.direct[before][tea])
                };
                if ready < NEVER {
                    moves.push((ready.max(now), tea, k));
                }
            }
        }
        moves.sort_unstable();
        for (at, tea, k) in moves {
            self.starts[tea] = at;
            self.kettle[tea] = k as u8;
            let next = last & !(0xff << (8 * k)) | ((tea as u64) << (8 * k));
            if self.go(done | (1 << tea), next, at + self.problem.jobs[tea].length + self.problem.gap) {
                return true;
            }
        }
        self.dead.insert((done, last));
        false
    }
}

//! Which kettle can serve which pour.

use super::problem::{Best, Fills, Problem};
use super::round::{MAX_KETTLES, MAX_TEAS, NEVER};
use super::set_up::Draw;
use std::collections::BTreeSet;

/// The kettles after some pours.
#[derive(Clone, Copy)]
struct Stand {
    /// The last tea of every kettle, eight bits each, 255 for none.
    last: u64,
    /// What may be drawn from each, millilitres.
    left_ml: [f64; MAX_KETTLES],
}

impl Stand {
    fn new(problem: &Problem) -> Self {
        let mut left_ml = [0.0; MAX_KETTLES];
        left_ml.iter_mut().zip(&problem.kettles).for_each(|(left, kettle)| *left = kettle.full_ml());
        Self { last: u64::MAX, left_ml }
    }

    fn before(&self, k: usize) -> Option<usize> {
        let before = (self.last >> (8 * k)) as u8;
        (before != u8::MAX).then_some(usize::from(before))
    }

    /// The next pour from kettle `k`, and how the kettles stand after it.
    fn draw(&self, problem: &Problem, k: usize, tea: usize) -> (Draw, Self) {
        let draw = problem.kettles[k].draw(self.before(k), self.left_ml[k], tea);
        let mut after = *self;
        after.last = self.last & !(0xff << (8 * k)) | ((tea as u64) << (8 * k));
        after.left_ml[k] = draw.left_ml;
        (draw, after)
    }

    /// What tells it from others: two with the same key go on alike.
    fn key(&self) -> Key {
        (self.last, self.left_ml.map(|ml| (ml * 1e3).round() as u64))
    }
}

type Key = (u64, [u64; MAX_KETTLES]);

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
    let order = in_order(problem, starts);
    let mut walk =
        Walk { problem, starts, allowed, anchored, order, kettle: [0; MAX_TEAS], dead: BTreeSet::new() };
    walk.go(0, Stand::new(problem)).then_some(walk.kettle)
}

/// The teas still to be poured, first ones first; what stands behind them is poured.
fn in_order(problem: &Problem, starts: &[i32; MAX_TEAS]) -> [u8; MAX_TEAS] {
    let mut order: [u8; MAX_TEAS] = std::array::from_fn(|i| i as u8);
    order[..problem.dry].sort_unstable_by_key(|&i| (starts[usize::from(i)], i));
    order
}

/// After which teas (bits) of a schedule their kettle is filled up.
pub(super) fn refills(problem: &Problem, best: &Best) -> u16 {
    let (mut after, mut stand) = (0, Stand::new(problem));
    if problem.kettles.is_empty() {
        return after;
    }
    for tea in in_order(problem, &best.starts).into_iter().take(problem.dry).map(usize::from) {
        let k = usize::from(best.kettle[tea]);
        let before = stand.before(k);
        let draw;
        (draw, stand) = stand.draw(problem, k, tea);
        if let (true, Some(before)) = (draw.refill, before) {
            after |= 1 << before;
        }
    }
    after
}

/// The hands' time for that.
pub(super) fn fills(problem: &Problem, best: &Best) -> Fills {
    let after = if problem.may_run_out() { refills(problem, best) } else { 0 };
    std::array::from_fn(|i| match after & (1 << i) {
        0 => 0,
        _ => problem.kettles[usize::from(best.kettle[i])].fill(),
    })
}

struct Walk<'a> {
    problem: &'a Problem,
    starts: &'a [i32; MAX_TEAS],
    allowed: &'a [u8; MAX_TEAS],
    anchored: bool,
    order: [u8; MAX_TEAS],
    kettle: [u8; MAX_TEAS],
    dead: BTreeSet<(u8, Key)>,
}

impl Walk<'_> {
    fn go(&mut self, position: u8, stand: Stand) -> bool {
        if usize::from(position) == self.problem.dry {
            return true;
        }
        if !self.dead.is_empty() && self.dead.contains(&(position, stand.key())) {
            return false;
        }
        let tea = usize::from(self.order[usize::from(position)]);
        for k in (0..self.problem.kettles.len()).filter(|k| self.allowed[tea] & (1 << k) != 0) {
            let (draw, next) = stand.draw(self.problem, k, tea);
            let ready = match stand.before(k) {
                Some(before) => self.starts[before].saturating_add(draw.after) <= self.starts[tea],
                None if self.anchored => draw.after <= self.starts[tea],
                None => draw.after < NEVER,
            };
            if ready {
                self.kettle[tea] = k as u8;
                if self.go(position + 1, next) {
                    return true;
                }
            }
        }
        self.dead.insert((position, stand.key()));
        false
    }
}

/// One tea after the other, nothing at the same time: a first schedule, or `None` if no order and no choice of
/// kettles gives every kettle only set-ups that are possible.
///
/// Any feasible schedule, sorted by pour starts, is such a walk, so `None` means that there is no schedule at all.
/// The shortest wait goes first, which keeps equal set points together.
pub(super) fn serial(problem: &Problem) -> Option<([i32; MAX_TEAS], [u8; MAX_TEAS])> {
    let mut serial = Serial { problem, starts: problem.fixed, kettle: [0; MAX_TEAS], dead: BTreeSet::new() };
    // After all that is poured already.
    let free = problem.tasks.iter().filter(|task| task.tea >= problem.dry);
    let free = free.map(|task| problem.fixed[task.tea] + task.to).max().unwrap_or(0);
    serial.go(0, Stand::new(problem), free.max(0)).then_some((serial.starts, serial.kettle))
}

struct Serial<'a> {
    problem: &'a Problem,
    starts: [i32; MAX_TEAS],
    kettle: [u8; MAX_TEAS],
    dead: BTreeSet<(u16, Key)>,
}

impl Serial<'_> {
    fn go(&mut self, done: u16, stand: Stand, now: i32) -> bool {
        let n = self.problem.dry;
        if done.count_ones() as usize == n {
            return true;
        }
        if self.dead.contains(&(done, stand.key())) {
            return false;
        }
        let mut moves: Vec<(i32, usize, usize)> = Vec::new();
        for tea in (0..n).filter(|&tea| done & (1 << tea) == 0 && self.problem.before[tea] & !done == 0) {
            if self.problem.kettles.is_empty() {
                moves.push((now, tea, 0));
            }
            for k in 0..self.problem.kettles.len() {
                let (draw, _) = stand.draw(self.problem, k, tea);
                let ready =
                    stand.before(k).map_or(0, |before| self.starts[before]).saturating_add(draw.after);
                if draw.after < NEVER {
                    moves.push((ready.max(now), tea, k));
                }
            }
        }
        moves.sort_unstable();
        for (at, tea, k) in moves {
            self.starts[tea] = at;
            self.kettle[tea] = k as u8;
            let next =
                if self.problem.kettles.is_empty() { stand } else { stand.draw(self.problem, k, tea).1 };
            // Who fills a kettle up is busy with that before the next pour.
            let longest = self.problem.longest_fill();
            let free = at + self.problem.jobs[tea].length + longest + self.problem.gap;
            if self.go(done | (1 << tea), next, free) {
                return true;
            }
        }
        self.dead.insert((done, stand.key()));
        false
    }
}

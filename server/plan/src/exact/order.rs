//! What is known in a branch of the order in which a kettle is poured from, and what follows for its water.
//!
//! Where a refill stands, and how cold it makes the water, depends on the whole order up to it. So it is drawn only
//! from the part that is known: the tea that comes before all others of the kettle, then the one before all the rest,
//! and so on. A conflict ([`super::conflict`]) asks who comes next where that stops.

use super::bounds::{Branch, SIZE};
use super::problem::{Fills, Problem};
use super::round::{MAX_TEAS, NEVER};
use super::set_up::Draw;

/// The known beginning of a kettle's order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    /// Each tea with its draw, as many as `count`.
    draws: [(usize, Draw); MAX_TEAS],
    count: usize,
    /// The teas (bits) that come after them in an order that is not known.
    pub rest: u16,
    left_ml: f64,
}

impl Known {
    fn draws(&self) -> &[(usize, Draw)] {
        &self.draws[..self.count]
    }

    fn last(&self) -> Option<usize> {
        self.draws().last().map(|&(tea, _)| tea)
    }
}

/// The teas of some bits.
pub(super) fn teas(bits: u16) -> impl Iterator<Item = usize> + Clone {
    (0..MAX_TEAS).filter(move |i| bits & (1 << i) != 0)
}

impl Branch {
    /// What is known of the order of kettle `k`; `None` while a tea may still use it or not, or if it never runs out.
    pub fn known_order(&self, problem: &Problem, k: usize) -> Option<Known> {
        let kettle = &problem.kettles[k];
        kettle.water.as_ref()?;
        let here = 1u8 << k;
        let may = |i: usize| self.kettles[i] & here != 0;
        if (0..problem.n).any(|i| may(i) && self.kettles[i] != here) {
            return None;
        }
        let rest = (0..problem.n).filter(|&i| may(i)).fold(0, |bits, i| bits | 1 << i);
        let none = Draw { after: 0, refill: false, left_ml: 0.0 };
        let mut known = Known { draws: [(0, none); MAX_TEAS], count: 0, rest, left_ml: kettle.full_ml() };
        loop {
            let rest = known.rest;
            let leads = |&c: &usize| teas(rest & !(1 << c)).all(|j| self.after[c][j] > 0);
            let Some(next) = teas(rest).find(leads) else { return Some(known) };
            let draw = kettle.draw(known.last(), known.left_ml, next);
            known.draws[known.count] = (next, draw);
            known.count += 1;
            known.left_ml = draw.left_ml;
            known.rest &= !(1 << next);
        }
    }

    /// Asks for the set-ups of all pours whose place is known. `None` if nothing is left, otherwise whether anything
    /// changed.
    pub fn draw_down(&mut self, problem: &Problem, anchored: bool) -> Option<bool> {
        let size = (problem.n + usize::from(anchored)).min(SIZE);
        let mut changed = false;
        let mut ask = |branch: &mut Self, before: Option<usize>, tea: usize, seconds: i32| {
            let before = match before {
                Some(before) => before,
                None if anchored => problem.n,
                None => return seconds < NEVER,
            };
            changed |= seconds > branch.after[before][tea];
            branch.require(size, before, tea, seconds)
        };
        for k in 0..problem.kettles.len() {
            let Some(known) = self.known_order(problem, k) else { continue };
            let mut before = None;
            for &(tea, draw) in known.draws() {
                if !ask(self, before, tea, draw.after) {
                    return None;
                }
                before = Some(tea);
            }
            if self.too_long(problem, k, &known) {
                return None;
            }
            if !refilled_for_all(problem, k, &known) {
                continue;
            }
            // Whichever comes next, the kettle is filled up before it.
            let kettle = &problem.kettles[k];
            for tea in teas(known.rest) {
                let over = |next: usize| {
                    let draw = kettle.draw(before, known.left_ml, next);
                    draw.after + if next == tea { 0 } else { kettle.any[next][tea] }
                };
                let least = teas(known.rest).map(over).min().unwrap_or(0);
                if !ask(self, before, tea, least) {
                    return None;
                }
            }
        }
        Some(changed)
    }

    /// Whether the pours of kettle `k` whose order is not known take longer, with all the refills they need, than from
    /// the pour before them (or the first of them) to any of them there is time.
    ///
    /// From pour start to pour start each of them takes at least the shortest step to it from any of the others, and as
    /// many as there are refills take at least the shortest such step with a refill.
    fn too_long(&self, problem: &Problem, k: usize, known: &Known) -> bool {
        let kettle = &problem.kettles[k];
        let Some(water) = kettle.water.as_ref().filter(|_| known.rest != 0) else { return false };
        let from = known.rest | known.last().map_or(0, |last| 1 << last);
        let (mut steps, mut extra) = ([0; MAX_TEAS], [NEVER; MAX_TEAS]);
        for tea in teas(known.rest) {
            let (least, refill) = water.step(&kettle.any, teas(from), tea);
            steps[tea] = least;
            extra[tea] = (refill - least).max(0);
        }
        extra.sort_unstable();
        let refills = water.refills(teas(known.rest), known.left_ml).min(known.rest.count_ones() as usize);
        let all = steps.iter().sum::<i32>() + extra[..refills].iter().sum::<i32>();
        let fits = |first: usize, all: i32| {
            teas(known.rest).any(|last| last != first && self.allows(first, last, all))
        };
        match known.last() {
            Some(last) => !fits(last, all),
            None if known.rest.count_ones() < 2 => false,
            None => !teas(known.rest).any(|first| fits(first, all - steps[first])),
        }
    }

    /// The seconds of filling after each tea that are certain.
    pub fn fills(&self, problem: &Problem) -> Fills {
        let mut fills = [0; MAX_TEAS];
        if !problem.may_run_out() {
            return fills;
        }
        for (k, kettle) in problem.kettles.iter().enumerate() {
            let Some(known) = self.known_order(problem, k) else { continue };
            for pair in known.draws().windows(2).filter(|pair| pair[1].1.refill) {
                fills[pair[0].0] = kettle.fill();
            }
            if let (true, Some(last)) = (refilled_for_all(problem, k, &known), known.last()) {
                fills[last] = kettle.fill();
            }
        }
        fills
    }
}

/// Whether what is left does not do for any of the rest.
fn refilled_for_all(problem: &Problem, k: usize, known: &Known) -> bool {
    let draw = |tea| problem.kettles[k].draw(known.last(), known.left_ml, tea);
    known.count > 0 && known.rest != 0 && teas(known.rest).all(|tea| draw(tea).refill)
}

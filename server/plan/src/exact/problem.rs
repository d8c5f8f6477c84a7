//! A round as the search sees it: whole seconds, and for each pair of teas the start differences that cannot be.

use super::begun::{Begun, Poured};
use super::ranges::Ranges;
use super::round::{Fault, MAX_TEAS, NEVER, Round, check};
use super::set_up::{KettleTable, seconds};
use crate::filling::Filling;
use std::borrow::Cow;

/// One tea, seconds counted from the start of its pour.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Job {
    pub pour: i32,
    /// Start of the decant.
    pub decant_at: i32,
    /// End of the decant.
    pub length: i32,
}

impl Job {
    fn of(tea: &Poured) -> Self {
        let from_pour = |at: i32| at - tea.pour_at_s;
        let (decant_at, length) = (from_pour(tea.decant_at_s), from_pour(tea.ready_at_s));
        Self { pour: seconds(tea.pour_s), decant_at, length }
    }

    /// The work of hands for it, with `fill` seconds of filling up the kettle that it was poured from: after the lid, or
    /// after the decant where the steep is shorter than that.
    fn work(&self, tea: usize, (gap, lid): (i32, i32), fill: i32) -> impl Iterator<Item = Task> + use<> {
        let steep = self.decant_at - self.pour;
        let (first, last) = match fill {
            0 => (0, 0),
            fill if Filling::follows_pour(steep, fill, lid) => (lid + fill, 0),
            fill => (0, fill),
        };
        let length = self.length + last + gap;
        // Hands cannot leave a steep shorter than the gap for other work, so they stay with it.
        let stay = steep - first < gap;
        let poured = Task { tea, from: 0, to: if stay { length } else { self.pour + first + gap } };
        let decanted = Task { tea, from: self.decant_at, to: length };
        [poured].into_iter().chain((!stay).then_some(decanted))
    }
}

/// Work that keeps one pair of hands, seconds from the start of the tea's pour; the gap after it is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Task {
    pub tea: usize,
    pub from: i32,
    pub to: i32,
}

/// Seconds of filling up a kettle after each tea's pour, by the same hands; 0 for none.
pub(super) type Fills = [i32; MAX_TEAS];

/// A schedule and its value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Best {
    pub value: i32,
    pub starts: [i32; MAX_TEAS],
    pub kettle: [u8; MAX_TEAS],
}

/// A round in the form of the search.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    /// All teas. The last of them may be poured already.
    pub n: usize,
    /// Those still to be poured; they come first.
    pub dry: usize,
    /// Starts of the teas that are poured.
    pub fixed: [i32; MAX_TEAS],
    /// Whose hands pour and decant those, from 0.
    pub fixed_hands: [(u8, u8); MAX_TEAS],
    pub hands: usize,
    /// Who may pour and decant each tea that is dry, a bit for each pair of hands.
    pub by: [u8; MAX_TEAS],
    /// Whether some of them may not be poured by all.
    pub is_given: bool,
    pub gap: i32,
    lid: i32,
    pub jobs: [Job; MAX_TEAS],
    /// All (i, j) with i < j.
    pub pairs: Vec<(usize, usize)>,
    /// The hands' work if no kettle is filled up.
    pub tasks: Vec<Task>,
    pub kettles: Vec<KettleTable>,
    /// Kettles that can serve a tea at all.
    pub allowed: [u8; MAX_TEAS],
    /// Teas (bits) that must not be poured later than this one.
    pub before: [u16; MAX_TEAS],
    /// Forbidden start differences s_j − s_i, i < j: by the hands, and with both on kettle k at place k + 1.
    ranges: Vec<[[Ranges; MAX_TEAS]; MAX_TEAS]>,
}

impl Problem {
    pub fn new(round: &Round, begun: Option<&Begun>) -> Result<Self, Fault> {
        check(round)?;
        let dry = round.teas.len();
        let poured = begun.map_or(&[][..], |begun| &begun.poured);
        let n = dry + poured.len();
        if n > MAX_TEAS {
            return Err(Fault::TeaCount(n));
        }
        let (gap, lid) = (seconds(round.gap_s), seconds(round.lid_s));
        let mut jobs = [Job::default(); MAX_TEAS];
        let mut tasks = Vec::with_capacity(2 * n);
        for (i, tea) in round.teas.iter().enumerate() {
            let decant_at = seconds(tea.pour_s + tea.steep_s);
            jobs[i] = Job { pour: seconds(tea.pour_s), decant_at, length: decant_at + seconds(tea.decant_s) };
            tasks.extend(jobs[i].work(i, (gap, lid), 0));
        }
        let (mut fixed, mut fixed_hands) = ([0; MAX_TEAS], [(0, 0); MAX_TEAS]);
        for (i, tea) in (dry..).zip(poured) {
            (jobs[i], fixed[i], fixed_hands[i]) = (Job::of(tea), tea.pour_at_s, tea.hands);
            // What is past is in nobody's way.
            tasks.extend(jobs[i].work(i, (gap, lid), 0).filter(|task| fixed[i] + task.to > 0));
        }
        let all = u8::MAX >> 8u8.saturating_sub(round.hands).min(7);
        let mut by = [all; MAX_TEAS];
        by.iter_mut().zip(&round.by).for_each(|(by, &given)| *by &= given);
        let is_given = by[..dry].iter().any(|&by| by != all);
        let ready_s = |k: usize| begun.and_then(|begun| begun.ready_s.get(k)).map(Vec::as_slice);
        let kettles = round.kettles.iter().enumerate();
        let kettles: Vec<_> =
            kettles.map(|(k, kettle)| KettleTable::new(round, kettle, ready_s(k))).collect();
        let mut problem = Self {
            n,
            dry,
            fixed,
            fixed_hands,
            // Nobody needs more hands than there are tasks.
            hands: if is_given { round.hands.into() } else { usize::from(round.hands).min(2 * n) },
            by,
            is_given,
            gap,
            lid,
            jobs,
            pairs: (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j))).collect(),
            tasks,
            kettles,
            allowed: [0; MAX_TEAS],
            before: [0; MAX_TEAS],
            ranges: Vec::new(),
        };
        for i in 0..dry {
            for (k, kettle) in problem.kettles.iter().enumerate() {
                problem.allowed[i] |= u8::from(kettle.any_first[i] < NEVER) << k;
            }
        }
        problem.fix_order(round);
        problem.ranges = (0..=round.kettles.len()).map(|layer| problem.forbidden(layer)).collect();
        Ok(problem)
    }

    /// Which tea may not be poured after which: file order where asked for, and the order of the file among teas that
    /// are the same in everything. The latter loses nothing: exchanging two such teas gives another schedule with the
    /// same work at the same seconds, so of the schedules that are best in spread and makespan the smallest vector
    /// has them in file order (were s_i > s_j for i < j, the exchange would give a smaller one).
    fn fix_order(&mut self, round: &Round) {
        for j in 1..self.dry {
            let same = |i: &usize| {
                let (a, b) = (&round.teas[*i], &round.teas[j]);
                (a.pour_s, a.steep_s, a.decant_s) == (b.pour_s, b.steep_s, b.decant_s)
                    && self.by[*i] == self.by[j]
                    && (round.kettles.is_empty() || (a.temp_c, a.ml) == (b.temp_c, b.ml))
            };
            if round.order_fixed {
                self.before[j] = self.before[j - 1] | 1 << (j - 1);
            } else if let Some(i) = (0..j).rev().find(same) {
                self.before[j] = self.before[i] | 1 << i;
            }
        }
    }

    fn forbidden(&self, layer: usize) -> [[Ranges; MAX_TEAS]; MAX_TEAS] {
        let mut all = [[Ranges::default(); MAX_TEAS]; MAX_TEAS];
        for (i, row) in all.iter_mut().enumerate().take(self.n) {
            for (j, ranges) in row.iter_mut().enumerate().take(self.n).skip(i + 1) {
                if i >= self.dry {
                    continue;
                }
                let mut parts = Vec::with_capacity(5);
                if self.hands == 1
                    || self.by[i].is_power_of_two() && (j >= self.dry || self.by[i] == self.by[j])
                {
                    let meets = |t: &&Task| self.hands == 1 || self.may_do(t) == self.by[i];
                    let of = |tea: usize| self.tasks.iter().filter(move |t| t.tea == tea).filter(meets);
                    // Task a of i and task b of j overlap when s_i + a.from < s_j + b.to and s_j + b.from < s_i + a.to.
                    parts.extend(of(i).flat_map(|a| of(j).map(|b| (a.from - b.to + 1, a.to - b.from - 1))));
                }
                if let Some(kettle) = layer.checked_sub(1).map(|k| &self.kettles[k]).filter(|_| j < self.dry)
                {
                    parts.push((1 - kettle.any[j][i], kettle.any[i][j] - 1));
                }
                *ranges = Ranges::covering(&mut parts);
            }
        }
        all
    }

    /// Whether some of its teas are poured, so that second 0 is a known instant for the cups.
    pub fn has_begun(&self) -> bool {
        self.dry < self.n
    }

    /// Whether some kettle may have to be filled up.
    pub fn may_run_out(&self) -> bool {
        self.kettles.iter().any(|kettle| kettle.water.is_some())
    }

    /// The most seconds that filling up a kettle keeps a pair of hands.
    pub fn longest_fill(&self) -> i32 {
        self.kettles.iter().map(KettleTable::fill).max().unwrap_or(0)
    }

    /// The hands' work with these fillings.
    pub fn work(&self, fills: &Fills) -> Cow<'_, [Task]> {
        if fills.iter().all(|&fill| fill == 0) {
            return Cow::Borrowed(&self.tasks);
        }
        let dry = (0..self.dry).flat_map(|i| self.jobs[i].work(i, (self.gap, self.lid), fills[i]));
        let poured = self.tasks.iter().filter(|task| task.tea >= self.dry).copied();
        Cow::Owned(dry.chain(poured).collect())
    }

    /// Whose hands do this for a tea that is poured.
    pub fn fixed_by(&self, task: &Task) -> usize {
        let (pours, decants) = self.fixed_hands[task.tea];
        usize::from(if task.from > 0 { decants } else { pours })
    }

    /// Who may do this, a bit for each pair of hands.
    pub fn may_do(&self, task: &Task) -> u8 {
        if task.tea < self.dry { self.by[task.tea] } else { 1 << self.fixed_by(task).min(7) }
    }

    fn ends(&self, starts: &[i32; MAX_TEAS]) -> impl Iterator<Item = i32> {
        (0..self.n).map(|i| starts[i] + self.jobs[i].length)
    }

    /// Last decant end − first decant end.
    pub fn spread(&self, starts: &[i32; MAX_TEAS]) -> i32 {
        self.makespan(starts) - self.ends(starts).min().unwrap_or(0)
    }

    /// Last decant end.
    pub fn makespan(&self, starts: &[i32; MAX_TEAS]) -> i32 {
        self.ends(starts).max().unwrap_or(0)
    }

    /// Moves a schedule as a whole so that it begins as soon as second 0 and the start temperatures allow.
    pub fn anchor(&self, best: &Best) -> Best {
        let mut moved = *best;
        if self.has_begun() {
            return moved;
        }
        let first = |i: usize| {
            let on_kettle = |&j: &usize| best.kettle[j] == best.kettle[i];
            let earliest = (0..self.n).filter(on_kettle).map(|j| best.starts[j]).min();
            let set_up = self.kettles.get(usize::from(best.kettle[i])).map_or(0, |kettle| kettle.first[i]);
            if earliest == Some(best.starts[i]) { set_up } else { 0 }
        };
        let by = (0..self.n).map(|i| first(i) - best.starts[i]).max().unwrap_or(0);
        for start in &mut moved.starts[..self.n] {
            *start += by;
        }
        moved
    }

    /// Forbidden values of s_j − s_i, i < j, for teas that may use these kettles.
    pub fn ranges(&self, i: usize, j: usize, kettles: (u8, u8)) -> &Ranges {
        let shared = kettles.0 == kettles.1 && kettles.0.is_power_of_two();
        let layer = if shared { kettles.0.trailing_zeros() as usize + 1 } else { 0 };
        &self.ranges[layer][i][j]
    }
}

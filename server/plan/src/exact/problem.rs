//! A round as the search sees it: whole seconds, and for each pair of teas the start differences that cannot be.

use super::kettle::set_up_s;
use super::search::Best;
use super::{Fault, Kettle, Round};

/// The most teas a round may have.
pub(super) const MAX_TEAS: usize = 12;
/// The most kettles a round may have.
pub(super) const MAX_KETTLES: usize = 8;
/// The longest pour, steep, decant or gap that is accepted: a day.
const LONGEST_S: u32 = 86_400;
/// More seconds than any schedule has.
pub(super) const NEVER: i32 = 1 << 28;

/// One tea, seconds counted from the start of its pour.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Job {
    pub pour: i32,
    /// Start of the decant.
    pub decant_at: i32,
    /// End of the decant.
    pub length: i32,
}

/// Work that keeps one pair of hands, seconds from the start of the tea's pour; the gap after it is counted in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Task {
    pub tea: usize,
    pub from: i32,
    pub to: i32,
}

/// Disjoint ranges of whole numbers (both ends within), ascending, never side by side.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Ranges {
    count: u8,
    range: [(i32, i32); 5],
}

impl Ranges {
    /// Ranges that cover the same numbers as `parts`, of which there are at most five.
    fn covering(parts: &mut [(i32, i32)]) -> Self {
        parts.sort_unstable();
        let mut all = Self::default();
        for &mut (low, high) in parts {
            if low > high {
                continue;
            }
            match all.count.checked_sub(1) {
                Some(last) if low <= all.range[usize::from(last)].1 + 1 => {
                    let end = &mut all.range[usize::from(last)].1;
                    *end = high.max(*end);
                }
                _ => {
                    all.range[usize::from(all.count)] = (low, high);
                    all.count += 1;
                }
            }
        }
        all
    }

    fn all(&self) -> &[(i32, i32)] {
        &self.range[..usize::from(self.count)]
    }

    /// The smallest number from `low` on and the largest up to `high` that lie in no range.
    pub fn shrink(&self, low: i32, high: i32) -> (i32, i32) {
        let (mut up, mut down) = (low, high);
        for &(first, last) in self.all() {
            if first <= low && low <= last {
                up = last + 1;
            }
            if first <= high && high <= last {
                down = first - 1;
            }
        }
        (up, down)
    }

    /// The range that holds `value`.
    pub fn holding(&self, value: i32) -> Option<(i32, i32)> {
        self.all().iter().copied().find(|&(low, high)| low <= value && value <= high)
    }
}

/// Set-ups of one kettle.
#[derive(Clone, Debug)]
pub(super) struct KettleTable {
    /// From pour start to pour start when the second tea comes next: pour and set-up.
    pub direct: [[i32; MAX_TEAS]; MAX_TEAS],
    /// The same by the shortest way over any other teas. Set-ups within the tolerance are free, so 80, 81, 82 may be
    /// quicker than 80, 82: only this way round holds for every pair of teas of one kettle, next to one another or not.
    pub any: [[i32; MAX_TEAS]; MAX_TEAS],
    /// From second 0 to the pour start of the first tea.
    pub first: [i32; MAX_TEAS],
    /// The same over any other teas.
    pub any_first: [i32; MAX_TEAS],
}

impl KettleTable {
    fn new(round: &Round, kettle: &Kettle) -> Self {
        let mut direct = [[NEVER; MAX_TEAS]; MAX_TEAS];
        let mut first = [NEVER; MAX_TEAS];
        let n = round.teas.len();
        for (b, to) in round.teas.iter().enumerate() {
            first[b] = set_up_s(kettle, kettle.start_c, to.temp_c, round);
            for (a, from) in round.teas.iter().enumerate().filter(|&(a, _)| a != b) {
                let set_up = set_up_s(kettle, Some(from.temp_c), to.temp_c, round);
                direct[a][b] = NEVER.min(seconds(from.pour_s) + set_up);
            }
        }
        let (mut any, mut any_first) = (direct, first);
        for k in 0..n {
            for a in 0..n {
                for b in 0..n {
                    any[a][b] = any[a][b].min(any[a][k] + any[k][b]);
                }
            }
        }
        for b in 0..n {
            for k in (0..n).filter(|&k| k != b) {
                any_first[b] = any_first[b].min(first[k] + any[k][b]);
            }
        }
        Self { direct, any, first, any_first }
    }
}

/// A round in the form of the search.
#[derive(Clone, Debug)]
pub(super) struct Problem {
    pub n: usize,
    pub hands: usize,
    pub gap: i32,
    pub jobs: [Job; MAX_TEAS],
    /// All (i, j) with i < j.
    pub pairs: Vec<(usize, usize)>,
    pub tasks: Vec<Task>,
    pub kettles: Vec<KettleTable>,
    /// Kettles that can serve a tea at all.
    pub allowed: [u8; MAX_TEAS],
    /// Teas (bits) that must not be poured later than this one.
    pub before: [u16; MAX_TEAS],
    /// Forbidden start differences s_j − s_i, i < j: by the hands, and with both on kettle k at place k + 1.
    ranges: Vec<[[Ranges; MAX_TEAS]; MAX_TEAS]>,
}

fn seconds(value: u32) -> i32 {
    i32::try_from(value).unwrap_or(NEVER)
}

impl Problem {
    pub fn new(round: &Round) -> Result<Self, Fault> {
        check(round)?;
        let n = round.teas.len();
        let gap = seconds(round.gap_s);
        let mut jobs = [Job::default(); MAX_TEAS];
        let mut tasks = Vec::with_capacity(2 * n);
        for (i, tea) in round.teas.iter().enumerate() {
            let decant_at = seconds(tea.pour_s + tea.steep_s);
            let job = Job { pour: seconds(tea.pour_s), decant_at, length: decant_at + seconds(tea.decant_s) };
            jobs[i] = job;
            // Hands cannot leave a steep shorter than the gap for other work, so they stay with it.
            if seconds(tea.steep_s) < gap {
                tasks.push(Task { tea: i, from: 0, to: job.length + gap });
            } else {
                tasks.push(Task { tea: i, from: 0, to: job.pour + gap });
                tasks.push(Task { tea: i, from: decant_at, to: job.length + gap });
            }
        }
        let kettles: Vec<_> = round.kettles.iter().map(|k| KettleTable::new(round, k)).collect();
        let mut problem = Self {
            n,
            // Nobody needs more hands than there are tasks.
            hands: usize::from(round.hands).min(2 * n),
            gap,
            jobs,
            pairs: (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j))).collect(),
            tasks,
            kettles,
            allowed: [0; MAX_TEAS],
            before: [0; MAX_TEAS],
            ranges: Vec::new(),
        };
        for i in 0..n {
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
        for j in 1..self.n {
            let same = |i: &usize| {
                let (a, b) = (&round.teas[*i], &round.teas[j]);
                (a.pour_s, a.steep_s, a.decant_s) == (b.pour_s, b.steep_s, b.decant_s)
                    && (round.kettles.is_empty() || a.temp_c == b.temp_c)
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
                let mut parts = Vec::with_capacity(5);
                if self.hands == 1 {
                    let of = |tea: usize| self.tasks.iter().filter(move |t| t.tea == tea);
                    // Task a of i and task b of j overlap when s_i + a.from < s_j + b.to and s_j + b.from < s_i + a.to.
                    parts.extend(of(i).flat_map(|a| of(j).map(|b| (a.from - b.to + 1, a.to - b.from - 1))));
                }
                if let Some(kettle) = layer.checked_sub(1).map(|k| &self.kettles[k]) {
                    parts.push((1 - kettle.any[j][i], kettle.any[i][j] - 1));
                }
                *ranges = Ranges::covering(&mut parts);
            }
        }
        all
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

fn check(round: &Round) -> Result<(), Fault> {
    let n = round.teas.len();
    if n == 0 || n > MAX_TEAS {
        return Err(Fault::TeaCount(n));
    }
    if round.hands == 0 {
        return Err(Fault::NoHands);
    }
    if round.kettles.len() > MAX_KETTLES {
        return Err(Fault::KettleCount(round.kettles.len()));
    }
    for (i, tea) in round.teas.iter().enumerate() {
        let lengths = [tea.pour_s, tea.steep_s, tea.decant_s];
        if tea.pour_s == 0
            || tea.decant_s == 0
            || lengths.iter().any(|&s| s > LONGEST_S)
            || !tea.temp_c.is_finite()
        {
            return Err(Fault::Tea(i));
        }
    }
    if round.gap_s > LONGEST_S
        || !round.room_c.is_finite()
        || !(round.tol_c.is_finite() && round.tol_c >= 0.0)
    {
        return Err(Fault::Setting);
    }
    let sound = |value: f64| value.is_finite() && value > 0.0;
    for (k, kettle) in round.kettles.iter().enumerate() {
        let physical =
            sound(kettle.fill_kg) && sound(kettle.watts) && sound(kettle.eta) && sound(kettle.tau_s);
        if !physical || kettle.start_c.is_some_and(|c| !c.is_finite()) {
            return Err(Fault::Kettle(k));
        }
    }
    Ok(())
}

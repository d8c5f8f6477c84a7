//! Which hands do what, and where there would be too few of them.

use super::problem::{Problem, Task};
use super::round::MAX_TEAS;

/// Tasks that would all be under way at one second, one more than there are hands.
pub(super) type Overload = Vec<Task>;

/// The overloads of a schedule, one for each second at which a task begins and too many are under way.
pub(super) fn overloads(problem: &Problem, tasks: &[Task], starts: &[i32; MAX_TEAS]) -> Vec<Overload> {
    let mut all: Vec<Overload> = Vec::new();
    for begin in tasks {
        let now = starts[begin.tea] + begin.from;
        let busy = |task: &&Task| starts[task.tea] + task.from <= now && now < starts[task.tea] + task.to;
        let under_way = tasks.iter().filter(busy);
        if under_way.clone().count() > problem.hands {
            let set: Overload = under_way.clone().take(problem.hands + 1).copied().collect();
            if !all.contains(&set) {
                all.push(set);
            }
        }
        if problem.is_given {
            all.extend(
                overload_of_some(problem, under_way.copied().collect()).filter(|set| !all.contains(set)),
            );
        }
    }
    all
}

/// Too many of the tasks under way that only some of the hands may do: the smallest number of hands of which that is so. Where
/// there is none, all of the tasks can be given out (Hall 1935), at that second.
fn overload_of_some(problem: &Problem, under_way: Vec<Task>) -> Option<Overload> {
    // Where too many are for some hands, they are too many for all the hands together that those tasks may be done by.
    let mut some: Vec<u8> = Vec::new();
    for by in under_way.iter().map(|task| problem.may_do(task)) {
        let with = some.iter().map(|hands| hands | by).chain([by]);
        let new: Vec<u8> = with.filter(|hands| !some.contains(hands)).collect();
        some.extend(new);
        some.sort_unstable();
        some.dedup();
    }
    some.sort_by_key(|by| by.count_ones());
    some.into_iter().find_map(|hands| {
        let own = under_way.iter().filter(|task| problem.may_do(task) & !hands == 0).copied();
        let set: Overload = own.take(hands.count_ones() as usize + 1).collect();
        (set.len() > hands.count_ones() as usize).then_some(set)
    })
}

/// Hands for the pour and the decant of every tea, from 0; the decant by who poured, if they are free.
///
/// Work is given out in the order in which it begins. Where all may do all, somebody is free each time, as never more than all
/// hands are busy: this is the colouring of an interval graph with as many colours as its largest clique. What is poured
/// already has its hands, and some teas may be given to some hands alone: then what was given out is taken back and given to
/// others as long as that helps, and where nothing does, there is `None`.
pub(super) fn hand_out(problem: &Problem, tasks: &[Task], starts: &[i32; MAX_TEAS]) -> Option<Vec<(u8, u8)>> {
    let mut order: Vec<&Task> = tasks.iter().filter(|t| t.tea < problem.dry).collect();
    order.sort_by_key(|t| (starts[t.tea] + t.from, t.tea));
    let mut giving = Giving { problem, tasks, starts, order, given: Vec::new(), steps: MOST_STEPS };
    if !giving.go() {
        return None;
    }
    let mut hands = vec![(0, 0); problem.n];
    for (task, &who) in giving.order.iter().zip(&giving.given) {
        let who = who as u8;
        hands[task.tea] = if task.from == 0 { (who, who) } else { (hands[task.tea].0, who) };
    }
    Some(hands)
}

/// So often somebody is tried for a task.
const MOST_STEPS: u32 = 20_000;

/// Tasks being given out.
struct Giving<'a> {
    problem: &'a Problem,
    tasks: &'a [Task],
    starts: &'a [i32; MAX_TEAS],
    /// What is given out, in the order in which it begins.
    order: Vec<&'a Task>,
    /// To whom, as far as it is.
    given: Vec<usize>,
    /// How often somebody may still be tried.
    steps: u32,
}

impl Giving<'_> {
    fn span(&self, task: &Task) -> (i32, i32) {
        (self.starts[task.tea] + task.from, self.starts[task.tea] + task.to)
    }

    fn is_free(&self, who: usize, task: &Task) -> bool {
        let (from, to) = self.span(task);
        let own = self.order.iter().zip(&self.given).filter(|&(_, &by)| by == who).map(|(task, _)| *task);
        let fixed =
            self.tasks.iter().filter(|t| t.tea >= self.problem.dry && self.problem.fixed_by(t) == who);
        let mut busy = own.chain(fixed).map(|task| self.span(task));
        !busy.any(|(begin, end)| begin < to && from < end)
    }

    fn go(&mut self) -> bool {
        let Some(&task) = self.order.get(self.given.len()) else { return true };
        let poured = self.order.iter().zip(&self.given).find(|(other, _)| other.tea == task.tea);
        let liked = poured.filter(|_| task.from > 0).map(|(_, &who)| who);
        let others = (0..self.problem.hands).filter(|&who| Some(who) != liked);
        for who in liked.into_iter().chain(others) {
            if self.problem.may_do(task) & (1 << who.min(7)) == 0 || !self.is_free(who, task) {
                continue;
            }
            if self.steps == 0 {
                return false;
            }
            self.steps -= 1;
            self.given.push(who);
            if self.go() {
                return true;
            }
            self.given.pop();
        }
        false
    }
}

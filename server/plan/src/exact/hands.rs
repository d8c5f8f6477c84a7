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
            let set: Overload = under_way.take(problem.hands + 1).copied().collect();
            if !all.contains(&set) {
                all.push(set);
            }
        }
    }
    all
}

/// Hands for the pour and the decant of every tea, from 0; the decant by who poured, if they are free.
///
/// Work is given out in the order in which it begins. As never more than all hands are busy, somebody is free each
/// time: this is the colouring of an interval graph with as many colours as its largest clique. Only what is poured
/// already has its hands, and may leave none for the whole of a task: then `None`.
pub(super) fn hand_out(problem: &Problem, tasks: &[Task], starts: &[i32; MAX_TEAS]) -> Option<Vec<(u8, u8)>> {
    let mut order: Vec<&Task> = tasks.iter().filter(|t| t.tea < problem.dry).collect();
    order.sort_by_key(|t| (starts[t.tea] + t.from, t.tea));
    let mut free_from = vec![i32::MIN; problem.hands];
    let mut hands = vec![(0, 0); problem.n];
    let span = |task: &Task| (starts[task.tea] + task.from, starts[task.tea] + task.to);
    let taken = |who: usize, from: i32, to: i32| {
        let fixed = tasks.iter().filter(|t| t.tea >= problem.dry && problem.fixed_by(t) == who);
        fixed.map(span).any(|(begin, end)| begin < to && from < end)
    };
    for task in order {
        let (from, to) = span(task);
        let poured = usize::from(hands[task.tea].0);
        let liked = (task.from > 0).then_some(poured);
        let free = |&h: &usize| free_from[h] <= from && !taken(h, from, to);
        let who = liked.into_iter().chain(0..problem.hands).find(free)?;
        free_from[who] = to;
        let who = who as u8;
        hands[task.tea] = if task.from == 0 { (who, who) } else { (hands[task.tea].0, who) };
    }
    Some(hands)
}

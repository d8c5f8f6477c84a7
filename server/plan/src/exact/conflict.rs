//! What keeps the least schedule of a branch from being one, and how the branch is split over it.

use super::bounds::Branch;
use super::hands::{Overload, overloads};
use super::kettle::{assign, fills};
use super::order::teas;
use super::problem::{Best, Problem};
use super::round::{MAX_TEAS, NEVER};

/// Of the pairs of teas in a forbidden range this many are tried, those with the longest way out of it first.
const MOST_PAIRS: usize = 2;

/// Something about the least schedule of a branch that cannot be, and so has to be decided one way or another.
#[derive(Clone, Debug)]
pub(super) enum Conflict {
    /// s_j − s_i lies in this forbidden range.
    Pair { i: usize, j: usize, range: (i32, i32) },
    /// No choice of kettles serves these starts, and this tea's is open.
    Kettle(usize),
    /// Two pours of kettle `k` that follow one another too closely, though over other teas it would do;
    /// `before` is `None` for second 0.
    Between { k: usize, before: Option<usize>, next: usize },
    /// Which of these teas (bits) comes next on kettle `k`: its refills depend on it.
    Next { k: usize, of: u16 },
    /// More tasks at once than hands.
    Hands(Overload),
}

/// Hands on the child in which s_j − s_i is at least the seconds of each (i, j, seconds), if there is such a child.
fn child_is_after(
    branch: &Branch,
    size: usize,
    steps: &[(usize, usize, i32)],
    child_is: &mut impl FnMut(Branch),
) {
    if steps.iter().all(|&(i, j, seconds)| branch.allows(i, j, seconds)) {
        let mut child = branch.clone();
        if steps.iter().all(|&(i, j, seconds)| child.require(size, i, j, seconds)) {
            child_is(child);
        }
    }
}

impl Conflict {
    /// Hands on the children of a branch for one conflict: together they hold every feasible schedule of the branch,
    /// and each of them knows more than the branch, so that the search comes to an end.
    pub fn split(
        &self,
        problem: &Problem,
        branch: &Branch,
        anchored: bool,
        child_is: &mut impl FnMut(Branch),
    ) {
        let size = problem.n + usize::from(anchored);
        match *self {
            Self::Pair { i, j, range: (low, high) } => {
                for (a, b, seconds) in [(i, j, high + 1), (j, i, 1 - low)] {
                    child_is_after(branch, size, &[(a, b, seconds)], child_is);
                }
            }
            Self::Kettle(tea) => {
                for k in (0..problem.kettles.len()).filter(|k| branch.kettles[tea] & (1 << k) != 0) {
                    let mut child = branch.clone();
                    child.kettles[tea] = 1 << k;
                    child_is(child);
                }
            }
            Self::Between { k, before, next } => {
                let kettle = &problem.kettles[k];
                // Nothing comes between them,
                match before {
                    Some(before) => {
                        let direct = kettle.direct[before][next];
                        child_is_after(branch, size, &[(before, next, direct)], child_is);
                    }
                    None if anchored => {
                        child_is_after(branch, size, &[(problem.n, next, kettle.first[next])], child_is);
                    }
                    // What is only too early is no conflict without a second 0.
                    None => {}
                }
                // or they come the other way round,
                if let Some(before) = before {
                    child_is_after(branch, size, &[(next, before, kettle.any[next][before])], child_is);
                }
                // or a third tea of the kettle comes before `next`, and after `before` if there is one.
                let here = |&c: &usize| c != next && Some(c) != before && branch.kettles[c] == 1 << k;
                for c in (0..problem.n).filter(here) {
                    let to_next = (c, next, kettle.any[c][next]);
                    match before {
                        Some(before) => {
                            let steps = [to_next, (before, c, kettle.any[before][c])];
                            child_is_after(branch, size, &steps, child_is);
                        }
                        None => child_is_after(branch, size, &[to_next], child_is),
                    }
                }
            }
            Self::Next { k, of } => {
                let any = &problem.kettles[k].any;
                for next in teas(of) {
                    let rest = teas(of & !(1 << next));
                    let steps: Vec<_> = rest.map(|j| (next, j, any[next][j])).collect();
                    child_is_after(branch, size, &steps, child_is);
                }
            }
            Self::Hands(ref set) => {
                // Two of the tasks must follow one another. Each child takes one such pair and rules out those of the
                // children before it, so that no schedule is looked at twice.
                let mut rest = branch.clone();
                for (x, y) in set.iter().flat_map(|&x| set.iter().map(move |&y| (x, y))) {
                    if x.tea == y.tea {
                        continue;
                    }
                    child_is_after(&rest, size, &[(x.tea, y.tea, x.to - y.from)], child_is);
                    if !rest.require(size, y.tea, x.tea, 1 - (x.to - y.from)) {
                        return;
                    }
                }
            }
        }
    }
}

/// The kettles with which the least schedule of a branch is feasible, or why it is not.
pub(super) fn conflicts(
    problem: &Problem,
    branch: &Branch,
    anchored: bool,
) -> Result<[u8; MAX_TEAS], Vec<Conflict>> {
    let starts = &branch.starts;
    let n = problem.n;
    let mut all = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            let ranges = problem.ranges(i, j, (branch.kettles[i], branch.kettles[j]));
            if let Some(range) = ranges.holding(starts[j] - starts[i]) {
                all.push(Conflict::Pair { i, j, range });
            }
        }
    }
    if all.len() > MOST_PAIRS {
        all.sort_by_key(|conflict| match *conflict {
            Conflict::Pair { i, j, range: (low, high) } => {
                let difference = starts[j] - starts[i];
                let (up, down) = (high + 1 - difference, difference + 1 - low);
                -(8 * up.min(down) + up.max(down))
            }
            _ => 0,
        });
        all.truncate(MOST_PAIRS);
    }
    let kettle = assign(problem, starts, &branch.kettles, anchored);
    let open = || (0..problem.dry).filter(|&i| !branch.kettles[i].is_power_of_two()).map(Conflict::Kettle);
    let Some(kettle) = kettle else {
        let pairs = all.len();
        all.extend(open());
        if all.len() == pairs {
            all.extend(unknown_orders(problem, branch));
        }
        if all.is_empty() {
            all.extend(too_close(problem, branch, anchored));
        }
        return Err(all);
    };
    if !all.is_empty() {
        return Err(all);
    }
    let certain = branch.fills(problem);
    if problem.hands > 1 || certain != [0; MAX_TEAS] {
        // The one with the fewest orders left; trying more of them costs more than it saves.
        let orders = |set: &Overload| {
            let pairs = set.iter().flat_map(|x| set.iter().map(move |y| (x, y)));
            pairs.filter(|(x, y)| x.tea != y.tea && branch.allows(x.tea, y.tea, x.to - y.from)).count()
        };
        let sets = overloads(problem, &problem.work(&certain), starts);
        if let Some(set) = sets.into_iter().min_by_key(orders) {
            return Err(vec![Conflict::Hands(set)]);
        }
    }
    // The refills of this very schedule may need more hands than are certain to be needed.
    let fills = fills(problem, &Best { value: branch.bound, starts: *starts, kettle });
    if fills != certain && !overloads(problem, &problem.work(&fills), starts).is_empty() {
        all.extend(open());
        if all.is_empty() {
            all.extend(unknown_orders(problem, branch));
        }
        return Err(all);
    }
    Ok(kettle)
}

/// The kettles that may run out and whose order is not known to the end.
fn unknown_orders(problem: &Problem, branch: &Branch) -> Vec<Conflict> {
    let known = |k| branch.known_order(problem, k).map(|known| (k, known.rest));
    let unknown = (0..problem.kettles.len()).filter_map(known).filter(|&(_, rest)| rest != 0);
    unknown.map(|(k, of)| Conflict::Next { k, of }).collect()
}

/// The first pour that comes too soon after the one before it on its kettle, when all kettles are chosen. A kettle that
/// may run out is asked for its order instead.
fn too_close(problem: &Problem, branch: &Branch, anchored: bool) -> Option<Conflict> {
    let starts = &branch.starts;
    let mut kettles = problem.kettles.iter().enumerate().filter(|(_, kettle)| kettle.water.is_none());
    kettles.find_map(|(k, kettle)| {
        let mut order: Vec<usize> = (0..problem.n).filter(|&i| branch.kettles[i] == 1 << k).collect();
        order.sort_unstable_by_key(|&i| (starts[i], i));
        let mut before: Option<usize> = None;
        order.into_iter().find_map(|next| {
            let early = match before {
                Some(before) => starts[next] - starts[before] < kettle.direct[before][next],
                None if anchored => starts[next] < kettle.first[next],
                None => kettle.first[next] >= NEVER,
            };
            let found = early.then_some(Conflict::Between { k, before, next });
            before = Some(next);
            found
        })
    })
}

//! A bound from the amount of work: hands can do only so much between the first cup and the last.

use super::problem::Problem;
use super::round::MAX_TEAS;

/// Whether the hands have more to do between the first cup (second 0) and `limit` than they can. `starts` are lower
/// bounds of the starts, counted so that no decant ends before 0.
///
/// Everything ends by `limit`. What cannot begin before some second e ≥ 0 is done between e and `limit`, by all hands
/// in `hands`·(`limit` − e) seconds at most. At e = 0 more can be said: a decant, or a pour that cannot end by 0, lies
/// before 0 with a part of it only if it is under way in the last second before 0 (it ends at 0 or later), and no more
/// tasks than hands are. So all of this work but the parts of as many tasks as hands lies after 0. The parts that can be saved
/// most are taken, each as large as the lower bound of its start allows.
pub(super) fn more_than_hands_can_do(problem: &Problem, starts: &[i32; MAX_TEAS], limit: i32) -> bool {
    let room = |seconds: i32| i64::from(seconds) * problem.hands as i64;
    let limit = limit + problem.gap;
    let mut saved = [0; 2 * MAX_TEAS];
    let mut late = [(0, 0); 2 * MAX_TEAS];
    let (mut lates, mut work) = (0, 0);
    for task in &problem.tasks {
        let (from, length) = (starts[task.tea] + task.from, task.to - task.from);
        if from >= 0 {
            work += length;
            late[lates] = (-from, length);
            lates += 1;
        } else if from + length > 0 || task.from > 0 {
            work += length;
            let mut part = length.min(-from);
            for most in saved.iter_mut().take(problem.hands) {
                if part > *most {
                    std::mem::swap(most, &mut part);
                }
            }
        }
    }
    if i64::from(work - saved.iter().sum::<i32>()) > room(limit) {
        return true;
    }
    let late = &mut late[..lates];
    let (latest, all) = late.iter().fold((0, 0), |(f, w), &(from, length)| (from.min(f), w + length));
    if i64::from(all) <= room(limit + latest) {
        return false;
    }
    late.sort_unstable();
    let mut work = 0;
    late.iter().any(|&(from, length)| {
        work += length;
        i64::from(work) > room(limit + from)
    })
}

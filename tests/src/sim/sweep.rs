//! Many seeds at once, on all of the machine's cores. Each class stays on one thread, so that its seed still decides it.

use std::ops::Range;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{available_parallelism, scope};

/// Works through the seeds and gives what came of each, or the lowest seed found to fail with its words. Seeds above one
/// that failed may be left out.
///
/// # Errors
/// What `work` says of a seed that failed.
pub fn sweep<T: Send>(
    seeds: Range<u64>,
    work: impl Fn(u64) -> Result<T, String> + Sync,
) -> Result<Vec<T>, (u64, String)> {
    let (next, failed) = (Mutex::new(seeds), AtomicBool::new(false));
    let one_by_one = || {
        let mut done = Vec::new();
        while !failed.load(Ordering::Relaxed)
            && let Some(seed) = next.lock().unwrap_or_else(|e| e.into_inner()).next()
        {
            match work(seed) {
                Ok(found) => done.push(found),
                Err(words) => {
                    failed.store(true, Ordering::Relaxed);
                    return Err((seed, words));
                }
            }
        }
        Ok(done)
    };
    let cores = available_parallelism().map_or(1, usize::from);
    let found = scope(|scope| {
        let threads: Vec<_> = (0..cores).map(|_| scope.spawn(one_by_one)).collect();
        let joined = threads.into_iter().map(|t| t.join().unwrap_or_else(|p| std::panic::resume_unwind(p)));
        joined.collect::<Vec<_>>()
    });
    let (done, failed): (Vec<_>, Vec<_>) = found.into_iter().partition(Result::is_ok);
    match failed.into_iter().filter_map(Result::err).min_by_key(|(seed, _)| *seed) {
        Some(lowest) => Err(lowest),
        None => Ok(done.into_iter().filter_map(Result::ok).flatten().collect()),
    }
}

#[cfg(test)]
mod tests {
    use super::sweep;

    #[test]
    fn every_seed_is_worked_through_once_and_a_failure_is_named() {
        let mut found = sweep(1..101, Ok::<u64, String>).unwrap();
        found.sort_unstable();
        assert_eq!(found, (1..101).collect::<Vec<_>>());
        let odd = |seed| if seed == 40 { Err("odd".to_string()) } else { Ok(seed) };
        assert_eq!(sweep(1..101, odd), Err((40, "odd".into())));
    }
}

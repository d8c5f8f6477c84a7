//! Benchmarks of the clock and the wire, each against a baseline measured in the same run.
//!
//! A benchmark is a process that starts itself again in roles (a host, a room of seats, a baseline) and talks to
//! them over their standard streams. All of them read one monotonic clock, the machine's, so that the true error of
//! a cue can be measured and not only estimated.

mod air;
mod bare;
mod child;
pub mod cue;
pub mod fanout;
mod fanout_roles;
mod floor;
mod host;
pub mod ingest;
mod ingest_roles;
mod instant;
pub mod machine;
pub mod report;
pub mod results;
mod seats;
pub mod siege;
mod siege_roles;
mod stamps;
pub mod whole;

use report::Report;
use std::error::Error;
use std::process::ExitCode;

/// What a benchmark gives, or why it could not be run.
pub type Fallible<T> = Result<T, Box<dyn Error + Send + Sync>>;

/// Runs a benchmark with the sizes named as arguments, or its own if none are; or, started as one of its children,
/// plays that part. Flags, such as the one `cargo bench` adds, are left aside.
pub fn main(bench: fn(&[usize]) -> Fallible<Report>) -> ExitCode {
    ::host::door::limits::allow_many_connections();
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let role = arguments.first().and_then(|first| first.strip_prefix(child::ROLE));
    let sizes: Vec<usize> = arguments.iter().filter_map(|a| a.parse().ok()).collect();
    let done = match role {
        Some(role) => child::play(role),
        None => bench(&sizes).map(|report| report.print()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}: {error}", role.unwrap_or("benchmark"));
            ExitCode::FAILURE
        }
    }
}

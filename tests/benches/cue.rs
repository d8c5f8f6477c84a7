//! How exactly seats are cued over loopback: `cargo bench --bench cue`.
//!
//! Numbers after `--` are sizes to measure instead of 10, 200, 1000 and 5000 seats.

use std::process::ExitCode;

fn main() -> ExitCode {
    tests::bench::main(tests::bench::cue::wired)
}

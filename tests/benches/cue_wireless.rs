//! How exactly seats are cued over bad air: `cargo bench --bench cue_wireless`.
//!
//! Numbers after `--` are sizes to measure instead of 200 and 1000 seats.

use std::process::ExitCode;

fn main() -> ExitCode {
    tests::bench::main(tests::bench::cue::wireless)
}

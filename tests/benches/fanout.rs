//! How fast a change of the timetable reaches a full room: `cargo bench --bench fanout`.
//!
//! Numbers after `--` are sizes to measure instead of 1000, 5000 and 10000 seats.

use std::process::ExitCode;

fn main() -> ExitCode {
    tests::bench::main(tests::bench::fanout::bench)
}

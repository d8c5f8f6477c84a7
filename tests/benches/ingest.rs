//! How many scores a second are taken in: `cargo bench --bench ingest`.
//!
//! Numbers after `--` are sizes to measure instead of 1000 seats.

use std::process::ExitCode;

fn main() -> ExitCode {
    tests::bench::main(tests::bench::ingest::bench)
}

//! Whether a class keeps its cues, and people come in, beside strangers at the door: `cargo bench --bench siege`.
//!
//! A number after `--` is how many strangers come instead of 3000.

use std::process::ExitCode;

fn main() -> ExitCode {
    tests::bench::main(tests::bench::siege::all)
}

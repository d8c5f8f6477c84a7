//! `kettlecall`: the teacher's program.

use clap::Parser;
use server::cli::Cli;
use std::io::Write;
use std::process::ExitCode;

fn main() -> ExitCode {
    match server::commands::run(Cli::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Standard error may be closed; there is nobody left to tell then.
            let _ = writeln!(std::io::stderr(), "{}", failure.words);
            ExitCode::from(failure.code)
        }
    }
}

//! `kettlecall`: the teacher's program.

use clap::Parser;
use protocol::text::message;
use server::cli::Cli;
use server::exit::Failure;
use std::process::ExitCode;

fn main() -> ExitCode {
    let done = match Cli::try_parse() {
        Ok(cli) => server::commands::run(cli.command),
        Err(asked) if !asked.use_stderr() => asked.print().map_err(Failure::from),
        Err(error) => Err(Failure { words: error.to_string().trim_end().into(), code: 2 }),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            writer::last_words(&message(&failure.words));
            ExitCode::from(failure.code)
        }
    }
}

//! What the program does on each of its commands.

mod check;
pub mod class_file;
mod correct;
pub mod enter;
pub mod new;
pub mod open;
pub mod plan;
pub mod put;
mod record;
pub mod review;
pub mod salvage;
mod whole;

use crate::cli::{Command, Format};
use crate::exit::Failure;
use crate::output::Output;
use host::clock::today;
use review::Part;

/// Does what was asked.
///
/// # Errors
/// Why it could not be done, in words and as an exit code.
pub fn run(command: Command) -> Result<(), Failure> {
    match command {
        Command::Review { ledgers, format, revisions, seat, without, next, output, force, up_to_break } => {
            let part = Part { without: &without, up_to_break };
            if up_to_break {
                whole::warn(&ledgers);
            }
            whole::unvouched(&ledgers);
            let output = Output::new(output, force, &ledgers);
            let format =
                format.map_or_else(|| output.form(), |format| Ok(Some(format)))?.unwrap_or(Format::Text);
            let done = match (&ledgers[..], seat) {
                ([ledger], Some(seat)) => review::seat_page(ledger, &seat, part, format, &output),
                (_, Some(_)) => Err(Failure {
                    words: "a seat's page is of one class; name one ledger with --seat".into(),
                    code: 2,
                }),
                ([ledger], None) => review::one(ledger, part, format, revisions, &output),
                (ledgers, None) => review::pooled(ledgers, part, format, revisions, &output),
            };
            done.and_then(|()| next.map_or(Ok(()), |file| review::write_next(&ledgers, part, &file)))
        }
        Command::Enter { ledger, scores, template: _, output, force, new_seat, check } => {
            whole::unvouched(&[&ledger]);
            match scores {
                Some(scores) => enter::run(&ledger, &scores, &new_seat, check),
                None => enter::template(&ledger, &Output::new(output, force, std::slice::from_ref(&ledger))),
            }
        }
        Command::Correct { ledger, check, what } => {
            whole::unvouched(&[&ledger]);
            correct::run(&ledger, what, check)
        }
        Command::Record { ledger, output, force } => {
            let output = Output::new(output, force, std::slice::from_ref(&ledger));
            whole::unvouched(&[&ledger]);
            record::write(&ledger, &output)
        }
        Command::Check { file, salvage: None } => check::run(&file),
        Command::Check { file, salvage: Some(to) } => salvage::run(&file, &to),
        Command::Restore { record, output } => record::restore(&record, &output),
        Command::New(wishes) => {
            Ok(new::run(&wishes, &today(), &mut std::io::stdin().lock(), &mut std::io::stderr())?)
        }
        Command::Plan { class, format, full, output, force, seed } => {
            let output = Output::new(output, force, std::slice::from_ref(&class));
            plan::run(&class, format, full, seed, &output)
        }
        Command::Open { class, listen, ledger, pace, plain, seed } => {
            open::run(&class, listen, ledger, pace, plain, seed)
        }
    }
}

//! What the program does on each of its commands.

mod check;
pub mod class_file;
mod correct;
pub mod enter;
mod guide;
mod lead;
pub mod new;
pub mod open;
pub mod plan;
pub mod put;
mod record;
pub mod review;
pub mod salvage;
mod spot;
mod ways;
mod whole;

use crate::cli::{Command, Format, Reader, Review};
use crate::exit::Failure;
use crate::output::Output;
use host::clock::today;
use review::{Part, home};
use std::path::PathBuf;

/// Does what was asked.
///
/// # Errors
/// Why it could not be done, in words and as an exit code.
pub fn run(command: Command) -> Result<(), Failure> {
    match command {
        Command::Review(asked) => review(*asked),
        Command::Spot(asked) => spot::run(&asked),
        Command::Enter { ledger, scores, template: _, output, force, new_seat, check } => {
            whole::doubts(&[&ledger]);
            match scores {
                Some(scores) => enter::run(&ledger, &scores, &new_seat, check),
                None => enter::template(&ledger, &Output::new(output, force, std::slice::from_ref(&ledger))),
            }
        }
        Command::Correct { ledger, check, what } => {
            whole::doubts(&[&ledger]);
            correct::run(&ledger, what, check)
        }
        Command::Record { ledger, output, force } => {
            let output = Output::new(output, force, std::slice::from_ref(&ledger));
            whole::doubts(&[&ledger]);
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
        Command::Guide { ledgers, leaf, output, force } => {
            guide::run(&ledgers, &leaf, &Output::new(output, force, &ledgers))
        }
        Command::Ways { file, format, output, force } => {
            ways::run(&file, format, &Output::new(output, force, std::slice::from_ref(&file)))
        }
        Command::Open(asked) => open::run(*asked),
        Command::Lead(asked) => lead::run(*asked),
    }
}

/// Reads one class or several, and writes what was asked of them. Whoever asks only for what is taken home gets only that.
fn review(asked: Review) -> Result<(), Failure> {
    let Review { ledgers, format, output, force, revisions, seat, .. } = &asked;
    let for_class = asked.reader == Some(Reader::Class);
    let part = Part { without: &asked.without, up_to_break: asked.up_to_break, for_class, full: asked.full };
    if asked.up_to_break {
        whole::warn(ledgers);
    }
    whole::doubts(ledgers);
    let to = |path: &Option<PathBuf>| Output::new(path.clone(), *force, ledgers);
    let one = |what: &str| match &ledgers[..] {
        [ledger] => Ok(ledger),
        _ => Err(Failure { words: format!("{what} of one class; name one ledger"), code: 2 }),
    };
    let taken_home = asked.cards.is_some() || asked.seats.is_some();
    if !taken_home || format.is_some() || output.is_some() || seat.is_some() {
        let output = to(output);
        let format = format.map_or_else(|| output.form(), |format| Ok(Some(format)))?.unwrap_or(Format::Text);
        match (seat, &ledgers[..]) {
            (Some(seat), _) => review::seat_page(one("a seat's page is")?, seat, part, format, &output)?,
            (None, [ledger]) => review::one(ledger, part, format, *revisions, &output)?,
            (None, ledgers) => review::pooled(ledgers, part, format, *revisions, &output)?,
        }
    }
    if asked.cards.is_some() {
        home::write_cards(one("cards are")?, part, &to(&asked.cards))?;
    }
    if asked.seats.is_some() {
        home::write_seats(one("the seats' pages are")?, part, &to(&asked.seats))?;
    }
    asked.next.as_ref().map_or(Ok(()), |file| review::write_next(ledgers, part, file))
}

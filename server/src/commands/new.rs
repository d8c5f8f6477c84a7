//! `kettlecall new`: from the command line or from questions to a file.

pub mod ask;
mod from;
mod kept;

use crate::cli::New;
use crate::exit::Failure;
use crate::output::{is_there, save};
use ask::{AskError, Given};
use class::read;
use class::start::table::Table;
use class::start::wishes::Basis;
use class::start::write::class_file;
use kept::Kept;
use protocol::text::message;
use std::io::{self, BufRead, ErrorKind, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why no class file was written.
#[derive(Debug, Error)]
pub enum NewError {
    /// There is a file already.
    #[error("{} is there already and was left as it is; choose another name, or --force to overwrite it", .0.display())]
    Exists(PathBuf),
    /// The name is kept for ledgers.
    #[error("{} would be taken for a ledger; choose a name that ends in .toml", .0.display())]
    Ledger(PathBuf),
    /// The wishes don't go together.
    #[error("{0}; nothing was written")]
    Wishes(String),
    /// The file of ways has faults or can't be read.
    #[error("{}", .0.words)]
    Ways(Failure),
    /// The answers ended; those there were are kept.
    #[error("the answers ended before the class was complete; they are kept in {}: the same command goes on from there", .0.display())]
    Kept(PathBuf),
    /// The questions came to no end.
    #[error(transparent)]
    Ask(#[from] AskError),
    /// The disk failed.
    #[error("{} can't be written: {error}", path.display())]
    Write {
        /// Where.
        path: PathBuf,
        /// What the system says.
        error: io::Error,
    },
    /// The program's own fault.
    #[error("the table of starting points has a fault; nothing was written: {0}")]
    Table(String),
}

impl NewError {
    /// The exit code.
    pub fn code(&self) -> u8 {
        match self {
            NewError::Ways(failure) => failure.code,
            NewError::Exists(_)
            | NewError::Ledger(_)
            | NewError::Wishes(_)
            | NewError::Kept(_)
            | NewError::Ask(AskError::Ended) => 2,
            NewError::Ask(AskError::Io(_)) | NewError::Write { .. } | NewError::Table(_) => 1,
        }
    }
}

impl From<&New> for Given {
    fn from(new: &New) -> Self {
        Self {
            title: new.title.clone(),
            date: new.date.clone(),
            today: String::new(),
            start: new.start.clone(),
            seats: new.seats,
            pourers: new.pourers,
            basis: new.method.map(Basis::Method).or(new.sitting.map(Basis::Sitting)),
            water_ml: new.water_ml,
            teas: new.tea.clone(),
            kettles: new.kettle.clone(),
            altitude_m: new.altitude_m,
            shared_kettles: new.shared_kettles,
            taste_s: new.taste_s,
        }
    }
}

/// Writes the class file. With a tea on the command line nothing is asked. `today` is `YYYY-MM-DD`.
///
/// # Errors
/// Says why nothing was written.
pub fn run(
    new: &New,
    today: &str,
    answers: &mut dyn BufRead,
    questions: &mut dyn Write,
) -> Result<(), NewError> {
    let to_stdout = new.file == Path::new("-");
    if !to_stdout {
        // Before the questions: nobody should answer them for nothing.
        if new.file.extension().is_some_and(|e| e == "ledger") {
            return Err(NewError::Ledger(new.file.clone()));
        }
        if !new.force && is_there(&new.file) {
            return Err(NewError::Exists(new.file.clone()));
        }
    }
    let table = Table::compiled_in().map_err(NewError::Table)?;
    let given = Given { today: today.into(), ..Given::from(new) };
    let text = match &new.from {
        Some(file) => {
            let asked = from::Asked { file, who: &new.who, teas: new.teas };
            let (text, said) = from::write(&asked, &table, given.or_usual())?;
            for words in said {
                let _ = writeln!(questions, "{}", message(&words));
            }
            text
        }
        None => {
            let wishes = if given.teas.is_empty() {
                let kept = Kept::beside((!to_stdout).then_some(&new.file));
                kept.ask(&given, &table, answers, questions)?
            } else {
                given.or_usual()
            };
            wishes.check().map_err(NewError::Wishes)?;
            class_file(&table, &wishes)
        }
    };
    let class = read::class(&text)
        .map_err(|faults| NewError::Table(faults.render("the new class", &text, "it was not written")))?;
    if to_stdout {
        return match io::stdout().write_all(text.as_bytes()) {
            // Whoever reads has read enough.
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
            other => other.map_err(|e| NewError::Write { path: "standard output".into(), error: e }),
        };
    }
    save(&new.file, text.as_bytes(), new.force).map_err(|error| match error.kind() {
        ErrorKind::AlreadyExists if !new.force => NewError::Exists(new.file.clone()),
        _ => NewError::Write { path: new.file.clone(), error },
    })?;
    let count = |n: u32, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    let (teas, rounds) = (count(class.teas.len() as u32, "tea"), count(class.rounds(), "round"));
    let file = new.file.display();
    Kept::beside(Some(&new.file)).forget();
    // The file is there, whether or not anybody hears of it.
    let words = format!("written: {file} ({teas}, {rounds})\nlook at it with: kettlecall plan {file}");
    let _ = writeln!(questions, "{}", message(&words));
    Ok(())
}

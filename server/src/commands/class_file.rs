//! Finds the class that a command is about: a class file, or a ledger.

use crate::cli::ledger_beside;
use crate::exit::Failure;
use class::{Class, read};
use host::{HostError, stored};
use room::Event;
use std::path::{Path, PathBuf};

/// A class as a file or a ledger gives it, the seed for what is drawn, and the ledger it goes with.
pub struct Found {
    /// The class.
    pub class: Class,
    /// What codes and serving orders are drawn from.
    pub seed: u64,
    /// Its ledger.
    pub ledger: PathBuf,
}

/// The text of a file that a person wrote; `what` it is.
pub fn text_of(file: &Path, what: &str) -> Result<String, Failure> {
    let shown = file.display();
    let text = std::fs::read(file)
        .map_err(|e| Failure { words: format!("{what} {shown} can't be read: {e}"), code: 3 })?;
    String::from_utf8(text).map_err(|_| Failure {
        words: format!("{what} {shown} is not UTF-8 text; save it as UTF-8"),
        code: 3,
    })
}

/// Finds the class to open or to plan; `so` says what a faulty class file leads to. A ledger can be named by itself, without its class file.
pub fn find(class: &Path, ledger: Option<PathBuf>, seed: Option<u64>, so: &str) -> Result<Found, Failure> {
    if class.extension().is_some_and(|e| e == "ledger" || e == "record")
        && ledger.as_deref().is_none_or(|l| l == class)
    {
        let first = stored::read(class)?.into_iter().next();
        return match first.map(|entry| entry.event) {
            Some(Event::Class { class: kept, seed, .. }) => {
                Ok(Found { class: *kept, seed, ledger: class.into() })
            }
            _ => Err(HostError::Replay(class.into(), "the ledger does not begin with a class".into()).into()),
        };
    }
    let shown = class.display();
    let text = text_of(class, "the class file")?;
    let parsed = read::class(&text)
        .map_err(|faults| Failure { words: faults.render(&shown.to_string(), &text, so), code: 3 })?;
    let seed = seed.unwrap_or_else(|| parsed.own_seed());
    Ok(Found { class: parsed, seed, ledger: ledger.unwrap_or_else(|| ledger_beside(class)) })
}

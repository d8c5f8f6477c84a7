//! Writes to a ledger that no host has open.

use super::salvage::stored;
use super::whole;
use crate::exit::Failure;
use host::HostError;
use ledger::{Sqlite, refuse_in_use};
use room::{Entry, Event, Room};
use std::path::Path;

/// What is to be appended, and the words for it.
pub struct New {
    /// Numbered behind the room's last entry.
    pub entries: Vec<Entry>,
    /// What the person is told.
    pub words: String,
}

/// Appends what `made` makes of the class in a ledger, or with `check` only says what that would be. A ledger to which nothing
/// is to be added is left as it is, also one of an older form.
///
/// # Errors
/// What `made` refuses; the ledger can't be read or written.
pub fn put(
    ledger: &Path,
    check: bool,
    mut made: impl FnMut(&Room) -> Result<New, Failure>,
) -> Result<String, Failure> {
    let replay = |entries| {
        Room::replay(entries).map_err(|problem| Failure::from(HostError::Replay(ledger.into(), problem)))
    };
    if !check {
        // While a host has it, nothing is put right, whatever it is.
        refuse_in_use(ledger)?;
    }
    let new = made(&replay(host::stored::read(ledger)?)?)?;
    if check || new.entries.is_empty() {
        return Ok(new.words);
    }
    whole::refuse_left_behind(ledger)?;
    let mut open = Sqlite::reopen(ledger, &end_unknown)?;
    // Somebody may have written meanwhile.
    let new = made(&replay(host::stored::entries(&open)?)?)?;
    host::stored::append(&mut open, &new.entries)?;
    Ok(new.words)
}

/// What is noted for good, before anything is written behind them, where nothing vouched for the last entries of a ledger when
/// it was opened.
pub fn end_unknown() -> (String, String) {
    stored(&Event::Lost { why: "its -mark was not beside it when it was opened".into(), at_end: true })
}

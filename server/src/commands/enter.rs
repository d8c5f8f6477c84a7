//! `kettlecall enter`.

pub mod entering;
pub mod fault;
mod paper;
mod table;

use crate::exit::Failure;
use crate::output::print;
use entering::enter;
use host::clock::fresh_id;
use host::{HostError, stored};
use ledger::Sqlite;
use room::Room;
use std::path::Path;

/// Enters scores from paper, or with `check` only says what would be entered.
pub fn run(ledger: &Path, scores: &Path, new_seats: &[String], check: bool) -> Result<(), Failure> {
    let shown = scores.display().to_string();
    let file = std::fs::read(scores)
        .map_err(|e| Failure { words: format!("the scores {shown} can't be read: {e}"), code: 3 })?;
    let mut open = if check { None } else { Some(Sqlite::reopen(ledger)?) };
    let entries = match &open {
        Some(ledger) => stored::entries(ledger)?,
        None => stored::read(ledger)?,
    };
    let room = Room::replay(entries).map_err(|problem| HostError::Replay(ledger.into(), problem))?;
    let entering = enter(&room, &file, new_seats, &mut fresh_id)
        .map_err(|faults| Failure { words: fault::render(&shown, &faults), code: 3 })?;
    let done = match &mut open {
        Some(ledger) => {
            stored::append(ledger, &entering.entries)?;
            "entered"
        }
        None => "checked, nothing entered",
    };
    Ok(print(&format!("{done}: {entering}\n"))?)
}

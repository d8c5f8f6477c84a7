//! `kettlecall enter`.

pub mod entering;
pub mod fault;
mod paper;
mod table;

use super::put::{New, put};
use crate::exit::Failure;
use crate::output::print;
use entering::enter;
use host::clock::fresh_id;
use room::Room;
use std::path::Path;

/// Enters scores from paper, or with `check` only says what would be entered.
pub fn run(ledger: &Path, scores: &Path, new_seats: &[String], check: bool) -> Result<(), Failure> {
    let shown = scores.display().to_string();
    let file = std::fs::read(scores)
        .map_err(|e| Failure { words: format!("the scores {shown} can't be read: {e}"), code: 3 })?;
    let done = if check { "checked, nothing entered" } else { "entered" };
    let made = |room: &Room| -> Result<New, Failure> {
        let entering = enter(room, &file, new_seats, &mut fresh_id)
            .map_err(|faults| Failure { words: fault::render(&shown, &faults), code: 3 })?;
        let words = format!("{done}: {entering}\n");
        Ok(New { entries: entering.entries, words })
    };
    Ok(print(&put(ledger, check, made)?)?)
}

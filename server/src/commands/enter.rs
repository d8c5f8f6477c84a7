//! `kettlecall enter`.

pub mod entering;
pub mod fault;
mod grid;
mod paper;
mod table;

use super::put::{New, put};
use crate::cli::PaperFormat;
use crate::exit::Failure;
use crate::output::{Output, print};
use entering::enter;
use grid::is_workbook;
use host::clock::fresh_id;
use host::{HostError, stored};
use room::Room;
use std::path::Path;

/// Enters scores from paper, or with `check` only says what would be entered.
pub fn run(ledger: &Path, scores: &Path, new_seats: &[String], check: bool) -> Result<(), Failure> {
    let shown = scores.display().to_string();
    let file = std::fs::read(scores)
        .map_err(|e| Failure { words: format!("the scores {shown} can't be read: {e}"), code: 3 })?;
    let render = if is_workbook(&file) { fault::render_sheet } else { fault::render };
    let done = if check { "checked, nothing entered" } else { "entered" };
    let made = |room: &Room| -> Result<New, Failure> {
        let entering = enter(room, &file, new_seats, &mut fresh_id)
            .map_err(|faults| Failure { words: render(&shown, &faults), code: 3 })?;
        let words = format!("{done}: {entering}\n");
        Ok(New { entries: entering.entries, words })
    };
    Ok(print(&put(ledger, check, made)?)?)
}

/// Writes the paper form of a class as a file to fill in.
pub fn template(ledger: &Path, output: &Output) -> Result<(), Failure> {
    let form = output.form()?.unwrap_or(PaperFormat::Csv);
    let entries = stored::read(ledger)?;
    let room = Room::replay(entries).map_err(|problem| HostError::Replay(ledger.into(), problem))?;
    Ok(match form {
        PaperFormat::Csv => output.page(&report::paper::csv(&room)),
        PaperFormat::Xlsx => output.binary(report::paper::workbook(&room)?),
    }?)
}

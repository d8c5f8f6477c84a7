//! A file of scores as rows of cells, whatever program wrote it: text with comma, semicolon or tab between the cells, or a
//! spreadsheet.

use super::fault::Fault;

mod text;
mod workbook;

pub use workbook::is_workbook;

/// The rows of a file.
pub struct Grid {
    /// Rows that hold something, each with its number in the file, from 1; the first one names the columns. All are as wide as it.
    pub rows: Vec<(u64, Vec<String>)>,
    /// Whether it is a spreadsheet, whose texts bear no guard against being run.
    pub is_sheet: bool,
    /// What whoever enters it is to be told.
    pub notice: Option<String>,
}

impl Grid {
    /// Reads a file.
    ///
    /// # Errors
    /// What makes it unreadable as a whole: its encoding, rows that do not fit the first one, an open quote, no spreadsheet.
    pub fn read(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        if is_workbook(bytes) {
            return workbook::read(bytes).map_err(|fault| vec![fault]);
        }
        text::read(bytes)
    }
}

fn at(line: u64, problem: impl Into<String>, remedy: impl Into<String>) -> Fault {
    Fault { line, column: None, problem: problem.into(), remedy: remedy.into() }
}

/// Nothing is in it.
fn empty() -> Fault {
    at(
        1,
        "the file is empty",
        "begin with a line that names the columns; `kettlecall enter --template` writes a file to fill in",
    )
}

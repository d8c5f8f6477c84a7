//! A spreadsheet file as rows of cells: the sheet `scores`, or else the first one that holds something.

use super::{Grid, at, empty};
use crate::commands::enter::fault::Fault;
use calamine::{Data, Range, Reader, Sheets, open_workbook_auto_from_rs};
use protocol::text::name_key;
use std::io::Cursor;

/// How a zipped file begins, as those of all newer spreadsheet programs are.
const ZIPPED: &[u8] = b"PK\x03\x04";
/// How the files of older ones begin.
const OLD: &[u8] = b"\xd0\xcf\x11\xe0";
/// The sheet that is read if there is one of this name.
const SCORES: &str = "scores";
/// A title and some lines may stand above the heads.
const MOST_ABOVE: usize = 20;
/// What the heads hold at least.
const HEADS: [&str; 3] = ["seat", "code", "steep"];

/// Whether a file is a spreadsheet and no text.
pub fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(ZIPPED) || bytes.starts_with(OLD)
}

pub fn read(bytes: &[u8]) -> Result<Grid, Fault> {
    const SAVE: &str = "save it as .xlsx or as CSV in UTF-8";
    if bytes.starts_with(OLD) {
        return Err(at(1, "the file is a spreadsheet of an older form", SAVE));
    }
    let unreadable = |why: calamine::Error| {
        let why = protocol::text::clean(&why.to_string(), 120);
        at(1, format!("the file is no spreadsheet that can be read ({why})"), SAVE)
    };
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(unreadable)?;
    let range = scores(&mut book).map_err(unreadable)?.ok_or_else(empty)?;
    let (top, left) = range.start().unwrap_or_default();
    let mut rows: Vec<(u64, Vec<String>)> = Vec::new();
    for (place, cells) in range.rows().enumerate() {
        // The columns count from A, also where the first ones are empty.
        let empty = std::iter::repeat_n(String::new(), left as usize);
        let cells: Vec<String> = empty.chain(cells.iter().map(text)).collect();
        if cells.iter().any(|cell| !cell.trim().is_empty()) {
            rows.push((u64::from(top) + place as u64 + 1, cells));
        }
    }
    let names = |cells: &[String]| HEADS.iter().all(|head| cells.iter().any(|c| name_key(c.trim()) == *head));
    let heads = rows.iter().take(MOST_ABOVE).position(|(_, cells)| names(cells));
    rows.drain(..heads.unwrap_or(0));
    Ok(Grid { rows, is_sheet: true, notice: None })
}

/// The sheet of the scores; nothing if all are empty.
fn scores(book: &mut Sheets<Cursor<&[u8]>>) -> Result<Option<Range<Data>>, calamine::Error> {
    let names = book.sheet_names();
    let named = names.iter().position(|name| name_key(name.trim()) == SCORES);
    for name in named.into_iter().chain(0..names.len()).map(|place| &names[place]) {
        let range = book.worksheet_range(name)?;
        if !range.is_empty() {
            return Ok(Some(range));
        }
    }
    Ok(None)
}

/// A cell as somebody would have typed it.
fn text(cell: &Data) -> String {
    match cell {
        Data::Empty => String::new(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => text.clone(),
        Data::Int(number) => number.to_string(),
        // The shortest digits that give the number: 39 for 39.0.
        Data::Float(number) => number.to_string(),
        Data::Bool(yes) => if *yes { "TRUE" } else { "FALSE" }.into(),
        Data::DateTime(day) => {
            let (year, month, day, ..) = day.to_ymd_hms_milli();
            format!("{year:04}-{month:02}-{day:02}")
        }
        other => other.to_string(),
    }
}

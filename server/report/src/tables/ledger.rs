//! The scores as the ledger has them, in long form.

use crate::csv;
use crate::tables::build::{number, words};
use crate::tables::{Column, Table, TableOf};
use room::Room;

/// The columns that hold numbers.
const NUMBERS: [&str; 5] = ["code", "steep", "value", "revision", "host_s"];

/// Every score that counts, or with `revisions` every score ever kept: the rows of the long form, class after class.
/// Takes the place of the `scores` of [`crate::tables::tables`] where there is the ledger itself.
pub fn ledger<'a>(rooms: impl IntoIterator<Item = &'a Room>, revisions: bool) -> Table {
    let column = |name: &&str| -> Column { if NUMBERS.contains(name) { number(name) } else { words(name) } };
    Table {
        name: "scores".into(),
        title: "Every score in long form".into(),
        notes: Vec::new(),
        columns: csv::COLUMNS.iter().map(column).collect(),
        rows: csv::rows(rooms, revisions).map(Vec::from).collect(),
        about: TableOf::Scores,
    }
}

//! The scores as the ledger has them, in long form.

use crate::csv;
use crate::tables::{Column, Table, TableOf};
use room::Room;

/// Every score that counts, or with `revisions` every score ever kept: the rows of the long form, class after class.
/// Takes the place of the `scores` of [`crate::tables::tables`] where there is the ledger itself.
pub fn ledger<'a>(rooms: impl IntoIterator<Item = &'a Room>, revisions: bool) -> Table {
    Table {
        name: "scores".into(),
        title: "Every score in long form".into(),
        notes: Vec::new(),
        columns: csv::COLUMNS.map(|(name, holds)| Column { name: name.into(), unit: None, holds }).into(),
        rows: csv::rows(rooms, revisions).map(Vec::from).collect(),
        about: TableOf::Scores,
    }
}

//! A record: a class in one file of text that needs no other file, for keeping, mailing and checking by any means.
//!
//! `server/docs/record.md` describes it for people. Lines of JSON: what it is; one line for each entry, with its link; how many
//! entries there are, the link behind them, and a sum over all bytes before. What an entry says stands in its line to the
//! byte, so that the links can be computed from the text.

mod read;
#[cfg(test)]
mod tests;
mod write;

pub use read::is_one;
pub(crate) use read::{LAST, LINE_ENDS, entry, inspect, is_entry, plain};
pub(crate) use write::FIRST;
pub use write::{About, text};

use crate::{LedgerError, Record, fresh};
use std::path::Path;

/// The number of the form of a record. Form 1 did not repeat the first entry.
pub const FORMAT: u32 = 2;
/// How the first line begins.
const HEAD: &str = "{\"kettlecall_record\":";

/// Makes a ledger of entries, chained from a number on, that is equal to the one they were read from.
///
/// # Errors
/// See [`LedgerError`]; nothing is left lying about then.
pub fn restore(path: &Path, records: &[Record<'_>], chained_from: u64) -> Result<(), LedgerError> {
    fresh::write(path, records, chained_from)
}

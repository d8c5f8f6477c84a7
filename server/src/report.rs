//! The summary as text for people, as CSV for spreadsheets and as JSON for programs.

pub mod csv;
pub mod text;

use crate::summary::Summary;

/// The summary as JSON, its shape documented in the README.
pub fn json(summary: &Summary) -> String {
    serde_json::to_string_pretty(summary).unwrap_or_else(|e| unreachable!("a summary is plain data: {e}"))
        + "\n"
}

//! The plan and the summary: as text for people, as CSV for spreadsheets, as a page to print, as JSON for programs.

pub mod csv;
pub mod guide;
pub mod home;
mod html;
mod lead;
pub mod page;
pub mod paper;
pub mod plan;
pub mod spot;
pub mod tables;
pub mod text;
pub mod ways;
mod words;
pub mod xlsx;

use serde::Serialize;

/// A summary, a pool, sweet spots or a plan as JSON. `server/docs/json.md` documents all but the plan, `server/docs/prepare.md` the plan.
pub fn json(document: &impl Serialize) -> String {
    serde_json::to_string_pretty(document).unwrap_or_else(|e| unreachable!("plain data: {e}")) + "\n"
}

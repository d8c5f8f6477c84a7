//! The host of a tea class.
//!
//! Pure rooms (no clock, no randomness, no I/O): [`summary`].
//! Shell: the ledger, the one owner task, the door, the console and the reports.

pub mod cli;
pub mod commands;
pub mod console;
pub mod enter;
pub mod pool;
pub mod report;
pub mod summary;

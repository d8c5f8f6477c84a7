//! The host of a tea class.
//!
//! Shell: the ledger, the one owner task, the door, the console and the reports.

pub mod cli;
pub mod commands;
pub mod console;
pub mod exit;
pub mod output;

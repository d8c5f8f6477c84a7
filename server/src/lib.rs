//! The teacher's program: its command line, what it does on each command, the console, and where its output goes.

pub mod cli;
pub mod commands;
pub mod console;
pub mod exit;
pub mod output;

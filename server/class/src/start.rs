//! Starting points: which way of steeping to begin with for a leaf, and a class file that says so.
//!
//! Today's date is an argument.
//!
//! The steeping rules are common practice in the trade, no source; they live in `start/table.toml` and nowhere else.

pub mod choose;
pub mod leaf;
pub mod method;
pub mod spec;
pub mod table;
pub mod wishes;
pub mod write;

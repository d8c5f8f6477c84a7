//! Starting points: which way of steeping to begin with for a leaf, and a class file that says so.
//!
//! Pure: [`leaf`], [`table`], [`choose`], [`method`], [`wishes`], [`spec`], [`mod@write`]; today's date is an argument.
//! Shell: [`ask`] (questions over any reader and writer) and [`shell`] (files).
//!
//! The steeping rules are common practice in the trade, no source; they live in `starting/table.toml` and nowhere else.

pub mod ask;
pub mod choose;
pub mod leaf;
pub mod method;
pub mod shell;
pub mod spec;
pub mod table;
pub mod wishes;
pub mod write;

//! Statistics for a class's scores: pure functions from plain tables to figures.
//!
//! A table has one row for each taster and one column for each tea. What can't be computed comes back as
//! [`Undefined`], which says why in plain words; a figure is never NaN or infinite. Intervals are 95 % intervals.

pub mod agreement;
mod binomial;
pub mod forced_choice;
pub mod icc;
pub mod interval;
#[cfg(test)]
mod laws;
pub mod panel;
pub mod penalty;
pub mod proportion;
mod table;
mod tails;
pub mod two_means;
pub mod undefined;
pub mod weights;
pub mod words;

pub use interval::Interval;
pub use undefined::Undefined;

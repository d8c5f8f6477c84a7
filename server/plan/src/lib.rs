//! From a class to cues at instants.

pub mod difference;
pub mod document;
pub mod exact;
pub mod hands;
pub mod hold;
pub mod kettles;
pub mod orders;
pub mod quantities;
pub mod rounds;
pub mod timetable;
pub mod warnings;
pub mod water;

pub use hold::held;
pub use rounds::plan_rounds;
pub use timetable::{Rest, plan};

#[cfg(test)]
mod laws;

//! From a class to cues at instants.

pub mod hold;
pub mod orders;
pub mod power;
pub mod quantities;
pub mod stagger;
pub mod timetable;
pub mod water;

pub use hold::held;
pub use timetable::{Rest, plan};

#[cfg(test)]
mod laws;

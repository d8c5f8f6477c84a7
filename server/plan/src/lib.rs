//! From a class to cues at instants.

mod assumes;
pub mod difference_test;
pub mod document;
pub mod exact;
pub mod filling;
mod hands;
pub mod heat;
pub mod hold;
pub mod kettles;
pub mod ladder;
pub mod orders;
pub mod placed;
mod quantities;
mod remedy;
mod resumed;
pub mod rounds;
pub mod steer;
mod timetable;
pub mod warnings;
pub mod water;
pub mod ways;

pub use hold::held;
pub use rounds::plan_rounds;
pub use timetable::{Rest, plan};

#[cfg(test)]
mod laws;

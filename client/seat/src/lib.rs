//! A seat without its machine: what it knows and does, what it keeps, its clock and its words. Events in, effects out;
//! time and ids are arguments.

pub mod answer;
pub mod app;
pub mod deeds;
#[cfg(test)]
mod fixture;
pub mod help;
pub mod host_clock;
pub mod kept;
pub mod notes;
pub mod words;

// The fixture is shared with the terminal around the seat, where this crate goes by its name.
#[cfg(test)]
extern crate self as seat;

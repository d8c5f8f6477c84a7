//! What the end-to-end tests share: a model seat that speaks the wire from its document alone, and real programs
//! as processes; whole classes on a simulated network; and the benchmarks of the clock and the wire.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

pub mod bench;
pub mod calibrate;
pub mod desk;
pub mod model;
pub mod program;
pub mod recover;
pub mod sim;
pub mod trials;

//! Classes in simulated time: on one thread, on a simulated network.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

mod instants;
mod networks;

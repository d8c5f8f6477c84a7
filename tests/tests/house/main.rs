//! What must stay as it is: what users see, and which crate may use which.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

mod arrows;
mod documents;
mod exits;
mod json;
mod outside;
mod pinned;
mod same;

//! `kettlecall` as a program, and what it is put together from.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

mod enter;
mod faults;
mod guide;
mod home;
mod inert;
mod new;
mod plan;
mod pool;
mod record;
mod spot;
mod stored;
mod ways;

//! Figures held to other libraries and to published values.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

mod agreement;
mod answers;
mod classes;
mod describe;
mod differences;
mod golden;
mod outside;
mod over_classes;
mod permuted;
mod ranks;
mod rates;
mod recover;
mod tasters;

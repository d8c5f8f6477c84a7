//! `kettleseat` as a program.

mod cli;
mod lines;

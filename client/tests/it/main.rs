//! `kettleseat` as a program.

mod cli;
mod host;
mod lines;
#[cfg(unix)]
mod screen;
#[cfg(unix)]
mod terminal;

//! What the program does on each of its commands.

pub mod new;

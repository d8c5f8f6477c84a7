//! The plan of a class, for a terminal and to print.

pub mod page;
pub mod text;

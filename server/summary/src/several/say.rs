//! What several classes show, in words.

pub mod brief;
pub mod pairs;

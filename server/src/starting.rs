//! Starting points: which way of steeping to begin with for a leaf. Pure.
//!
//! The steeping rules are common practice in the trade, no source; they live in `starting/table.toml` and nowhere else.

pub mod choose;
pub mod leaf;
pub mod method;
pub mod table;

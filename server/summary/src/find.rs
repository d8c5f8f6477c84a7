//! From a class's scores to figures: each file one question.

pub mod agreement;
pub mod describe;
pub mod difference_tests;
pub mod differences;
pub mod leaves;
pub mod seats;
pub mod serving;
pub mod strength;
pub mod ticks;
pub mod totals;
pub mod ways;

//! The arithmetic behind the summary: what differs, by how much, and how sure that is. Pure: numbers in, figures out.
//!
//! Rows are tasters, columns are teas. A figure that can't be had is an error that says why in words, never NaN.

pub mod additive;
pub mod anova;
pub mod cannot;
pub mod describe;
pub mod dist;
pub mod friedman;
pub mod incomplete;
#[cfg(test)]
mod laws;
pub mod letters;
mod linear;
pub mod multiple;
pub mod noncentral_t;
pub mod page;
pub mod paired;
pub mod rank_sums;
pub mod ranks;
pub mod replicated;
mod root;
pub mod skillings_mack;
mod spread;
pub mod studentized_range;
mod sums;
pub mod tukey;
pub mod two_way;
pub mod wilcoxon;

//! The arithmetic behind the summary: what differs, by how much, and how sure that is. Pure: numbers in, figures out.
//!
//! A table has one row for each taster and one column for each tea. A figure that can't be had is an error that says why in
//! words, never NaN.

pub mod additive;
pub mod agreement;
pub mod anova;
mod binomial;
pub mod can_show;
pub mod cannot;
pub mod describe;
pub mod dist;
#[cfg(test)]
mod examples;
pub mod forced_choice;
pub mod friedman;
pub mod icc;
pub mod incomplete;
pub mod interval;
#[cfg(test)]
mod laws;
pub mod letters;
mod linear;
pub mod multiple;
pub mod noncentral_t;
pub mod page;
pub mod paired;
pub mod panel;
pub mod penalty;
pub mod power;
pub mod proportion;
pub mod rank_sums;
pub mod ranks;
pub mod replicated;
mod root;
pub mod say;
pub mod skillings_mack;
mod spread;
pub mod stratified;
pub mod studentized_range;
mod sums;
pub mod tukey;
pub mod two_means;
pub mod two_way;
pub mod wilcoxon;
pub mod words;

pub use cannot::Cannot;
pub use interval::Interval;

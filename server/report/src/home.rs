//! What is taken home: a card for each tea, and a page for each seat.

pub mod cards;
mod change;
mod own;
mod recipe;
pub mod seat;

pub(crate) use change::change;
pub use own::Own;
pub(crate) use recipe::{Recipe, Rung};

/// The usual cautions for whoever brews at home.
pub(crate) const CAUTIONS: &str = "Hot water scalds. Caffeine: small sips; ask a doctor if pregnant or unwell. Allergies: ask \
                                   what is in it before the first cup.";

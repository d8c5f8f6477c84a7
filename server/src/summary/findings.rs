//! What a class's scores say: figures with their evidence, tests, and plain sentences. Pure, and stable as JSON: fields
//! may be added, none changes its meaning. A figure that can't be had is an object with `why` in its place, never NaN.
//!
//! Teas are named by their codes. Nothing here tells more than the class may know: leaves, ways of steeping and what
//! belongs together appear only for teas that are revealed (or were never blind).

pub mod agreement;
mod brief;
pub mod data;
pub mod describe;
pub mod differences;
pub mod discrimination;
mod method;
pub mod seats;
pub mod sentences;
pub mod strength;
pub mod totals;
pub mod ways;
pub mod words;

use agreement::Agreement;
use data::Data;
use describe::{Curve, Described, Dot, Scale, TasterMean};
use differences::Difference;
use discrimination::TestFound;
use protocol::HostTime;
use room::Room;
use seats::SeatPage;
use sentences::Sentence;
use serde::Serialize;
use stats::interval::SIGNIFICANCE;
use strength::StrengthFindings;
use totals::Totals;
use ways::TwoWays;
use words::WordFinding;

/// Everything that was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Findings {
    /// A probability up to this counts as shown: 0.05.
    pub level: f64,
    /// Seats with at least one sheet.
    pub tasters: usize,
    /// The same in a few lines without tests and probabilities; empty if there is nothing to tell.
    pub brief: Vec<String>,
    /// What was found, one plain sentence for each finding, what matters most first. Never empty.
    pub sentences: Vec<Sentence>,
    /// The figures of every tea, steep, leaf and way of steeping, attribute by attribute.
    pub described: Vec<Described>,
    /// The scale of each attribute, in the order of the sheet.
    pub scales: Vec<Scale>,
    /// Every single score, for dot plots.
    pub dots: Vec<Dot>,
    /// Each taster's mean of each tea over the steeps.
    pub means: Vec<TasterMean>,
    /// Mean and interval from steep to steep, for each attribute and tea.
    pub curves: Vec<Curve>,
    /// Whether the teas differ, for each attribute: over the steeps first, then steep by steep.
    pub differences: Vec<Difference>,
    /// Two ways of steeping one leaf, pair by pair; only pairs of revealed teas.
    pub ways: Vec<TwoWays>,
    /// How far the tasters agree, for each attribute.
    pub agreement: Vec<Agreement>,
    /// The strength vote, `null` when the sheet does not ask it.
    pub strength: Option<StrengthFindings>,
    /// The words ticked; empty when the sheet has none.
    pub words: Vec<WordFinding>,
    /// The difference tests of the class; empty when it has none.
    pub tests: Vec<TestFound>,
    /// Weighted totals, `null` when the class names no weights.
    pub totals: Option<Totals>,
    /// One page for each seat, in the order in which they came: the seat and the class. Meant for that person and the
    /// teacher, not for the wall.
    pub seats: Vec<SeatPage>,
    /// How all of it was reckoned, in plain words.
    pub method: Vec<String>,
}

/// What the scores of a class say as it stands at `now`.
pub fn find(room: &Room, now: HostTime) -> Findings {
    let data = Data::of(room, now);
    let described = describe::described(&data);
    let mut found = Findings {
        level: SIGNIFICANCE,
        tasters: data.tasters().len(),
        brief: Vec::new(),
        sentences: Vec::new(),
        scales: describe::scales(&data),
        dots: describe::dots(&data),
        means: describe::means(&data),
        curves: describe::curves(&described),
        described,
        differences: differences::differences(&data),
        ways: ways::ways(&data),
        agreement: agreement::agreement(&data),
        strength: strength::strength(&data),
        words: words::words(&data),
        tests: discrimination::tests(room),
        totals: totals::totals(&data),
        seats: seats::pages(&data),
        method: Vec::new(),
    };
    found.sentences = sentences::all(&data, &found);
    found.brief = brief::lines(&data, &found);
    found.method = method::lines(&found);
    found
}

/// A figure, or in its place `{ "why": "…" }`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Known<T> {
    /// The figure.
    Is(T),
    /// Why there is none.
    Not {
        /// In words that fit after "not computed: ".
        why: String,
    },
}

impl<T> Known<T> {
    /// The figure, if there is one.
    pub fn get(&self) -> Option<&T> {
        match self {
            Known::Is(figure) => Some(figure),
            Known::Not { .. } => None,
        }
    }

    /// The figure, to be changed.
    fn get_mut(&mut self) -> Option<&mut T> {
        match self {
            Known::Is(figure) => Some(figure),
            Known::Not { .. } => None,
        }
    }

    /// No figure for this reason.
    pub fn not(why: impl ToString) -> Self {
        Known::Not { why: why.to_string() }
    }
}

impl<T, E: ToString> From<Result<T, E>> for Known<T> {
    fn from(result: Result<T, E>) -> Self {
        result.map_or_else(Known::not, Known::Is)
    }
}

#[cfg(test)]
mod fairness;
#[cfg(test)]
mod tests;

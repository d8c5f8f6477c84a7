//! What a class's scores say: figures with their evidence, tests, and plain sentences. Pure, and stable as JSON: fields
//! may be added, none changes its meaning. A figure that can't be had is an object with `why` in its place, never NaN.
//!
//! Teas are named by their codes. Nothing here tells more than the class may know: leaves, ways of steeping and what
//! belongs together appear only for teas that are revealed (or were never blind).

use crate::data::Data;
use crate::find::agreement::{Agreement, agreement};
use crate::find::describe::{self, Curve, Described, Dot, Scale, TasterMean};
use crate::find::difference_tests::{TestFound, evaluate};
use crate::find::differences::{Difference, differences};
use crate::find::seats::{SeatPage, pages};
use crate::find::strength::{StrengthFindings, strength};
use crate::find::ticks::{WordFinding, words};
use crate::find::totals::{Totals, totals};
use crate::find::ways::{TwoWays, ways};
use crate::say;
use crate::sentence::Sentence;
use protocol::HostTime;
use room::Room;
use room::given::TestGiven;
use serde::Serialize;
use stats::interval::SIGNIFICANCE;

/// Everything that was found: the figures, and what they say.
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
    /// The figures.
    #[serde(flatten)]
    pub figures: Figures,
    /// How all of it was computed, in plain words.
    pub method: Vec<String>,
}

/// The figures, question by question.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// Seats with at least one sheet; in the JSON it stands in front of the sentences.
    #[serde(skip)]
    pub tasters: usize,
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
}

/// What a difference test found, with its words.
pub fn told(given: &TestGiven) -> TestFound {
    let found = evaluate(given);
    TestFound { words: say::difference_tests::words(given, &found), ..found }
}

/// What the scores of a class say as it stands at `now`.
pub fn find(room: &Room, now: HostTime) -> Findings {
    let data = Data::of(room, now);
    let described = describe::described(&data);
    let mut figures = Figures {
        tasters: data.tasters().len(),
        scales: describe::scales(&data),
        dots: describe::dots(&data),
        means: describe::means(&data),
        curves: describe::curves(&described),
        described,
        differences: differences(&data),
        ways: ways(&data),
        agreement: agreement(&data),
        strength: strength(&data),
        words: words(&data),
        tests: room.tests_given().iter().map(told).collect(),
        totals: totals(&data),
        seats: pages(&data),
    };
    for page in &mut figures.seats {
        page.sentences = say::seat::about_seat(&page.attributes);
    }
    let sentences = say::all(&data, &figures);
    let brief = say::brief::lines(&data, &figures, &sentences);
    let method = say::method::lines(&figures);
    Findings { level: SIGNIFICANCE, tasters: figures.tasters, brief, sentences, figures, method }
}

#[cfg(test)]
mod fairness;
#[cfg(test)]
mod tests;

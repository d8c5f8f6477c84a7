//! What a class's scores say: figures with their evidence, tests, and plain sentences. Pure, and stable as JSON: fields
//! may be added, none changes its meaning. A figure that can't be had is an object with `why` in its place, never NaN.
//!
//! Teas are named by their codes. Nothing here reports more than the class may know: leaves, ways of steeping and what
//! belongs together appear only for teas that are revealed (or were never blind).

use crate::data::Data;
use crate::figures::Figures;
use crate::find::difference_tests::{TestFound, evaluate_all};
use crate::say;
use crate::say::brief::Line;
use crate::sentence::Sentence;
use protocol::HostTime;
use room::Room;
use room::difference_test::TestAnswers;
use schemars::JsonSchema;
use serde::Serialize;
use stats::interval::SIGNIFICANCE;

/// Everything that was found: the figures, and what they say.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Findings {
    /// A probability up to this counts as shown: 0.05.
    pub level: f64,
    /// Seats with at least one sheet.
    pub tasters: usize,
    /// The same in a few lines without tests and probabilities; empty if there is nothing to report.
    #[schemars(with = "Vec<String>")]
    pub brief: Vec<Line>,
    /// What was found, one plain sentence for each finding, what matters most first. Never empty.
    pub sentences: Vec<Sentence>,
    /// The figures.
    #[serde(flatten)]
    pub figures: Figures,
    /// How all of it was computed, in plain words.
    pub method: Vec<String>,
}

/// What the difference tests of a class found, with their words.
pub fn difference_tests(given: &[TestAnswers]) -> Vec<TestFound> {
    let mut all = evaluate_all(given);
    for (found, given) in all.iter_mut().zip(given) {
        found.words = say::difference_tests::words(given, found);
    }
    all
}

/// What the scores of a class say as it stands at `now`.
pub fn find(room: &Room, now: HostTime) -> Findings {
    let data = Data::of(room, now);
    let mut figures = Figures::of(&data, difference_tests(&room.test_answers()));
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
#[cfg(test)]
mod ways;

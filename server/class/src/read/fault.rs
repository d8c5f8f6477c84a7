//! What is wrong with a class file: where, what, and what would be right. All faults of a file are shown at once.

use super::draw;
use std::ops::Range;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where in the text, in bytes; `None` for what the file lacks as a whole.
    pub place: Option<Range<usize>>,
    /// The field, as a path: `tea 2: temp_c`.
    pub field: String,
    /// What is wrong, going on from the field: `is 130, which can't be`.
    pub problem: String,
    /// What would be right.
    pub remedy: String,
}

/// The faults of one file, in the order of the text. Never empty when returned as an error.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Adds one.
    pub(super) fn add(
        &mut self,
        place: impl Into<Option<Range<usize>>>,
        field: &str,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let (problem, remedy) = (problem.into(), remedy.into());
        self.0.push(Fault { place: place.into(), field: field.into(), problem, remedy });
    }

    /// The faults in plain words, each with its line, how many there are, and what came of them: `the class was not opened`.
    pub fn render(&self, file: &str, source: &str, so: &str) -> String {
        draw::draw(file, source, &self.0, so)
    }
}

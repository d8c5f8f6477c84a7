//! The desk: drafts, the cup in hand and the line of the sheet that has the keys.

use super::filled::{Digits, Filled};
use protocol::{Attribute, Code, Score, Sheet};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// One tea at one steep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Cup {
    /// The tea.
    pub code: Code,
    /// The steep, from 1.
    pub steep: u32,
}

impl Cup {
    /// The cup a score is about.
    pub fn of(score: &Score) -> Self {
        Self { code: score.code, steep: score.steep }
    }
}

impl fmt::Display for Cup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} steep {}", self.code, self.steep)
    }
}

/// A line of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line<'a> {
    /// An attribute on its scale.
    Attribute(&'a Attribute),
    /// The strength vote.
    Strength,
    /// The words to be ticked.
    Words,
    /// The note.
    Note,
}

/// Drafts and where the keys go.
#[derive(Clone, Debug, Default)]
pub struct Desk {
    /// What is filled in and not sent.
    pub drafts: BTreeMap<Cup, Filled>,
    /// Which line of the sheet has the keys, from 0.
    pub line: usize,
    /// Which word has the keys while they are on the words, from 0.
    pub word: usize,
    /// The difference test that has the keys instead of the sheet.
    pub test: Option<u32>,
    /// The cups chosen in difference tests and not sent.
    pub picks: BTreeMap<u32, Code>,
    /// Digits that may still grow into a longer number.
    pub(super) digits: Option<Digits>,
    /// The cup the person took up; `None` leaves the choice to the seat.
    pub(super) hand: Option<Cup>,
}

impl Desk {
    /// The lines of a sheet, in order.
    pub fn lines(sheet: &Sheet) -> Vec<Line<'_>> {
        let attributes = sheet.attributes.iter().map(Line::Attribute);
        let words = !sheet.words.is_empty();
        let rest = [(sheet.strength, Line::Strength), (words, Line::Words), (sheet.note, Line::Note)];
        attributes.chain(rest.into_iter().filter(|(asked, _)| *asked).map(|(_, line)| line)).collect()
    }

    /// Where the keys go.
    pub(super) fn place(&self) -> (Option<Cup>, usize) {
        (self.hand, self.line)
    }

    /// Takes up a cup.
    pub(super) fn take_up(&mut self, cup: Cup) {
        if self.hand != Some(cup) {
            self.hand = Some(cup);
            self.go_to_line(0);
        }
    }

    /// Puts a cup down that nothing is filled in for, so that a newer one can be taken up.
    pub(super) fn let_go(&mut self) {
        if self.hand.is_some_and(|cup| !self.drafts.contains_key(&cup)) {
            self.hand = None;
            self.go_to_line(0);
        }
    }

    pub(super) fn go_to_line(&mut self, line: usize) {
        (self.line, self.word) = (line, 0);
        self.digits = None;
    }
}

//! The desk: drafts, the cup in hand and the line of the sheet that has the keys.

use super::filled::{Digits, Filled};
use super::hand::{Hand, Moved};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::{Attribute, Code, Score, Sheet};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// One tea in one round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Cup {
    /// The tea.
    pub code: Code,
    /// The number of the round, from 1: that of the steep, unless the teacher had one done again. In words it is [`Served`].
    pub steep: u32,
}

impl Cup {
    /// The cup a score is about.
    pub fn of(score: &Score) -> Self {
        Self { code: score.code, steep: score.steep }
    }

    /// As it is typed: `417/2`.
    pub fn short(&self) -> String {
        format!("{}/{}", self.code, self.steep)
    }
}

/// A cup as it is spoken of: by the steep that is in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Served {
    /// The cup, which has the number of its round.
    pub cup: Cup,
    /// The steep of the tea, from 1.
    pub steep: u32,
}

impl Served {
    /// As it is typed: `417/2`.
    pub fn short(&self) -> String {
        self.cup.short()
    }

    /// Which steep it is: `steep 2`, or `steep 2 in round 4`.
    pub fn which(&self) -> String {
        words::steep(self.steep, self.cup.steep)
    }
}

impl fmt::Display for Served {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.cup.code, self.which())
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

impl Line<'_> {
    /// The scale of a line with points.
    pub fn scale(&self) -> Option<Attribute> {
        match self {
            Line::Attribute(scale) => Some((*scale).clone()),
            Line::Strength => Some(words::strength_scale()),
            Line::Words | Line::Note => None,
        }
    }
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
    /// What is typed of a cup to go to; `None` while nobody asks for one.
    pub going: Option<String>,
    /// Digits that may still grow into a longer number.
    pub(super) digits: Option<Digits>,
    /// The cup in hand. It changes only by a key, by a sent sheet, or when nobody is at it.
    pub(super) hand: Option<Hand>,
    /// How the sheet last changed by itself, until the person turns to another.
    pub(super) moved: Option<Moved>,
    /// Until when keys that write are left out, because the sheet has just changed by itself.
    pub(super) deaf_until: OwnTime,
    /// Until when what is written is left out, because something was left out and nobody has looked since.
    pub(super) unread_until: OwnTime,
    /// When a key was last left out of the sheet in hand for that.
    pub(super) left_out: Option<OwnTime>,
    /// How many characters in a row had no room in the note of this cup.
    pub(super) unfit: Option<(Cup, usize)>,
    /// The cup whose sheet was sent and is open for a change.
    pub(super) opened: Option<Cup>,
    /// When a sheet was last sent by Enter.
    pub(super) sent_at: Option<OwnTime>,
    /// The cup whose sheet holds nothing but a note, once that has been asked about.
    pub(super) asked: Option<Cup>,
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
        (self.hand.map(|hand| hand.cup), self.line)
    }

    pub(super) fn go_to_line(&mut self, line: usize) {
        (self.line, self.word) = (line, 0);
        self.digits = None;
    }

    /// How many sheets have something on them that is not sent.
    pub fn begun(&self) -> usize {
        self.drafts.values().filter(|filled| !filled.is_blank()).count()
    }
}

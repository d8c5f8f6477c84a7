//! A score: one seat's filled sheet for one tea and steep.

use crate::text::{self, NOTE_CHARS};
use crate::{Code, Sheet, Strength};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};
use thiserror::Error;
use uuid::Uuid;

/// One filled sheet, as the seat sends it and the ledger keeps it.
///
/// The seat gives the id; however often the score is sent, it counts once. A later fill of the same cup is a
/// score of its own with a new id and a higher revision; the highest revision counts, all are kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Score {
    /// The id the seat gave it.
    pub id: Uuid,
    /// The tea.
    pub code: Code,
    /// The steep, from 1.
    pub steep: u32,
    /// From 1; the highest counts for this seat, tea and steep.
    pub revision: u32,
    /// Points by attribute name; an attribute left out is blank.
    pub values: BTreeMap<String, i32>,
    /// The strength vote, if given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strength: Option<Strength>,
    /// The note in words; empty when there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The words ticked, spelt as on the sheet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
}

/// Why a score does not fit the sheet. The words are for the person at the seat.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ScoreFault {
    /// An attribute that is not on the sheet.
    #[error("the sheet has no `{0}`; it has {1}")]
    NoSuchAttribute(String, String),
    /// A value off its scale.
    #[error("{name} is {value}, but its scale goes from {min} to {max}")]
    OffScale {
        /// The attribute.
        name: String,
        /// The value sent.
        value: i32,
        /// The lowest allowed.
        min: i32,
        /// The highest allowed.
        max: i32,
    },
    /// A word that is not on the sheet.
    #[error("the sheet has no word `{0}`")]
    NoSuchWord(String),
    /// A word that stands twice in one score.
    #[error("the word `{0}` is ticked twice")]
    WordTwice(String),
    /// A strength vote, words or a note that the sheet does not ask for.
    #[error("this class's sheet does not ask for {0}")]
    NotAsked(&'static str),
    /// Nothing filled at all.
    #[error("the sheet is empty; fill at least one line")]
    Empty,
    /// Revision or steep of 0.
    #[error("{0} counts from 1")]
    FromOne(&'static str),
}

impl Score {
    /// This score with its note and its words made inert. Nothing else is changed.
    pub fn inert(mut self) -> Self {
        self.words.iter_mut().for_each(|word| *word = text::clean(word, text::NAME_CHARS));
        self.note = text::clean(&self.note, NOTE_CHARS);
        self
    }

    /// Whether the score fits the sheet.
    ///
    /// # Errors
    /// The first thing that does not fit.
    pub fn check(&self, sheet: &Sheet) -> Result<(), ScoreFault> {
        if self.steep == 0 {
            return Err(ScoreFault::FromOne("the steep"));
        }
        if self.revision == 0 {
            return Err(ScoreFault::FromOne("the revision"));
        }
        for (name, &value) in &self.values {
            let Some(attribute) = sheet.attributes.iter().find(|a| a.name == *name) else {
                let names: Vec<_> = sheet.attributes.iter().map(|a| a.name.as_str()).collect();
                return Err(ScoreFault::NoSuchAttribute(
                    text::clean(name, text::NAME_CHARS),
                    names.join(", "),
                ));
            };
            if !(attribute.min..=attribute.max).contains(&value) {
                let (name, min, max) = (name.clone(), attribute.min, attribute.max);
                return Err(ScoreFault::OffScale { name, value, min, max });
            }
        }
        if self.strength.is_some() && !sheet.strength {
            return Err(ScoreFault::NotAsked("the strength"));
        }
        if !self.note.is_empty() && !sheet.note {
            return Err(ScoreFault::NotAsked("a note"));
        }
        self.check_words(sheet)?;
        let blank = self.values.is_empty() && self.strength.is_none() && self.note.is_empty();
        if blank && self.words.is_empty() {
            return Err(ScoreFault::Empty);
        }
        Ok(())
    }

    fn check_words(&self, sheet: &Sheet) -> Result<(), ScoreFault> {
        if !self.words.is_empty() && sheet.words.is_empty() {
            return Err(ScoreFault::NotAsked("words"));
        }
        let mut ticked = HashSet::new();
        for word in &self.words {
            let shown = || text::clean(word, text::NAME_CHARS);
            if !sheet.words.contains(word) {
                return Err(ScoreFault::NoSuchWord(shown()));
            }
            if !ticked.insert(word) {
                return Err(ScoreFault::WordTwice(shown()));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn score(values: &[(&str, i32)]) -> Score {
        Score {
            id: Uuid::from_u128(1),
            code: Code::new(417).unwrap(),
            steep: 1,
            revision: 1,
            values: values.iter().map(|&(n, v)| (n.to_string(), v)).collect(),
            strength: None,
            note: String::new(),
            words: Vec::new(),
        }
    }

    fn with_words(words: &[&str]) -> Score {
        Score { words: words.iter().map(ToString::to_string).collect(), ..score(&[]) }
    }

    #[test]
    fn a_score_on_its_scales_is_taken_even_with_blanks() {
        assert_eq!(score(&[("aroma", 1), ("liking", 9)]).check(&Sheet::default()), Ok(()));
        let only_note = Score { note: "grassy".into(), ..score(&[]) };
        assert_eq!(only_note.check(&Sheet::default()), Ok(()));
    }

    #[test]
    fn a_score_that_has_only_words_of_the_sheet_is_a_score() {
        let sheet = Sheet { words: vec!["floral".into(), "nutty".into()], ..Sheet::default() };
        assert_eq!(with_words(&["nutty", "floral"]).check(&sheet), Ok(()));
        let said = |words| with_words(words).check(&sheet).unwrap_err().to_string();
        assert_eq!(said(&["smoky"]), "the sheet has no word `smoky`");
        assert_eq!(said(&["nutty", "nutty"]), "the word `nutty` is ticked twice");
        assert_eq!(said(&[]), "the sheet is empty; fill at least one line");
        assert_eq!(with_words(&["a\u{1b}[2Jb"]).inert().words, ["a [2Jb"]);
    }

    #[test]
    fn a_score_that_does_not_fit_says_why() {
        let bare = Sheet { strength: false, note: false, ..Sheet::default() };
        let cases = [
            (score(&[("aroma", 10)]), "aroma is 10, but its scale goes from 1 to 9"),
            (score(&[("arma", 5)]), "the sheet has no `arma`; it has aroma, taste, aftertaste, liking"),
            (score(&[]), "the sheet is empty; fill at least one line"),
            (Score { steep: 0, ..score(&[("aroma", 5)]) }, "the steep counts from 1"),
            (Score { revision: 0, ..score(&[("aroma", 5)]) }, "the revision counts from 1"),
            (
                Score { strength: Some(Strength::TooThin), ..score(&[]) },
                "this class's sheet does not ask for the strength",
            ),
            (Score { note: "x".into(), ..score(&[]) }, "this class's sheet does not ask for a note"),
            (with_words(&["floral"]), "this class's sheet does not ask for words"),
        ];
        for (score, words) in cases {
            assert_eq!(score.check(&bare).unwrap_err().to_string(), words);
        }
    }
}

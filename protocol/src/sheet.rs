//! The sheet: what is scored, and on which scale.

use serde::{Deserialize, Serialize};
use std::fmt;

/// One thing scored on the sheet, on a scale of whole points.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Attribute {
    /// Its name, unique on the sheet.
    pub name: String,
    /// The lowest point of the scale.
    pub min: i32,
    /// The highest point of the scale.
    pub max: i32,
    /// What the lowest point means, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// What the highest point means, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
}

/// What every seat fills for each tea and steep.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sheet {
    /// The attributes, in the order they are asked.
    pub attributes: Vec<Attribute>,
    /// Whether the strength vote is asked.
    pub strength: bool,
    /// Whether a note in words is asked.
    pub note: bool,
    /// The words to choose from: every one that fits the cup is ticked. None: words are not asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
}

impl Sheet {
    /// The most words a sheet can have.
    pub const MAX_WORDS: usize = 40;
}

impl Default for Sheet {
    /// Aroma, taste and aftertaste from faint to full, and liking on the nine-point scale
    /// (Peryam and Pilgrim 1957: 1 dislike extremely, 9 like extremely).
    fn default() -> Self {
        let attribute = |name: &str, low: &str, high: &str| Attribute {
            name: name.into(),
            min: 1,
            max: 9,
            low: Some(low.into()),
            high: Some(high.into()),
        };
        Self {
            attributes: vec![
                attribute("aroma", "faint", "full"),
                attribute("taste", "faint", "full"),
                attribute("aftertaste", "short", "long"),
                attribute("liking", "dislike extremely", "like extremely"),
            ],
            strength: true,
            note: true,
            words: Vec::new(),
        }
    }
}

/// The strength vote: a just-about-right scale of five steps with the right strength in the middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "i8", into = "i8")]
pub enum Strength {
    /// −2
    MuchTooThin,
    /// −1
    TooThin,
    /// 0
    JustRight,
    /// +1
    TooStrong,
    /// +2
    MuchTooStrong,
}

impl Strength {
    /// All votes from thin to strong.
    pub const ALL: [Strength; 5] = [
        Strength::MuchTooThin,
        Strength::TooThin,
        Strength::JustRight,
        Strength::TooStrong,
        Strength::MuchTooStrong,
    ];

    /// The vote as a number, −2 to 2.
    pub fn number(self) -> i8 {
        self as i8 - 2
    }
}

impl TryFrom<i8> for Strength {
    type Error = &'static str;
    fn try_from(number: i8) -> Result<Self, Self::Error> {
        Strength::ALL
            .into_iter()
            .find(|s| s.number() == number)
            .ok_or("strength is a whole number from -2 to 2")
    }
}

impl From<Strength> for i8 {
    fn from(strength: Strength) -> i8 {
        strength.number()
    }
}

impl fmt::Display for Strength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Strength::MuchTooThin => "much too thin",
            Strength::TooThin => "too thin",
            Strength::JustRight => "just right",
            Strength::TooStrong => "too strong",
            Strength::MuchTooStrong => "much too strong",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strength_goes_from_minus_two_to_two_with_right_in_the_middle() {
        let numbers: Vec<i8> = Strength::ALL.into_iter().map(i8::from).collect();
        assert_eq!(numbers, [-2, -1, 0, 1, 2]);
        assert_eq!(Strength::try_from(0), Ok(Strength::JustRight));
        assert!(Strength::try_from(3).is_err());
    }
}

//! The words of a class as types.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

/// A three-digit blind code, 100 to 999 (three-digit random codes: ISO 13299:2016).
/// Written as a string of three digits on the wire and in files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "String", into = "String")]
pub struct Code(u16);

impl Code {
    /// The smallest code.
    pub const MIN: u16 = 100;
    /// The largest code.
    pub const MAX: u16 = 999;

    /// A code from its number; `None` outside 100 to 999.
    pub fn new(number: u16) -> Option<Self> {
        (Self::MIN..=Self::MAX).contains(&number).then_some(Self(number))
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl FromStr for Code {
    type Err = &'static str;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let digits = text.len() == 3 && text.bytes().all(|b| b.is_ascii_digit());
        let number = if digits { text.parse().ok() } else { None };
        number.and_then(Self::new).ok_or("a code is three digits from 100 to 999")
    }
}

impl TryFrom<String> for Code {
    type Error = &'static str;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Code> for String {
    fn from(code: Code) -> String {
        code.to_string()
    }
}

/// A seat's stable id: it outlives the seat's connections.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct SeatId(pub Uuid);

/// What a seat proves that it knows, to be let back in to its own place ([`crate::proof`]). The seat makes it, at random, before
/// it says it once, so that even a lost welcome leads back to the same place. Known to that seat and the host alone.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Token(pub Uuid);

impl fmt::Debug for Token {
    /// A token never reaches a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(…)")
    }
}

/// What a person is cued to do. `SheetCloses` is the end of a round's tasting: nothing to do with the hands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// Warm the vessel with hot water and empty it.
    Warm,
    /// Pour over the leaf, wait the rinse seconds, pour away.
    Rinse,
    /// Pour the water; the lid goes on at the end of it and the steep begins.
    Pour,
    /// Empty the vessel into the cups; the steep ends where this begins.
    Decant,
    /// Taste the round's cups and fill the sheet.
    Taste,
    /// The round's tasting time is over. Scores are still taken until the class is closed.
    SheetCloses,
    /// Fill a kettle with fresh water and set it, for the tea named.
    Fill,
    /// Fill a kettle up to the full and set it, for the tea named.
    Refill,
    /// Set a kettle to another temperature, for the tea named.
    Set,
    /// Put the lid on: the pour is done and the steep begins.
    Lid,
    /// Pour the water of a rinse off the leaf.
    PourOff,
}

impl Action {
    /// Whether it is done at a kettle; the tea of such a cue is the one that is poured from it next.
    pub fn is_at_kettle(self) -> bool {
        matches!(self, Action::Fill | Action::Refill | Action::Set)
    }

    /// Whether it is a moment inside other work on the same tea, and not work that changes what the tea is doing.
    pub fn is_within(self) -> bool {
        matches!(self, Action::Lid | Action::PourOff)
    }
}

impl fmt::Display for Action {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Action::Warm => "warm",
            Action::Rinse => "rinse",
            Action::Pour => "pour",
            Action::Decant => "decant",
            Action::Taste => "taste",
            Action::SheetCloses => "sheet closes",
            Action::Fill => "fill",
            Action::Refill => "refill",
            Action::Set => "set",
            Action::Lid => "lid on",
            Action::PourOff => "pour off",
        })
    }
}

/// What a seat has come for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// It scores, whether it pours or not.
    #[default]
    Scores,
    /// It pours and owes no sheets.
    PoursOnly,
    /// It looks on and owes no sheets.
    Watches,
}

impl Role {
    /// Whether sheets are asked of it.
    pub fn scores(self) -> bool {
        self == Role::Scores
    }

    /// For leaving out what is the rule.
    pub fn is_usual(&self) -> bool {
        self.scores()
    }
}

/// Where the class stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// People are being seated; nothing has been poured.
    #[default]
    Lobby,
    /// The timetable runs.
    Running,
    /// The class waits: nothing dry is started, everything wet still ends on time.
    Held,
    /// The class is over; no score is taken any more.
    Closed,
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Phase::Lobby => "lobby",
            Phase::Running => "running",
            Phase::Held => "held",
            Phase::Closed => "closed",
        })
    }
}

/// How a tea is steeped, for taking home.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// Dry leaf for one vessel, grams.
    pub leaf_g: f64,
    /// Water for one steep, millilitres.
    pub water_ml: f64,
    /// Water of each steep, °C.
    pub temp_c: Vec<f64>,
    /// From lid on to the start of the decant, seconds of each steep.
    pub steep_s: Vec<u32>,
    /// Seconds of a rinse before the first steep, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rinse_s: Option<u32>,
}

/// What a seat may know of a tea: its code, how many steeps it has, and its name, leaf and recipe once revealed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TeaCard {
    /// The blind code the tea is served under.
    pub code: Code,
    /// How many steeps the tea has.
    pub steeps: u32,
    /// The tea's name, absent while the tea is blind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The leaf's name, absent while the tea is blind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub leaf: Option<String>,
    /// How it is steeped, absent while the tea is blind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recipe: Option<Recipe>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_three_digits_from_100_to_999() {
        for (text, good) in [
            ("417", true),
            ("100", true),
            ("999", true),
            ("099", false),
            ("41", false),
            ("4170", false),
            ("+17", false),
            ("４１７", false),
            ("", false),
        ] {
            assert_eq!(text.parse::<Code>().is_ok(), good, "{text:?}");
        }
    }

    #[test]
    fn a_token_never_shows_in_a_log() {
        assert_eq!(format!("{:?}", Token(Uuid::from_u128(7))), "Token(…)");
    }
}

//! The seat and the class: one page for each.

use super::Known;
use super::sentences::Sentence;
use crate::stats::panel::habits::{Correlation, Spread};
use crate::stats::panel::{Discrimination, Repeatability};
use crate::stats::two_means::TTest;
use protocol::Code;
use serde::Serialize;

/// One seat's page.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeatPage {
    /// The seat's name.
    pub seat: String,
    /// Each attribute.
    pub attributes: Vec<SeatAttribute>,
    /// The seat's own scores beside the class's.
    pub scores: Vec<OwnScore>,
    /// What that says, kindly.
    pub sentences: Vec<Sentence>,
}

/// How a seat uses one attribute's scale, over the steeps.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeatAttribute {
    /// The attribute.
    pub attribute: String,
    /// Whether the scores are high or low.
    pub bias: Known<Bias>,
    /// How wide they are spread.
    pub spread: Known<Spread>,
    /// Whether they go along with the others'.
    pub with_others: Known<Correlation>,
    /// Where a tea was served twice: whether this taster tells the teas apart; else `null`.
    pub discrimination: Option<Known<Discrimination>>,
    /// Where a tea was served twice: how near its scores lie; else `null`.
    pub repeatability: Option<Known<Repeatability>>,
    /// Both in words; else `null`.
    pub verdict: Option<String>,
}

/// How far a seat scores above or below the class.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bias {
    /// Teas that this seat and at least one other have scored.
    pub teas: usize,
    /// Mean of this seat's score less the class's mean, points.
    pub points: f64,
    /// The t test of it, with its interval.
    pub test: Known<TTest>,
    /// "high", "low" or "not shown".
    pub leans: String,
}

/// One score beside the class's.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OwnScore {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// This seat's score.
    pub own: f64,
    /// The others' mean; `null` if nobody else scored it.
    pub others_mean: Option<f64>,
    /// How many others.
    pub others: usize,
}

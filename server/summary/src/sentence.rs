//! A finding in words, with its evidence.

use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Interval;

/// One finding in words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Sentence {
    /// For people: what was found, of how many, by how much, how sure.
    pub text: String,
    /// What it is about.
    pub about: About,
    /// Whether something is shown, at the level of the findings.
    pub shown: bool,
    /// The figures behind it.
    pub evidence: Evidence,
}

impl Sentence {
    /// What shows nothing by itself, of `n` tasters or votes.
    pub(crate) fn plain(text: impl Into<String>, about: About, n: usize) -> Self {
        let evidence = Evidence { n, ..Evidence::default() };
        Self { text: text.into(), about, shown: false, evidence }
    }
}

/// What a sentence is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// How much n tasters can show at all.
    Class,
    /// Whether the teas differ.
    Difference,
    /// Two ways of one leaf.
    Ways,
    /// How far tasters agree.
    Agreement,
    /// The strength vote.
    Strength,
    /// Words ticked.
    Words,
    /// The difference tests.
    Tests,
    /// Weighted totals.
    Totals,
    /// The order of serving.
    Serving,
    /// One seat; only on its page.
    Seat,
}

/// The figures behind a sentence; what does not apply is `null` or empty.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Evidence {
    /// The attribute.
    pub attribute: Option<String>,
    /// The steep; `null` over the steeps.
    pub steep: Option<u32>,
    /// The teas it is about.
    pub teas: Vec<Code>,
    /// Tasters or votes behind it.
    pub n: usize,
    /// The test.
    pub test: Option<String>,
    /// Its p by itself.
    pub p: Option<f64>,
    /// Its p adjusted for all tests of its family.
    pub p_adjusted: Option<f64>,
    /// The effect in points on the scale.
    pub points: Option<f64>,
    /// The effect's interval, points.
    pub interval: Option<Interval>,
}

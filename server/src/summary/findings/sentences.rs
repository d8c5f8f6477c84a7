//! Plain sentences, each with its evidence.

mod differences;
mod others;
mod seat;
mod ways;

pub use seat::about_seat;

use super::Findings;
use super::data::Data;
use super::discrimination;
use protocol::Code;
use serde::Serialize;
use stats::wilcoxon::smallest_p;
use stats::{Interval, say};

/// One finding in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

/// What a sentence is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    /// How much so many tasters can show at all.
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
    /// One seat; only on its page.
    Seat,
}

/// The figures behind a sentence; what does not apply is `null` or empty.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
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

/// Everything that can be said, what matters most first: what is shown of each kind before what is not.
pub fn all(data: &Data<'_>, found: &Findings) -> Vec<Sentence> {
    let mut told = totals_of(data, found);
    told.extend(differences::sentences(data, &found.differences));
    told.extend(ways::sentences(data, &found.ways));
    told.extend(found.strength.iter().flat_map(|strength| others::strength(data, strength)));
    told.extend(others::words(data, &found.words));
    told.extend(others::agreement(&found.agreement, &found.differences));
    if found.tasters == 0 {
        told.clear();
    }
    told.extend(discrimination::sentences(&found.tests));
    told.push(reach(found.tasters));
    told
}

fn totals_of(data: &Data<'_>, found: &Findings) -> Vec<Sentence> {
    found.totals.iter().flat_map(|totals| others::totals(data, totals)).collect()
}

/// What so many tasters can show at all.
fn reach(tasters: usize) -> Sentence {
    let text = match tasters {
        0 => "Nobody has scored, so there is nothing to tell of the teas' scores.".to_string(),
        1 => "One taster has scored: the figures tell one person's view, and nothing can be tested.".into(),
        2..=5 => format!(
            "With {tasters} tasters no signed rank test reaches 5 %: even if all agree, it gives {}.",
            say::p(smallest_p(tasters))
        ),
        _ => format!(
            "{tasters} tasters have scored; what so many can and can't show is said with each finding."
        ),
    };
    let only = "The class speaks for itself only: it is no panel of consumers.";
    let text = if tasters > 1 { format!("{text} {only}") } else { text };
    let evidence = Evidence { n: tasters, ..Evidence::default() };
    Sentence { text, about: About::Class, shown: false, evidence }
}

//! What the pictures look up in the summary, and what a picture comes to.

use crate::lead::why_not;
use crate::page::canvas::Drawing;
use crate::page::how::How;
use crate::words::label;
use protocol::Code;
use protocol::say::list;
use stats::Interval;
use stats::say::fine;
use summary::find::describe::{Curve, Described, Scale};
use summary::find::differences::Difference;
use summary::findings::Findings;
use summary::known::Known;
use summary::{Summary, TeaLine};

/// A picture with its words. All of it is plain text, not yet escaped.
#[derive(Clone, Debug)]
pub struct Figure {
    /// What it is, in a few words.
    pub title: String,
    /// What one sees, with the numbers, for those who don't see it.
    pub described: String,
    pub how: How,
    /// What else is to be said of this one; may be empty.
    pub caption: String,
    /// The test or the figure behind what it says, in words; opens when asked for, may be empty.
    pub evidence: String,
    pub drawing: Drawing,
}

/// A picture, or why there is none, in a whole sentence.
pub type Pictured = Result<Figure, String>;

/// The summary as the pictures read it.
#[derive(Clone, Copy)]
pub struct Facts<'a> {
    summary: &'a Summary,
}

impl<'a> Facts<'a> {
    pub fn of(summary: &'a Summary) -> Self {
        Self { summary }
    }

    pub fn found(&self) -> &'a Findings {
        &self.summary.findings
    }

    /// The teas in their order; the place of each gives its sign.
    pub fn teas(&self) -> impl Iterator<Item = (usize, &'a TeaLine)> + use<'a> {
        self.summary.teas.iter().enumerate()
    }

    /// A tea's place, from 0.
    pub fn place(&self, tea: Code) -> usize {
        self.summary.teas.iter().position(|t| t.code == tea).unwrap_or(0)
    }

    /// A tea's name, once it may be known.
    pub fn name(&self, tea: Code) -> Option<&'a str> {
        self.summary.teas.iter().find(|t| t.code == tea)?.name.as_deref()
    }

    /// A tea's code and, once it may be known, its name.
    pub fn label(&self, tea: Code) -> String {
        let line = self.summary.teas.iter().find(|line| line.code == tea);
        line.map_or_else(|| tea.to_string(), label)
    }

    /// Which teas are missing in a picture of an attribute, and why, in a sentence; nothing if none is.
    pub fn left_out(&self, attribute: &str, shown: &[Code]) -> String {
        let out = self.teas().filter(|(_, tea)| !shown.contains(&tea.code));
        not_in(out.map(|(_, tea)| (label(tea), why_not(tea, attribute).to_string())))
    }

    /// A curve as it is drawn from steep to steep.
    pub fn drawn(&self, curve: &Curve) -> Curve {
        self.summary.drawn(curve)
    }

    /// What is left out of the lines, a sentence with a blank before it; nothing where nothing is.
    pub fn not_drawn(&self, attribute: &str) -> String {
        self.summary.not_drawn(attribute).map_or(String::new(), |words| format!(" {words}"))
    }

    pub fn scale(&self, attribute: &str) -> Option<&'a Scale> {
        self.found().figures.scales.iter().find(|scale| scale.attribute == attribute)
    }

    /// The figures of each tea over the steeps, for teas that somebody scored.
    pub fn over_steeps(&self, attribute: &str) -> impl Iterator<Item = (Code, f64, &'a Described)> {
        let all = self
            .found()
            .figures
            .described
            .iter()
            .filter(move |d| d.attribute == attribute && d.steep.is_none());
        all.filter_map(|d| Some((d.tea?, d.mean?, d)))
    }

    /// The comparison of the teas over the steeps.
    pub fn difference(&self, attribute: &str) -> Option<&'a Difference> {
        self.found().figures.differences.iter().find(|d| d.attribute == attribute && d.steep.is_none())
    }
}

/// Which teas are missing in a picture, each with its reason, in a sentence with a space before it; nothing if none is.
pub fn not_in(teas: impl IntoIterator<Item = (String, String)>) -> String {
    let teas: Vec<String> = teas.into_iter().map(|(tea, why)| format!("{tea} ({why})")).collect();
    if teas.is_empty() { String::new() } else { format!(" Not in the picture: {}.", list(&teas)) }
}

/// "5.29 (95 % interval 4.47 to 6.11)", or the mean alone.
pub fn mean_words(mean: f64, interval: Option<&Interval>) -> String {
    let mean = fine(mean);
    interval.map_or(mean.clone(), |i| format!("{mean} (95 % interval {} to {})", fine(i.low), fine(i.high)))
}

pub fn why<T>(known: &Known<T>) -> Option<&str> {
    match known {
        Known::Is(_) => None,
        Known::Not { why } => Some(why),
    }
}

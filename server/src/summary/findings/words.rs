//! Words ticked for the teas.

use super::Known;
use protocol::Code;
use serde::Serialize;

/// One word. A taster ticked it for a tea if it was ticked at any steep.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WordFinding {
    /// The word.
    pub word: String,
    /// How many ticked it, tea by tea, of how many who scored the tea.
    pub teas: Vec<WordCount>,
    /// Whether the word tells the teas apart, over the tasters who scored all of them.
    pub cochran: Known<Cochran>,
}

/// How often a word was ticked for a tea.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct WordCount {
    /// The tea.
    pub tea: Code,
    /// Tasters who ticked it.
    pub n: usize,
    /// Tasters who scored the tea.
    pub of: usize,
}

/// Cochran's Q test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cochran {
    /// Tasters who scored every tea.
    pub tasters: usize,
    /// Those of them who ticked the word for some teas and not for others; only they count.
    pub mixed_tasters: usize,
    /// The statistic.
    pub q: f64,
    /// Degrees of freedom, teas − 1.
    pub df: usize,
    /// p by chi-squared; rough for few mixed tasters.
    pub p: f64,
    /// p by Holm, over the words.
    pub p_holm: f64,
}

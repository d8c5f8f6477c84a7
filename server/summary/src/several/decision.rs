//! What is shown over several classes, and for whom.

use schemars::JsonSchema;
use serde::Serialize;
use stats::interval::SIGNIFICANCE;
use stats::multiple::holm;

/// Whom a finding speaks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum For {
    /// These classes and no others: there are fewer than three, or they agree to the letter.
    TheseClasses,
    /// Classes like these, as if they had been drawn from many: each counts once, against how it moves from class to class.
    ClassesLikeThese,
}

/// The test that decides.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Decision {
    /// Whom it speaks for.
    pub speaks_for: For,
    /// Its p by itself.
    pub p: f64,
    /// Its p with everything of its kind looked at: Holm, of pairs Tukey behind all ways.
    pub p_of_all: f64,
    /// Whether a difference is shown.
    pub shown: bool,
}

impl Decision {
    /// What speaks for these classes alone is shown only if they agree.
    pub fn if_these_agree(self, agreed: bool) -> Self {
        Self { shown: self.shown && (agreed || self.speaks_for == For::ClassesLikeThese), ..self }
    }
}

/// The decisions of one family: of each the p over classes where there is one, else that of these classes; Holm over all.
pub fn decide(family: impl Iterator<Item = (Option<f64>, Option<f64>)>) -> Vec<Option<Decision>> {
    let deciding: Vec<Option<(f64, For)>> = family
        .map(|(here, over)| match over {
            Some(p) => Some((p, For::ClassesLikeThese)),
            None => here.map(|p| (p, For::TheseClasses)),
        })
        .collect();
    let p: Vec<f64> = deciding.iter().flatten().map(|(p, _)| *p).collect();
    // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
    let mut adjusted = holm(&p).unwrap_or(p).into_iter();
    let mut decision = |(p, speaks_for): (f64, For)| {
        let p_of_all = adjusted.next().unwrap_or(1.0);
        Decision { speaks_for, p, p_of_all, shown: p_of_all <= SIGNIFICANCE }
    };
    deciding.into_iter().map(|one| one.map(&mut decision)).collect()
}

//! What is filled in on a sheet, sent or not.

use super::{Desk, Line};
use protocol::{Attribute, Score, Sheet, Strength};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The content of a sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Filled {
    /// Points by attribute name; a blank is absent.
    pub values: BTreeMap<String, i32>,
    /// The strength vote.
    pub strength: Option<Strength>,
    /// The note.
    pub note: String,
    /// The words ticked, in the sheet's order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub words: Vec<String>,
}

impl From<&Score> for Filled {
    fn from(score: &Score) -> Self {
        let Score { values, strength, note, words, .. } = score.clone();
        Self { values, strength, note, words }
    }
}

impl Filled {
    /// Ticks a word, or takes it off; the words stay in the sheet's order.
    pub(super) fn tick(&mut self, word: &str, sheet: &Sheet) {
        let had = self.words.iter().any(|w| w == word);
        let ticked = |w: &String| if w == word { !had } else { self.words.contains(w) };
        self.words = sheet.words.iter().filter(|w| ticked(w)).cloned().collect();
    }

    /// The points on a line, the strength as a number from -2 to 2.
    pub fn points(&self, line: &Line<'_>) -> Option<i32> {
        match line {
            Line::Attribute(scale) => self.values.get(&scale.name).copied(),
            Line::Strength => self.strength.map(|vote| i32::from(vote.number())),
            Line::Words | Line::Note => None,
        }
    }

    /// Puts points on a line, or takes them off.
    pub(super) fn set_points(&mut self, line: &Line<'_>, points: Option<i32>) {
        match (line, points) {
            (Line::Attribute(scale), Some(points)) => drop(self.values.insert(scale.name.clone(), points)),
            (Line::Attribute(scale), None) => drop(self.values.remove(&scale.name)),
            (Line::Strength, points) => {
                let vote =
                    |points: i32| i8::try_from(points).ok().and_then(|vote| Strength::try_from(vote).ok());
                self.strength = points.and_then(vote);
            }
            (Line::Words | Line::Note, _) => {}
        }
    }

    /// Whether a note stands there and nothing else that the sheet asks, so that it may be a slip of the fingers.
    pub(super) fn is_only_a_note_on(&self, sheet: &Sheet) -> bool {
        let only = !self.note.is_empty() && *self == Self { note: self.note.clone(), ..Self::default() };
        only && Desk::lines(sheet).iter().any(|line| *line != Line::Note)
    }

    /// The first line of the sheet on which nothing stands, or the last line of all.
    pub(super) fn first_empty_on(&self, sheet: &Sheet) -> usize {
        let lines = Desk::lines(sheet);
        let empty = |line: &Line<'_>| match line {
            Line::Attribute(_) | Line::Strength => self.points(line).is_none(),
            Line::Words => self.words.is_empty(),
            Line::Note => self.note.is_empty(),
        };
        lines.iter().position(empty).unwrap_or(lines.len().saturating_sub(1))
    }

    /// Whether nothing is filled in.
    pub fn is_blank(&self) -> bool {
        *self == Self::default()
    }
}

/// Digits on their way to a value on a scale.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Digits {
    negative: bool,
    magnitude: Option<i64>,
}

/// What a digit has come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Typed {
    /// The value, and no digit can follow.
    Whole(i32),
    /// A value so far; a digit may follow.
    SoFar(Option<i32>),
    /// The digit does not fit here.
    Unfit,
}

impl Digits {
    /// A minus sign, on a scale that goes below nought.
    pub fn minus() -> Self {
        Self { negative: true, magnitude: None }
    }

    /// Whether a digit has been typed, and not only a minus sign.
    pub fn has_begun(&self) -> bool {
        self.magnitude.is_some()
    }

    /// The value with one more digit.
    pub fn push(&mut self, digit: u32, scale: &Attribute) -> Typed {
        let magnitude = self.magnitude.unwrap_or(0).saturating_mul(10).saturating_add(i64::from(digit));
        let (from, to) = (i64::from(scale.min), i64::from(scale.max));
        let signed = |m: i64| if self.negative { -m } else { m };
        let fits = |m: i64| (from..=to).contains(&signed(m));
        // Leading noughts lead nowhere; otherwise some longer number must still be on the scale.
        let grows = magnitude > 0 && may_grow(magnitude, fits, from.abs().max(to.abs()));
        let leading = self.magnitude == Some(0);
        if leading || !(fits(magnitude) || grows) {
            return Typed::Unfit;
        }
        self.magnitude = Some(magnitude);
        let value = fits(magnitude).then(|| i32::try_from(signed(magnitude)).ok()).flatten();
        match value {
            Some(value) if !grows => Typed::Whole(value),
            value => Typed::SoFar(value),
        }
    }
}

/// Whether some number that starts with `magnitude` and has more digits passes `fits`.
fn may_grow(magnitude: i64, fits: impl Fn(i64) -> bool, limit: i64) -> bool {
    let (mut low, mut high) = (magnitude * 10, magnitude * 10 + 9);
    while low <= limit {
        // The scale is one unbroken range, so a range that passes at an end or holds the limit passes somewhere.
        if fits(low) || fits(high) || fits(limit.clamp(low, high)) {
            return true;
        }
        (low, high) = (low.saturating_mul(10), high.saturating_mul(10).saturating_add(9));
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(min: i32, max: i32) -> Attribute {
        Attribute { name: "aroma".into(), min, max, low: None, high: None }
    }

    #[test]
    fn digits_move_on_as_soon_as_none_can_follow() {
        use Typed::*;
        let table: [(i32, i32, &[u32], &[Typed]); 8] = [
            (1, 9, &[7], &[Whole(7)]),
            (1, 9, &[0], &[Unfit]),
            (0, 10, &[0], &[Whole(0)]),
            (0, 10, &[1, 0], &[SoFar(Some(1)), Whole(10)]),
            (0, 10, &[1, 5], &[SoFar(Some(1)), Unfit]),
            (0, 10, &[2], &[Whole(2)]),
            (10, 20, &[1, 4], &[SoFar(None), Whole(14)]),
            (0, 100, &[1, 0, 0], &[SoFar(Some(1)), SoFar(Some(10)), Whole(100)]),
        ];
        for (min, max, keys, wanted) in table {
            let mut digits = Digits::default();
            let typed: Vec<_> = keys.iter().map(|d| digits.push(*d, &scale(min, max))).collect();
            assert_eq!(typed, wanted, "{min} to {max}, {keys:?}");
        }
    }

    #[test]
    fn a_minus_leads_below_nought() {
        let mut digits = Digits::minus();
        assert_eq!(digits.push(3, &scale(-3, 3)), Typed::Whole(-3));
        assert_eq!(Digits::minus().push(4, &scale(-3, 3)), Typed::Unfit);
    }
}

//! From factor scores to a total of 100 points.

use crate::certainty::Certainty;
use thiserror::Error;

/// The standard whose weights these are.
pub(crate) const SOURCE: &str = "GB/T 23776-2018";

/// The five factors of GB/T 23776-2018, in its order.
pub(crate) const FACTORS: [&str; 5] = ["appearance", "liquor colour", "aroma", "taste", "infused leaf"];

/// One row of the standard's weights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standard {
    /// The class of tea.
    pub tea: &'static str,
    /// Percent for each of [`FACTORS`]; they add up to 100.
    pub(crate) percent: [f64; 5],
    /// How sure that is.
    pub(crate) certainty: Certainty,
}

/// The factor weights of GB/T 23776-2018.
pub(crate) const STANDARDS: [Standard; 11] = [
    Standard::new("green", [25.0, 10.0, 25.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("black, gongfu or smoked", [25.0, 10.0, 25.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("black, broken", [20.0, 10.0, 30.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("oolong", [20.0, 5.0, 30.0, 35.0, 10.0], Certainty::SecondHand),
    Standard::new("dark, loose", [20.0, 15.0, 25.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("compressed", [20.0, 10.0, 30.0, 35.0, 5.0], Certainty::Found),
    Standard::new("white", [25.0, 10.0, 25.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("yellow", [25.0, 10.0, 25.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("scented", [20.0, 5.0, 35.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("tea bag", [10.0, 20.0, 30.0, 30.0, 10.0], Certainty::Unchecked),
    Standard::new("powdered", [10.0, 20.0, 35.0, 35.0, 0.0], Certainty::Unchecked),
];

impl Standard {
    const fn new(tea: &'static str, percent: [f64; 5], certainty: Certainty) -> Self {
        Self { tea, percent, certainty }
    }

    /// The row of a class of tea by its name in [`STANDARDS`].
    pub fn of(tea: &str) -> Option<&'static Standard> {
        STANDARDS.iter().find(|row| row.tea == tea)
    }

    /// What may be named as the source; nothing for what is only recalled.
    pub fn citation(&self) -> Option<&'static str> {
        match self.certainty {
            Certainty::Found => Some(SOURCE),
            Certainty::SecondHand => Some("GB/T 23776-2018, as quoted by others"),
            Certainty::Unchecked => None,
        }
    }
}

/// Why there are no weights or no total.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum WeightsFault {
    /// No factor.
    #[error("needs one factor at least")]
    NoFactors,
    /// A weight that is zero, negative or no number.
    #[error("the weight of {0} must be above 0 %")]
    NotPositive(String),
    /// The weights don't add up.
    #[error("the weights add up to {0} %, not to 100 %")]
    NotHundred(f64),
    /// A factor named twice.
    #[error("{0} is named twice")]
    Twice(String),
    /// Fewer or more scores than factors.
    #[error("{scores} scores for {factors} factors")]
    OtherFactors {
        /// How many scores.
        scores: usize,
        /// How many factors.
        factors: usize,
    },
    /// Factors without a score.
    #[error("no total without a score for {}", .0.join(", "))]
    Missing(Vec<String>),
    /// A score outside 0 to 100.
    #[error("the score of {0} must lie between 0 and 100")]
    NotAScore(String),
}

/// Factors with their weights, which add up to 100 %.
#[derive(Clone, Debug, PartialEq)]
pub struct Weights {
    factors: Vec<(String, f64)>,
}

impl From<&Standard> for Weights {
    fn from(row: &Standard) -> Self {
        let factors = FACTORS.iter().zip(row.percent).filter(|(_, percent)| *percent > 0.0);
        Self { factors: factors.map(|(factor, percent)| ((*factor).to_string(), percent)).collect() }
    }
}

impl Weights {
    /// A teacher's own factors and weights in percent.
    ///
    /// # Errors
    /// If a weight is not above 0, they don't add up to 100 (within 1e-9), or a factor is named twice.
    pub fn own(factors: &[(&str, f64)]) -> Result<Self, WeightsFault> {
        if factors.is_empty() {
            return Err(WeightsFault::NoFactors);
        }
        for (i, (factor, percent)) in factors.iter().enumerate() {
            if !(percent.is_finite() && *percent > 0.0) {
                return Err(WeightsFault::NotPositive((*factor).to_string()));
            }
            if factors[..i].iter().any(|(before, _)| before == factor) {
                return Err(WeightsFault::Twice((*factor).to_string()));
            }
        }
        let sum: f64 = factors.iter().map(|(_, percent)| percent).sum();
        if (sum - 100.0).abs() > 1e-9 {
            return Err(WeightsFault::NotHundred(sum));
        }
        Ok(Self {
            factors: factors.iter().map(|(factor, percent)| ((*factor).to_string(), *percent)).collect(),
        })
    }

    /// The factors with their weights in percent, in order.
    pub fn factors(&self) -> &[(String, f64)] {
        &self.factors
    }

    /// The total of a tea from its factor scores, 0 to 100 each, in the order of [`Self::factors`]: Σ score · weight.
    /// A missing score leaves no total; the other weights are never stretched to fill its place.
    ///
    /// # Errors
    /// If a score is missing or outside its range, or there are not as many as factors.
    pub fn total(&self, scores: &[Option<f64>]) -> Result<Total, WeightsFault> {
        if scores.len() != self.factors.len() {
            let (scores, factors) = (scores.len(), self.factors.len());
            return Err(WeightsFault::OtherFactors { scores, factors });
        }
        let named = || self.factors.iter().zip(scores);
        let missing: Vec<String> =
            named().filter(|(_, score)| score.is_none()).map(|((factor, _), _)| factor.clone()).collect();
        if !missing.is_empty() {
            return Err(WeightsFault::Missing(missing));
        }
        let mut parts = Vec::new();
        for ((factor, percent), score) in named() {
            let score = score.unwrap_or(f64::NAN);
            if !(0.0..=100.0).contains(&score) {
                return Err(WeightsFault::NotAScore(factor.clone()));
            }
            parts.push(Part {
                factor: factor.clone(),
                percent: *percent,
                score,
                points: score * percent / 100.0,
            });
        }
        Ok(Total { points: parts.iter().map(|part| part.points).sum(), parts })
    }
}

/// A total and what it is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Total {
    /// Points out of 100.
    pub points: f64,
    /// What each factor gives.
    pub parts: Vec<Part>,
}

/// What one factor gives to a total.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// The factor.
    pub factor: String,
    /// Its weight in percent.
    pub percent: f64,
    /// Its score, 0 to 100.
    pub score: f64,
    /// Score times weight: its points of the total.
    pub points: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn total(tea: &str, scores: &[f64]) -> f64 {
        let scores: Vec<_> = scores.iter().copied().map(Some).collect();
        Weights::from(Standard::of(tea).unwrap()).total(&scores).unwrap().points
    }

    /// A worked example printed in an article on rock tea, which quotes GB/T 23776-2018 second-hand: 97.4 points.
    #[test]
    fn the_published_worked_example_comes_to_97_4_points() {
        let weights = Weights::own(&[
            ("shape", 10.0),
            ("dry colour", 10.0),
            ("liquor colour", 5.0),
            ("aroma", 30.0),
            ("taste", 35.0),
            ("infused leaf", 10.0),
        ])
        .unwrap();
        let found = weights.total(&[95.0, 98.0, 97.0, 99.0, 97.0, 96.0].map(Some)).unwrap();
        assert!((found.points - 97.4).abs() < 1e-9);
        assert_eq!((found.parts[3].factor.as_str(), found.parts[3].points), ("aroma", 29.7));
    }

    /// Oolong second-hand and compressed found; green and tea bag are values from memory.
    #[test]
    fn the_same_scores_total_differently_in_different_classes_of_tea() {
        for (tea, points) in [("green", 90.2), ("oolong", 90.25), ("compressed", 90.35), ("tea bag", 89.7)] {
            assert!((total(tea, &[92.0, 88.0, 90.0, 91.0, 86.0]) - points).abs() < 1e-9, "{tea}");
        }
    }

    #[test]
    fn every_row_adds_up_and_ninety_everywhere_is_ninety() {
        for row in &STANDARDS {
            assert_eq!(row.percent.iter().sum::<f64>(), 100.0, "{}", row.tea);
            let factors = Weights::from(row).factors().len();
            assert!((total(row.tea, &vec![90.0; factors]) - 90.0).abs() < 1e-9, "{}", row.tea);
        }
        assert_eq!(Weights::from(Standard::of("powdered").unwrap()).factors().len(), 4, "no infused leaf");
    }

    #[test]
    fn what_is_only_recalled_is_never_cited() {
        let cited: Vec<&str> =
            STANDARDS.iter().filter(|row| row.citation().is_some()).map(|row| row.tea).collect();
        assert_eq!(cited, ["oolong", "compressed"]);
    }

    #[test]
    fn a_missing_factor_is_named_and_nothing_is_rescaled() {
        let weights = Weights::from(Standard::of("oolong").unwrap());
        let fault = weights.total(&[Some(90.0), None, Some(90.0), None, Some(90.0)]).unwrap_err();
        assert_eq!(fault.to_string(), "no total without a score for liquor colour, taste");
        assert_eq!(weights.total(&[]).unwrap_err().to_string(), "0 scores for 5 factors");
        for bad in [f64::NAN, -1.0, 100.1, f64::INFINITY] {
            let scores = [90.0, 90.0, bad, 90.0, 90.0].map(Some);
            assert_eq!(weights.total(&scores), Err(WeightsFault::NotAScore("aroma".to_string())));
        }
    }

    #[test]
    fn own_weights_must_be_positive_and_add_up() {
        let fault = |factors: &[(&str, f64)]| Weights::own(factors).unwrap_err().to_string();
        assert_eq!(fault(&[]), "needs one factor at least");
        assert_eq!(fault(&[("aroma", 60.0), ("taste", 30.0)]), "the weights add up to 90 %, not to 100 %");
        assert_eq!(fault(&[("aroma", 100.0), ("taste", 0.0)]), "the weight of taste must be above 0 %");
        assert_eq!(fault(&[("aroma", 120.0), ("taste", -20.0)]), "the weight of taste must be above 0 %");
        assert_eq!(fault(&[("aroma", f64::NAN)]), "the weight of aroma must be above 0 %");
        assert_eq!(fault(&[("aroma", 50.0), ("aroma", 50.0)]), "aroma is named twice");
        assert!(Weights::own(&[("a", 33.3), ("b", 33.3), ("c", 33.4)]).is_ok());
    }

    proptest! {
        #[test]
        fn a_total_lies_between_the_lowest_and_the_highest_score(scores in any::<[u8; 5]>(), row in 0usize..10) {
            let scores = scores.map(|s| f64::from(s % 101));
            let points = total(STANDARDS[row].tea, &scores);
            let (low, high) = scores.iter().fold((100.0f64, 0.0f64), |(l, h), &s| (l.min(s), h.max(s)));
            prop_assert!((low - 1e-9..=high + 1e-9).contains(&points));
        }
    }
}

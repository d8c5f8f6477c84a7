//! What holds for every figure, whatever the scores.

use super::agreement::{concordance, cronbach_alpha};
use super::icc::{Form, MeanSquares};
use super::panel::habits::habits;
use super::panel::performance;
use super::penalty::penalties;
use proptest::prelude::*;
use protocol::Strength;
use std::fmt::Debug;

/// Scores on no scale at all: tiny, huge, nearly equal, not numbers.
fn score() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (1i32..10).prop_map(f64::from),
        4 => (0u8..4).prop_map(|n| 7.3 + f64::from(n) * 1e-15),
        2 => prop::sample::select(vec![1e-200, 1e-160, -1e-30, 1e9, 1e9 + 1e-6, -1e40, 1e49, 1e50, 1e60, 0.0, -0.0]),
        1 => any::<f64>(),
    ]
}

/// A table of scores of mostly one kind, so that small tables are not all made of the odd ones.
fn table() -> impl Strategy<Value = Vec<Vec<f64>>> {
    let wild = (1usize..6, 1usize..6)
        .prop_flat_map(|(m, n)| prop::collection::vec(prop::collection::vec(score(), n..=n), m..=m));
    let scaled = (wild.clone(), -70i32..50).prop_map(|(rows, power)| {
        rows.into_iter().map(|row| row.into_iter().map(|v| v * 10f64.powi(power)).collect()).collect()
    });
    prop_oneof![wild, scaled]
}

/// That nothing in `found` is NaN or infinite, by its written form.
fn finite(found: &impl Debug) -> Result<(), TestCaseError> {
    let written = format!("{found:?}");
    let numbers = written.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == '-'));
    for word in numbers {
        prop_assert!(!matches!(word, "NaN" | "inf" | "-inf"), "{}", written);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]
    #[test]
    fn no_figure_of_any_scores_is_nan_or_infinite(rows in table(), gaps in any::<[bool; 36]>()) {
        finite(&concordance(&rows))?;
        finite(&cronbach_alpha(&rows))?;
        finite(&MeanSquares::of(&rows))?;
        if let Ok(squares) = MeanSquares::of(&rows) {
            for form in Form::ALL {
                finite(&squares.icc(form))?;
            }
        }
        let cell = |(i, &v): (usize, &f64)| (!gaps[i % 36]).then_some(v);
        let with_gaps: Vec<Vec<Option<f64>>> =
            rows.iter().map(|row| row.iter().enumerate().map(cell).collect()).collect();
        finite(&habits(&with_gaps))?;
        let repeats: Vec<Vec<Vec<f64>>> =
            rows.iter().map(|row| row.chunks(2).map(<[f64]>::to_vec).collect()).collect();
        finite(&performance(&repeats))?;
        let votes: Vec<(Strength, f64)> =
            rows.iter().flatten().enumerate().map(|(i, &v)| (Strength::ALL[(i * i + i / 2) % 5], v)).collect();
        finite(&penalties(&votes))?;
    }
}

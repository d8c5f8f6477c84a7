//! What holds for all of the room: whatever comes in, figures are finite or the reason is in words; and what the order
//! or the scale of the scores must not change stays as it is.

use super::agreement::{concordance, cronbach_alpha};
use super::cannot::Cannot;
use super::icc::{Form, MeanSquares};
use super::panel::habits::habits;
use super::panel::performance;
use super::penalty::{STEPS, penalties};
use super::surface::Run;
use super::surface::analysis::analysis;
use super::surface::shape::Shape;
use proptest::prelude::*;
use std::fmt::Debug;

fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => (1i32..10).prop_map(f64::from),
        2 => any::<f64>(),
        1 => prop::sample::select(vec![f64::MAX, f64::MIN_POSITIVE, 1e-300, -1e155, f64::NAN, f64::INFINITY, 0.0]),
        2 => (0.0..1.0f64).prop_map(|exponent| 10f64.powf(300.0 * exponent - 150.0)),
    ]
}

/// Finite figures or words.
fn sound<T: Debug>(what: &str, found: Result<T, Cannot>) -> Result<Option<T>, TestCaseError> {
    let text = format!("{found:?}");
    if let Err(why) = &found {
        prop_assert!(why.to_string().contains(' '), "{}: {}", what, text);
    }
    prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{}: {}", what, text);
    Ok(found.ok())
}

fn all_sound(rows: &[Vec<f64>], gaps: &[Vec<Option<f64>>]) -> Result<(), TestCaseError> {
    let first: Vec<f64> = rows.iter().filter_map(|row| row.first().copied()).collect();
    let cells: Vec<Vec<Vec<f64>>> =
        rows.iter().map(|row| row.chunks(2).map(<[f64]>::to_vec).collect()).collect();
    let order: Vec<usize> = (0..rows.first().map_or(0, Vec::len)).collect();
    sound("describe", super::describe::describe(&first))?;
    sound("mean", super::describe::mean_interval(&first, 0.95))?;
    sound("wilcoxon", super::wilcoxon::wilcoxon(&first))?;
    sound("paired", super::paired::paired(&first, 0.95))?;
    sound("trend", super::trend::trend(rows, &order))?;
    sound("one way", super::anova::one_way(rows))?;
    sound("replicated", super::replicated::replicated(&cells))?;
    sound("holm", super::multiple::holm(&first))?;
    sound("skillings_mack", super::skillings_mack::skillings_mack(gaps))?;
    sound("additive", super::additive::additive(gaps, 0.95))?;
    if let Some(found) = sound("friedman", super::friedman::friedman(rows))? {
        sound("rank sums", super::rank_sums::compare(&found, 0.05))?;
    }
    if let Some(found) = sound("two way", super::two_way::two_way(rows))? {
        sound("tukey", super::tukey::of_two_way(&found, 0.95))?;
    }
    Ok(())
}

proptest! {
    #[test]
    fn whatever_comes_in_figures_are_finite_or_there_are_words(
        cells in prop::collection::vec(wild(), 0..30),
        gaps in prop::collection::vec(prop::option::weighted(0.8, wild()), 0..30),
        teas in 1usize..6,
    ) {
        let rows: Vec<Vec<f64>> = cells.chunks(teas).map(<[f64]>::to_vec).collect();
        let gaps: Vec<Vec<Option<f64>>> = gaps.chunks_exact(teas).map(<[Option<f64>]>::to_vec).collect();
        all_sound(&rows, &gaps)?;
        all_sound(&rows[..rows.len().saturating_sub(1)], &gaps)?;
    }

    #[test]
    fn another_scale_changes_points_but_no_test(
        cells in prop::collection::vec(prop::option::weighted(0.85, 1i32..10), 24),
        factor in prop::sample::select(vec![0.01, 0.1, 3.0, 1e6]),
        shift in prop::sample::select(vec![0.0, -5.0, 100.0]),
    ) {
        let rows: Vec<Vec<Option<f64>>> =
            cells.chunks(4).map(|row| row.iter().map(|cell| cell.map(f64::from)).collect()).collect();
        let scaled: Vec<Vec<Option<f64>>> =
            rows.iter().map(|row| row.iter().map(|cell| cell.map(|v| v * factor + shift)).collect()).collect();
        let (plain, moved) = (super::additive::additive(&rows, 0.95), super::additive::additive(&scaled, 0.95));
        match (plain, moved) {
            (Ok(plain), Ok(moved)) => {
                let f = (plain.tea_given_taster.f, moved.tea_given_taster.f);
                prop_assert!((f.0 - f.1).abs() <= 1e-6 * f.0 + 1e-9, "{f:?}");
                for (a, b) in plain.teas.iter().zip(&moved.teas) {
                    prop_assert!((a.adjusted_mean * factor + shift - b.adjusted_mean).abs() < 1e-9 * factor.max(100.0));
                }
            }
            (plain, moved) => prop_assert_eq!(plain.err(), moved.err()),
        }
        let (plain, moved) = (super::skillings_mack::skillings_mack(&rows), super::skillings_mack::skillings_mack(&scaled));
        match (plain, moved) {
            (Ok(plain), Ok(moved)) => prop_assert!((plain.chi_squared - moved.chi_squared).abs() < 1e-9),
            (plain, moved) => prop_assert_eq!(plain.err(), moved.err()),
        }
    }
}

/// Scores on no scale at all: tiny, huge, nearly equal, not numbers.
fn odd_score() -> impl Strategy<Value = f64> {
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
        .prop_flat_map(|(m, n)| prop::collection::vec(prop::collection::vec(odd_score(), n..=n), m..=m));
    let scaled = (wild.clone(), -70i32..50).prop_map(|(rows, power)| {
        rows.into_iter().map(|row| row.into_iter().map(|v| v * 10f64.powi(power)).collect()).collect()
    });
    prop_oneof![wild, scaled]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]
    #[test]
    fn no_figure_of_any_scores_is_nan_or_infinite(rows in table(), gaps in any::<[bool; 36]>()) {
        sound("concordance", concordance(&rows))?;
        sound("cronbach_alpha", cronbach_alpha(&rows))?;
        if let Some(squares) = sound("mean squares", MeanSquares::of(&rows))? {
            for form in Form::ALL {
                sound("icc", squares.icc(form))?;
            }
        }
        let cell = |(i, &v): (usize, &f64)| (!gaps[i % 36]).then_some(v);
        let with_gaps: Vec<Vec<Option<f64>>> =
            rows.iter().map(|row| row.iter().enumerate().map(cell).collect()).collect();
        sound("habits", habits(&with_gaps))?;
        let repeats: Vec<Vec<Vec<f64>>> =
            rows.iter().map(|row| row.chunks(2).map(<[f64]>::to_vec).collect()).collect();
        sound("performance", performance(&repeats))?;
        let run = |n: usize, tea: usize, score: f64| Run { at: vec![tea as f64 - 2.0], blocks: vec![n], score };
        let runs: Vec<Run> =
            rows.iter().enumerate().flat_map(|(n, row)| row.iter().enumerate().map(move |(tea, &v)| run(n, tea, v))).collect();
        sound("surface", super::surface::fit(&runs, &Shape::second_order(1), None))?;
        sound("a surface's squares", analysis(&runs, &Shape::second_order(1)))?;
        let votes: Vec<(i8, f64)> =
            rows.iter().flatten().enumerate().map(|(i, &v)| (STEPS[(i * i + i / 2) % 5], v)).collect();
        sound("penalties", penalties(&votes))?;
    }
}

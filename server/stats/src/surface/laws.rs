//! What holds for every surface.

use super::analysis::analysis;
use super::prior::LevelAt;
use super::*;
use proptest::prelude::*;

/// Two classes of six tasters on a grid of three by three, each taster's row with what `score` draws.
pub(super) fn classes(scores: &[u8]) -> Vec<Run> {
    let run = |(n, &score): (usize, &u8)| {
        let (taster, way) = (n / 9, n % 9);
        let at = vec![(way % 3) as f64 - 1.0, (way / 3) as f64 - 1.0];
        Run { at, blocks: vec![taster, taster % 2], score: f64::from(score) }
    };
    scores.iter().enumerate().map(run).collect()
}

pub(super) fn drawn() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(1u8..10, 36)
}

proptest! {
    #[test]
    fn another_level_of_all_scores_or_of_a_taster_moves_no_coefficient(scores in drawn(), lift in -3i32..4, own in -3i32..4) {
        let shape = Shape::second_order(2);
        let runs = classes(&scores);
        let mut moved = runs.clone();
        for run in &mut moved {
            run.score += f64::from(lift) + if run.blocks[0] == 1 { f64::from(own) } else { 0.0 };
        }
        let (Ok(plain), Ok(moved)) = (fit(&runs, &shape, None), fit(&moved, &shape, None)) else { return Ok(()) };
        for (a, b) in plain.estimates().iter().zip(moved.estimates()) {
            prop_assert!((a.value - b.value).abs() < 1e-9 && (a.standard_error - b.standard_error).abs() < 1e-9);
        }
        prop_assert!((moved.centre.value - plain.centre.value - f64::from(lift) - f64::from(own) / 4.0).abs() < 1e-9);
        prop_assert_eq!(plain.residual.df, 36 - 4 - 5);
    }

    /// A taster sits in one class: the class says nothing that the taster does not.
    #[test]
    fn a_class_that_its_tasters_tell_changes_nothing(scores in drawn()) {
        let runs = classes(&scores);
        let mut without = runs.clone();
        without.iter_mut().for_each(|run| run.blocks.truncate(1));
        let of = |runs: &[Run]| analysis(runs, &Shape::second_order(2)).map(|found| format!("{:.8?}", (found.slopes, found.bends, found.blocks)));
        prop_assert_eq!(of(&runs), of(&without));
    }

    #[test]
    fn all_squares_are_accounted_for(scores in drawn()) {
        let runs = classes(&scores);
        let Ok(found) = analysis(&runs, &Shape::second_order(2)) else { return Ok(()) };
        let total = sums::squares_about_mean(&scores.iter().map(|&v| f64::from(v)).collect::<Vec<_>>());
        let parts = [found.blocks, Some(found.slopes), found.crosses, found.bends].into_iter().flatten();
        let sum = parts.map(|part| part.squares).sum::<f64>() + found.residual.squares;
        prop_assert!((sum - total).abs() < 1e-8, "{sum} is not {total}");
        let (misses, pure) = (found.lack_of_fit.unwrap(), found.pure.unwrap());
        prop_assert!((misses.squares + pure.squares - found.residual.squares).abs() < 1e-8);
        prop_assert_eq!((misses.df, pure.df), (3, 24));
    }

    /// A prior with no weight is none, and one with all the weight is what comes out; between them the surface lies between.
    #[test]
    fn a_prior_draws_the_surface_to_a_hill(scores in drawn()) {
        let (runs, shape) = (classes(&scores), Shape::second_order(2));
        let free = Prior { noise: 1.5, slope: f64::INFINITY, cross: f64::INFINITY, bend: -1.0, bend_spread: f64::INFINITY, level: None };
        let Ok(plain) = fit(&runs, &shape, None) else { return Ok(()) };
        prop_assert_eq!(&plain, &fit(&runs, &shape, Some(&free)).unwrap());
        let of = |spread: f64| fit(&runs, &shape, Some(&Prior { bend_spread: spread, ..free.clone() })).unwrap();
        prop_assert!((of(1e-6).coefficients[3] + 1.0).abs() < 1e-6);
        let between = of(0.5).coefficients[3];
        let least = plain.coefficients[3].min(-1.0);
        prop_assert!(between >= least - 1e-12 && between <= plain.coefficients[3].max(-1.0) + 1e-12);
        prop_assert_eq!(of(0.5).residual.df, plain.residual.df + 2);
    }

    /// What is known of a slope for sure is so, what is hardly known changes nothing; it counts as one score more.
    #[test]
    fn a_slope_that_is_known_draws_the_surface_to_it(scores in drawn(), at in prop::array::uniform2(-1.0..1.0), turn in 0.0..6.2) {
        let (runs, shape) = (classes(&scores), Shape::second_order(2));
        let hill = Prior::hill(1.5, 0.5, 1.0);
        let Ok(plain) = fit(&runs, &shape, Some(&hill)) else { return Ok(()) };
        let along = vec![f64::cos(turn), f64::sin(turn)];
        let of = |spread: f64| {
            let level = Some(LevelAt { at: at.to_vec(), along: along.clone(), spread });
            fit(&runs, &shape, Some(&Prior { level, ..hill.clone() })).unwrap()
        };
        let slope = |surface: &Surface| dot(&surface.slopes(&at).0, &along);
        prop_assert!(slope(&of(1e-5)).abs() < 1e-5, "{}", slope(&of(1e-5)));
        prop_assert!((slope(&of(1e6)) - slope(&plain)).abs() < 1e-5);
        prop_assert!(slope(&of(0.5)).abs() <= slope(&plain).abs() + 1e-9);
        let one = of(0.5);
        prop_assert!(one.residual.df == plain.residual.df + 1 && one.told < plain.told);
    }

    /// With a prior two ways are enough for an answer.
    #[test]
    fn with_a_prior_few_ways_are_enough(scores in prop::collection::vec(1u8..10, 12)) {
        prop_assume!(scores.iter().any(|&v| v != scores[0]));
        let run = |(n, &score): (usize, &u8)| Run { at: vec![(n % 2) as f64, 0.0], blocks: vec![n / 2], score: f64::from(score) };
        let runs: Vec<Run> = scores.iter().enumerate().map(run).collect();
        let shape = Shape::second_order(2);
        prop_assert_eq!(fit(&runs, &shape, None).err(), Some(Cannot::Ways(6)));
        if let Ok(found) = fit(&runs, &shape, Some(&Prior::hill(1.5, 0.5, 1.0))) {
            prop_assert_eq!(found.residual.df, 6);
            prop_assert!(found.coefficients[1] == 0.0 && found.coefficients[4] == -0.5, "nothing is known but the prior: {:?}", found.coefficients);
        }
    }
}

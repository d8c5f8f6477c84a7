use super::analysis::analysis;
use super::examples::{helicopters, reaction, rising_ridge};
use super::prior::LevelAt;
use super::*;
use crate::examples::near;

/// Lenth, Journal of Statistical Software 32(7), 2009: coefficients and standard errors as printed there.
#[test]
fn the_reaction_has_its_published_coefficients() {
    let found = fit(&reaction(), &Shape::second_order(2), None).unwrap();
    let printed = [
        (0.932541, 0.057699),
        (0.577712, 0.057699),
        (0.125000, 0.081592),
        (-1.308555, 0.060064),
        (-0.933442, 0.060064),
    ];
    for (own, (value, error)) in found.estimates().iter().zip(printed) {
        near(own.value, value, 1e-6);
        near(own.standard_error, error, 1e-6);
    }
    let (level, above) = (found.level(0).unwrap(), found.level_above(1, 0).unwrap());
    near(level.value, 84.095427, 1e-6);
    near(level.standard_error, 0.079631, 1e-6);
    near(above.value, -4.457530, 1e-6);
    near(above.standard_error, 0.087226, 1e-6);
    near(found.residual.mean_square, 0.0266292, 1e-7);
    assert_eq!((found.residual.df, found.level(2)), (7, None));
    near(found.centre.value, 84.095427 - 4.457530 / 2.0, 2e-6);
    let below = found.difference(&[0.0, 0.0], &[0.5, -0.25]).value;
    near(below, found.at(&[0.0, 0.0]).value - found.at(&[0.5, -0.25]).value, 1e-9);
}

/// The same source, its table of sums of squares.
#[test]
fn the_reaction_has_its_published_sums_of_squares() {
    let found = analysis(&reaction(), &Shape::second_order(2)).unwrap();
    let (crosses, bends) = (found.crosses.unwrap(), found.bends.unwrap());
    let printed = [
        (found.blocks.unwrap(), 1, 69.531, 2611.095, 1e-3),
        (found.slopes, 2, 9.626, 180.7341, 1e-4),
        (crosses, 1, 0.063, 2.3470, 1e-4),
        (bends, 2, 17.791, 334.0539, 1e-4),
    ];
    for (own, df, squares, f, digits) in printed {
        assert_eq!(own.df, df);
        near(own.squares, squares, 1e-3);
        near(own.f, f, digits);
    }
    near(found.residual.squares, 0.186, 1e-3);
    let (misses, pure) = (found.lack_of_fit.unwrap(), found.pure.unwrap());
    assert_eq!((misses.df, pure.df), (3, 4));
    near(misses.f, 0.5307, 1e-4);
    near(misses.p, 0.6851, 1e-4);
    near(pure.squares, 0.133, 1e-3);
    near(found.r_squared, 0.9981, 1e-4);
    near(found.adjusted_r_squared, 0.9964, 1e-4);
}

/// The same source: the first block alone, a plane that does not fit.
#[test]
fn a_plane_through_the_first_block_misses_its_middle() {
    let runs = &reaction()[..7];
    let plane = fit(runs, &Shape::first_order(2), None).unwrap();
    near(plane.centre.value, 82.81429, 1e-5);
    near(plane.coefficients[0], 0.875, 1e-9);
    near(plane.coefficients[1], 0.625, 1e-9);
    near(analysis(runs, &Shape::first_order(2)).unwrap().lack_of_fit.unwrap().p, 0.01034, 1e-5);
    let length = plane.coefficients[0].hypot(plane.coefficients[1]);
    near(plane.coefficients[0] / length, 0.8137335, 1e-7);
    near(plane.coefficients[1] / length, 0.5812382, 1e-7);
}

/// The second block lies 4.5 points below the first: who forgets that drowns in it what time and temperature do.
#[test]
fn who_forgets_the_blocks_sees_nothing() {
    let (runs, shape) = (reaction(), Shape::second_order(2));
    let mut forgotten = runs.clone();
    forgotten.iter_mut().for_each(|run| run.blocks.clear());
    let of = |runs: &[Run]| fit(runs, &shape, None).unwrap();
    assert!(of(&forgotten).residual.mean_square > 300.0 * of(&runs).residual.mean_square);
    let p = |runs: &[Run]| analysis(runs, &shape).unwrap().slopes.p;
    assert!(p(&runs) < 1e-6 && p(&forgotten) > 0.5);
    // The blocks of the whole plan are balanced; with some runs missing the surface itself is another.
    let bend = |runs: &[Run]| of(&[&runs[..6], &runs[9..]].concat()).coefficients[3];
    assert!((bend(&runs) + 1.3).abs() < 0.1 && (bend(&forgotten) + 1.3).abs() > 0.3);
}

/// Computed apart, by the least squares of another library.
#[test]
fn the_rising_ridge_has_its_coefficients() {
    let found = fit(&rising_ridge(), &Shape::second_order(2), None).unwrap();
    near(found.centre.value, 78.633333, 1e-6);
    for (own, value) in found.coefficients.iter().zip([4.391667, -6.858333, -9.0625, -4.575, -4.125]) {
        near(*own, value, 1e-6);
    }
    near(found.residual.mean_square, 6.376840, 1e-6);
    assert_eq!(found.residual.df, 12);
}

/// Lenth 2009.
#[test]
fn the_helicopters_have_their_published_coefficients() {
    let shape = Shape::second_order(4);
    let found = fit(&helicopters(), &shape, None).unwrap();
    let printed = [
        -0.083333, 5.083333, 0.25, -6.083333, -2.875, -3.75, 4.375, 4.625, -1.5, -2.125, -2.0375, -1.6625,
        -2.5375, -0.1625,
    ];
    for (own, value) in found.coefficients.iter().zip(printed) {
        near(*own, value, 1e-6);
    }
    near(found.level(0).unwrap().value, 372.8, 1e-9);
    near(found.level_above(1, 0).unwrap().value, -2.95, 1e-9);
    let misses = analysis(&helicopters(), &shape).unwrap().lack_of_fit.unwrap();
    near(misses.f, 4.666, 1e-3);
    near(misses.p, 0.0755, 1e-4);
}

/// Three ways can't tell a curve from anything else.
#[test]
fn a_curve_through_three_ways_has_no_lack_of_fit() {
    let run =
        |n: usize| Run { at: vec![(n % 3) as f64 - 1.0], blocks: vec![n / 3], score: (n * n % 7) as f64 };
    let runs: Vec<Run> = (0..12).map(run).collect();
    let found = analysis(&runs, &Shape::second_order(1)).unwrap();
    assert_eq!((found.lack_of_fit, found.residual.df), (None, 6));
    assert!(found.pure.is_some_and(|pure| pure.df == 6));
}

#[test]
fn what_can_not_be_fitted_is_said() {
    let run = |at: &[f64], score: f64| Run { at: at.to_vec(), blocks: vec![], score };
    let curve = Shape::second_order(1);
    let two: Vec<Run> = [1.0, 2.0, 3.0, 5.0].iter().map(|&v| run(&[v % 2.0], v)).collect();
    assert_eq!(fit(&two, &curve, None), Err(Cannot::Ways(3)));
    let line: Vec<Run> =
        (0..9).map(|n| run(&[f64::from(n), f64::from(2 * n)], f64::from(n * n % 5))).collect();
    assert_eq!(fit(&line, &Shape::first_order(2), None), Err(Cannot::WaysTooAlike));
    let exact: Vec<Run> = (0..5).map(|n| run(&[f64::from(n)], f64::from(n * n))).collect();
    assert_eq!(fit(&exact, &curve, None), Err(Cannot::NothingLeft));
    assert_eq!(fit(&exact[..3], &curve, None), Err(Cannot::NoFreedom));
    assert_eq!(fit(&exact, &Shape::second_order(2), None), Err(Cannot::Uneven));
    assert_eq!(fit(&[run(&[f64::NAN], 1.0)], &curve, None), Err(Cannot::NotFinite));
    assert_eq!(fit(&[], &curve, None), Err(Cannot::Scores(4)));
    let no_spread = Prior { slope: 0.0, ..Prior::hill(1.5, 1.0, 1.0) };
    assert_eq!(fit(&exact, &curve, Some(&no_spread)), Err(Cannot::OutOfRange));
    let elsewhere = LevelAt { at: vec![0.0, 0.0], along: vec![1.0, 0.0], spread: 1.0 };
    let elsewhere = Prior { level: Some(elsewhere), ..Prior::hill(1.5, 1.0, 1.0) };
    assert_eq!(fit(&exact, &curve, Some(&elsewhere)), Err(Cannot::OutOfRange));
}

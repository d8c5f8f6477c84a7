use super::*;
use crate::examples::near;
use crate::surface::examples::{helicopters, reaction, rising_ridge};
use crate::surface::laws::{classes, drawn};
use crate::surface::{Run, fit};
use proptest::prelude::*;

fn of(runs: &[Run]) -> (Surface, Canonical, Best) {
    let shape = Shape::second_order(runs[0].at.len());
    let surface = fit(runs, &shape, None).unwrap();
    let tried = Tried::of(runs.iter().map(|run| run.at.as_slice())).unwrap();
    let found = canonical(&shape, &surface.coefficients);
    let best = best(&shape, &surface.coefficients, &tried);
    (surface, found, best)
}

fn all_near(found: &[f64], printed: &[f64], digits: f64) {
    assert_eq!(found.len(), printed.len());
    found.iter().zip(printed).for_each(|(found, printed)| near(*found, *printed, digits));
}

/// Lenth, Journal of Statistical Software 32(7), 2009; a direction is the same turned about. The standard errors were computed apart,
/// by the delta method.
#[test]
fn the_reaction_has_its_published_top() {
    let (surface, found, best) = of(&reaction());
    assert_eq!((found.kind, found.uphill.is_none()), (Kind::Top, true));
    let at = found.stationary.unwrap();
    all_near(&at, &[0.3722954, 0.3343802], 1e-7);
    all_near(&[85.0 + 5.0 * at[0], 175.0 + 5.0 * at[1]], &[86.86148, 176.67190], 1e-5);
    all_near(&[found.axes[0].value, found.axes[1].value], &[-0.9233027, -1.3186949], 1e-7);
    all_near(&found.axes[0].direction, &[0.1601375, 0.9870947], 1e-7);
    all_near(&found.axes[1].direction, &[0.9870947, -0.1601375], 1e-7);
    assert_eq!(best, Best::Top { at: at.clone() });
    let point = surface.level_point().unwrap();
    let with_error = point.estimates();
    near(
        point.covariance[0][1] / (with_error[0].standard_error * with_error[1].standard_error),
        0.27095,
        1e-5,
    );
    near(with_error[0].standard_error, 0.030255, 1e-6);
    near(with_error[1].standard_error, 0.041526, 1e-6);
    near(5.0 * with_error[0].standard_error, 0.15127, 1e-5);
    near(5.0 * with_error[1].standard_error, 0.20763, 1e-5);
    let height = surface.level(0).unwrap().value + surface.difference(&at, &[0.0, 0.0]).value;
    near(height, 84.365605, 1e-6);
}

/// Lenth 2009: without his rule the stationary point would be −14.81, 15.44, where nobody has been.
#[test]
fn a_rising_ridge_has_no_best_way_only_a_direction() {
    let (surface, found, best) = of(&rising_ridge());
    assert_eq!((found.kind, found.flat), (Kind::Ridge, vec![true, false]));
    all_near(&[found.axes[0].value, found.axes[1].value], &[0.1868328, -8.8868328], 1e-7);
    all_near(&found.stationary.unwrap(), &[-0.06302658, -0.05997463], 1e-8);
    let uphill = found.uphill.unwrap();
    all_near(&uphill, &[0.6893497, -0.7244288], 1e-7);
    assert_eq!(surface.level_point(), Err(Cannot::FlatBend));
    assert!(matches!(best, Best::Ridge { uphill: Some(up), .. } if up == uphill));
    let raw = |axis: &Axis| {
        let (slopes, _) = surface.shape.parted(&surface.coefficients);
        -dot(&axis.direction, &slopes) / (2.0 * axis.value)
    };
    let far: Vec<f64> = (0..2).map(|i| found.axes.iter().map(|a| raw(a) * a.direction[i]).sum()).collect();
    all_near(&far, &[-14.81387, 15.44149], 1e-5);
    // Of what was tasted, the corner is best.
    let tried = Tried { low: vec![-1.0; 2], high: vec![1.0; 2] };
    assert_eq!(highest(&surface.shape, &surface.coefficients, &tried), [1.0, -1.0]);
}

/// Lenth 2009; he prints the heights along the first axis from points rounded to three digits.
#[test]
fn the_helicopters_stand_on_a_saddle() {
    let (surface, found, best) = of(&helicopters());
    assert_eq!(found.kind, Kind::Saddle);
    let at = found.stationary.unwrap();
    all_near(&at, &[0.8607107, -0.3307115, -0.8394866, -0.1161465], 1e-7);
    let values: Vec<f64> = found.axes.iter().map(|axis| axis.value).collect();
    all_near(&values, &[3.258222, -1.198324, -3.807935, -4.651963], 1e-6);
    for (far, height) in [(-2.0, 385.2048), (0.0, 372.1719), (2.0, 385.2048)] {
        let x: Vec<f64> = at.iter().zip(&found.axes[0].direction).map(|(x, part)| x + far * part).collect();
        let found = surface.level(0).unwrap().value + surface.difference(&x, &[0.0; 4]).value;
        near(found, height, 1e-4);
    }
    assert!(matches!(best, Best::Edge { .. }), "{best:?}");
}

#[test]
fn every_kind_has_its_name() {
    let shape = Shape::second_order(2);
    for (coefficients, kind) in [
        ([1.0, 1.0, 0.0, -1.0, -2.0], Kind::Top),
        ([1.0, 1.0, 0.0, 1.0, 2.0], Kind::Bottom),
        ([1.0, 1.0, 0.0, 1.0, -2.0], Kind::Saddle),
        ([1.0, 1.0, 0.0, 0.01, -2.0], Kind::Ridge),
        ([1.0, 1.0, 0.0, -0.01, 2.0], Kind::Valley),
        ([1.0, 1.0, 0.0, 0.0, 0.0], Kind::Plane),
    ] {
        assert_eq!(canonical(&shape, &coefficients).kind, kind);
    }
    let tried = Tried { low: vec![-1.0; 2], high: vec![1.0; 2] };
    assert_eq!(best(&shape, &[0.0; 5], &tried), Best::Nowhere);
    let toward = best(&shape, &[4.0, 0.0, 0.0, -1.0, -1.0], &tried);
    assert_eq!(toward, Best::Edge { at: vec![1.0, 0.0], go: vec![1.0, 0.0] }, "the top lies at 2");
}

proptest! {
    /// Of a hundred points inside none is higher; what is named lies inside.
    #[test]
    fn nothing_inside_is_higher_than_the_best(
        coefficients in prop::collection::vec(-3.0..3.0f64, 9),
        points in prop::collection::vec(prop::collection::vec(-1.0..1.0f64, 3), 100),
    ) {
        let shape = Shape::second_order(3);
        let tried = Tried { low: vec![-1.0; 3], high: vec![1.0; 3] };
        let height = |x: &[f64]| dot(&shape.values(x), &coefficients);
        let most = height(&highest(&shape, &coefficients, &tried));
        prop_assert!(points.iter().all(|x| height(x) <= most + 1e-12));
        match best(&shape, &coefficients, &tried) {
            Best::Top { at } => prop_assert!(tried.holds(&at) && (height(&at) - most).abs() < 1e-9),
            Best::Ridge { at, .. } => prop_assert!(tried.holds(&at)),
            Best::Edge { at, go } => {
                let out: Vec<f64> = at.iter().zip(&go).map(|(x, go)| x + 1e-4 * go).collect();
                prop_assert!(tried.holds(&at) && !tried.holds(&out) && height(&out) > most, "{at:?} {go:?}");
            }
            Best::Nowhere => prop_assert!(false),
        }
    }

    /// Turning the factors turns the surface: it bends as before, and its level point turns with it.
    #[test]
    fn turned_factors_keep_the_bends(scores in drawn(), angle in 0.0..6.3f64) {
        let turn = |x: &[f64]| vec![angle.cos() * x[0] - angle.sin() * x[1], angle.sin() * x[0] + angle.cos() * x[1]];
        let runs = classes(&scores);
        let mut turned = runs.clone();
        turned.iter_mut().for_each(|run| run.at = turn(&run.at));
        let shape = Shape::second_order(2);
        let (Ok(plain), Ok(other)) = (fit(&runs, &shape, None), fit(&turned, &shape, None)) else { return Ok(()) };
        let (plain, other) = (canonical(&shape, &plain.coefficients), canonical(&shape, &other.coefficients));
        for (a, b) in plain.axes.iter().zip(&other.axes) {
            prop_assert!((a.value - b.value).abs() < 1e-9, "{plain:?} {other:?}");
        }
        // Near the bound a bend may count as flat in one and not in the other.
        if plain.kind == other.kind && plain.kind == Kind::Top {
            for (a, b) in turn(&plain.stationary.unwrap()).iter().zip(other.stationary.unwrap()) {
                prop_assert!((a - b).abs() < 1e-6);
            }
        }
    }
}

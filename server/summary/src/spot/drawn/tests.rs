use super::*;
use crate::spot::spot;
use crate::spot::tests::{NINE, hill, leaf};

fn all(lines: &[Vec<Point>]) -> impl Iterator<Item = Point> + '_ {
    lines.iter().flatten().copied()
}

#[test]
fn contour_lines_lie_as_many_points_below_the_best_as_they_say() {
    let spot = spot(hill([0.3, -0.2], 0.0), NINE, None);
    let drawn = drawn(&spot, 1.0).unwrap();
    let [slice] = &drawn.slices[..] else { panic!("two factors have one pair") };
    let (fitted, at) = (spot.behind.fitted.as_ref().unwrap(), spot.answer.at.as_ref().unwrap());
    assert!(slice.contours.len() >= 3 && slice.contours.iter().any(|one| one.below == 1.0), "{slice:?}");
    for contour in &slice.contours {
        assert!(all(&contour.lines).count() > 20);
        for point in all(&contour.lines) {
            let below = fitted.surface.difference(at, &point).value;
            assert!((below - contour.below).abs() < 1e-3, "{below} is not {}", contour.below);
        }
    }
}

#[test]
fn the_ways_that_cant_be_told_from_the_best_reach_as_far_as_is_said() {
    let spot = spot(hill([0.3, -0.2], 0.0), NINE, None);
    let slice = drawn(&spot, 1.0).unwrap().slices.remove(0);
    let said = &spot.answer.region.as_ref().unwrap().factors;
    for (d, said) in said.iter().enumerate() {
        let (low, high) = all(&slice.alike)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| (low.min(p[d]), high.max(p[d])));
        assert!((low - said.low_coded).abs() < 0.05 && (high - said.high_coded).abs() < 0.05, "{said:?}");
    }
    assert!(slice.hatch.len() > 3);
    let few = spot_of_few();
    let slice = drawn(&few, 1.0).unwrap().slices.remove(0);
    let ways: Vec<Vec<f64>> = few.ways.iter().map(|way| few.behind.coding.code(&way.place)).collect();
    assert!(slice.hatch.iter().flatten().all(|point| within(point, &ways, 1.01)), "no farther than is drawn");
}

#[test]
fn nothing_is_drawn_more_than_a_step_outside_or_hotter_than_boiling() {
    let away = |spot: &Spot| {
        let drawn = drawn(spot, 1.0).unwrap();
        let slice = &drawn.slices[0];
        let lines = slice.contours.iter().flat_map(|one| all(&one.lines)).chain(all(&slice.alike));
        let corners = lines.map(|[x, y]| (x.abs() - 1.0).max(0.0).hypot((y.abs() - 1.0).max(0.0)));
        (corners.fold(0.0, f64::max), drawn)
    };
    let (far, _) = away(&spot(hill([2.5, 0.0], 0.0), NINE, None));
    assert!(far > 0.3 && far <= 1.0 + 1e-2, "{far}");
    let spot = spot_of_few();
    let drawn = drawn(&spot, 1.0).unwrap();
    let hottest = spot.factors[1].said(drawn.slices[0].high[1]);
    assert!(hottest <= 100.0 + 1e-9 && hottest > 99.0, "{hottest}");
    assert!(!drawn.slices[0].ends.is_empty(), "more leaf in hotter water lies far from every way");
}

/// Five ways, none of much leaf in hot water.
fn spot_of_few() -> crate::spot::Spot {
    let few =
        [([-1.0, -1.0], 5.0), ([1.0, -1.0], 6.0), ([-1.0, 2.0], 6.5), ([0.0, 0.0], 7.0), ([-0.5, 2.0], 7.5)];
    let ways: Vec<_> = few.iter().map(|&(x, score)| (x, vec![score, score + 0.4, score - 0.3])).collect();
    spot(leaf(&ways, &[]), NINE, Some(crate::spot::fitted::USUAL))
}

#[test]
fn a_profile_is_what_is_expected_along_it_with_an_interval_about_it() {
    let spot = spot(hill([0.3, -0.2], 0.0), NINE, None);
    let drawn = drawn(&spot, 1.0).unwrap();
    let best = |profile: &Profile| {
        profile.points.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(x, ..)| *x).unwrap()
    };
    for (profile, top) in drawn.profiles.iter().zip([0.3, -0.2]) {
        assert!((best(profile) - top).abs() < 0.1, "{profile:?}");
        assert!(profile.points.iter().all(|(_, value, interval)| interval.contains(*value)));
    }
}

#[test]
fn lines_go_by_round_points() {
    assert_eq!(levels(4.0), [0.5, 1.0, 2.0, 3.0, 4.0]);
    assert_eq!(levels(2.2), [0.25, 0.5, 1.0, 1.5, 2.0]);
    assert_eq!((levels(0.0).len(), levels(f64::NAN).len()), (0, 0));
    assert!(levels(50.0).len() <= 6);
}

#[test]
fn of_too_few_ways_nothing_is_drawn() {
    let two = [([-1.0, 0.0], vec![5.0, 6.0]), ([1.0, 0.0], vec![6.0, 7.5])];
    assert_eq!(drawn(&spot(leaf(&two, &[]), NINE, Some(crate::spot::fitted::USUAL)), 1.0), None);
}

//! How far a place lies outside what was tasted: everything between the ways, their convex hull.

/// So many steps nearer than asked counts as there.
const EXACT: f64 = 1e-3;
/// Rounds until it is decided; a place that is not decided by then lies next to the end.
const ROUNDS: usize = 400;

/// Whether a place lies within so many steps of all that lies between some ways (Gilbert, SIAM Journal on Control 4, 1966: from the
/// nearest point so far go towards the way that lies farthest on this side).
pub(super) fn within(place: &[f64], ways: &[Vec<f64>], steps: f64) -> bool {
    let minus = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a - b).collect::<Vec<f64>>();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    // From the place to each way.
    let to: Vec<Vec<f64>> = ways.iter().map(|way| minus(way, place)).collect();
    let Some(mut nearest) = to.first().cloned() else { return false };
    for _ in 0..ROUNDS {
        let length = dot(&nearest, &nearest).sqrt();
        if length <= steps + EXACT {
            return true;
        }
        let Some(far) = to.iter().min_by(|a, b| dot(a, &nearest).total_cmp(&dot(b, &nearest))) else {
            return false;
        };
        // Nothing between the ways lies nearer than this.
        if dot(far, &nearest) / length > steps {
            return false;
        }
        let along = minus(&nearest, far);
        let share = (dot(&nearest, &along) / dot(&along, &along).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        nearest.iter_mut().zip(&along).for_each(|(nearest, along)| *nearest -= share * along);
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_within_reach_of_all_that_lies_between_the_ways() {
        let ways = [vec![0.0, 0.0], vec![2.0, 0.0], vec![0.0, 2.0]];
        for (place, far) in [
            ([0.5, 0.5], 0.0),
            ([-1.0, 1.0], 1.0),
            ([-0.6, -0.8], 1.0),
            ([2.0, 2.0], 2.0_f64.sqrt()),
            ([1.0, -0.5], 0.5),
        ] {
            assert!(within(&place, &ways, far + 0.01), "{place:?} within {far}");
            assert!(far == 0.0 || !within(&place, &ways, far - 0.01), "{place:?} not within less than {far}");
        }
        assert!(!within(&[0.0], &[], 1.0), "nothing was tasted");
    }
}

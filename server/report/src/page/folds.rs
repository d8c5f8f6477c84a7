//! Scales on which twice as much is as far everywhere, for grams and seconds.

use crate::page::axis::Axis;

/// Grams and seconds that a scale may mark.
const ROUND: [f64; 25] = [
    0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 90.0, 120.0, 180.0,
    240.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0,
];

/// A scale that holds all values and some room, in folds.
pub fn scale(values: impl Iterator<Item = f64> + Clone, places: (f64, f64)) -> Axis {
    let least = values.clone().fold(f64::INFINITY, f64::min);
    let most = values.fold(0.0, f64::max);
    Axis::new(((least / 1.25).ln(), (most * 1.25).ln()), places)
}

/// The round values on a scale of logarithms, none nearer than `gap` to the one before it.
pub fn ticks(axis: &Axis, gap: f64) -> Vec<f64> {
    let mut marked: Vec<f64> = Vec::new();
    for tick in ROUND.into_iter().filter(|tick| axis.holds(tick.ln())) {
        let near =
            marked.last().is_some_and(|last| (axis.place(tick.ln()) - axis.place(last.ln())).abs() < gap);
        if !near {
            marked.push(tick);
        }
    }
    marked
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_marks_round_values_that_do_not_crowd() {
        let axis = scale([3.0, 9.0].into_iter(), (0.0, 300.0));
        assert_eq!(ticks(&axis, 20.0), [3.0, 4.0, 5.0, 6.0, 8.0, 10.0]);
        assert_eq!(ticks(&axis, 70.0), [3.0, 5.0, 8.0]);
    }
}

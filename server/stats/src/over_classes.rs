//! Teas compared over several classes that stand for many: each class counts once, and the teas are held against how they move
//! from class to class.
//!
//! In each class each tea has one mean, gaps made up by the additive model tea + taster. The table classes × teas of these means
//! goes through the additive model once more: what it leaves over is tea × class. Without gaps, and with as many tasters in each
//! class, its F is the mean square of the teas over that of tea × class of the mixed model with classes drawn at random (any
//! textbook of the analysis of variance), and with two teas the square of the paired t over the classes. Classes of different
//! sizes count alike, as in Ibragimov & Müller (Journal of Business & Economic Statistics 28, 2010).

use super::additive::{Additive, additive, row_means};
use super::cannot::Cannot;

/// So many classes at least: two say next to nothing of a third.
pub const LEAST_CLASSES: usize = 3;

/// The teas over classes: `rows` are tasters, each with the class that it sat in (`class` of each row). `None` where fewer than
/// [`LEAST_CLASSES`] compare two of the teas.
///
/// # Errors
/// As [`additive`] of the classes' means.
pub fn over_classes(
    rows: &[Vec<Option<f64>>],
    class: &[usize],
    confidence: f64,
) -> Option<Result<Additive, Cannot>> {
    let mut classes = class.to_vec();
    classes.sort_unstable();
    classes.dedup();
    let means = classes.iter().map(|of| {
        let own: Vec<&Vec<Option<f64>>> =
            rows.iter().zip(class).filter(|(_, c)| *c == of).map(|(row, _)| row).collect();
        let teas = rows.first().map_or(0, Vec::len);
        let columns: Vec<Vec<Option<f64>>> =
            (0..teas).map(|tea| own.iter().map(|row| row[tea]).collect()).collect();
        row_means(&columns)
    });
    let comparing: Vec<Vec<Option<f64>>> = means.filter(|means| means.iter().flatten().count() > 1).collect();
    (comparing.len() >= LEAST_CLASSES).then(|| additive(&comparing, confidence))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examples::table;
    use crate::paired::paired;

    #[test]
    fn with_two_teas_it_is_the_paired_t_over_the_classes() {
        let rows = table(&["75", "64", "86", "53", "66", "75", "94", "83"]);
        let class = [0, 0, 1, 1, 1, 2, 2, 3];
        let found = over_classes(&rows, &class, 0.95).unwrap().unwrap();
        let differences = [2.0, (2.0 + 2.0 + 0.0) / 3.0, 3.5, 5.0];
        let t = paired(&differences, 0.95).unwrap();
        assert!((found.tea_given_taster.f - t.t * t.t).abs() < 1e-9, "{found:?} {t:?}");
        assert!((found.tea_given_taster.p - t.p).abs() < 1e-9);
        assert_eq!(found.residual.df, 3);
    }

    #[test]
    fn two_classes_say_nothing_of_others() {
        let rows = table(&["753", "641", "862", "531"]);
        assert!(over_classes(&rows, &[0, 0, 1, 1], 0.95).is_none());
        let one_tea_only = table(&["7--", "641", "862", "531"]);
        assert!(over_classes(&one_tea_only, &[0, 1, 2, 2], 0.95).is_none(), "the first compares nothing");
    }

    /// What each taster finds within a class does not matter, only the classes' means.
    #[test]
    fn many_tasters_of_one_class_are_no_evidence_for_another() {
        let of = |lift: [f64; 3]| {
            let rows = lift
                .iter()
                .flat_map(|lift| (0..8).map(move |n| vec![Some(5.0 + lift + f64::from(n % 2)), Some(5.0)]));
            let class: Vec<usize> = (0..24).map(|row| row / 8).collect();
            over_classes(&rows.collect::<Vec<_>>(), &class, 0.95).unwrap().unwrap().tea_given_taster.p
        };
        assert!(of([3.0, 3.0, -1.0]) > 0.1 && of([2.0, 2.1, 1.9]) < 0.01);
    }
}

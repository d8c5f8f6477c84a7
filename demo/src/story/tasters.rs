//! Tasters whose true liking is a known hill. Their names and tastes are invented.

use class::{Class, Tea};
use std::fmt::Write;

/// What they like best on the mean: grams to 100 ml, °C, seconds of the first steep.
pub const TRUTH: [f64; 3] = [6.5, 90.0, 25.0];
/// A step of each: half as much leaf again, 10 °C, half as long again.
const STEPS: [f64; 3] = [0.405_465_108_108_164_4, 10.0, 0.405_465_108_108_164_4];
/// Points lost a step from there, along each.
const LOST: [f64; 3] = [0.9, 0.7, 0.9];
/// Points lost more where both leaf and time go the same way, and fewer where one makes up for the other.
const STRONG: f64 = 0.7;
/// What the best way gets from somebody in the middle.
const HIGHEST: f64 = 7.8;
/// How far one score lies off by chance, points.
const UNSTEADY: f64 = 0.8;
/// How far one taster's own best lies off along each, steps.
const OWN: f64 = 0.25;
/// How many halves of a point the first steep's strength is felt by.
const FELT: f64 = 1.1;

/// Name; how high the taster scores.
const TASTERS: [(&str, f64); 8] = [
    ("Ada", 0.5),
    ("Bram", -0.5),
    ("Chen", 0.0),
    ("Dilip", 0.7),
    ("Esi", 0.2),
    ("Femke", -0.9),
    ("Goran", 0.0),
    ("Hana", 0.3),
];

/// The names of the first of them.
pub fn names(seats: usize) -> Vec<&'static str> {
    TASTERS.iter().take(seats).map(|(name, _)| *name).collect()
}

/// How far a tea lies from a place, in steps.
fn off(tea: &Tea, own: [f64; 3]) -> [f64; 3] {
    let first = |of: &[f64]| of.first().copied().unwrap_or(100.0);
    let seconds = tea.steep_s.first().map_or(1.0, |&s| f64::from(s).max(1.0));
    let natural =
        [(tea.dose_g_per_100_ml() / TRUTH[0]).ln(), first(&tea.temp_c) - TRUTH[1], (seconds / TRUTH[2]).ln()];
    [0, 1, 2].map(|i| natural[i] / STEPS[i] - own[i])
}

/// What they truly like: points of a scale from 1 to 9.
fn liking([dose, water, time]: [f64; 3]) -> f64 {
    let lost = LOST[0] * dose * dose + LOST[1] * water * water + LOST[2] * time * time;
    HIGHEST - lost - STRONG * dose * time
}

/// The sheets of a class as a file to enter: a row for each seat, cup and steep. The same class has the same scores at every telling.
pub fn sheet(class: &Class, number: usize, seats: usize) -> String {
    let mut sheet = String::from("seat,code,steep,liking,strength\n");
    for (seat, (name, high)) in TASTERS.iter().take(seats).enumerate() {
        let mut taste = fastrand::Rng::with_seed(seat as u64 + 1);
        let own = [0, 1, 2].map(|_| OWN * about(&mut taste));
        let mut rng = fastrand::Rng::with_seed(1000 * (number as u64 + 1) + seat as u64);
        // By the file's order, as codes are drawn anew in every class.
        for tea in &class.teas {
            let Some(code) = tea.code else { continue };
            let place = off(tea, own);
            let cup = liking(place) + high + 0.5 * UNSTEADY * about(&mut rng);
            for steep in 1..=tea.steeps() {
                let score = (cup + UNSTEADY * about(&mut rng)).round().clamp(1.0, 9.0);
                let felt = FELT * (place[0] + place[2]) + 0.5 * about(&mut rng);
                let vote = felt.round().clamp(-2.0, 2.0);
                // Writing to a String can't fail.
                let _ = writeln!(sheet, "{name},{code},{steep},{score},{vote}");
            }
        }
    }
    sheet
}

/// A number about 0 with a spread of about 1.
fn about(rng: &mut fastrand::Rng) -> f64 {
    (rng.f64() + rng.f64() + rng.f64() - 1.5) * 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_truly_liked_falls_to_all_sides_of_the_truth() {
        let best = liking([0.0; 3]);
        for place in [[0.5, 0.0, 0.0], [-0.5, 0.0, 0.5], [0.0, 1.0, 0.0], [0.7, 0.0, -0.7], [0.3, -0.3, 0.3]]
        {
            assert!(liking(place) < best - 0.1, "{place:?}");
        }
    }
}

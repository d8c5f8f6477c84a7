//! Two teas scored in steps, judged by the exact signed rank test: how often a difference is found.
//!
//! Scores fall on steps, so that tasters score both teas alike and differences are tied: the first are left out, the second change
//! which p can be had. No formula holds that for few tasters. So a fixed set of classes is gone through: what lies behind the
//! scores is normal, the difference of the two scores falls on the step below or above it with the chance that its place
//! between them gives (each score rounded by itself), and every class is judged by the test itself. The spread is known from
//! the class's own tasters only, so that each of these classes has its own true one, as the chi-squared distribution has it.

use crate::lot::Lot;
use crate::power::POWER;
use crate::wilcoxon::wilcoxon;
use std::f64::consts::{PI, SQRT_2};

/// The classes that are gone through; of a chance of 80 % that leaves a standard error of 1.3 points.
const CLASSES: usize = 1000;
/// With more tasters than this the formula is as good.
pub(super) const MOST: usize = 20;
/// Rounding can't make up more of the spread than this.
const ROUNDED: f64 = 0.9;
/// Differences are looked for up to so many standard deviations.
const FURTHEST: f64 = 12.0;
/// The difference is had to within 12 / 2¹¹ standard deviations.
const HALVINGS: usize = 11;

/// One class: by how much the spread found is off, and of each taster a normal number and a place between two steps.
struct Drawn {
    ratio: f64,
    tasters: Vec<(f64, f64)>,
}

/// The true difference found in four classes of five, in standard deviations of what is left over (of one score); `step` is
/// that from one possible score to the next in the same units. `None` where nothing is, however large.
pub(super) fn smallest(tasters: usize, level: f64, step: f64) -> Option<f64> {
    let classes = drawn(tasters);
    let enough = |apart: f64| {
        let found = classes.iter().filter(|class| class.p(apart, step) <= level);
        found.count() as f64 >= POWER * CLASSES as f64
    };
    if !enough(FURTHEST) {
        return None;
    }
    let (mut low, mut high) = (0.0, FURTHEST);
    for _ in 0..HALVINGS {
        let middle = (low + high) / 2.0;
        if enough(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// The same classes every time.
fn drawn(tasters: usize) -> Vec<Drawn> {
    let mut lot = Lot::of(14);
    let mut even = move || lot.share();
    let mut normal = move || {
        let (radius, angle) = ((-2.0 * even().ln()).sqrt(), even());
        (radius * (2.0 * PI * angle).cos(), 1.0 - even())
    };
    let one = |_| {
        let df = tasters.saturating_sub(1).max(1);
        let squares: f64 = (0..df).map(|_| normal().0.powi(2)).sum();
        Drawn { ratio: (squares / df as f64).sqrt(), tasters: (0..tasters).map(|_| normal()).collect() }
    };
    (0..CLASSES).map(one).collect()
}

impl Drawn {
    /// The p of this class, the teas lying so far apart in units of the spread that was found.
    fn p(&self, apart: f64, step: f64) -> f64 {
        let step = step * self.ratio;
        // What is left over holds the rounding of each score, a twelfth of a squared step.
        let sd = (1.0 - (step * step / 12.0).min(ROUNDED)).sqrt() * SQRT_2;
        let of = |&(normal, place): &(f64, f64)| {
            let exact = apart * self.ratio + sd * normal;
            if step > 0.0 { (exact / step + place).floor() } else { exact }
        };
        let differences: Vec<f64> = self.tasters.iter().map(of).collect();
        wilcoxon(&differences).map_or(1.0, |found| found.p)
    }
}

//! The paper that a leaf's pictures are drawn on: a scale for each factor, and what it is called.

use crate::page::axis::Axis;
use crate::page::canvas::{Pen, Side};
use crate::page::folds;
use crate::page::look::Ink;
use stats::say::fine;
use summary::spot::coding::{Factor, What};

/// Scales' ends and marks, in units of the picture.
pub const LEFT: f64 = 40.0;
/// How much room two marks across need, and two upward.
const GAP: (f64, f64) = (26.0, 18.0);
/// How long a mark is.
const MARK: f64 = 4.0;

/// What a factor is called under a scale.
pub fn unit(what: What) -> &'static str {
    match what {
        What::Dose => "leaf, g to 100 ml",
        What::Temperature => "water, °C",
        What::Time => "first steep, s",
    }
}

/// What a factor is called in words.
pub fn called(what: What) -> &'static str {
    match what {
        What::Dose => "leaf",
        What::Temperature => "water",
        What::Time => "time",
    }
}

/// A value of a factor: "4.2 g to 100 ml", "88 °C", "50 s".
pub fn value(what: What, value: f64) -> String {
    match what {
        What::Dose => format!("{:.1} g to 100 ml", value),
        What::Temperature => format!("{value:.0} °C"),
        What::Time => format!("{value:.0} s"),
    }
}

/// A scale of a factor between two coded values and two places of the paper.
pub fn axis(factor: &Factor, ends: (f64, f64), places: (f64, f64)) -> Axis {
    Axis::new((factor.natural(ends.0), factor.natural(ends.1)), places)
}

/// The round values that are marked, each with its place on the scale and its words.
fn marks(factor: &Factor, axis: &Axis, gap: f64) -> Vec<(f64, String)> {
    if factor.logarithm {
        let plain = |value: f64| fine(value).trim_end_matches('0').trim_end_matches('.').to_string();
        return folds::ticks(axis, gap)
            .into_iter()
            .map(|tick| (axis.place(tick.ln()), plain(tick)))
            .collect();
    }
    axis.ticks(6).into_iter().map(|tick| (axis.place(tick), format!("{tick:.0}"))).collect()
}

/// The scale across, at the height `y`, with its name below.
pub fn across(pen: &mut Pen, factor: &Factor, axis: &Axis, (left, right): (f64, f64), y: f64) {
    for (x, words) in marks(factor, axis, GAP.0) {
        pen.line(&[(x, y), (x, y + MARK)], Ink::Grey, 1.0);
        pen.text(&words, (x, y + 12.0), Side::Middle, Ink::Black);
    }
    pen.text(unit(factor.what), (right, y + 29.0), Side::Left, Ink::Grey);
    pen.line(&[(left, y), (right, y)], Ink::Grey, 1.0);
}

/// The scale upward, left of the picture, with its name above.
pub fn upward(pen: &mut Pen, factor: &Factor, axis: &Axis, (top, bottom): (f64, f64)) {
    for (y, words) in marks(factor, axis, GAP.1) {
        pen.line(&[(LEFT - MARK, y), (LEFT, y)], Ink::Grey, 1.0);
        pen.text(&words, (LEFT - MARK - 3.0, y), Side::Left, Ink::Black);
    }
    pen.text(unit(factor.what), (4.0, top - 14.0), Side::Right, Ink::Grey);
    pen.line(&[(LEFT, top), (LEFT, bottom)], Ink::Grey, 1.0);
}

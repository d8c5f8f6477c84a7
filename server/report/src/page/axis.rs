//! From values to places on the paper.

use crate::page::canvas::{Pen, Side};
use crate::page::look::Ink;
use stats::Interval;

/// A straight axis. Values beyond its ends are drawn at the ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    pub low: f64,
    /// The highest value, above the lowest.
    pub high: f64,
    from: f64,
    to: f64,
}

impl Axis {
    /// Values from `low` to `high` between two places of the paper, in units; the second may lie before the first.
    pub fn new((low, high): (f64, f64), (from, to): (f64, f64)) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self { low, high, from, to }
    }

    pub fn place(&self, value: f64) -> f64 {
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// Round values to mark, `most` or one more of them.
    pub fn ticks(&self, most: usize) -> Vec<f64> {
        let steps = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 250.0, 1000.0];
        let span = self.high - self.low;
        let fits = |step: &&f64| span / **step <= most.max(1) as f64;
        let step = steps.iter().find(fits).copied().unwrap_or(span);
        let first = (self.low / step - 1e-9).ceil() as i64;
        let last = (self.high / step + 1e-9).floor() as i64;
        (first..=last).map(|i| i as f64 * step).collect()
    }

    /// An axis across the paper at the height `y`, with faint lines up to `top`.
    pub fn across(&self, pen: &mut Pen, top: f64, y: f64, most: usize) {
        let ticks = self.ticks(most);
        for &tick in &ticks {
            pen.line(&[(self.place(tick), top), (self.place(tick), y)], Ink::Faint, 1.0);
            pen.text(&shown(tick, &ticks), (self.place(tick), y + 11.0), Side::Middle, Ink::Black);
        }
        pen.line(&[(self.from, y), (self.to, y)], Ink::Grey, 1.0);
    }

    /// The same with the numbers above it: an axis at the height `y`, with faint lines down to `bottom`.
    pub fn above(&self, pen: &mut Pen, y: f64, bottom: f64, most: usize) {
        let ticks = self.ticks(most);
        for &tick in &ticks {
            pen.line(&[(self.place(tick), y), (self.place(tick), bottom)], Ink::Faint, 1.0);
            pen.text(&shown(tick, &ticks), (self.place(tick), y - 9.0), Side::Middle, Ink::Black);
        }
        pen.line(&[(self.from, y), (self.to, y)], Ink::Grey, 1.0);
    }

    /// An axis up the paper at `x`, with faint lines as far as `right`.
    pub fn upward(&self, pen: &mut Pen, x: f64, right: f64, most: usize) {
        let ticks = self.ticks(most);
        for &tick in &ticks {
            pen.line(&[(x, self.place(tick)), (right, self.place(tick))], Ink::Faint, 1.0);
            pen.text(&shown(tick, &ticks), (x - 5.0, self.place(tick)), Side::Left, Ink::Black);
        }
    }

    /// An interval across at the height `y`: strokes at its ends, arrows where it goes on beyond the axis.
    pub fn interval_across(&self, pen: &mut Pen, interval: Interval, y: f64, ink: Ink) {
        let (left, right) = (self.place(interval.low), self.place(interval.high));
        pen.line(&[(left, y), (right, y)], ink, 1.6);
        for (x, value, out) in [(left, interval.low, -1.0), (right, interval.high, 1.0)] {
            if self.holds(value) {
                pen.line(&[(x, y - 3.5), (x, y + 3.5)], ink, 1.6);
            } else {
                pen.area(&[(x + out * 5.0, y), (x, y - 3.5), (x, y + 3.5)], ink);
            }
        }
    }

    /// An interval upward at `x`; an arrow where it goes on beyond the axis.
    pub fn interval_upward(&self, pen: &mut Pen, interval: Interval, x: f64, ink: Ink) {
        let (low, high) = (self.place(interval.low), self.place(interval.high));
        pen.line(&[(x, low), (x, high)], ink, 1.2);
        for (y, value, out) in [(low, interval.low, 1.0), (high, interval.high, -1.0)] {
            if self.holds(value) {
                pen.line(&[(x - 2.5, y), (x + 2.5, y)], ink, 1.2);
            } else {
                pen.area(&[(x, y + out * 4.0), (x - 2.5, y), (x + 2.5, y)], ink);
            }
        }
    }
}

/// A tick with as many decimals as all of them need, and a true minus sign.
fn shown(tick: f64, all: &[f64]) -> String {
    let whole = all.iter().all(|t| (t - t.round()).abs() < 1e-6);
    let size = if whole { format!("{:.0}", tick.abs()) } else { format!("{:.1}", tick.abs()) };
    if tick < -1e-9 { format!("−{size}") } else { size }
}

/// The same places, each at least `gap` from the next, moved no more than needed and, where there is room, held between
/// `low` and `high`. In the order of `wanted`.
pub fn kept_apart(wanted: &[f64], gap: f64, (low, high): (f64, f64)) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let mut placed = wanted.to_vec();
    let mut least = low;
    for &i in &order {
        placed[i] = placed[i].max(least);
        least = placed[i] + gap;
    }
    let mut most = high;
    for &i in order.iter().rev() {
        placed[i] = placed[i].min(most);
        most = placed[i] - gap;
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ticks_are_round_and_few() {
        let ticks = |low, high| Axis::new((low, high), (0.0, 100.0)).ticks(8);
        assert_eq!(ticks(1.0, 9.0), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]);
        assert_eq!(ticks(0.0, 100.0), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
        assert_eq!(ticks(-0.6, 0.4).len(), 6, "{:?}", ticks(-0.6, 0.4));
        assert_eq!(ticks(4.0, 4.0).len(), 6, "an empty span is widened");
        assert_eq!(shown(-0.5, &[-0.5, 0.0]), "−0.5");
        assert_eq!(shown(-2.0, &[-2.0]), "−2");
    }

    #[test]
    fn a_value_beyond_the_axis_is_drawn_at_its_end() {
        let axis = Axis::new((1.0, 9.0), (100.0, 20.0));
        assert_eq!([1.0, 5.0, 9.0, 12.0, -3.0].map(|v| axis.place(v)), [100.0, 60.0, 20.0, 20.0, 100.0]);
        assert!(!axis.holds(12.0) && axis.holds(9.0));
    }

    proptest! {
        #[test]
        fn labels_are_kept_apart_in_their_order(wanted in prop::collection::vec(0.0f64..100.0, 0..8)) {
            let placed = kept_apart(&wanted, 10.0, (0.0, 100.0));
            let mut order: Vec<usize> = (0..wanted.len()).collect();
            order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
            for pair in order.windows(2) {
                prop_assert!(placed[pair[1]] - placed[pair[0]] >= 10.0 - 1e-9, "{placed:?}");
            }
            prop_assert!(placed.iter().all(|p| (-1e-9..=100.0 + 1e-9).contains(p)), "{placed:?}");
        }
    }
}

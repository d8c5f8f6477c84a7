//! The picture of ways: leaf across and the first steep upward, both so that twice as much is as far everywhere; the water as a shade
//! of one ink with its degrees beside it.

use super::words;
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, TEXT, WIDTH, fitted, width_of};
use crate::page::look::Ink;
use maud::{Markup, html};
use plan::ways::Group;

const HEIGHT: f64 = 330.0;
const LEFT: f64 = 40.0;
const RIGHT: f64 = WIDTH - 14.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = HEIGHT - 46.0;
/// A flash steep is drawn as so many seconds.
const FLASH_S: f64 = 5.0;
const RADIUS: f64 = 6.5;
/// The ring of the middle way, round a dot that may lie in it.
const RING: f64 = 11.0;
/// A label is no wider.
const LABEL: f64 = 150.0;
/// Grams and seconds that a scale may mark.
const ROUND: [f64; 24] = [
    0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 90.0, 120.0, 180.0,
    240.0, 300.0, 600.0, 900.0, 1800.0, 3600.0,
];

/// One point of the picture.
struct Point {
    at: (f64, f64),
    temp_c: f64,
    label: String,
    middle: bool,
}

impl Point {
    fn radius(&self) -> f64 {
        if self.middle { RING } else { RADIUS + 1.0 }
    }
}

/// A rectangle: left, top, right, bottom.
type Spot = [f64; 4];

fn meet(a: Spot, b: Spot) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

/// A scale that holds all values and some room, in folds.
fn scale(values: impl Iterator<Item = f64> + Clone, places: (f64, f64)) -> Axis {
    let least = values.clone().fold(f64::INFINITY, f64::min);
    let most = values.fold(0.0, f64::max);
    Axis::new(((least / 1.25).ln(), (most * 1.25).ln()), places)
}

/// The round values on a scale, none nearer than `gap` to the one before it.
fn ticks(axis: &Axis, gap: f64) -> Vec<f64> {
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

/// The picture with what it shows.
pub(super) fn figure(group: &Group) -> Markup {
    let drawing = draw(group);
    let said = format!(
        "Leaf and first steep of {} and of the middle way",
        crate::words::counted(group.ways.len(), "way")
    );
    html! {
        figure class="picture" {
            svg viewBox=(drawing.view_box()) role="img" aria-label=(said) { "\n" (drawing.body) }
            figcaption {
                p {
                    "Each dot is somebody's way: leaf to the right, the first steep upward. Both scales go in folds: twice as much is as far \
                     everywhere. The darker a dot, the hotter the water; its degrees stand beside the name. The ring is the middle way."
                }
            }
        }
        "\n"
    }
}

fn draw(group: &Group) -> Drawing {
    let first_s = |steep_s: &[u32]| steep_s.first().map_or(FLASH_S, |&s| f64::from(s).max(FLASH_S));
    let first_c = |temp_c: &[f64]| temp_c.first().copied().unwrap_or(100.0);
    let middle = &group.middle;
    let doses = group.ways.iter().map(|of| of.way.dose_g_per_100_ml).chain([middle.dose_g_per_100_ml]);
    let seconds = group.ways.iter().map(|of| first_s(&of.way.steep_s)).chain([first_s(&middle.steep_s)]);
    let across = scale(doses, (LEFT, RIGHT));
    let upward = scale(seconds, (BOTTOM, TOP));
    let point = |who: &str, dose: f64, steep_s: &[u32], temp_c: &[f64], middle: bool| {
        let degrees = format!(" {} °C", words::plain(first_c(temp_c)));
        let label = fitted(who, LABEL - width_of(&degrees)) + &degrees;
        let at = (across.place(dose.ln()), upward.place(first_s(steep_s).ln()));
        Point { at, temp_c: first_c(temp_c), label, middle }
    };
    let ways = group.ways.iter().map(|of| &of.way);
    let ways = ways.map(|way| point(&way.who, way.dose_g_per_100_ml, &way.steep_s, &way.temp_c, false));
    let of_middle = point("middle way", middle.dose_g_per_100_ml, &middle.steep_s, &middle.temp_c, true);
    let points: Vec<Point> = ways.chain([of_middle]).collect();
    Drawing::of(HEIGHT, |pen| {
        for tick in ticks(&across, 24.0) {
            let x = across.place(tick.ln());
            pen.line(&[(x, TOP), (x, BOTTOM)], Ink::Faint, 1.0);
            pen.text(&words::plain(tick), (x, BOTTOM + 11.0), Side::Middle, Ink::Black);
        }
        for tick in ticks(&upward, 18.0) {
            let y = upward.place(tick.ln());
            pen.line(&[(LEFT, y), (RIGHT, y)], Ink::Faint, 1.0);
            pen.text(&words::plain(tick), (LEFT - 5.0, y), Side::Left, Ink::Black);
        }
        pen.line(&[(LEFT, BOTTOM), (RIGHT, BOTTOM)], Ink::Grey, 1.0);
        pen.text("leaf, g to 100 ml", (RIGHT, BOTTOM + 30.0), Side::Left, Ink::Grey);
        pen.text("first steep, s", (4.0, 10.0), Side::Right, Ink::Grey);
        // The ring lies below the dots.
        for point in points.iter().rev() {
            if point.middle {
                pen.ring(point.at, RING, Ink::Black);
            } else {
                pen.dot(point.at, RADIUS + 1.2, Ink::Black);
                pen.dot(point.at, RADIUS, Ink::heat(point.temp_c));
            }
        }
        for (point, place) in points.iter().zip(labelled(&points)) {
            label(pen, point, place);
        }
    })
}

/// Where the label of each point lies, so that none lies on another one or on a point; `None` where there is no room.
fn labelled(points: &[Point]) -> Vec<Option<Spot>> {
    let dot = |point: &Point| {
        let ((x, y), r) = (point.at, point.radius());
        [x - r, y - r, x + r, y + r]
    };
    let mut taken: Vec<Spot> = points.iter().map(dot).collect();
    let mut placed = Vec::new();
    for point in points {
        let ((x, y), width, half) = (point.at, width_of(&point.label), TEXT * 0.6);
        let room = point.radius() + 3.0;
        let shifts = (0..8).flat_map(|n| {
            let down = f64::from(n) * TEXT;
            [
                (1.0, down),
                (-1.0, down),
                (1.0, -down),
                (-1.0, -down),
                (0.0, down + room + half),
                (0.0, -down - room - half),
            ]
        });
        let spots = shifts.map(|(side, down)| {
            let left = match side {
                s if s > 0.0 => x + room,
                s if s < 0.0 => x - room - width,
                _ => x - width / 2.0,
            };
            [left, y + down - half, left + width, y + down + half]
        });
        let fits = |spot: &Spot| {
            let on_paper =
                spot[0] >= 2.0 && spot[2] <= WIDTH - 2.0 && spot[1] >= TOP - 4.0 && spot[3] <= BOTTOM;
            on_paper && taken.iter().all(|other| !meet(*spot, *other))
        };
        let found = spots.into_iter().find(fits);
        taken.extend(found);
        placed.push(found);
    }
    placed
}

fn label(pen: &mut Pen, point: &Point, place: Option<Spot>) {
    let Some([left, top, right, bottom]) = place else { return };
    let (x, y) = point.at;
    let height = f64::midpoint(top, bottom);
    if (height - y).abs() > 2.0 * TEXT {
        let near = if left > x {
            left
        } else if right < x {
            right
        } else {
            f64::midpoint(left, right)
        };
        pen.line(&[(x, y), (near, height)], Ink::Grey, 0.7);
    }
    pen.shown(point.middle, &point.label, (left, height), Side::Right, Ink::Black);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn labels_lie_on_the_paper_and_never_on_each_other(
            points in prop::collection::vec((LEFT..RIGHT, TOP..BOTTOM, "[A-Za-z]{1,12}"), 1..20),
        ) {
            let points: Vec<Point> = points
                .into_iter()
                .map(|(x, y, label)| Point { at: (x, y), temp_c: 90.0, label, middle: false })
                .collect();
            let spots = labelled(&points);
            let labels: Vec<Spot> = spots.into_iter().flatten().collect();
            for (i, one) in labels.iter().enumerate() {
                prop_assert!(one[0] >= 0.0 && one[2] <= WIDTH && one[3] <= BOTTOM, "{:?}", one);
                prop_assert!(labels[..i].iter().all(|other| !meet(*one, *other)), "{:?}", one);
                prop_assert!(points.iter().all(|p| !meet(*one, [p.at.0, p.at.1, p.at.0, p.at.1])));
            }
            prop_assert!(!labels.is_empty());
        }
    }

    #[test]
    fn a_scale_marks_round_values_that_do_not_crowd() {
        let axis = scale([3.0, 9.0].into_iter(), (0.0, 300.0));
        assert_eq!(ticks(&axis, 20.0), [3.0, 4.0, 5.0, 6.0, 8.0, 10.0]);
        assert_eq!(ticks(&axis, 70.0), [3.0, 5.0, 8.0]);
    }
}

//! The picture of ways: leaf across and the first steep upward, both so that twice as much is as far everywhere; the water as a shade
//! of one ink with its degrees beside it.

use super::words;
use crate::page::canvas::{Drawing, Side, WIDTH, fitted, width_of};
use crate::page::folds::{scale, ticks};
use crate::page::labels::{Labelled, places, write};
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
/// One point of the picture.
struct Point {
    labelled: Labelled,
    temp_c: f64,
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
        let radius = if middle { RING } else { RADIUS + 1.0 };
        Point { labelled: Labelled { at, radius, label, bold: middle }, temp_c: first_c(temp_c) }
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
            let Labelled { at, bold, .. } = point.labelled;
            if bold {
                pen.ring(at, RING, Ink::Black);
            } else {
                pen.dot(at, RADIUS + 1.2, Ink::Black);
                pen.dot(at, RADIUS, Ink::heat(point.temp_c));
            }
        }
        let labelled: Vec<Labelled> = points.into_iter().map(|point| point.labelled).collect();
        for (point, place) in labelled.iter().zip(places(&labelled, [2.0, TOP - 4.0, WIDTH - 2.0, BOTTOM])) {
            write(pen, point, place);
        }
    })
}

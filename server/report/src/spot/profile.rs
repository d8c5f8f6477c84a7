//! The picture of one factor: what liking is expected along it, and how far off that may well be.

use super::frame::{self, LEFT, called, value};
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Side, WIDTH};
use crate::page::look::{Dash, Ink};
use crate::words::capital;
use maud::{Markup, html};
use stats::say::signed;
use summary::spot::Spot;
use summary::spot::drawn::Profile;
use summary::spot::fitted::Scale;

const HEIGHT: f64 = 220.0;
const RIGHT: f64 = WIDTH - 14.0;
const TOP: f64 = 28.0;
const BOTTOM: f64 = HEIGHT - 42.0;
/// How long the stroke of a way that was tasted is.
const STROKE: f64 = 9.0;

/// The picture with its head.
pub fn figure(spot: &Spot, profile: &Profile, scale: Scale) -> Markup {
    let drawing = draw(spot, profile, scale);
    let factor = &spot.factors[profile.factor];
    let head = capital(&format!("{} by itself", called(factor.what)));
    html! {
        figure {
            h3 { (head) }
            svg viewBox=(drawing.view_box()) role="img" {
                title { (head) } desc { (described(spot, profile)) } "\n" (drawing.body)
            }
        }
        "\n"
    }
}

fn described(spot: &Spot, profile: &Profile) -> String {
    let factor = &spot.factors[profile.factor];
    let point = |(x, liking, _): &(f64, f64, _)| {
        format!("{} at {}", signed(*liking), value(factor.what, factor.said(*x)))
    };
    let (first, last) = (profile.points.first().map(point), profile.points.last().map(point));
    let best = profile.points.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(point);
    match (first, best, last) {
        (Some(first), Some(best), Some(last)) => {
            format!("Liking expected, all else as in the best way: {first}, at most {best}, {last}.")
        }
        _ => String::new(),
    }
}

fn draw(spot: &Spot, profile: &Profile, scale: Scale) -> Drawing {
    let factor = &spot.factors[profile.factor];
    let ends = profile.points.first().zip(profile.points.last()).map_or((0.0, 1.0), |(a, b)| (a.0, b.0));
    let across = frame::axis(factor, ends, (LEFT, RIGHT));
    let values = profile.points.iter().flat_map(|(_, _, interval)| [interval.low, interval.high]);
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let (low, high) = (low.floor().max(scale.low), high.ceil().min(scale.high));
    let upward = Axis::new((low, high), (BOTTOM, TOP));
    let x = |coded: f64| across.place(factor.natural(coded));
    let line = |of: &dyn Fn(&(f64, f64, stats::Interval)) -> f64| -> Vec<(f64, f64)> {
        let shown = profile.points.iter().filter(|point| upward.holds(of(point)));
        shown.map(|point| (x(point.0), upward.place(of(point)))).collect()
    };
    Drawing::of(HEIGHT, |pen| {
        upward.upward(pen, LEFT, RIGHT, 5);
        pen.text("liking, points", (4.0, TOP - 14.0), Side::Right, Ink::Grey);
        frame::across(pen, factor, &across, (LEFT, RIGHT), BOTTOM);
        let tasted = spot.ways.iter().map(|way| spot.behind.coding.code(&way.place)[profile.factor]);
        for place in tasted.filter(|place| (ends.0 - 1e-9..=ends.1 + 1e-9).contains(place)) {
            pen.line(&[(x(place), BOTTOM), (x(place), BOTTOM - STROKE)], Ink::Black, 1.4);
        }
        if let Some(at) = &spot.answer.at {
            let at = x(at[profile.factor]);
            pen.dashed(&[(at, TOP), (at, BOTTOM)], Ink::Grey, 1.0, Dash::of(2));
            let side = if at > RIGHT - 40.0 { Side::Left } else { Side::Right };
            let shift = if side == Side::Left { -4.0 } else { 4.0 };
            pen.bold("best", (at + shift, BOTTOM - 20.0), side, Ink::Black);
        }
        for end in [line(&|point| point.2.low), line(&|point| point.2.high)] {
            pen.dashed(&end, Ink::Grey, 1.2, Dash::of(1));
        }
        pen.line(&line(&|point| point.1), Ink::Black, 2.2);
    })
}

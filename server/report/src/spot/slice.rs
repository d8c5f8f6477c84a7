//! The picture of two factors: lines of equal liking, the ways that were tasted, those that can't be told from the best.

use super::frame::{self, LEFT, called, value};
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, TEXT, WIDTH, width_of};
use crate::page::labels::{Box, Labelled, meet, places, write};
use crate::page::look::{Dash, Ink, Mark};
use maud::{Markup, html};
use protocol::say::list;
use stats::say::fine;
use summary::spot::Spot;
use summary::spot::coding::Factor;
use summary::spot::drawn::{Point, Slice};

const HEIGHT: f64 = 348.0;
const RIGHT: f64 = WIDTH - 14.0;
const TOP: f64 = 28.0;
const BOTTOM: f64 = HEIGHT - 42.0;
const RADIUS: f64 = 3.6;
/// The mark of the best way.
const BEST: f64 = 7.0;

/// The picture with its head; `numbers` are those of the leaf's ways in the table.
pub fn figure(spot: &Spot, slice: &Slice, numbers: &[usize]) -> Markup {
    let drawing = draw(spot, slice, numbers);
    let head = head(spot, slice);
    html! {
        figure {
            h3 { (head) }
            svg viewBox=(drawing.view_box()) role="img" {
                title { (head) } desc { (described(spot, slice)) } "\n" (drawing.body)
            }
        }
        "\n"
    }
}

/// "Leaf and water, at 45 s".
fn head(spot: &Spot, slice: &Slice) -> String {
    let [x, y] = slice.factors.map(|i| called(spot.factors[i].what));
    let head = crate::words::capital(&format!("{x} and {y}"));
    match other(spot, slice) {
        Some(other) => format!("{head}, all at {other}"),
        None => head,
    }
}

/// The value of the factor that is not drawn, as in the best way.
fn other(spot: &Spot, slice: &Slice) -> Option<String> {
    let at = spot.answer.at.as_ref()?;
    let i = (0..spot.factors.len()).find(|i| !slice.factors.contains(i))?;
    Some(value(spot.factors[i].what, spot.factors[i].said(at[i])))
}

/// The picture in a sentence or two.
fn described(spot: &Spot, slice: &Slice) -> String {
    let factors = slice.factors.map(|i| &spot.factors[i]);
    let Some(at) = &spot.answer.at else { return String::new() };
    let best = slice.factors.map(|i| value(spot.factors[i].what, spot.factors[i].said(at[i])));
    let reach = |d: usize| {
        let along = slice.hatch.iter().flatten().map(|point| point[d]);
        let (low, high) =
            along.fold((at[slice.factors[d]], at[slice.factors[d]]), |(l, h), x| (l.min(x), h.max(x)));
        let (low, high) =
            (value(factors[d].what, factors[d].said(low)), value(factors[d].what, factors[d].said(high)));
        format!("{low} to {high}")
    };
    format!(
        "Lines of equal liking. The best way lies at {}. Ways that can't be told from it lie within {}.",
        list(&best),
        list(&[reach(0), reach(1)])
    )
}

struct Scales<'a> {
    factors: [&'a Factor; 2],
    axes: [Axis; 2],
}

impl Scales<'_> {
    fn place(&self, point: Point) -> (f64, f64) {
        let along = |d: usize| self.axes[d].place(self.factors[d].natural(point[d]));
        (along(0), along(1))
    }

    fn line(&self, points: &[Point]) -> Vec<(f64, f64)> {
        points.iter().map(|point| self.place(*point)).collect()
    }
}

fn draw(spot: &Spot, slice: &Slice, numbers: &[usize]) -> Drawing {
    let factors = slice.factors.map(|i| &spot.factors[i]);
    let ends = |d: usize| (slice.low[d], slice.high[d]);
    let across = frame::axis(factors[0], ends(0), (LEFT, RIGHT));
    let upward = frame::axis(factors[1], ends(1), (BOTTOM, TOP));
    let scales = Scales { factors, axes: [across, upward] };
    let points = points(spot, slice, numbers, &scales);
    Drawing::of(HEIGHT, |pen| {
        for line in &slice.hatch {
            pen.line(&scales.line(line), Ink::Faint, 1.6);
        }
        let mut taken: Vec<Box> = points.iter().map(Labelled::covers).collect();
        let paper = [LEFT + 2.0, TOP + 2.0, RIGHT, BOTTOM - 2.0];
        let labels = places(&points, paper);
        taken.extend(labels.iter().flatten());
        for contour in &slice.contours {
            let lines: Vec<Vec<(f64, f64)>> = contour.lines.iter().map(|line| scales.line(line)).collect();
            lines.iter().for_each(|line| pen.line(line, Ink::Grey, 0.9));
            number(pen, &format!("−{}", plain(contour.below)), &lines, paper, &mut taken);
        }
        slice.ends.iter().for_each(|line| pen.dashed(&scales.line(line), Ink::Grey, 1.0, Dash::of(4)));
        slice.alike.iter().for_each(|line| pen.line(&scales.line(line), Ink::Black, 2.0));
        frame::across(pen, factors[0], &scales.axes[0], (LEFT, RIGHT), BOTTOM);
        frame::upward(pen, factors[1], &scales.axes[1], (TOP, BOTTOM));
        for (point, near) in points.iter().zip(near(slice)) {
            match near {
                Some(true) => pen.dot(point.at, RADIUS, Ink::Black),
                Some(false) => pen.ring(point.at, RADIUS, Ink::Black),
                None if point.label == NEXT => pen.mark(point.at, Mark::Triangle, Ink::Black),
                None => {
                    let ((x, y), r) = (point.at, BEST);
                    pen.line(&[(x - r, y), (x + r, y)], Ink::Black, 2.6);
                    pen.line(&[(x, y - r), (x, y + r)], Ink::Black, 2.6);
                }
            }
        }
        points.iter().zip(labels).for_each(|(point, place)| write(pen, point, place));
    })
}

/// The label of a way to taste next.
const NEXT: &str = "next";

/// Whether each point is a way near the slice or farther from it; `None` for the best and the next.
fn near(slice: &Slice) -> impl Iterator<Item = Option<bool>> + '_ {
    slice.near.iter().map(|near| Some(*near)).chain([None, None])
}

/// The ways, the best and, where there is one, a way to taste next.
fn points(spot: &Spot, slice: &Slice, numbers: &[usize], scales: &Scales<'_>) -> Vec<Labelled> {
    let coding = &spot.behind.coding;
    let at = |place: &[f64]| scales.place(slice.factors.map(|i| place[i]));
    let ways = spot.ways.iter().zip(numbers).map(|(way, number)| Labelled {
        at: at(&coding.code(&way.place)),
        radius: RADIUS + 1.0,
        label: number.to_string(),
        bold: false,
    });
    let named = |place: &[f64], label: &str| Labelled {
        at: at(place),
        radius: BEST,
        label: label.into(),
        bold: true,
    };
    let best = spot.answer.at.as_ref().map(|place| named(place, "best"));
    let next = spot.answer.next.as_ref().map(|next| named(&coding.code(&next.place()), NEXT));
    ways.chain(best).chain(next).collect()
}

/// A number of points without what says nothing.
fn plain(points: f64) -> String {
    let shown = fine(points);
    if shown.contains('.') { shown.trim_end_matches('0').trim_end_matches('.').into() } else { shown }
}

/// Writes a contour's number on its longest line, where nothing else stands; else it has none.
fn number(pen: &mut Pen, words: &str, lines: &[Vec<(f64, f64)>], paper: Box, taken: &mut Vec<Box>) {
    let (half, high) = (width_of(words) / 2.0 + 1.0, TEXT * 0.55);
    let Some(longest) = lines.iter().max_by_key(|line| line.len()) else { return };
    let n = longest.len();
    // From the middle of the line to its ends.
    let order = (0..n).map(|i| if i % 2 == 0 { n / 2 + i / 2 } else { n / 2 - i.div_ceil(2).min(n / 2) });
    let free = order.filter_map(|i| longest.get(i)).map(|&(x, y)| [x - half, y - high, x + half, y + high]);
    let fits = |own: &Box| {
        let inside = own[0] >= paper[0] && own[1] >= paper[1] && own[2] <= paper[2] && own[3] <= paper[3];
        inside && taken.iter().all(|other| !meet(*own, *other))
    };
    if let Some(own) = free.into_iter().find(fits) {
        pen.bar((own[0], own[1] + 1.0), (own[2], own[3] - 1.0), Ink::Paper);
        let middle = (f64::midpoint(own[0], own[2]), f64::midpoint(own[1], own[3]));
        pen.text(words, middle, Side::Middle, Ink::Grey);
        taken.push(own);
    }
}

//! Drawing into an SVG. Lengths are units of the picture, which is [`WIDTH`] of them wide however wide it is shown; in the
//! SVG they are tenths of a unit, in whole numbers.

use crate::page::look::{Dash, Ink, Mark};
use maud::{Markup, PreEscaped, html};
use std::fmt::Write;
use unicode_width::UnicodeWidthChar;

/// The width of every picture. A phone shows about 350 pixels of it, so that [`TEXT`] stays above 11 pixels there.
pub const WIDTH: f64 = 400.0;
/// The height of letters.
pub const TEXT: f64 = 13.0;
/// How many of the SVG's units are one of ours.
const FINE: f64 = 10.0;

/// Where a text stands beside its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// It begins there.
    Right,
    /// It ends there.
    Left,
    /// It is set around it.
    Middle,
}

/// A picture without its outermost element.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// In units.
    pub height: f64,
    pub body: Markup,
}

impl Drawing {
    /// What `draw` draws on a paper of this height.
    pub fn of(height: f64, draw: impl FnOnce(&mut Pen)) -> Self {
        let mut pen = Pen { svg: String::new() };
        draw(&mut pen);
        Self { height, body: PreEscaped(pen.svg) }
    }

    pub fn view_box(&self) -> String {
        format!("0 0 {} {}", fine(WIDTH), fine(self.height))
    }
}

/// What pictures are drawn with.
pub struct Pen {
    svg: String,
}

impl Pen {
    fn add(&mut self, element: &Markup) {
        self.svg += &element.0;
    }

    fn path(&mut self, places: &[(i32, i32)], ink: Ink, width: f64) {
        let (width, points) = (fine(width), points(places));
        self.add(&html! { polyline fill="none" stroke=(ink) stroke-width=(width) points=(points) {} });
    }

    pub fn line(&mut self, points: &[(f64, f64)], ink: Ink, width: f64) {
        self.path(&places(points), ink, width);
    }

    /// A line along `points`, solid or broken.
    pub fn dashed(&mut self, points: &[(f64, f64)], ink: Ink, width: f64, dash: Dash) {
        let Some((on, off)) = dash.lengths() else { return self.line(points, ink, width) };
        for dash in dashes(&places(points), fine(on) as f32, fine(off) as f32) {
            self.path(&dash, ink, width);
        }
    }

    pub fn area(&mut self, corners: &[(f64, f64)], ink: Ink) {
        self.add(&html! { polygon fill=(ink) points=(points(&places(corners))) {} });
    }

    pub fn bar(&mut self, (left, top): (f64, f64), (right, bottom): (f64, f64), ink: Ink) {
        self.area(&[(left, top), (right, top), (right, bottom), (left, bottom)], ink);
    }

    /// The outline of a rectangle.
    pub fn frame(&mut self, (left, top): (f64, f64), (right, bottom): (f64, f64), ink: Ink) {
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top), (right, top)];
        self.line(&corners, ink, 1.0);
    }

    pub fn dot(&mut self, at: (f64, f64), radius: f64, ink: Ink) {
        let ((x, y), r) = (place(at), fine(radius));
        self.add(&html! { circle cx=(x) cy=(y) r=(r) fill=(ink) stroke="none" stroke-width="1" {} });
    }

    /// A circle's line, with paper in it.
    pub fn ring(&mut self, at: (f64, f64), radius: f64, ink: Ink) {
        self.dot(at, radius, Ink::Paper);
        let ((x, y), r, width) = (place(at), fine(radius), fine(1.5));
        self.add(&html! { circle cx=(x) cy=(y) r=(r) fill="none" stroke=(ink) stroke-width=(width) {} });
    }

    pub fn mark(&mut self, (x, y): (f64, f64), mark: Mark, ink: Ink) {
        let r = 4.0;
        match mark {
            Mark::Disc => self.dot((x, y), r, ink),
            Mark::Ring => self.ring((x, y), r, ink),
            Mark::Square => self.bar((x - 3.6, y - 3.6), (x + 3.6, y + 3.6), ink),
            Mark::Triangle => self.area(&[(x, y - 4.8), (x + 4.6, y + 3.6), (x - 4.6, y + 3.6)], ink),
            Mark::Diamond => self.area(&[(x, y - 5.2), (x + 4.4, y), (x, y + 5.2), (x - 4.4, y)], ink),
            Mark::Cross => {
                self.line(&[(x - r, y - r), (x + r, y + r)], ink, 2.2);
                self.line(&[(x - r, y + r), (x + r, y - r)], ink, 2.2);
            }
        }
    }

    /// A line of text, its middle at this height.
    pub fn text(&mut self, text: &str, at: (f64, f64), side: Side, ink: Ink) {
        self.write(text, at, side, ink, None);
    }

    /// In bold letters and black what is shown, else plain.
    pub fn shown(&mut self, shown: bool, text: &str, at: (f64, f64), side: Side, plain: Ink) {
        let (ink, weight) = if shown { (Ink::Black, Some("bold")) } else { (plain, None) };
        self.write(text, at, side, ink, weight);
    }

    /// The same in bold letters.
    pub fn bold(&mut self, text: &str, at: (f64, f64), side: Side, ink: Ink) {
        self.write(text, at, side, ink, Some("bold"));
    }

    fn write(&mut self, text: &str, at: (f64, f64), side: Side, ink: Ink, weight: Option<&str>) {
        let ((x, y), size) = (place(at), fine(TEXT));
        let anchor = match side {
            Side::Right => "start",
            Side::Left => "end",
            Side::Middle => "middle",
        };
        self.add(&html! {
            text x=(x) y=(y) dy="0.5ex" text-anchor=(anchor) font-family="serif" font-size=(size)
                fill=(ink) font-weight=[weight] { (text) }
        });
    }
}

fn fine(length: f64) -> i32 {
    // Rust's conversion holds what is too large, and takes what is no number as 0.
    (length * FINE).round() as i32
}

fn place((x, y): (f64, f64)) -> (i32, i32) {
    (fine(x), fine(y))
}

fn places(points: &[(f64, f64)]) -> Vec<(i32, i32)> {
    points.iter().copied().map(place).collect()
}

/// As an element has them: "0,10 25,0".
fn points(places: &[(i32, i32)]) -> String {
    let mut points = String::new();
    for (x, y) in places {
        // Writing to a String can't fail.
        let _ = write!(points, "{x},{y} ");
    }
    points.truncate(points.trim_end().len());
    points
}

/// The dashes of a line: `on` long and `off` from each other, all along it, round its corners too.
fn dashes(places: &[(i32, i32)], on: f32, off: f32) -> Vec<Vec<(i32, i32)>> {
    let float = |&(x, y): &(i32, i32)| (x as f32, y as f32);
    let whole = |(x, y): (f32, f32)| (x.round() as i32, y.round() as i32);
    let Some((&first, rest)) = places.split_first() else { return Vec::new() };
    let (mut dashes, mut dash) = (Vec::new(), vec![first]);
    let (mut at, mut drawn, mut done) = (float(&first), true, 0.0);
    for end in rest.iter().map(float) {
        while at != end {
            let (dx, dy) = (end.0 - at.0, end.1 - at.1);
            let (far, length) = (dx.hypot(dy), if drawn { on } else { off });
            let step = far.min(length - done);
            at = if step < far { (at.0 + dx * (step / far), at.1 + dy * (step / far)) } else { end };
            done += step;
            if drawn {
                dash.push(whole(at));
            }
            if done >= length {
                if drawn {
                    dashes.push(std::mem::take(&mut dash));
                } else {
                    dash.push(whole(at));
                }
                (drawn, done) = (!drawn, 0.0);
            }
        }
    }
    dashes.extend((dash.len() > 1).then_some(dash));
    dashes
}

/// How wide a text is about, in units: serif letters are half as wide as high, the wide ones of the East a
/// whole, marks above letters nothing.
pub fn width_of(text: &str) -> f64 {
    text.chars().map(|c| TEXT * [0.0, 0.55, 1.0][c.width().unwrap_or(0).min(2)]).sum()
}

/// A text that is no wider than this; what is left out shows as an ellipsis.
pub fn fitted(text: &str, width: f64) -> String {
    if width_of(text) <= width {
        return text.into();
    }
    let mut shown = String::new();
    for c in text.chars() {
        if width_of(&shown) + width_of(&c.to_string()) + width_of("…") > width {
            break;
        }
        shown.push(c);
    }
    format!("{}…", shown.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_holds_what_was_drawn_and_escapes_its_text() {
        let drawing = Drawing::of(50.0, |pen| {
            pen.line(&[(0.0, 1.0), (2.5, f64::NAN)], Ink::Black, 1.5);
            pen.text("<b>&", (3.0, 4.0), Side::Left, Ink::Black);
        });
        assert_eq!(drawing.view_box(), "0 0 4000 500");
        assert!(drawing.body.0.contains("0,10 25,0"), "{}", drawing.body.0);
        assert!(
            drawing.body.0.contains("&lt;b&gt;&amp;</text>") && drawing.body.0.contains("font-size=\"130\"")
        );
        assert!(!drawing.body.0.contains("svg"), "{}", drawing.body.0);
    }

    #[test]
    fn a_long_name_is_cut_and_says_so() {
        assert_eq!(fitted("short", 200.0), "short");
        let cut = fitted("a name that goes on and on and on", 80.0);
        assert!(cut.ends_with('…') && width_of(&cut) <= 80.0 && cut.len() > 8, "{cut}");
        assert!(width_of(&fitted("名前名前名前名前名前", 60.0)) <= 60.0);
        assert_eq!(fitted("name", 0.0), "…");
        assert_eq!(width_of("Tie\u{300}"), width_of("Ti\u{e8}"));
    }
}

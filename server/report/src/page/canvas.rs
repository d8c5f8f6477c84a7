//! Drawing by the plotting library into the text of an SVG. Lengths are units of the picture, which is
//! [`WIDTH`] of them wide however wide it is shown.

use crate::page::look::{Dash, Ink, Mark};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, DashedPathElement, PathElement, Polygon, Text};
use plotters::prelude::SVGBackend;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontDesc, FontFamily, FontStyle, ShapeStyle, TextStyle};
use unicode_width::UnicodeWidthChar;

/// The width of every picture. A phone shows about 350 pixels of it, so that [`TEXT`] stays above 11 pixels there.
pub const WIDTH: f64 = 400.0;
/// The height of letters.
pub const TEXT: f64 = 13.0;
/// The library draws at whole numbers; so many to a unit keep points where they belong.
const FINE: f64 = 10.0;
/// The library divides the size of a font by this.
const FONT: f64 = 1.24;

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
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// In units.
    pub height: f64,
    /// What is in it.
    pub body: String,
}

impl Drawing {
    /// What `draw` draws on a paper of this height.
    pub fn of(height: f64, draw: impl FnOnce(&Pen<'_>)) -> Self {
        let mut svg = String::new();
        let size = (fine(WIDTH).unsigned_abs(), fine(height).unsigned_abs());
        {
            let pen = Pen { area: SVGBackend::with_string(&mut svg, size).into_drawing_area() };
            draw(&pen);
            // Writing to a String can't fail; dropping the area would say the same.
            let _ = pen.area.present();
        }
        let body = svg.split_once(">\n").map_or("", |(_, rest)| rest);
        let body = body.trim_end().strip_suffix("</svg>").unwrap_or(body);
        Self {
            height,
            body: body.replace(" opacity=\"1\"", "").replace(">\n", ">").replace("\n</text>", "</text>"),
        }
    }

    /// The box that the drawing is set in.
    pub fn view_box(&self) -> String {
        format!("0 0 {} {}", fine(WIDTH), fine(self.height))
    }
}

/// What pictures are drawn with.
pub struct Pen<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
}

impl Pen<'_> {
    /// A line along `points`.
    pub fn line(&self, points: &[(f64, f64)], ink: Ink, width: f64) {
        let _ = self.area.draw(&PathElement::new(places(points), stroke(ink, width)));
    }

    /// A line along `points`, solid or broken.
    pub fn dashed(&self, points: &[(f64, f64)], ink: Ink, width: f64, dash: Dash) {
        let Some((on, off)) = dash.lengths() else { return self.line(points, ink, width) };
        let element = DashedPathElement::new(places(points), fine(on), fine(off), stroke(ink, width));
        let _ = self.area.draw(&element);
    }

    /// An area with these corners.
    pub fn area(&self, corners: &[(f64, f64)], ink: Ink) {
        let _ = self.area.draw(&Polygon::new(places(corners), ShapeStyle::from(ink.colour()).filled()));
    }

    /// A full rectangle.
    pub fn bar(&self, (left, top): (f64, f64), (right, bottom): (f64, f64), ink: Ink) {
        self.area(&[(left, top), (right, top), (right, bottom), (left, bottom)], ink);
    }

    /// The outline of a rectangle.
    pub fn frame(&self, (left, top): (f64, f64), (right, bottom): (f64, f64), ink: Ink) {
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top), (right, top)];
        self.line(&corners, ink, 1.0);
    }

    /// A full circle.
    pub fn dot(&self, at: (f64, f64), radius: f64, ink: Ink) {
        let style = ShapeStyle::from(ink.colour()).filled();
        let _ = self.area.draw(&Circle::new(place(at), fine(radius), style));
    }

    /// A circle's line, with paper in it.
    pub fn ring(&self, at: (f64, f64), radius: f64, ink: Ink) {
        self.dot(at, radius, Ink::Paper);
        let _ = self.area.draw(&Circle::new(place(at), fine(radius), stroke(ink, 1.5)));
    }

    /// The sign of a tea.
    pub fn mark(&self, (x, y): (f64, f64), mark: Mark, ink: Ink) {
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
    pub fn text(&self, text: &str, at: (f64, f64), side: Side, ink: Ink) {
        self.write(text, at, side, ink, FontStyle::Normal);
    }

    /// The same in bold letters.
    pub fn bold(&self, text: &str, at: (f64, f64), side: Side, ink: Ink) {
        self.write(text, at, side, ink, FontStyle::Bold);
    }

    fn write(&self, text: &str, at: (f64, f64), side: Side, ink: Ink, weight: FontStyle) {
        let across = match side {
            Side::Right => HPos::Left,
            Side::Left => HPos::Right,
            Side::Middle => HPos::Center,
        };
        let font = FontDesc::new(FontFamily::Serif, TEXT * FINE * FONT, weight);
        let colour = ink.colour();
        let style = TextStyle::from(font).pos(Pos::new(across, VPos::Center)).color(&colour);
        let _ = self.area.draw(&Text::new(text.to_string(), place(at), style));
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

fn stroke(ink: Ink, width: f64) -> ShapeStyle {
    ShapeStyle::from(ink.colour()).stroke_width(fine(width).unsigned_abs())
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
        assert!(drawing.body.contains("0,10 25,0"), "{}", drawing.body);
        assert!(drawing.body.contains("&lt;b&gt;&amp;</text>") && drawing.body.contains("font-size=\"130\""));
        assert!(!drawing.body.contains("svg"), "{}", drawing.body);
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

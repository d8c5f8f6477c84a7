//! Every score as a dot, tea by tea, with the mean in its interval, the median and the quartiles.

use crate::lead::{Apart, letters};
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::{Facts, Figure, Pictured, mean_words};
use crate::page::how::How;
use crate::page::look::Ink;
use crate::words::scale_words;
use protocol::Code;
use protocol::say::list;
use stats::Interval;
use stats::describe::describe;
use stats::say::fine;
use summary::find::totals::{TOTAL, Totals};
use summary::known::Known;

/// A dot's breadth with the room around it.
pub(super) const DOT: f64 = 5.2;
/// Room for a tea's name above its dots, and for its mean and quartiles below.
const HEAD: f64 = 25.0;
const FOOT: f64 = 31.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = WIDTH - 14.0;

struct Strip {
    tea: Code,
    /// A dot each.
    values: Vec<f64>,
    mean: f64,
    interval: Option<Interval>,
    /// Lower quartile, median, upper quartile.
    quartiles: Option<[f64; 3]>,
    tasters: usize,
    /// Teas with one in common are not shown to differ.
    letters: String,
}

pub fn spread(facts: &Facts<'_>, attribute: &str) -> Pictured {
    let strips = facts.over_steeps(attribute).map(|(tea, mean, d)| {
        let own =
            facts.found().figures.dots.iter().filter(|dot| dot.attribute == attribute && dot.tea == tea);
        let quartiles = d.lower_quartile.zip(d.median).zip(d.upper_quartile).map(|((a, b), c)| [a, b, c]);
        Strip {
            tea,
            values: own.map(|dot| dot.value).collect(),
            mean,
            interval: d.interval.get().copied(),
            quartiles,
            tasters: d.n,
            letters: letters(facts.difference(attribute), tea),
        }
    });
    let strips: Vec<Strip> = strips.collect();
    let Some(scale) = facts.scale(attribute).filter(|_| !strips.is_empty()) else {
        return Err("Nobody has scored it, so there is no spread to show.".into());
    };
    Ok(Figure {
        title: format!("{attribute}: every score"),
        described: described(facts, &strips, "scores"),
        evidence: String::new(),
        how: How::Scores,
        caption: format!(
            "{}Scale {}.{}",
            Apart::of(facts.difference(attribute)).words(),
            scale_words(scale),
            left_out(facts, attribute, &strips)
        ),
        drawing: drawn(facts, &strips, (scale.min.into(), scale.max.into())),
    })
}

/// The weighted totals, a dot for each taster.
pub fn totals(facts: &Facts<'_>, totals: &Totals) -> Pictured {
    let strips = totals.teas.iter().filter_map(|tea| {
        let values: Vec<f64> = totals.tasters.iter().filter(|t| t.tea == tea.tea).map(|t| t.points).collect();
        let quartiles = describe(&values).ok().map(|d| [d.lower_quartile, d.median, d.upper_quartile]);
        let interval = tea.interval.get().copied();
        let letters = letters(Some(&totals.difference), tea.tea);
        Some(Strip { tea: tea.tea, values, mean: tea.mean?, interval, quartiles, tasters: tea.n, letters })
    });
    let strips: Vec<Strip> = strips.collect();
    if strips.is_empty() {
        return Err("No taster has scored every weighted attribute, so there are no totals.".into());
    }
    Ok(Figure {
        title: format!("{TOTAL} of each tea"),
        described: described(facts, &strips, "totals"),
        caption: format!(
            "{}{}",
            Apart::of(Some(&totals.difference)).words(),
            left_out(facts, TOTAL, &strips).trim_start()
        ),
        evidence: String::new(),
        how: How::Totals,
        drawing: drawn(facts, &strips, (0.0, 100.0)),
    })
}

fn left_out(facts: &Facts<'_>, attribute: &str, strips: &[Strip]) -> String {
    facts.left_out(attribute, &strips.iter().map(|strip| strip.tea).collect::<Vec<_>>())
}

fn drawn(facts: &Facts<'_>, strips: &[Strip], scale: (f64, f64)) -> Drawing {
    let axis = Axis::new(scale, (LEFT + 8.0, RIGHT - 8.0));
    let dots: Vec<Vec<(f64, f64)>> = strips.iter().map(|strip| packed(&axis, &strip.values)).collect();
    let depth = |dots: &Vec<(f64, f64)>| dots.iter().map(|d| d.1).fold(0.0, f64::max) + DOT;
    let heights: Vec<f64> = dots.iter().map(|dots| HEAD + depth(dots) + FOOT).collect();
    let height = heights.iter().sum::<f64>() + 28.0;
    Drawing::of(height, |pen| {
        axis.across(pen, 20.0, height - 26.0, 10);
        let mut top = 0.0;
        for ((strip, dots), rows) in strips.iter().zip(&dots).zip(&heights) {
            one(pen, facts, strip, dots, &axis, (top, top + rows));
            top += rows;
        }
    })
}

/// Where the dots lie, above a ground line: beside each other as far as the way to the next point and the paper's edge allow, then
/// in rows.
pub(super) fn packed(axis: &Axis, values: &[f64]) -> Vec<(f64, f64)> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let slot = (axis.place(axis.low + 1.0) - axis.place(axis.low)).abs();
    let columns = ((slot * 0.85 / DOT) as usize).max(1);
    let mut dots = Vec::new();
    for group in sorted.chunk_by(|a, b| a == b) {
        let x = axis.place(group[0]);
        let aside = ((x.min(WIDTH - x) / DOT - 0.5).max(0.0) * 2.0) as usize;
        let columns = columns.min(group.len()).min(aside + 1);
        for (i, &value) in group.iter().enumerate() {
            let (row, column) = (i / columns, i % columns);
            // The last row is set in the middle too.
            let in_row = columns.min(group.len() - row * columns);
            let beside = (column as f64 - (in_row - 1) as f64 / 2.0) * DOT;
            dots.push((axis.place(value) + beside, row as f64 * DOT));
        }
    }
    dots
}

fn one(
    pen: &mut Pen,
    facts: &Facts<'_>,
    strip: &Strip,
    dots: &[(f64, f64)],
    axis: &Axis,
    (top, bottom): (f64, f64),
) {
    let figure = format!("mean {} {}", fine(strip.mean), strip.letters);
    let figure = figure.trim_end();
    let room = RIGHT - LEFT - width_of(figure) - 4.0;
    // Paper behind the words, so that the axis's lines don't cross them.
    pen.bar((LEFT - 2.0, top + 2.0), (RIGHT, top + 18.0), Ink::Paper);
    pen.bold(&strip.tea.to_string(), (LEFT, top + 11.0), Side::Right, Ink::Black);
    let name = facts.name(strip.tea).unwrap_or_default();
    pen.text(&fitted(name, room - 34.0), (LEFT + 34.0, top + 11.0), Side::Right, Ink::Black);
    pen.text(figure, (RIGHT, top + 11.0), Side::Left, Ink::Black);
    let ground = bottom - FOOT + 2.0;
    for &(x, up) in dots {
        pen.dot((x, ground - up), 2.2, Ink::Grey);
    }
    let y = bottom - 15.0;
    if let Some([lower, median, upper]) = strip.quartiles {
        let (from, to) = (axis.place(lower), axis.place(upper));
        pen.bar((from - 0.5, y - 5.0), (to + 0.5, y + 5.0), Ink::Faint);
        pen.frame((from - 0.5, y - 5.0), (to + 0.5, y + 5.0), Ink::Grey);
        let middle = axis.place(median);
        pen.line(&[(middle, y - 8.0), (middle, y + 8.0)], Ink::Black, 2.4);
    }
    if let Some(interval) = strip.interval {
        axis.interval_across(pen, interval, y, Ink::Black);
    }
    let x = axis.place(strip.mean);
    pen.area(&[(x, y - 4.6), (x + 4.6, y), (x, y + 4.6), (x - 4.6, y)], Ink::Black);
}

fn described(facts: &Facts<'_>, strips: &[Strip], what: &str) -> String {
    let line = |strip: &Strip| {
        let mut text = format!(
            "{}: {} {what} of {} tasters, mean {}",
            facts.label(strip.tea),
            strip.values.len(),
            strip.tasters,
            mean_words(strip.mean, strip.interval.as_ref())
        );
        if let Some([lower, median, upper]) = strip.quartiles {
            text += &format!(", median {}, quartiles {} and {}", fine(median), fine(lower), fine(upper));
        }
        text + "."
    };
    strips.iter().map(line).collect::<Vec<_>>().join(" ")
}

/// Why the intervals of some teas are missing, in a sentence; nothing if none is.
pub fn without_interval(facts: &Facts<'_>, attribute: &str) -> Option<String> {
    let missing = facts.over_steeps(attribute).filter_map(|(tea, _, d)| match &d.interval {
        Known::Not { why } => Some((tea, why)),
        Known::Is(_) => None,
    });
    let missing: Vec<_> = missing.collect();
    let why = missing.first()?.1;
    let teas: Vec<String> = missing.iter().map(|(tea, _)| tea.to_string()).collect();
    Some(format!("No interval for {}: {why}.", list(&teas)))
}

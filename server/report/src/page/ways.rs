//! Two ways of one leaf: a line for each taster from one to the other.

use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted};
use crate::page::facts::{Facts, Figure, Pictured};
use crate::page::how::How;
use crate::page::key::Key;
use crate::page::look::Ink;
use protocol::say::steeps;
use stats::say::{fine, p, range};
use summary::find::ways::{Comparison, TwoWays};

const PANEL: f64 = 178.0;

struct Panel<'a> {
    comparison: &'a Comparison,
    scale: (f64, f64),
    /// First and second of each taster who has both.
    lines: Vec<(f64, f64)>,
}

/// One pair of ways, a panel for each attribute.
pub fn ways(facts: &Facts<'_>, ways: &TwoWays) -> Pictured {
    let panels: Vec<Panel<'_>> = ways.comparisons.iter().filter_map(|c| panel(facts, c)).collect();
    if panels.is_empty() {
        return Err("No taster has scored both.".into());
    }
    let rows = panels.len().div_ceil(2) as f64;
    let key = Key::of(facts, &[ways.first, ways.second], false);
    let drawing = Drawing::of(rows * PANEL + key.height(), |pen| {
        key.draw(pen, rows * PANEL);
        for (i, panel) in panels.iter().enumerate() {
            one(pen, ways, panel, ((i % 2) as f64 * WIDTH / 2.0, (i / 2) as f64 * PANEL));
        }
    });
    Ok(Figure {
        title: match ways.same_way {
            true => format!("{}, one way under two codes (a check of the tasters)", ways.leaf),
            false => format!("{}, two ways", ways.leaf),
        },
        described: described(&panels, &facts.label(ways.first), &facts.label(ways.second)),
        evidence: String::new(),
        how: How::Ways,
        caption: format!(
            "Each thin line is a taster, the thick one the class. {}: {}. {}: {}.{}",
            facts.label(ways.first),
            ways.first_way,
            facts.label(ways.second),
            ways.second_way,
            tested(facts, ways, &panels)
        ),
        drawing,
    })
}

/// Which steeps were tested, if not all.
fn tested(facts: &Facts<'_>, ways: &TwoWays, panels: &[Panel<'_>]) -> String {
    let Some(tested) = panels.first().map(|panel| &panel.comparison.steeps) else { return String::new() };
    let other = |code| facts.teas().any(|(_, tea)| tea.code == code && tea.steeps.len() != tested.len());
    if other(ways.first) || other(ways.second) {
        return format!(" Only {}, which both were served at, go in.", steeps(tested));
    }
    String::new()
}

fn panel<'a>(facts: &Facts<'a>, comparison: &'a Comparison) -> Option<Panel<'a>> {
    if comparison.steep.is_some() || comparison.n == 0 {
        return None;
    }
    let scale = facts.scale(&comparison.attribute)?;
    let lines: Vec<(f64, f64)> =
        comparison.tasters.iter().map(|taster| (taster.first, taster.second)).collect();
    Some(Panel { comparison, scale: (scale.min.into(), scale.max.into()), lines })
        .filter(|p| !p.lines.is_empty())
}

fn one(pen: &mut Pen, ways: &TwoWays, panel: &Panel<'_>, (x, y): (f64, f64)) {
    let (top, bottom, left, right) = (y + 32.0, y + PANEL - 30.0, x + 58.0, x + WIDTH / 2.0 - 32.0);
    let values = panel.lines.iter().flat_map(|(a, b)| [*a, *b]);
    let (low, high) = values.fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
    // Whole points around what there is, two of them at least.
    let (mut low, mut high) = (low.floor(), high.ceil());
    if high - low < 2.0 {
        (low, high) = ((low - 1.0).max(panel.scale.0), (high + 1.0).min(panel.scale.1));
    }
    let axis = Axis::new((low, high), (bottom, top));
    axis.upward(pen, left - 14.0, right + 14.0, 5);
    pen.bold(
        &fitted(&panel.comparison.attribute, WIDTH / 2.0 - 44.0),
        (x + 32.0, y + 12.0),
        Side::Right,
        Ink::Black,
    );
    for &(first, second) in &panel.lines {
        let ends = [(left, axis.place(first)), (right, axis.place(second))];
        pen.line(&ends, Ink::Grey, 1.1);
        ends.iter().for_each(|&end| pen.dot(end, 2.0, Ink::Grey));
    }
    let n = panel.lines.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| panel.lines.iter().map(of).sum::<f64>() / n;
    let ends = [(left, axis.place(mean(|l| l.0))), (right, axis.place(mean(|l| l.1)))];
    pen.line(&ends, Ink::Black, 3.2);
    ends.iter().for_each(|&end| pen.dot(end, 4.6, Ink::Black));
    pen.text(&ways.first.to_string(), (left, bottom + 14.0), Side::Middle, Ink::Black);
    pen.text(&ways.second.to_string(), (right, bottom + 14.0), Side::Middle, Ink::Black);
}

fn described(panels: &[Panel<'_>], first: &str, second: &str) -> String {
    let one = |panel: &Panel<'_>| {
        let c = panel.comparison;
        let up = panel.lines.iter().filter(|(a, b)| a > b).count();
        let down = panel.lines.iter().filter(|(a, b)| a < b).count();
        let mut text = format!(
            "{}: of {} tasters {up} score {first} higher, {down} score {second} higher",
            c.attribute, c.n
        );
        if let Some(mean) = c.mean_difference {
            text += &format!("; {first} less {second} is {} points on average", fine(mean));
        }
        if let Some(paired) = c.paired.get() {
            text += &format!(" ({})", range(paired.interval));
        }
        if let Some(test) = c.wilcoxon.get() {
            text += &format!(", signed ranks {}", p(c.p_holm.unwrap_or(test.p)));
        }
        text + "."
    };
    panels.iter().map(one).collect::<Vec<_>>().join(" ")
}

//! Curves over the steeps: the mean in its interval, one line for each tea.

use crate::page::axis::{Axis, kept_apart};
use crate::page::canvas::{Drawing, Pen, Side, TEXT, WIDTH, fitted};
use crate::page::facts::{Facts, Figure, Pictured, mean_words};
use crate::page::how::How;
use crate::page::key::Key;
use crate::page::look::{Dash, Ink, Mark};
use crate::words::scale_words;
use protocol::Code;
use protocol::say::many;
use summary::find::describe::{Curve, Scale};

/// More teas than this get a small picture each, with the others faintly behind.
const TOGETHER: usize = 5;
/// The height of the picture of all teas, and of each small one.
const HEIGHT: f64 = 290.0;
const SMALL: f64 = 150.0;

pub fn curves(facts: &Facts<'_>, attribute: &str) -> Pictured {
    let all = facts.found().figures.curves.iter().filter(|c| c.attribute == attribute);
    let all: Vec<Curve> = all.map(|curve| facts.drawn(curve)).collect();
    let scored: Vec<&Curve> = all.iter().filter(|c| c.steeps.iter().any(|p| p.mean.is_some())).collect();
    let Some(scale) = facts.scale(attribute).filter(|_| !scored.is_empty()) else {
        return Err("Nobody has scored it, so there is no curve.".into());
    };
    let steeps = scored.iter().flat_map(|c| &c.steeps).filter(|p| p.mean.is_some()).map(|p| p.steep);
    let (first, last) = steeps.fold((u32::MAX, 0), |(a, b), s| (a.min(s), b.max(s)));
    if first >= last {
        return Err(format!("Only steep {last} was scored, so there is no curve from steep to steep."));
    }
    let levels = levels(scale, &scored);
    let span = (f64::from(first), f64::from(last));
    let teas: Vec<Code> = scored.iter().map(|curve| curve.tea).collect();
    let drawing = if scored.len() <= TOGETHER {
        let key = Key::of(facts, &teas, facts.teas().any(|(_, tea)| tea.name.is_some()));
        Drawing::of(HEIGHT + key.height(), |pen| {
            together(pen, facts, &scored, levels, span);
            key.draw(pen, HEIGHT);
        })
    } else {
        let rows = scored.len().div_ceil(2) as f64;
        Drawing::of(rows * SMALL, |pen| apart(pen, facts, &scored, levels, span))
    };
    let shown = if levels == (scale.min.into(), scale.max.into()) {
        String::new()
    } else {
        format!("; the picture shows {} to {} of it", levels.0, levels.1)
    };
    let tasters = scored.iter().flat_map(|c| &c.steeps).map(|p| p.n).filter(|&n| n > 0);
    let n = match (tasters.clone().min(), tasters.max()) {
        (Some(least), Some(most)) if least == most => format!("At each steep {}. ", many(most, "taster")),
        (Some(least), Some(most)) => format!("At each steep {least} to {most} tasters (see the table). "),
        _ => String::new(),
    };
    Ok(Figure {
        title: format!("{attribute} from steep to steep"),
        described: described(facts, &scored),
        evidence: String::new(),
        how: How::Curves { together: scored.len() <= TOGETHER },
        caption: format!(
            "{n}Scale {}{shown}.{}{}",
            scale_words(scale),
            facts.left_out(attribute, &teas),
            facts.not_drawn(attribute)
        ),
        drawing,
    })
}

/// The part of the scale to show: all means and intervals, in whole points, three points at least.
fn levels(scale: &Scale, curves: &[&Curve]) -> (f64, f64) {
    let (min, max) = (f64::from(scale.min), f64::from(scale.max));
    let points = curves.iter().flat_map(|c| &c.steeps);
    let values = points.flat_map(|p| {
        let ends = p.interval.get().map(|i| [i.low, i.high]);
        p.mean.into_iter().chain(ends.into_iter().flatten())
    });
    let (mut low, mut high) = values.fold((max, min), |(a, b), v| (a.min(v), b.max(v)));
    let step = if max - min > 20.0 { 10.0 } else { 1.0 };
    (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
    while high - low < 3.0 * step && high - low < max - min {
        (low, high) = ((low - step).max(min), (high + step).min(max));
    }
    (low.max(min), high.min(max))
}

fn steep_axis(pen: &mut Pen, steeps: &Axis, bottom: f64) {
    let most = ((steeps.place(steeps.high) - steeps.place(steeps.low)) / 22.0) as usize;
    for steep in steeps.ticks(most).into_iter().filter(|s| s.fract() == 0.0) {
        pen.text(&steep.to_string(), (steeps.place(steep), bottom + 15.0), Side::Middle, Ink::Black);
    }
}

/// All teas in one picture, each a little beside the next so that their intervals stay apart.
fn together(pen: &mut Pen, facts: &Facts<'_>, curves: &[&Curve], levels: (f64, f64), span: (f64, f64)) {
    let (top, bottom, left, right) = (10.0, HEIGHT - 44.0, 34.0, WIDTH - 52.0);
    let points = Axis::new(levels, (bottom, top));
    let steeps = Axis::new(span, (left + 22.0, right - 22.0));
    points.upward(pen, left, right, 8);
    steep_axis(pen, &steeps, bottom);
    pen.text("steep", ((left + right) / 2.0, bottom + 33.0), Side::Middle, Ink::Grey);
    let beside = |i: usize| (i as f64 - (curves.len() - 1) as f64 / 2.0) * 7.0;
    for (i, curve) in curves.iter().enumerate() {
        one(pen, facts, curve, &points, &steeps, beside(i), true);
    }
    let ends: Vec<f64> =
        curves.iter().map(|c| c.steeps.iter().rev().find_map(|p| p.mean).unwrap_or(points.low)).collect();
    let wanted: Vec<f64> = ends.iter().map(|&mean| points.place(mean)).collect();
    for (i, (curve, y)) in curves.iter().zip(kept_apart(&wanted, TEXT + 1.0, (top, bottom))).enumerate() {
        let place = facts.place(curve.tea);
        // The end of the line may lie at an earlier steep, where the tea had no more of them.
        let at = curve.steeps.iter().rev().find(|p| p.mean.is_some()).map_or(span.1, |p| f64::from(p.steep));
        pen.line(&[(steeps.place(at) + beside(i) + 6.0, wanted[i]), (right + 4.0, y)], Ink::Faint, 1.0);
        pen.mark((right + 11.0, y), Mark::of(place), Ink::Tea(place));
        pen.bold(&curve.tea.to_string(), (right + 19.0, y), Side::Right, Ink::Tea(place));
    }
}

/// A small picture for each tea, two beside each other, all on one scale.
fn apart(pen: &mut Pen, facts: &Facts<'_>, curves: &[&Curve], levels: (f64, f64), span: (f64, f64)) {
    for (i, curve) in curves.iter().enumerate() {
        let (column, row) = (i % 2, i / 2);
        let (x, y) = (column as f64 * WIDTH / 2.0, row as f64 * SMALL);
        let (top, bottom, left, right) = (y + 24.0, y + SMALL - 28.0, x + 30.0, x + WIDTH / 2.0 - 6.0);
        let points = Axis::new(levels, (bottom, top));
        let steeps = Axis::new(span, (left + 10.0, right - 10.0));
        points.upward(pen, left, right, 5);
        steep_axis(pen, &steeps, bottom);
        let name = fitted(&facts.label(curve.tea), WIDTH / 2.0 - 12.0);
        pen.bold(&name, (x + 4.0, y + 11.0), Side::Right, Ink::Black);
        for other in curves.iter().filter(|c| c.tea != curve.tea) {
            places(other, &points, &steeps, 0.0).iter().for_each(|part| pen.line(part, Ink::Faint, 1.0));
        }
        one(pen, facts, curve, &points, &steeps, 0.0, false);
    }
}

/// The parts of a line: it breaks where a steep was not served or nobody scored it.
fn places(curve: &Curve, points: &Axis, steeps: &Axis, beside: f64) -> Vec<Vec<(f64, f64)>> {
    let scored: Vec<(u32, f64)> = curve.steeps.iter().filter_map(|p| Some((p.steep, p.mean?))).collect();
    let at = |&(steep, mean): &(u32, f64)| (steeps.place(steep.into()) + beside, points.place(mean));
    scored.chunk_by(|a, b| a.0 + 1 == b.0).map(|part| part.iter().map(at).collect()).collect()
}

/// One line with its intervals, in the tea's own ink or in black.
fn one(
    pen: &mut Pen,
    facts: &Facts<'_>,
    curve: &Curve,
    points: &Axis,
    steeps: &Axis,
    beside: f64,
    own: bool,
) {
    let place = facts.place(curve.tea);
    let (ink, mark, dash) = if own {
        (Ink::Tea(place), Mark::of(place), Dash::of(place))
    } else {
        (Ink::Black, Mark::Disc, Dash::of(0))
    };
    for point in &curve.steeps {
        if let Some(interval) = point.interval.get() {
            points.interval_upward(pen, *interval, steeps.place(point.steep.into()) + beside, ink);
        }
    }
    for part in places(curve, points, steeps, beside) {
        pen.dashed(&part, ink, 2.0, dash);
        part.iter().for_each(|&at| pen.mark(at, mark, ink));
    }
}

fn described(facts: &Facts<'_>, curves: &[&Curve]) -> String {
    let point = |p: &summary::find::describe::CurvePoint| {
        let mean = p.mean.map_or("nobody scored".into(), |mean| mean_words(mean, p.interval.get()));
        format!("steep {} {mean}", p.steep)
    };
    let line = |curve: &&Curve| {
        let steeps: Vec<String> = curve.steeps.iter().map(point).collect();
        format!("{}: {}.", facts.label(curve.tea), steeps.join(", "))
    };
    format!("Means of the class. {}", curves.iter().map(line).collect::<Vec<_>>().join(" "))
}

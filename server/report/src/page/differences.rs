//! Which teas differ: the difference of every two in its interval, or, of many teas, their means with letters.

use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted};
use crate::page::facts::{Facts, Figure, Pictured};
use crate::page::how::How;
use crate::page::key::Key;
use crate::page::look::Ink;
use protocol::Code;
use stats::interval::SIGNIFICANCE;
use stats::say::{fine, p_of_family};
use summary::find::differences::{Difference, Tukey};
use summary::find::leaves::{ToldPair, told};
use summary::known::Known;

/// More teas than this have more pairs than a picture can show.
const PAIRED: usize = 6;
const ROW: f64 = 24.0;

/// The teas compared by one attribute (or by the total), over the steeps.
pub fn differences(facts: &Facts<'_>, difference: &Difference) -> Pictured {
    let tukey = match difference.pairs() {
        Known::Is(tukey) if !tukey.pairs.is_empty() => tukey,
        Known::Is(_) => return Err("There are no two teas to compare.".into()),
        Known::Not { why } => return Err(format!("The teas are not compared in pairs: {why}.")),
    };
    let pairs = match told(difference, &facts.found().figures.leaves) {
        Known::Is(pairs) => pairs,
        Known::Not { why } => return Err(format!("The teas are not compared in pairs: {why}.")),
    };
    // A pair counts only where the comparison as a whole does, with all attributes looked at.
    let whole = difference.test.get().is_some_and(|test| test.p_holm <= SIGNIFICANCE);
    let means = difference.compared();
    let adjusted =
        difference.by_ways.is_none() && difference.additive.as_ref().is_some_and(|a| a.get().is_some());
    let lettered = means.len() > PAIRED && means.len() == tukey.letters.len();
    let drawing =
        if lettered { letters(facts, tukey, &means) } else { intervals(facts, &difference.teas, &pairs) };
    let tested = difference.test.get().map_or(String::new(), |test| {
        let p = p_of_family(test.p, test.p_holm, test.family);
        format!("{} over all teas, {} tasters: {p}.", test.name, test.n)
    });
    let said = match (whole, lettered) {
        (false, _) => "No difference is shown, whatever one pair looks like.",
        (true, true) => "Teas joined by a line are not shown to differ.",
        (true, false) => "Bold, with a full dot: shown to differ. A ring: not shown.",
    };
    Ok(Figure {
        title: format!("{}: which teas differ", difference.attribute),
        described: described(&pairs),
        how: if lettered { How::Letters { adjusted } } else { How::Pairs { adjusted } },
        caption: format!("{said}{}", facts.left_out(&difference.attribute, &difference.teas)),
        evidence: tested,
        drawing,
    })
}

fn intervals(facts: &Facts<'_>, teas: &[Code], pairs: &[ToldPair]) -> Drawing {
    let ends = pairs.iter().flat_map(|p| p.interval.map_or([p.difference; 2], |i| [i.low, i.high]));
    let far = ends.filter(|v| v.is_finite()).fold(0.0f64, |far, v| far.max(v.abs())) * 1.05;
    let far = if far > 0.0 { far } else { 1.0 };
    let height = pairs.len() as f64 * ROW + 46.0;
    let axis = Axis::new((-far, far), (88.0, WIDTH - 54.0));
    let key = Key::of(facts, teas, false);
    Drawing::of(height + key.height(), |pen| {
        key.draw(pen, height);
        let bottom = height - 42.0;
        axis.across(pen, 4.0, bottom, 6);
        pen.line(&[(axis.place(0.0), 2.0), (axis.place(0.0), bottom)], Ink::Black, 1.4);
        pen.text("points, first less second", (axis.place(0.0), height - 12.0), Side::Middle, Ink::Grey);
        for (i, pair) in pairs.iter().enumerate() {
            let y = 16.0 + i as f64 * ROW;
            let (label, figure) = (format!("{} − {}", pair.first, pair.second), fine(pair.difference));
            if let Some(interval) = pair.interval {
                axis.interval_across(pen, interval, y, Ink::Black);
            }
            let at = (axis.place(pair.difference), y);
            pen.shown(pair.differs, &label, (80.0, y), Side::Left, Ink::Grey);
            pen.shown(pair.differs, &figure, (WIDTH - 4.0, y), Side::Left, Ink::Grey);
            if pair.differs {
                pen.dot(at, 4.2, Ink::Black);
            } else {
                pen.ring(at, 4.2, Ink::Black);
            }
        }
    })
}

/// Each letter is a column whose line joins the teas that have it.
fn letters(facts: &Facts<'_>, tukey: &Tukey, means: &[(Vec<Code>, f64)]) -> Drawing {
    let mut order: Vec<usize> = (0..means.len()).collect();
    order.sort_by(|&a, &b| means[b].1.total_cmp(&means[a].1));
    let mut all: Vec<char> = tukey.letters.iter().flat_map(|l| l.chars()).collect();
    all.sort_unstable();
    all.dedup();
    let gap = (110.0 / all.len().max(1) as f64).min(16.0);
    let first = WIDTH - 10.0 - gap * all.len().saturating_sub(1) as f64;
    let height = means.len() as f64 * ROW + 26.0;
    let row = |i: usize| 36.0 + i as f64 * ROW;
    let name = |codes: &[Code], width: f64| {
        let all: Vec<String> = codes.iter().map(|&code| facts.label(code)).collect();
        fitted(&all.join(", "), width)
    };
    Drawing::of(height, |pen| {
        for (i, &place) in order.iter().enumerate() {
            pen.text(&name(&means[place].0, first - 74.0), (4.0, row(i)), Side::Right, Ink::Black);
            pen.text(&fine(means[place].1), (first - 18.0, row(i)), Side::Left, Ink::Black);
        }
        for (column, letter) in all.iter().enumerate() {
            letter_column(pen, tukey, &order, *letter, first + column as f64 * gap);
        }
    })
}

fn letter_column(pen: &mut Pen, tukey: &Tukey, order: &[usize], letter: char, x: f64) {
    let row = |i: usize| 36.0 + i as f64 * ROW;
    let has = |place: usize| tukey.letters.get(place).is_some_and(|l| l.contains(letter));
    let rows: Vec<usize> = (0..order.len()).filter(|&i| has(order[i])).collect();
    pen.text(&letter.to_string(), (x, 12.0), Side::Middle, Ink::Black);
    if let (Some(&top), Some(&bottom)) = (rows.first(), rows.last()) {
        pen.line(&[(x, row(top)), (x, row(bottom))], Ink::Black, 1.8);
    }
    rows.iter().for_each(|&i| pen.dot((x, row(i)), 3.2, Ink::Black));
}

fn described(pairs: &[ToldPair]) -> String {
    let one = |pair: &ToldPair| {
        let shown = if pair.differs { "shown to differ" } else { "not shown to differ" };
        let (first, second, by) = (pair.first, pair.second, fine(pair.difference));
        let interval =
            pair.interval.map_or(String::new(), |i| format!(" ({} to {})", fine(i.low), fine(i.high)));
        format!("{first} less {second}: {by} points{interval}, {shown}.")
    };
    pairs.iter().map(one).collect::<Vec<_>>().join(" ")
}

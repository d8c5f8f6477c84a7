//! Each taster's means of the teas beside the class's. The page is for everybody, so tasters go by letters: who scores high
//! or low is for the seat's own page and for the teacher's tables.

use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Side, WIDTH};
use crate::page::facts::{Facts, Figure, Pictured};
use crate::page::how::How;
use crate::page::key::Key;
use crate::page::look::{Ink, Mark};
use protocol::Code;
use protocol::say::list;
use stats::say::{fine, signed};

/// More teas than this have no signs of their own; which is which then stands in the table only.
const SIGNED: usize = 6;
const ROW: f64 = 26.0;
const LEFT: f64 = 40.0;
/// How far from the class's mean counts as near in the words below, as a share of the scale: half a point of 1 to 9.
const NEAR: f64 = 1.0 / 16.0;

struct Taster<'a> {
    seat: &'a str,
    letter: String,
    /// The taster's mean of each tea less the class's.
    teas: Vec<(Code, f64)>,
    mean: f64,
}

pub fn agreement(facts: &Facts<'_>, attribute: &str) -> Pictured {
    let tasters = tasters(facts, attribute);
    if tasters.len() < 2 {
        return Err("It takes two tasters at least to compare one with the class.".into());
    }
    let agreed = facts
        .found()
        .figures
        .agreement
        .iter()
        .find(|a| a.attribute == attribute)
        .and_then(|a| a.kendall.get());
    let agreed = agreed.map_or(String::new(), |k| {
        format!("Kendall's W is {} (1: all put the teas in one order, 0: no common order).", fine(k.w))
    });
    let teas: Vec<Code> = facts.over_steeps(attribute).map(|(tea, ..)| tea).collect();
    let near = facts.scale(attribute).map_or(0.0, |scale| f64::from(scale.max - scale.min) * NEAR);
    Ok(Figure {
        title: format!("{attribute}: each taster and the class"),
        described: described(&tasters, near),
        evidence: agreed,
        how: How::Tasters { signs: facts.teas().count() <= SIGNED },
        caption: format!(
            "Each row is one taster: to the right of the line the teas that this one scored above the class's mean, to the left \
             those below it.{}",
            facts.left_out(attribute, &teas)
        ),
        drawing: drawn(facts, &tasters, &teas),
    })
}

fn tasters<'a>(facts: &Facts<'a>, attribute: &str) -> Vec<Taster<'a>> {
    let class: Vec<(Code, f64)> = facts.over_steeps(attribute).map(|(tea, mean, _)| (tea, mean)).collect();
    let mut tasters: Vec<Taster<'_>> = Vec::new();
    // In the order in which the seats came.
    for page in &facts.found().figures.seats {
        let own =
            facts.found().figures.means.iter().filter(|m| m.attribute == attribute && m.seat == page.seat);
        let beside =
            own.filter_map(|m| Some((m.tea, m.value - class.iter().find(|(tea, _)| *tea == m.tea)?.1)));
        let teas: Vec<(Code, f64)> = beside.collect();
        if !teas.is_empty() {
            let mean = teas.iter().map(|(_, points)| points).sum::<f64>() / teas.len() as f64;
            tasters.push(Taster { seat: &page.seat, letter: String::new(), teas, mean });
        }
    }
    tasters.sort_by(|a, b| b.mean.total_cmp(&a.mean));
    tasters.iter_mut().enumerate().for_each(|(place, taster)| taster.letter = letter(place));
    tasters
}

/// The seats with the letters that they go by in this attribute's picture, in the order of the letters.
pub fn letters(facts: &Facts<'_>, attribute: &str) -> Vec<(String, String)> {
    tasters(facts, attribute).into_iter().map(|taster| (taster.seat.to_string(), taster.letter)).collect()
}

/// A to Z, then AA, AB and so on.
fn letter(place: usize) -> String {
    let last = char::from(b'A' + (place % 26) as u8);
    match place / 26 {
        0 => last.to_string(),
        before => format!("{}{last}", letter(before - 1)),
    }
}

fn drawn(facts: &Facts<'_>, tasters: &[Taster<'_>], teas: &[Code]) -> Drawing {
    let all = tasters.iter().flat_map(|t| &t.teas).map(|(_, points)| points.abs());
    let far = (all.fold(0.0, f64::max) * 1.05).max(1.0);
    let axis = Axis::new((-far, far), (LEFT + 8.0, WIDTH - 14.0));
    let bottom = tasters.len() as f64 * ROW + 8.0;
    let signed_teas = facts.teas().count() <= SIGNED;
    let key = Key::of(facts, if signed_teas { teas } else { &[] }, true);
    Drawing::of(bottom + 42.0 + key.height(), |pen| {
        axis.across(pen, 4.0, bottom, 6);
        pen.line(&[(axis.place(0.0), 2.0), (axis.place(0.0), bottom)], Ink::Black, 1.4);
        pen.text(
            "points above or below the class",
            (axis.place(0.0), bottom + 29.0),
            Side::Middle,
            Ink::Grey,
        );
        for (i, taster) in tasters.iter().enumerate() {
            let y = 16.0 + i as f64 * ROW;
            pen.text(&taster.letter, (LEFT, y), Side::Left, Ink::Black);
            let middle = axis.place(taster.mean);
            pen.line(&[(middle, y - 11.0), (middle, y + 11.0)], Ink::Black, 2.6);
            for (tea, x, up) in beside(&axis, &taster.teas) {
                let place = facts.place(tea);
                if signed_teas {
                    pen.mark((x, y - up), Mark::of(place), Ink::Tea(place));
                } else {
                    pen.dot((x, y - up), 2.6, Ink::Grey);
                }
            }
        }
        key.draw(pen, bottom + 42.0);
    })
}

/// Where the signs of a line lie: those that would hide each other are spread evenly up and down.
fn beside(axis: &Axis, teas: &[(Code, f64)]) -> Vec<(Code, f64, f64)> {
    let mut placed: Vec<(Code, f64, f64)> =
        teas.iter().map(|&(tea, points)| (tea, axis.place(points), 0.0)).collect();
    placed.sort_by(|a, b| a.1.total_cmp(&b.1));
    for crowd in placed.chunk_by_mut(|a, b| b.1 - a.1 < 8.0) {
        let gap = (9.0f64).min(ROW * 0.7 / crowd.len() as f64);
        let middle = (crowd.len() - 1) as f64 / 2.0;
        for (i, (_, _, up)) in crowd.iter_mut().enumerate() {
            *up = (middle - i as f64) * gap;
        }
    }
    placed
}

fn described(tasters: &[Taster<'_>], near: f64) -> String {
    let one = |taster: &Taster<'_>| {
        let teas: Vec<String> =
            taster.teas.iter().map(|(tea, points)| format!("{tea} {}", signed(*points))).collect();
        let lies = if taster.mean.abs() <= near {
            "near the class".to_string()
        } else {
            let side = if taster.mean > 0.0 { "above" } else { "below" };
            format!("{} points {side} the class on average", fine(taster.mean.abs()))
        };
        format!("Taster {}: {lies} ({}).", taster.letter, list(&teas))
    };
    tasters.iter().map(one).collect::<Vec<_>>().join(" ")
}

//! All teas in one picture: every score, the mean in its interval, letters, and beside each tea how it was steeped.

use crate::lead::{Lead, LeadTea};
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::{Figure, Pictured, mean_words, not_in};
use crate::page::how::How;
use crate::page::look::Ink;
use crate::page::spread::{DOT, packed};
use crate::words::label;
use stats::say::signed;

/// Two lines of words above a tea's dots, and its mean below.
const HEAD: f64 = 37.0;
const FOOT: f64 = 16.0;
const LEFT: f64 = 12.0;
const RIGHT: f64 = WIDTH - 12.0;

pub fn overview(lead: Option<&Lead<'_>>) -> Pictured {
    let Some(lead) = lead.filter(|lead| !lead.teas.is_empty()) else {
        return Err("Nobody has scored a tea, so there is nothing to draw.".into());
    };
    let out = lead.left_out.iter().map(|(tea, why)| (label(tea), (*why).to_string()));
    Ok(Figure {
        title: format!("the teas by {}", lead.name),
        described: described(lead),
        caption: format!(
            "Each dot is one score, {}. {}Scale {}.{}",
            if lead.adjusted {
                "the diamond the mean with missing scores allowed for, as if every taster had scored every tea: since many are missing, the \
                 order and the letters go by it"
            } else {
                "the diamond the mean; the bar with end caps says how far off that mean may well be (95 % interval)"
            },
            lead.apart.words(),
            lead.scale,
            not_in(out)
        ),
        evidence: String::new(),
        how: How::Overview,
        drawing: drawn(lead),
    })
}

fn drawn(lead: &Lead<'_>) -> Drawing {
    let axis = Axis::new(lead.ends, (LEFT, RIGHT));
    let dots: Vec<Vec<(f64, f64)>> = lead.teas.iter().map(|tea| packed(&axis, &tea.scores)).collect();
    let depth = |dots: &Vec<(f64, f64)>| dots.iter().map(|d| d.1).fold(0.0, f64::max) + DOT;
    let heights: Vec<f64> = dots.iter().map(|dots| HEAD + depth(dots) + FOOT).collect();
    // The scale stands above, so that it is seen however long the picture is.
    let mut top = 19.0;
    let height = heights.iter().sum::<f64>() + top;
    Drawing::of(height, |pen| {
        axis.above(pen, top - 2.0, height, 10);
        for ((tea, dots), height) in lead.teas.iter().zip(&dots).zip(&heights) {
            one(pen, tea, dots, &axis, (top, top + height));
            top += height;
        }
    })
}

fn one(pen: &mut Pen, tea: &LeadTea<'_>, dots: &[(f64, f64)], axis: &Axis, (top, bottom): (f64, f64)) {
    // Paper behind the words, so that the axis's lines don't cross them.
    pen.bar((0.0, top + 1.0), (WIDTH, top + 33.0), Ink::Paper);
    let figure = format!("{} {}", signed(tea.mean), tea.letters);
    let figure = figure.trim_end();
    pen.bold(figure, (WIDTH - 4.0, top + 10.0), Side::Left, Ink::Black);
    let room = WIDTH - width_of(figure) * 1.1 - 20.0;
    pen.bold(&fitted(&label(tea.tea), room), (2.0, top + 10.0), Side::Right, Ink::Black);
    let recipe = tea.tea.recipe.as_ref().map_or("still blind".into(), ToString::to_string);
    pen.text(&fitted(&recipe, WIDTH - 6.0), (2.0, top + 26.0), Side::Right, Ink::Grey);
    let ground = bottom - FOOT;
    for &(x, up) in dots {
        pen.dot((x, ground - up), 2.2, Ink::Grey);
    }
    let y = bottom - FOOT + 9.0;
    if let Some(interval) = tea.interval {
        axis.interval_across(pen, interval, y, Ink::Black);
    }
    let x = axis.place(tea.mean);
    pen.area(&[(x, y - 5.0), (x + 5.0, y), (x, y + 5.0), (x - 5.0, y)], Ink::Black);
}

fn described(lead: &Lead<'_>) -> String {
    let one = |tea: &LeadTea<'_>| {
        let recipe = tea.tea.recipe.as_ref().map_or(String::new(), |way| format!(" ({way})"));
        let letters =
            if tea.letters.is_empty() { String::new() } else { format!(", letters {}", tea.letters) };
        format!(
            "{}{recipe}: {} of {} tasters, mean {}{letters}.",
            label(tea.tea),
            protocol::say::many(tea.scores.len(), "score"),
            tea.n,
            mean_words(tea.mean, tea.interval.as_ref())
        )
    };
    lead.teas.iter().map(one).collect::<Vec<_>>().join(" ")
}

//! The strength vote: bars to both sides of just right, and what a wrong strength costs in liking.

use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::{Facts, Figure, Pictured, why};
use crate::page::how::How;
use crate::page::look::{Ink, Mark};
use protocol::Code;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::fine;
use summary::find::strength::{PenaltyFinding, StrengthCup, StrengthFindings};

const ROW: f64 = 22.0;
const HEAD: f64 = 24.0;
const LEFT: f64 = 26.0;
const RIGHT: f64 = WIDTH - 88.0;
const NAMES: [&str; 5] = ["much too thin", "too thin", "just right", "too strong", "much too strong"];

pub fn votes(facts: &Facts<'_>, strength: &StrengthFindings) -> Pictured {
    let cups: Vec<&StrengthCup> = strength.cups.iter().filter(|cup| cup.n > 0).collect();
    if cups.is_empty() {
        return Err("Nobody has voted on the strength.".into());
    }
    Ok(Figure {
        title: "Strength: the votes".into(),
        described: described(facts, &cups),
        caption: String::new(),
        how: How::Votes,
        drawing: drawn(facts, &cups),
    })
}

/// Teas in their order with their cups.
fn by_tea<'a>(cups: &[&'a StrengthCup]) -> Vec<(Code, Vec<&'a StrengthCup>)> {
    cups.chunk_by(|a, b| a.tea == b.tea).map(|group| (group[0].tea, group.to_vec())).collect()
}

fn drawn(facts: &Facts<'_>, cups: &[&StrengthCup]) -> Drawing {
    let left = |c: &StrengthCup| (c.counts[0] + c.counts[1]) as f64 + c.counts[2] as f64 / 2.0;
    let right = |c: &StrengthCup| (c.counts[3] + c.counts[4]) as f64 + c.counts[2] as f64 / 2.0;
    let (far_left, far_right) =
        cups.iter().fold((0.0f64, 0.0f64), |(l, r), c| (l.max(left(c)), r.max(right(c))));
    let axis = Axis::new((-far_left.max(0.5), far_right.max(0.5)), (LEFT, RIGHT));
    let groups = by_tea(cups);
    let key = 48.0;
    let height = key + groups.len() as f64 * HEAD + cups.len() as f64 * ROW + 6.0;
    Drawing::of(height, |pen| {
        legend(pen);
        let mut y = key;
        for (tea, cups) in groups {
            pen.bold(
                &fitted(&facts.label(tea), WIDTH - 8.0),
                (2.0, y + HEAD / 2.0 + 1.0),
                Side::Right,
                Ink::Black,
            );
            y += HEAD;
            for cup in cups {
                bar(pen, cup, &axis, y + ROW / 2.0 - 1.0);
                y += ROW;
            }
        }
    })
}

fn legend(pen: &mut Pen) {
    let mut at = (2.0, 10.0);
    for (vote, name) in NAMES.iter().enumerate() {
        if at.0 + 18.0 + width_of(name) > WIDTH {
            at = (2.0, at.1 + 20.0);
        }
        pen.bar((at.0, at.1 - 5.5), (at.0 + 12.0, at.1 + 5.5), Ink::Vote(vote));
        pen.frame((at.0, at.1 - 5.5), (at.0 + 12.0, at.1 + 5.5), Ink::Grey);
        pen.text(name, (at.0 + 17.0, at.1), Side::Right, Ink::Black);
        at.0 += 30.0 + width_of(name);
    }
}

fn bar(pen: &mut Pen, cup: &StrengthCup, axis: &Axis, y: f64) {
    pen.text(&cup.steep.to_string(), (LEFT - 8.0, y), Side::Left, Ink::Black);
    pen.line(&[(axis.place(0.0), y - ROW / 2.0), (axis.place(0.0), y + ROW / 2.0)], Ink::Grey, 1.0);
    let mut from = -((cup.counts[0] + cup.counts[1]) as f64 + cup.counts[2] as f64 / 2.0);
    for (vote, &count) in cup.counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        let to = from + count as f64;
        let (left, right) = (axis.place(from), axis.place(to));
        pen.bar((left, y - 8.0), (right, y + 8.0), Ink::Vote(vote));
        pen.frame((left, y - 8.0), (right, y + 8.0), Ink::Paper);
        if right - left > width_of(&count.to_string()) + 3.0 {
            let ink = if vote == 0 || vote == 4 { Ink::Paper } else { Ink::Black };
            pen.text(&count.to_string(), ((left + right) / 2.0, y), Side::Middle, ink);
        }
        from = to;
    }
    if cup.counts[2] > 0 {
        let half = cup.counts[2] as f64 / 2.0;
        pen.frame((axis.place(-half), y - 8.0), (axis.place(half), y + 8.0), Ink::Grey);
    }
    let at = (WIDTH - 2.0, y);
    let word = match next(cup) {
        Some(Hint::Lengthen) => "longer",
        Some(Hint::Shorten) => "shorter",
        Some(Hint::Leave) => "as it is",
        Some(Hint::TooFewToTell) | None => return pen.text("can't tell", at, Side::Left, Ink::Grey),
    };
    let word = if shown(cup) { word.to_string() } else { format!("{word}?") };
    pen.shown(shown(cup), &word, at, Side::Left, Ink::Black);
}

/// Whether what to do next time is more than a hint.
fn shown(cup: &StrengthCup) -> bool {
    cup.hint.get().is_some_and(|hint| hint.p_holm <= SIGNIFICANCE)
}

fn next(cup: &StrengthCup) -> Option<Hint> {
    cup.hint.get().map(|hint| hint.hint)
}

fn described(facts: &Facts<'_>, cups: &[&StrengthCup]) -> String {
    let one = |cup: &&StrengthCup| {
        let votes = cup.counts.iter().zip(NAMES).filter(|(n, _)| **n > 0);
        let votes: Vec<String> = votes.map(|(n, name)| format!("{n} {name}")).collect();
        let a_hint = if shown(cup) { "" } else { "a hint: " };
        let (hint, next) = match next(cup) {
            Some(Hint::Lengthen) => (a_hint, "steep longer next time"),
            Some(Hint::Shorten) => (a_hint, "steep shorter next time"),
            Some(Hint::Leave) => (a_hint, "leave it as it is"),
            Some(Hint::TooFewToTell) | None => ("", "can't tell"),
        };
        format!("{} steep {}: {}; {hint}{next}.", facts.label(cup.tea), cup.steep, votes.join(", "))
    };
    cups.iter().map(one).collect::<Vec<_>>().join(" ")
}

/// What a wrong strength costs in liking: mean liking of those who find a tea too thin, just right, too strong.
pub fn penalty(facts: &Facts<'_>, strength: &StrengthFindings) -> Pictured {
    let found = strength.over_steeps.iter().filter_map(|line| Some((line.tea, line.penalty.get()?)));
    let known = found.filter(|(_, found)| found.too_thin.is_some() || found.too_strong.is_some());
    let known: Vec<(Option<Code>, &PenaltyFinding)> = known.collect();
    let Some(liking) = strength.liking.as_ref().filter(|_| !known.is_empty()) else {
        let why = strength.over_steeps.iter().find_map(|line| why(&line.penalty));
        let why = why.unwrap_or("all found it just right");
        return Err(format!("What a wrong strength costs in liking can't be told: {why}."));
    };
    let Some(scale) = facts.scale(liking) else { return Err("The liking has no scale.".into()) };
    let (min, max) = (f64::from(scale.min), f64::from(scale.max));
    Ok(Figure {
        title: "What a wrong strength costs in liking".into(),
        described: penalty_words(facts, &known),
        caption: String::new(),
        how: How::Penalty(liking.clone()),
        drawing: penalty_drawn(facts, &known, (min, max)),
    })
}

fn penalty_drawn(facts: &Facts<'_>, known: &[(Option<Code>, &PenaltyFinding)], scale: (f64, f64)) -> Drawing {
    let row = 62.0;
    let height = known.len() as f64 * row + 28.0;
    let axis = Axis::new(scale, (22.0, WIDTH - 22.0));
    Drawing::of(height, |pen| {
        axis.across(pen, 4.0, height - 26.0, 10);
        for (i, (tea, found)) in known.iter().enumerate() {
            let top = i as f64 * row;
            pen.bar((0.0, top + 1.0), (WIDTH, top + 19.0), Ink::Paper);
            let name = tea.map_or("all teas".into(), |tea| facts.label(tea));
            pen.bold(&fitted(&name, WIDTH - 8.0), (2.0, top + 10.0), Side::Right, Ink::Black);
            let points = groups(found);
            let ends = points.iter().fold((f64::MAX, f64::MIN), |(a, b), g| (a.min(g.1), b.max(g.1)));
            let y = top + 32.0;
            pen.line(&[(axis.place(ends.0), y), (axis.place(ends.1), y)], Ink::Grey, 1.4);
            let places: Vec<f64> = points.iter().map(|g| axis.place(g.1)).collect();
            let labels = crate::page::axis::kept_apart(&places, 40.0, (20.0, WIDTH - 20.0));
            for ((kind, mean, n), label) in points.iter().zip(labels) {
                let (mark, ink) = SIGNS[*kind];
                pen.mark((axis.place(*mean), y), mark, ink);
                pen.text(&format!("n {n}"), (label, y + 16.0), Side::Middle, Ink::Black);
            }
        }
    })
}

const SIGNS: [(Mark, Ink); 3] =
    [(Mark::Square, Ink::Vote(0)), (Mark::Ring, Ink::Black), (Mark::Triangle, Ink::Vote(4))];

/// Which vote, the mean liking, how many.
fn groups(found: &PenaltyFinding) -> Vec<(usize, f64, usize)> {
    let mut all = vec![(1, found.just_right_mean, found.just_right)];
    all.extend(found.too_thin.as_ref().map(|side| (0, side.mean, side.n)));
    all.extend(found.too_strong.as_ref().map(|side| (2, side.mean, side.n)));
    all
}

fn penalty_words(facts: &Facts<'_>, known: &[(Option<Code>, &PenaltyFinding)]) -> String {
    let one = |(tea, found): &(Option<Code>, &PenaltyFinding)| {
        let name = tea.map_or("All teas".into(), |tea| facts.label(tea));
        let mut text = format!("{name}: just right {} (n {})", fine(found.just_right_mean), found.just_right);
        for (side, what) in [(&found.too_thin, "too thin"), (&found.too_strong, "too strong")] {
            if let Some(side) = side {
                text += &format!(", {what} {} (n {}), {} less", fine(side.mean), side.n, fine(side.drop));
            }
        }
        text + "."
    };
    known.iter().map(one).collect::<Vec<_>>().join(" ")
}

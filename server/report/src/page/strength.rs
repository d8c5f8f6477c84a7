//! What a wrong strength costs in liking.

use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Side, WIDTH, fitted, width_of};
use crate::page::facts::{Facts, Figure, Pictured, not_in, why};
use crate::page::how::How;
use crate::page::look::{Ink, Mark};
use protocol::Code;
use stats::say::fine;
use summary::find::strength::{PenaltyFinding, PenaltyLine, PenaltySide, StrengthFindings};

/// Mean liking of those who find a tea too thin, just right, too strong.
pub fn penalty(facts: &Facts<'_>, strength: &StrengthFindings) -> Pictured {
    let found = strength.over_steeps.iter().filter_map(|line| Some((line.tea, line.penalty.get()?)));
    let known = found.filter(|(_, found)| groups(found).len() > 1);
    let known: Vec<(Option<Code>, &PenaltyFinding)> = known.collect();
    let out = strength.over_steeps.iter().filter(|line| known.iter().all(|(tea, _)| *tea != line.tea));
    let out = out.filter_map(|line| Some((facts.label(line.tea?), reason(line).to_string())));
    let Some(liking) = strength.liking.as_ref().filter(|_| !known.is_empty()) else {
        let why = strength.over_steeps.last().map_or("there is no tea", reason);
        return Err(format!("What a wrong strength costs in liking can't be told: {why}."));
    };
    let Some(scale) = facts.scale(liking) else { return Err("The liking has no scale.".into()) };
    let (min, max) = (f64::from(scale.min), f64::from(scale.max));
    Ok(Figure {
        title: "What a wrong strength costs in liking".into(),
        described: penalty_words(facts, &known),
        caption: format!(
            "How those liked it on average who found it too thin (square), just right (ring) and too strong (triangle); n: how many \
             votes. Groups of less than a fifth of the votes are left out.{}",
            not_in(out)
        ),
        evidence: String::new(),
        how: How::Penalty(liking.clone()),
        drawing: penalty_drawn(facts, &known, (min, max)),
    })
}

/// Why a line has no picture.
fn reason(line: &PenaltyLine) -> &str {
    why(&line.penalty).unwrap_or("fewer than a fifth found it too thin or too strong")
}

/// Between a line's name, its marks and the counts under them.
const HEAD: f64 = 32.0;
const COUNTS: f64 = 15.0;

fn penalty_drawn(facts: &Facts<'_>, known: &[(Option<Code>, &PenaltyFinding)], scale: (f64, f64)) -> Drawing {
    let axis = Axis::new(scale, (22.0, WIDTH - 22.0));
    let lines: Vec<Vec<(usize, f64, usize, usize)>> =
        known.iter().map(|(_, found)| counted(found, &axis)).collect();
    let heights = lines.iter().map(|marks| {
        let counts = marks.iter().map(|mark| mark.3 + 1).max().unwrap_or(1);
        HEAD + 10.0 + counts as f64 * COUNTS
    });
    let heights: Vec<f64> = heights.collect();
    let height = heights.iter().sum::<f64>() + 28.0;
    Drawing::of(height, |pen| {
        axis.across(pen, 4.0, height - 26.0, 10);
        let mut top = 0.0;
        for (((tea, _), marks), height) in known.iter().zip(&lines).zip(&heights) {
            pen.bar((0.0, top + 1.0), (WIDTH, top + 19.0), Ink::Paper);
            let name = tea.map_or("all teas".into(), |tea| facts.label(tea));
            pen.bold(&fitted(&name, WIDTH - 8.0), (2.0, top + 10.0), Side::Right, Ink::Black);
            let y = top + HEAD;
            let ends = marks.iter().fold((f64::MAX, f64::MIN), |(a, b), mark| (a.min(mark.1), b.max(mark.1)));
            pen.line(&[(ends.0, y), (ends.1, y)], Ink::Grey, 1.4);
            for &(kind, x, n, line) in marks {
                let (mark, ink) = SIGNS[kind];
                let under = y + 1.0 + (line + 1) as f64 * COUNTS;
                if line > 0 {
                    pen.line(&[(x, y), (x, under - 7.0)], Ink::Faint, 1.0);
                }
                pen.mark((x, y), mark, ink);
                pen.text(&format!("n {n}"), (x, under), Side::Middle, Ink::Black);
            }
            top += height;
        }
    })
}

/// Each mark: which vote, where it lies, how many votes, and on which line under it they stand, so that none hides another.
fn counted(found: &PenaltyFinding, axis: &Axis) -> Vec<(usize, f64, usize, usize)> {
    let mut marks: Vec<(usize, f64, usize)> =
        groups(found).into_iter().map(|(kind, mean, n)| (kind, axis.place(mean), n)).collect();
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut ends: Vec<f64> = Vec::new();
    let lined = marks.into_iter().map(|(kind, x, n)| {
        let half = width_of(&format!("n {n}")) / 2.0;
        let line = ends.iter().position(|end| x - half > end + 4.0).unwrap_or(ends.len());
        ends.resize(ends.len().max(line + 1), f64::MIN);
        ends[line] = x + half;
        (kind, x, n, line)
    });
    lined.collect()
}

const SIGNS: [(Mark, Ink); 3] =
    [(Mark::Square, Ink::Vote(0)), (Mark::Ring, Ink::Black), (Mark::Triangle, Ink::Vote(4))];

/// Which vote, the mean liking, how many; of groups of a fifth of the votes at least.
fn groups(found: &PenaltyFinding) -> Vec<(usize, f64, usize)> {
    let mut all = vec![(1, found.just_right_mean, found.just_right)];
    let of = |kind: usize, side: &Option<PenaltySide>| {
        side.as_ref().filter(|side| side.large_enough).map(|side| (kind, side.mean, side.n))
    };
    all.extend(of(0, &found.too_thin));
    all.extend(of(2, &found.too_strong));
    all
}

fn penalty_words(facts: &Facts<'_>, known: &[(Option<Code>, &PenaltyFinding)]) -> String {
    let one = |(tea, found): &(Option<Code>, &PenaltyFinding)| {
        let name = tea.map_or("All teas".into(), |tea| facts.label(tea));
        let mut text = format!("{name}: just right {} (n {})", fine(found.just_right_mean), found.just_right);
        for (side, what) in [(&found.too_thin, "too thin"), (&found.too_strong, "too strong")] {
            if let Some(side) = side.as_ref().filter(|side| side.large_enough) {
                text += &format!(", {what} {} (n {}), {} less", fine(side.mean), side.n, fine(side.drop));
            }
        }
        text + "."
    };
    known.iter().map(one).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_votes_stand_under_their_mark_and_none_hides_another(
            means in prop::array::uniform3(1.0f64..=9.0), counts in prop::array::uniform3(1usize..500),
        ) {
            let side = |mean, n| {
                Some(PenaltySide { n, share: 0.3, large_enough: true, mean, drop: 0.0, test: None, p_holm: None })
            };
            let found = PenaltyFinding {
                n: counts.iter().sum(),
                just_right: counts[1],
                just_right_mean: means[1],
                too_thin: side(means[0], counts[0]),
                too_strong: side(means[2], counts[2]),
            };
            let axis = Axis::new((1.0, 9.0), (22.0, WIDTH - 22.0));
            let marks = counted(&found, &axis);
            for &(kind, x, n, _) in &marks {
                prop_assert_eq!((x, n), (axis.place(means[kind]), counts[kind]));
            }
            for (i, a) in marks.iter().enumerate() {
                for b in &marks[i + 1..] {
                    let both = (width_of(&format!("n {}", a.2)) + width_of(&format!("n {}", b.2))) / 2.0;
                    prop_assert!(a.3 != b.3 || (a.1 - b.1).abs() > both, "{marks:?}");
                }
            }
        }
    }
}

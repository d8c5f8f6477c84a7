//! Which way the evidence would have a steep go, in words: what is shown is advice, of other votes it is told which way they lean.

use crate::several::votes::Rule;
use crate::several::ways::Way;
use stats::interval::SIGNIFICANCE;
use stats::penalty::{Hint, SteepHint};
use stats::say::{fine, p as chance, p_of_family};

/// One rule. `tests` is how many tests Holm went over.
pub(in crate::several) fn words(
    rule: &Rule,
    hint: &SteepHint,
    way: &Way,
    tests: usize,
    scale_name: &str,
) -> String {
    let seconds = rule.steep_s.map_or(String::new(), |s| format!(" ({s} s)"));
    let shown = rule.p_of_all <= SIGNIFICANCE;
    let (verdict, test) = match (rule.favours, shown) {
        (Hint::Leave, true) => ("leave it", "exact binomial test"),
        (Hint::Leave, false) => ("the votes lean to just right, which is not shown", "exact binomial test"),
        (Hint::Lengthen, true) => ("lengthen", "exact sign test"),
        (Hint::Lengthen, false) => ("the votes lean to too thin, which is not shown", "exact sign test"),
        (Hint::Shorten, true) => ("shorten", "exact sign test"),
        (Hint::Shorten, false) => ("the votes lean to too strong, which is not shown", "exact sign test"),
        (Hint::TooFewToTell, _) => ("too few or too divided to tell", ""),
    };
    let p = match rule.favours {
        Hint::TooFewToTell => String::new(),
        Hint::Leave => format!("; {test}, n {}, {}", rule.n, p_of_family(rule.p, rule.p_of_all, tests)),
        _ => format!("; {test}, n {}, {}", hint.unhappy, p_of_family(rule.p, rule.p_of_all, tests)),
    };
    let cost = match rule.favours {
        Hint::Lengthen => rule.too_thin_costs.map(|points| ("too thin", points)),
        Hint::Shorten => rule.too_strong_costs.map(|points| ("too strong", points)),
        _ => None,
    };
    let cost = cost.map_or(String::new(), |(what, points)| {
        let side = if points < 0.0 { "above" } else { "below" };
        let points = fine(points.abs());
        format!(
            ". Who finds it {what} scores {points} points {side} those who find it just right in {scale_name} (not tested)"
        )
    });
    let classes = match (&rule.classes[..], rule.moves) {
        ([_, _, ..], Some(moves)) if moves.p <= SIGNIFICANCE => {
            let each: Vec<String> =
                rule.classes.iter().map(|c| format!("class {} {}", c.class, split(&c.counts))).collect();
            format!(
                ". But the classes do not vote alike (F {:.2}, {}): {}",
                moves.statistic,
                chance(moves.p),
                each.join("; ")
            )
        }
        _ => String::new(),
    };
    let votes = split(&rule.counts);
    format!("{}, steep {}{seconds}: {verdict} ({votes}{p}){cost}{classes}", way.called, rule.steep)
}

/// Thin, right and strong in one word.
fn split(counts: &[usize; 5]) -> String {
    format!("{} thin, {} right, {} strong", counts[0] + counts[1], counts[2], counts[3] + counts[4])
}

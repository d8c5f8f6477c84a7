//! What will not go as wished, in sentences that name the teas (by their codes: a run sheet lies open on the table), the
//! seconds and the nearest change that helps. What is alike in several rounds or for several teas is said once.

mod kettles;
mod spread;
mod vessels;

#[cfg(test)]
mod tests;

use super::kettles::KettleStep;
use super::placed::RoundDocument;
use super::quantities::Quantities;
use super::rounds::Proved;
use super::water;
use class::taste::LEAST_A_CUP_S;
use class::{Class, Tea};
pub(super) use kettles::is_queue;
use protocol::Code;
use std::collections::BTreeSet;

/// Below this many seconds between two tasks of one pair of hands a person is likely to be late.
const SHORT_GAP_S: u32 = 2;

/// All warnings, the most pressing first, each said once: what can't be had at all, what the room or the people can't do,
/// and then what is only less good than wished.
pub fn all(
    class: &Class,
    boiling_c: f64,
    rounds: &[RoundDocument],
    kettles: &[KettleStep],
    quantities: &Quantities,
) -> Vec<String> {
    let mut said = Vec::new();
    said.extend(vessels::none(class, quantities));
    said.extend(out_of_reach(class, boiling_c));
    said.extend(kettles::queue(class));
    said.extend(kettles::current(class));
    said.extend(short_tasting(class, rounds));
    said.extend(unproven(rounds));
    said.extend(spread::over_the_wish(class, rounds));
    said.extend(kettles::waits(rounds));
    said.extend(kettles::refills(class, rounds));
    said.extend(kettles::changes(class, rounds, kettles));
    said.extend(vessels::nearly_one_less(class, quantities));
    said.extend(gaps(class, rounds));
    said.extend(hot_cups(rounds));
    said
}

/// Whether two warnings say the same, of whatever teas, rounds and amounts: they have the same words, short ones and numbers aside.
pub fn alike(one: &str, other: &str) -> bool {
    let words = |text: &str| -> BTreeSet<String> {
        let words = text.split(|c: char| !c.is_alphabetic()).filter(|word| word.chars().count() > 3);
        words.map(|word| word.trim_end_matches('s').to_lowercase()).collect()
    };
    words(one) == words(other)
}

fn out_of_reach(class: &Class, boiling_c: f64) -> Option<String> {
    let tolerance_c = class.setting.tolerance_c;
    let set_points = class.teas.iter().flat_map(|t| t.temp_c.iter().copied());
    let hottest = set_points.filter(|&c| c > boiling_c + tolerance_c).max_by(f64::total_cmp)?;
    let over = |t: &Tea| t.temp_c.iter().any(|&c| c > boiling_c + tolerance_c);
    let codes: Vec<Code> = class.coded().filter(|(_, t)| over(t)).map(|(code, _)| code).collect();
    water::reach_warning(hottest, boiling_c, tolerance_c)
        .map(|w| format!("{w} It concerns {}.", listed(&codes)))
}

fn short_tasting(class: &Class, rounds: &[RoundDocument]) -> Option<String> {
    let cups = rounds.iter().map(|r| r.plan.cups.len() as u32).max().filter(|&cups| cups > 0)?;
    let each_s = class.taste_s / cups;
    (each_s < LEAST_A_CUP_S).then(|| {
        format!(
            "{} to taste {cups} cups are {each_s} s a cup; a taster needs {LEAST_A_CUP_S} s to sip and to score. What would \
             help: taste_s = {}.",
            words_s(class.taste_s),
            cups * LEAST_A_CUP_S
        )
    })
}

fn unproven(rounds: &[RoundDocument]) -> Option<String> {
    let gain_s = |p: Proved| p.value_s - p.bound_s;
    let open: Vec<String> = rounds
        .iter()
        .filter(|r| !r.plan.starts_proven)
        .map(|r| {
            format!(
                "round {} (at most {} s of spread and {} s to the last cup could be gained)",
                r.plan.round,
                gain_s(r.plan.spread),
                gain_s(r.plan.last_cup)
            )
        })
        .collect();
    (!open.is_empty()).then(|| format!("Not proven to be the best there is: {}.", open.join(", ")))
}

fn gaps(class: &Class, rounds: &[RoundDocument]) -> Option<String> {
    let least = rounds.iter().filter_map(|r| r.plan.smallest_gap_s).min()?;
    (least < SHORT_GAP_S && class.setting.gap_s < SHORT_GAP_S).then(|| {
        format!("The shortest pause of one pair of hands between two teas is {least} s. A setting of gap_s = 3 gives them time.")
    })
}

fn hot_cups(rounds: &[RoundDocument]) -> Option<String> {
    let spans = rounds
        .iter()
        .flat_map(|r| r.plan.cups.iter().zip(&r.when_tasted))
        .filter_map(|(c, s)| Some((c.code, (*s)?)));
    let hottest: (Code, water::Span) = spans.max_by(|a, b| a.1.high_c.total_cmp(&b.1.high_c))?;
    water::lips_warning(hottest.1).map(|w| format!("{}: {w}", hottest.0))
}

/// Several things as a person lists them: `1, 2 and 4`.
fn listed<T: ToString>(all: &[T]) -> String {
    let mut words: Vec<String> = all.iter().map(ToString::to_string).collect();
    match (words.pop(), words.is_empty()) {
        (None, _) => String::new(),
        (Some(last), true) => last,
        (Some(last), false) => format!("{} and {last}", words.join(", ")),
    }
}

/// Rounds by their numbers, as a sentence begins: `Round 2`, `Rounds 1 (a) and 3 (b; c)`, with what is to be said of each.
fn each_round(rounds: &[(u32, String)]) -> String {
    let one = |of: &[(u32, String)]| {
        let words: Vec<&str> = of.iter().map(|(_, words)| words.as_str()).collect();
        of.first().map_or(String::new(), |(round, _)| format!("{round} ({})", words.join("; ")))
    };
    let each: Vec<String> = rounds.chunk_by(|a, b| a.0 == b.0).map(one).collect();
    format!("Round{} {}", if each.len() == 1 { "" } else { "s" }, listed(&each))
}

/// Seconds as a person says them.
pub fn words_s(seconds: u32) -> String {
    match (seconds / 3600, seconds / 60 % 60, seconds % 60) {
        (0, 0, s) => format!("{s} s"),
        (0, m, 0) => format!("{m} min"),
        (0, m, s) => format!("{m} min {s} s"),
        (h, 0, 0) => format!("{h} h"),
        (h, m, _) => format!("{h} h {m} min"),
    }
}

//! Why a tea is in the next class, and how much closer that class comes to the best, in words.

use super::choose::Asked;
use crate::spot::Spot;
use crate::spot::coding::{Factor, What};
use crate::spot::pour::Pour;
use crate::spot::say::{called, towards};
use protocol::say::list;

/// A way differs in a factor from the best if it is so many steps off.
const OFF: f64 = 0.4;
/// A way lies beyond what was tasted if it does by so many steps: less is the rounding of what is poured.
const BEYOND: f64 = 0.1;

/// Why the best so far, in coded units, is there.
pub(super) fn tie(asked: &Asked<'_>, best: &[f64]) -> &'static str {
    match (asked.fitted.is_some(), asked.tasted(best)) {
        (false, true) => "the middle of what was tasted, once more: it ties this class to those before",
        (false, false) => "the middle of what was tasted",
        (true, true) => "the best so far, once more: it ties this class to those before",
        (true, false) => "the best so far, by all scores together; nobody has tasted just this yet",
    }
}

/// Why one of the two that come again is there, from 0.
pub(super) fn once_more(number: usize) -> &'static str {
    match number {
        0 => "once more, blind: the way liked best so far",
        _ => "once more, blind: the next best so far; is it really liked less?",
    }
}

/// Why a way, in coded units, is there: which factor it moves from the best and where to, and whether that lies beyond what was tasted.
pub(super) fn why(asked: &Asked<'_>, way: &[f64]) -> String {
    let (from, to) = (asked.pour(&asked.best), asked.pour(way));
    let best = if asked.fitted.is_some() { "the best" } else { "the middle" };
    let again = if asked.tasted(way) { "tasted before, once more" } else { "new" };
    let all = || asked.coding.factors.iter().zip(asked.best.iter().zip(way));
    let is_beyond = |factor: &Factor, x: f64| {
        let (low, high) = asked.tried(factor);
        asked.fitted.is_some() && (x < low - BEYOND || x > high + BEYOND)
    };
    let edge = |factor: &Factor, more: bool| {
        let said = if more { factor.high } else { factor.low };
        let end = if more { "at most" } else { "at least" };
        match factor.what {
            What::Dose => format!("so far {end} {} g", tenths(said * to.water_ml / 100.0)),
            What::Temperature => format!("so far {end} {said:.0} °C"),
            What::Time => format!("so far {end} {said:.0} s"),
        }
    };
    let beyond: Vec<String> = all()
        .filter(|(factor, (_, x))| is_beyond(factor, **x))
        .map(|(factor, (best, x))| {
            format!(
                "{} ({}, {})",
                towards(factor.what, x > best),
                amount(factor.what, &to),
                edge(factor, x > best)
            )
        })
        .collect();
    let moved: Vec<String> = all()
        .filter(|(factor, (best, x))| (*x - *best).abs() >= OFF && !is_beyond(factor, **x))
        .map(|(factor, (best, x))| {
            let (to, from) = (amount(factor.what, &to), amount(factor.what, &from));
            format!("{} ({to}, not {from})", towards(factor.what, x > best))
        })
        .collect();
    match (&beyond[..], &moved[..]) {
        ([], []) => format!("{again}, close by {best}: how quickly does the liking fall about it?"),
        ([], [one]) => format!("{again}: {one} than {best}, and nothing else: is that liked better?"),
        ([], some) => format!("{again}: {} than {best}: does one make up for the other?", list(some)),
        (out, []) => format!("{again}, beyond what was tasted: {}", list(out)),
        (out, some) => {
            format!("{again}, beyond what was tasted: {}; and {} than {best}", list(out), list(some))
        }
    }
}

/// "4.2 g", "85 °C", "25 s".
fn amount(what: What, of: &Pour) -> String {
    match what {
        What::Dose => format!("{} g", of.leaf_g),
        What::Temperature => format!("{} °C", of.temp_c.first().copied().unwrap_or_default()),
        What::Time => format!("{} s", of.steep_s.first().copied().unwrap_or_default()),
    }
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// How closely the best is known now, half of how far it may lie either way, and after a class that leaves this share of it, factor by
/// factor: "The dose is known to about 1 g now, about 0.6 g after this class."
pub(super) fn closer(asked: &Asked<'_>, spot: &Spot, left: &[f64]) -> String {
    let Some(region) = &spot.answer.region else {
        return "How closely the best is known can be said once these were tasted.".into();
    };
    let of = |what: What, half: f64| match what {
        What::Dose => format!("{} g", tenths(half * asked.leaf.water_ml / 100.0).max(0.1)),
        What::Temperature => format!("{:.0} °C", half.max(1.0)),
        What::Time => format!("{:.0} s", half.max(1.0)),
    };
    let (open, known): (Vec<_>, Vec<_>) =
        region.factors.iter().zip(left).partition(|(own, _)| own.open_below && own.open_above);
    let known: Vec<String> = known
        .iter()
        .map(|(own, left)| {
            let half = (own.high - own.low) / 2.0;
            let (now, then) = (of(own.what, half), of(own.what, half * **left));
            let the = called(own.what).replacen('t', "T", 1);
            format!("{the} is known to about {now} now, about {then} after this class.")
        })
        .collect();
    let open: Vec<String> = open.iter().map(|(own, _)| called(own.what).to_string()).collect();
    let open =
        (!open.is_empty()).then(|| format!("Of {} any that was tasted may still be the best.", list(&open)));
    known.into_iter().chain(open).collect::<Vec<_>>().join(" ")
}

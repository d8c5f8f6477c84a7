//! What kettles can't do, or keep the class waiting for.

use super::{each_round, words_s};
use crate::filling::Filling;
use crate::kettles::{Deed, KettleStep};
use crate::placed::RoundDocument;
use class::{Class, Pourers};

/// Volts of the mains in most of the world (IEC 60038).
const MAINS_V: f64 = 230.0;
/// What one circuit of a room commonly gives, amperes. Common practice, no source.
const CIRCUIT_A: f64 = 16.0;
/// A heating between two pours that is shorter than this is not worth a word, seconds.
const SHORT_HEATING_S: u32 = 30;

fn names(class: &Class) -> String {
    let names: Vec<&str> = class.setting.kettles.iter().map(|k| k.name.as_str()).collect();
    super::listed(&names)
}

/// Seats that all pour from the same kettles at the same cue.
pub(super) fn queue(class: &Class) -> Option<String> {
    is_queue(class).then(|| {
        format!(
            "All {} seats draw from {} at the same cue, and one kettle pours for one seat at a time: the last one pours about \
             {} later than the cue says, and no time below holds for all of them. What would help: a kettle for each seat \
             (shared_kettles = false), or pourers who serve everybody (pourers = 1).",
            class.seats,
            names(class),
            words_s((class.seats - 1).div_ceil(class.setting.kettles.len() as u32) * class.pour_s)
        )
    })
}

/// Whether seats have to wait for each other at a kettle, which no plan counts in.
pub fn is_queue(class: &Class) -> bool {
    let shares = class.pourers == Pourers::EachSeat && class.setting.shared_kettles && class.seats > 1;
    shares && !class.setting.kettles.is_empty()
}

/// More current than a circuit gives.
pub(super) fn current(class: &Class) -> Option<String> {
    let sets =
        if class.pourers == Pourers::EachSeat && !class.setting.shared_kettles { class.seats } else { 1 };
    let kettles = sets as usize * class.setting.kettles.len();
    let watts = f64::from(sets) * class.setting.kettles.iter().map(|k| k.watts).sum::<f64>();
    let amperes = watts / MAINS_V;
    (amperes > CIRCUIT_A).then(|| {
        let circuits = (amperes / CIRCUIT_A).ceil();
        let help = if circuits > 4.0 { "water from fewer kettles, brought hot in flasks" } else { "weaker kettles" };
        format!(
            "{kettles} kettle{} heating at the same time draw {watts:.0} W, which is {amperes:.0} A at {MAINS_V:.0} V (twice as \
             much at 115 V); a circuit commonly gives {CIRCUIT_A:.0} A. What would help: {circuits:.0} circuits, or {help}.",
            if kettles == 1 { "" } else { "s" }
        )
    })
}

/// Waiting for a kettle, which is rarely what a teacher wants.
pub(super) fn waits(rounds: &[RoundDocument]) -> Option<String> {
    let wait = |r: &RoundDocument| (r.waits_s > 0).then(|| (r.plan.round, words_s(r.waits_s)));
    let waits: Vec<(u32, String)> = rounds.iter().filter_map(wait).collect();
    let before = if waits.last()?.0 > 1 { "a longer pause or break before it, " } else { "" };
    Some(format!(
        "{} wait{} for the kettles. What would help: {before}another or a stronger kettle, or temperatures closer together.",
        each_round(&waits),
        if waits.len() == 1 { "s" } else { "" }
    ))
}

/// Kettles that have to be filled while a round is poured.
pub(super) fn refills(class: &Class, rounds: &[RoundDocument]) -> Vec<String> {
    let of = |(k, kettle): (usize, &class::setting::Kettle)| {
        let gives_ml = Filling::of(kettle).usable_ml;
        let mine = |r: &RoundDocument, filled: bool| {
            let cups = r.plan.cups.iter();
            let mine = cups.filter(move |c| c.kettle == Some(k + 1) && (c.refill_after || !filled));
            mine.cloned().collect::<Vec<_>>()
        };
        let drawn_ml = |r: &RoundDocument| mine(r, false).iter().map(|c| c.draw_ml).sum::<f64>();
        // A kettle that holds all that is drawn is filled only to be cooler.
        let after = |cooled: bool| {
            let one = |r: &RoundDocument| {
                let codes: Vec<_> = mine(r, true).iter().map(|c| c.code).collect();
                let asked = !codes.is_empty() && Filling::holds(gives_ml, drawn_ml(r)) == cooled;
                asked.then(|| (r.plan.round, format!("after {}", super::listed(&codes))))
            };
            rounds.iter().filter_map(one).collect::<Vec<(u32, String)>>()
        };
        let most_ml: f64 = rounds.iter().map(drawn_ml).fold(0.0, f64::max);
        let short = after(false);
        let short = (!short.is_empty()).then(|| {
            format!(
                "{}: {} has to be filled up while the round is poured: it gives {gives_ml:.0} ml a filling, and up to {most_ml:.0} \
                 ml are drawn. What would help: a larger kettle ({:.0} ml), a second one, or less water.",
                each_round(&short),
                kettle.name,
                (Filling::full_for(most_ml) / 50.0).ceil() * 50.0
            )
        });
        let cooled = after(true);
        let cooled = (!cooled.is_empty()).then(|| {
            format!(
                "{}: {} is emptied and filled afresh between two pours, which is sooner than waiting until it is cooler. What \
                 would help: another kettle.",
                each_round(&cooled),
                kettle.name
            )
        });
        short.into_iter().chain(cooled)
    };
    class.setting.kettles.iter().enumerate().flat_map(of).collect()
}

/// Changes of a set point between two pours of a round. A change that fits into the tasting before makes nobody wait.
pub(super) fn changes(class: &Class, rounds: &[RoundDocument], kettles: &[KettleStep]) -> Vec<String> {
    let mut said = Vec::new();
    for (k, kettle) in class.setting.kettles.iter().enumerate() {
        let (mut cools, mut heats) = (Vec::new(), Vec::new());
        for step in kettles.iter().filter(|s| s.kettle == k + 1) {
            let Deed::Set { from_c, set_c, takes_s } = step.deed else { continue };
            let Some(round) = rounds.iter().find(|r| r.plan.round == step.round) else { continue };
            if step.at_s < i64::from(round.begins_s) {
                continue;
            }
            let words = (step.round, format!("from {from_c} to {set_c} °C, {}", words_s(takes_s)));
            if set_c < from_c {
                cools.push(words);
            } else if takes_s >= SHORT_HEATING_S {
                heats.push(words);
            }
        }
        if !cools.is_empty() {
            said.push(format!(
                "{}: {} has to cool between two pours. What would help: another kettle, or cold water into this one.",
                each_round(&cools),
                kettle.name
            ));
        }
        if !heats.is_empty() {
            said.push(format!(
                "{}: {} heats between two pours. What would help: another kettle.",
                each_round(&heats),
                kettle.name
            ));
        }
    }
    said
}

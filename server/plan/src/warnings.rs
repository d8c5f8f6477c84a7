//! What will not go as wished, in sentences that name the teas (by their codes: a run sheet lies open on the table), the seconds and the nearest change that helps.

use super::kettles::{Deed, KettleStep};
use super::placed::RoundDocument;
use super::quantities::Quantities;
use super::rounds::{CupPlan, RoundPlan, plan_rounds_by};
use super::water;
use class::{Class, Tea};
use protocol::Code;

/// Below this many seconds between two tasks of one pair of hands a person is likely to be late.
const SHORT_GAP_S: u32 = 2;

/// All warnings, the most pressing first, each said once.
pub fn all(
    class: &Class,
    boiling_c: f64,
    rounds: &[RoundDocument],
    kettles: &[KettleStep],
    quantities: &Quantities,
) -> Vec<String> {
    let mut said = Vec::new();
    let tolerance_c = class.setting.tolerance_c;
    let set_points = class.teas.iter().flat_map(|t| t.temp_c.iter().copied());
    let hottest = set_points.filter(|&c| c > boiling_c + tolerance_c).max_by(f64::total_cmp);
    if let Some(set_c) = hottest {
        let over = |t: &Tea| t.temp_c.iter().any(|&c| c > boiling_c + tolerance_c);
        let names: Vec<String> =
            class.coded().filter(|(_, t)| over(t)).map(|(code, _)| code.to_string()).collect();
        said.extend(
            water::reach_warning(set_c, boiling_c, tolerance_c)
                .map(|w| format!("{w} It concerns {}.", names.join(", "))),
        );
    }
    said.extend(unproven(rounds));
    said.extend(spreads(class, rounds));
    said.extend(kettle_waits(class, rounds, kettles));
    said.extend(gaps(class, rounds));
    said.extend(hot_cups(rounds));
    for ((code, _), need) in class.coded().zip(&quantities.teas) {
        if need.vessels.is_none() {
            said.push(format!(
                "{code}: the leaf would keep all the water of its first steep; take more water or less leaf."
            ));
        }
    }
    said
}

fn unproven(rounds: &[RoundDocument]) -> Option<String> {
    let open: Vec<String> = rounds
        .iter()
        .filter(|r| !r.plan.starts_proven)
        .map(|r| {
            let gain_s = |p: super::rounds::Proved| p.value_s - p.bound_s;
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

/// Cups that get ready too far apart for the teacher's wish, and what would really help: each change is planned.
fn spreads(class: &Class, rounds: &[RoundDocument]) -> Vec<String> {
    let Some(wish_s) = class.setting.ready_within_s else { return Vec::new() };
    let over: Vec<&RoundDocument> = rounds.iter().filter(|r| r.plan.spread.value_s > wish_s).collect();
    if over.is_empty() {
        return Vec::new();
    }
    let changes = changes(class);
    let say = |r: &&RoundDocument| {
        let spread_s = r.plan.spread.value_s;
        let by_ready = |latest: bool| {
            let key = |c: &&CupPlan| c.ready_at_s;
            let cup =
                if latest { r.plan.cups.iter().max_by_key(key) } else { r.plan.cups.iter().min_by_key(key) };
            cup.map_or(String::new(), |c| c.code.to_string())
        };
        let then_s =
            |rounds: &[RoundPlan]| rounds.iter().find(|p| p.round == r.plan.round).map(|p| p.spread.value_s);
        let better = changes
            .iter()
            .filter_map(|(what, rounds)| Some((what, then_s(rounds)?)))
            .filter(|&(_, s)| s < spread_s);
        let mut help: Vec<String> = better.map(|(what, s)| format!("{what} ({s} s)")).collect();
        help.push(format!("ready_within_s = {spread_s}"));
        let surely = if r.plan.spread.proven { "cannot get ready" } else { "do not get ready" };
        format!(
            "Round {}: the cups {surely} within {wish_s} s; the least is {spread_s} s, from {} to {}. What would help: {}.",
            r.plan.round,
            by_ready(false),
            by_ready(true),
            help.join(", or ")
        )
    };
    over.iter().map(say).collect()
}

/// The class with one pair of hands more, and with one kettle more of the last one's kind, planned.
fn changes(class: &Class) -> Vec<(&'static str, Vec<RoundPlan>)> {
    let hands = class.pourers.hands();
    let mut kettle = class.clone();
    kettle.setting.kettles.extend(class.setting.kettles.last().cloned());
    let more_kettles = (!class.setting.kettles.is_empty()).then_some(("another such kettle", hands, &kettle));
    let all = [("another pair of hands", hands + 1, class)].into_iter().chain(more_kettles);
    all.filter_map(|(what, hands, class)| Some((what, plan_rounds_by(class, hands).ok()?))).collect()
}

/// Waiting for a kettle, which is rarely what a teacher wants.
fn kettle_waits(class: &Class, rounds: &[RoundDocument], kettles: &[KettleStep]) -> Vec<String> {
    let name = |k: usize| class.setting.kettles.get(k - 1).map_or("", |k| k.name.as_str());
    let mut said = Vec::new();
    for round in rounds.iter().filter(|r| r.waits_s > 0) {
        said.push(format!(
            "Round {} waits {} for its kettles. What would help: a longer pause or break before it, another or a stronger \
             kettle, or temperatures closer together.",
            round.plan.round,
            words_s(round.waits_s)
        ));
    }
    for step in kettles {
        let Deed::Set { from_c, set_c, takes_s } = step.deed else { continue };
        let Some(round) = rounds.iter().find(|r| r.plan.round == step.round) else { continue };
        // A change that fits into the tasting before the round makes nobody wait.
        let inside = step.at_s >= i64::from(round.begins_s);
        if inside && set_c < from_c {
            said.push(format!(
                "Round {}: {} has to cool from {from_c} to {set_c} °C, {} of waiting. What would help: another kettle, or \
                 cold water into this one.",
                step.round,
                name(step.kettle),
                words_s(takes_s)
            ));
        } else if inside && takes_s >= 30 {
            said.push(format!(
                "Round {}: {} heats from {from_c} to {set_c} °C between two pours, {}. What would help: another kettle.",
                step.round,
                name(step.kettle),
                words_s(takes_s)
            ));
        }
    }
    said
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

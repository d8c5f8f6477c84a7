//! Cups that get ready too far apart for the teacher's wish, and what would really help: each change is planned.

use super::each_round;
use crate::placed::RoundDocument;
use crate::rounds::{CupPlan, RoundPlan, plan_rounds_by};
use class::Class;

/// One sentence for all rounds that miss the wish.
pub(super) fn over_the_wish(class: &Class, rounds: &[RoundDocument]) -> Option<String> {
    let wish_s = class.setting.ready_within_s?;
    let over: Vec<&RoundPlan> =
        rounds.iter().map(|r| &r.plan).filter(|plan| plan.spread.value_s > wish_s).collect();
    let most_s = over.iter().map(|plan| plan.spread.value_s).max()?;
    let each = over.iter().map(|plan| {
        let key = |c: &&CupPlan| c.ready_at_s;
        let (first, last) = (plan.cups.iter().min_by_key(key), plan.cups.iter().max_by_key(key));
        let code = |cup: Option<&CupPlan>| cup.map_or(String::new(), |c| c.code.to_string());
        (plan.round, format!("{} s, from {} to {}", plan.spread.value_s, code(first), code(last)))
    });
    let mut help: Vec<String> = changes(class).iter().filter_map(|change| change.helps(&over)).collect();
    help.push(format!("ready_within_s = {most_s}"));
    let surely =
        if over.iter().all(|plan| plan.spread.proven) { "cannot get ready" } else { "do not get ready" };
    Some(format!(
        "{}: the cups {surely} within {wish_s} s. What would help: {}.",
        each_round(&each.collect::<Vec<_>>()),
        help.join(", or ")
    ))
}

/// The class with one thing changed, planned.
struct Change {
    what: &'static str,
    rounds: Vec<RoundPlan>,
}

impl Change {
    /// What it is, with the spread of each of these rounds; none if it makes none of them smaller.
    fn helps(&self, over: &[&RoundPlan]) -> Option<String> {
        let then_s =
            |plan: &&RoundPlan| self.rounds.iter().find(|p| p.round == plan.round).map(|p| p.spread.value_s);
        let then: Vec<u32> = over.iter().filter_map(then_s).collect();
        let better = over.iter().zip(&then).any(|(plan, &s)| s < plan.spread.value_s);
        let seconds: Vec<String> = then.iter().map(ToString::to_string).collect();
        better.then(|| format!("{} ({} s)", self.what, super::listed(&seconds)))
    }
}

/// The class with one pair of hands more, and with one kettle more of the last one's kind.
fn changes(class: &Class) -> Vec<Change> {
    let hands = class.pourers.hands();
    let mut kettle = class.clone();
    kettle.setting.kettles.extend(class.setting.kettles.last().cloned());
    let more_kettles = (!class.setting.kettles.is_empty()).then_some(("another such kettle", hands, &kettle));
    let all = [("another pair of hands", hands + 1, class)].into_iter().chain(more_kettles);
    all.filter_map(|(what, hands, class)| Some(Change { what, rounds: plan_rounds_by(class, hands).ok()? }))
        .collect()
}

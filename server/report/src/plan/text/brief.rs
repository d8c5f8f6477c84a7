//! The plan on one screen of a terminal: can it be done, when, what to weigh out, what will not go as wished, the first
//! round. Where there is too little room, warnings are counted and the picture of the hands' work is left out.

use super::{Page, clock};
use crate::text::lines::{Lines, wrapped};
use crate::words::{counted, joined};
use plan::document::{Plan, PrepPlan};
use plan::rounds::RoundPlan;
use plan::warnings::words_s;

/// The first screen, at most `rows` lines of at most `width` columns where the teas leave room for that. `more` is the command
/// that shows the rest.
pub fn brief(plan: &Plan, kettle_names: &[String], (width, rows): (usize, usize), more: &str) -> String {
    let width = width.clamp(50, 120) - 1;
    let part = |write: &dyn Fn(&mut Page<'_>)| {
        let mut page = Page { plan, kettle_names, out: Lines::new(width) };
        write(&mut page);
        page.out.finish().lines().map(String::from).collect::<Vec<String>>()
    };
    let head = part(&|page| {
        page.heading();
        page.verdict();
    });
    let weigh = part(&|page| page.weigh());
    let prepare = part(&|page| page.before_round());
    let begin = part(&|page| page.first_round());
    let end = part(&|page| page.rest(more));
    let first = plan.rounds.first();
    let picture = part(&|page| first.into_iter().for_each(|round| page.picture(round)));
    let cups = |kettles| part(&|page| first.into_iter().for_each(|round| page.cups(round, kettles)));
    let (whole, plain) = (cups(true), cups(false));
    // The line of the prompt is below, and one line at least is for the warnings.
    let least = [&head, &weigh, &begin, &end, &plain].iter().map(|lines| lines.len()).sum::<usize>() + 2;
    let prepare = if least + prepare.len() <= rows { prepare } else { Vec::new() };
    let fixed = least - 1 - plain.len() + prepare.len();
    // What has no room is left out, the picture first.
    let round = [[picture, whole.clone()].concat(), whole, plain];
    let found = round.iter().find_map(|round| {
        let room = rows.checked_sub(fixed + round.len())?;
        Some((warnings(&plan.warnings, width, room)?, round.clone()))
    });
    let [.., plain] = round;
    let (warnings, round) =
        found.unwrap_or_else(|| (cut(plan, width, rows.saturating_sub(fixed + plain.len())), plain));
    let all = [head, warnings, weigh, prepare, begin, round, end].concat();
    all.iter().map(|line| format!("{line}\n")).collect()
}

/// From when to when, and when to come; how long for a class without a time of day.
fn hours(plan: &Plan) -> String {
    if plan.start_s.is_none() {
        return words_s(plan.length_s);
    }
    // Nobody leaves before it is over.
    let end = to_the_minute(plan, i64::from(plan.length_s) + 59);
    format!("{} to {end} · arrive by {}", to_the_minute(plan, 0), to_the_minute(plan, -600))
}

/// A clock time of the class without its seconds; with them where it is counted from the first cue.
fn to_the_minute(plan: &Plan, at_s: i64) -> String {
    let clock = clock(plan, at_s);
    match clock.rsplit_once(':') {
        Some((minute, _)) if plan.start_s.is_some() => minute.into(),
        _ => clock,
    }
}

/// What is known of the best plan of a round. Not which of its figures is the least there is: that may be the last cup's.
fn best(round: &RoundPlan, kettles: bool, narrow: bool) -> &'static str {
    match (round.spread.proven && round.last_cup.proven, kettles) {
        (false, _) => "the best plan found",
        (true, false) => "no plan is better",
        // The rule is with the rest.
        (true, true) if narrow => "best by the rule",
        (true, true) => "best that fills kettles only at need",
    }
}

/// As many warnings as have room in whole, and how many more there are; `None` if not even the first has.
fn warnings(all: &[String], width: usize, room: usize) -> Option<Vec<String>> {
    let wrapped: Vec<Vec<String>> = all.iter().map(|warning| wrapped("! ", warning, width)).collect();
    (usize::from(!all.is_empty())..=all.len()).rev().find_map(|shown| {
        let left_out = all.len() - shown;
        let more = (left_out > 0).then(|| vec![format!("! and {left_out} more")]);
        let lines = wrapped[..shown].iter().cloned().chain(more).collect::<Vec<_>>().concat();
        (lines.len() <= room).then_some(lines)
    })
}

/// The first warning as far as it goes.
fn cut(plan: &Plan, width: usize, room: usize) -> Vec<String> {
    let first = plan.warnings.first().map_or(Vec::new(), |warning| wrapped("! ", warning, width));
    let shown: Vec<String> = first.into_iter().take(room.saturating_sub(1)).collect();
    shown.into_iter().chain([format!("! {} warnings, with the rest", plan.warnings.len())]).collect()
}

impl Page<'_> {
    /// Whether the class can be done as it is written, and when.
    fn verdict(&mut self) {
        let rounds = counted(self.plan.rounds.len(), "round");
        let words = format!("It can be done: {rounds}, {}", hours(self.plan));
        self.out.text("", &words);
        self.before_start();
    }

    fn weigh(&mut self) {
        let q = &self.plan.quantities;
        let vessels = q.teas.iter().map(|need| need.vessels.filter(|n| *n > 1));
        let each = self.plan.teas.iter().zip(vessels).map(|(tea, vessels)| {
            let times = vessels.map_or(String::new(), |n| format!("{n} × "));
            format!("{} {times}{} g", tea.code, tea.leaf_g)
        });
        let each: Vec<String> = each.collect();
        self.out.text("Weigh out  ", &each.join(" · "));
        let bring = format!(
            "{:.1} g of leaf and {:.1} l of water, {} % to spare",
            q.to_bring.leaf_g,
            q.to_bring.water_ml / 1000.0,
            q.spare_percent
        );
        self.out.text("Bring      ", &bring);
    }

    /// What is warmed and rinsed before the first pour, one after the other.
    fn before_round(&mut self) {
        let steps = self.plan.preparation.chunk_by(|a, b| a.action == b.action);
        let one = |steps: &[PrepPlan]| {
            let first = steps.first()?;
            let when = if steps.len() == 1 { "at" } else { "from" };
            let codes = joined(steps.iter().map(|step| step.code), ", ");
            Some(format!("{} {codes} {when} {}", first.action, clock(self.plan, first.at_s.into())))
        };
        let all: Vec<String> = steps.filter_map(one).collect();
        if !all.is_empty() {
            self.out.text("First      ", &all.join(" · "));
        }
    }

    fn first_round(&mut self) {
        let Some(round) = self.plan.rounds.first() else { return };
        let tastes = to_the_minute(self.plan, round.tastes_s.into());
        let (spread_s, best) = (
            round.plan.spread.value_s,
            best(&round.plan, !self.plan.kettles.is_empty(), self.out.width < 79),
        );
        self.out.text("", &format!("ROUND 1 tastes {tastes} · cups within {spread_s} s, {best}"));
    }

    fn rest(&mut self, more: &str) {
        self.out.text("", &format!("The rest: {more}"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use class::read;
    use plan::document::document;
    use proptest::prelude::*;
    use unicode_width::UnicodeWidthStr;

    const SIX: &str = include_str!("../../../../../demo/six-teas.toml");

    fn six() -> (Plan, Vec<String>) {
        let class = read::class(SIX).unwrap();
        let seed = class.own_seed();
        let class = class.with_codes(seed);
        let names = class.setting.kettles.iter().map(|kettle| kettle.name.clone()).collect();
        (document(&class, seed).unwrap(), names)
    }

    #[test]
    fn six_teas_on_one_screen() {
        let (plan, names) = six();
        for size in [(80, 24), (60, 20), (100, 40)] {
            let shown = brief(&plan, &names, size, "kettlecall plan six-teas.toml --full");
            insta::assert_snapshot!(format!("six-teas-{}x{}", size.0, size.1), shown);
        }
    }

    #[test]
    fn what_is_rinsed_before_the_first_pour_is_on_the_first_screen_and_one_round_is_one() {
        let mut class = read::class(SIX).unwrap();
        class.teas.truncate(3);
        for tea in &mut class.teas {
            tea.steep_s.truncate(1);
            tea.temp_c.truncate(1);
        }
        (class.teas[0].rinse_s, class.teas[2].rinse_s) = (Some(5), Some(5));
        let plan = document(&class.with_codes(1), 1).unwrap();
        let shown = brief(&plan, &[], (100, 40), "kettlecall plan six-teas.toml --full");
        let rinses: Vec<&PrepPlan> =
            plan.preparation.iter().filter(|step| step.action == protocol::Action::Rinse).collect();
        let [first, second] = rinses[..] else { panic!("{rinses:?}") };
        let line = format!("rinse {}, {} from {}", first.code, second.code, clock(&plan, first.at_s.into()));
        assert!(shown.contains(&line) && shown.contains("It can be done: 1 round, "), "{shown}");
    }

    proptest! {
        #[test]
        fn the_first_screen_never_runs_over(width in 60usize..130, rows in 20usize..60) {
            let (plan, names) = six();
            let shown = brief(&plan, &names, (width, rows), "kettlecall plan six-teas.toml --full");
            prop_assert!(shown.lines().count() < rows, "{}", shown);
            prop_assert!(shown.lines().all(|line| line.width() < width), "{}", shown);
            prop_assert!(shown.contains("It can be done") && shown.contains("--full"));
        }
    }
}

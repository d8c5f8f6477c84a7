//! The plan for a terminal: each round with the hands' work as a picture in characters, the lists, the warnings.

pub mod brief;
pub mod round;

use crate::text::lines::Lines;
use crate::words::{counted, joined};
use plan::difference_test::TestPlan;
use plan::document::Plan;
use plan::kettles::{Deed, KettleStep, before_line};
use plan::rounds::Proved;
use plan::warnings::words_s;
use protocol::time::clock_face;

struct Page<'a> {
    plan: &'a Plan,
    kettle_names: &'a [String],
    out: Lines,
}

/// The whole plan in lines of at most `width` characters where the names allow it; 60 is narrow, 80 usual.
pub fn text(plan: &Plan, kettle_names: &[String], width: usize) -> String {
    // One column stays free.
    let mut page = Page { plan, kettle_names, out: Lines::new(width.clamp(50, 120) - 1) };
    page.write();
    page.out.finish()
}

/// A clock time of the class: from its start if one is given, else from the first cue.
pub fn clock(plan: &Plan, at_s: i64) -> String {
    match plan.start_s {
        Some(start_s) => {
            let s = (i64::from(start_s) + at_s).rem_euclid(86_400);
            format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
        }
        None if at_s < 0 => format!("-{}", clock_face(-at_s)),
        None => clock_face(at_s),
    }
}

/// What the words of [`proved`] mean: among which plans none is better.
pub fn proven_means(plan: &Plan) -> String {
    let rule = if plan.kettles.is_empty() {
        ""
    } else {
        " among those that fill a kettle in a round only when it does not hold the next pour, or when it has to cool for it \
         and is ready sooner emptied and filled afresh"
    };
    format!(
        "\"Proven least\": no plan is better{rule}. What counts is first how close together the cups of a round get ready, as \
         far as the class file asks, then how early the last one is."
    )
}

/// What is known of a value: the best there is, or how much better it could be at most.
pub fn proved(value: Proved) -> String {
    if value.proven {
        format!("{} s, proven least", value.value_s)
    } else if value.bound_s == value.value_s {
        // Seats wait for each other at a kettle.
        format!("{} s, if all seats could draw at once", value.value_s)
    } else {
        format!("{} s, not proven: at least {} s", value.value_s, value.bound_s)
    }
}

/// Whether the words of [`proven_means`] stand anywhere.
pub fn any_proved(plan: &Plan) -> bool {
    plan.rounds.iter().any(|round| round.plan.spread.proven || round.plan.last_cup.proven)
}

/// How many sit, who pours, and what is taken for granted about kettles.
pub fn who(plan: &Plan) -> String {
    let pourers = match plan.pourers {
        None => String::new(),
        Some(1) => " · one pourer serves all".into(),
        Some(n) => format!(" · {n} pourers serve all"),
    };
    format!("{}{pourers}. {}", counted(plan.seats as usize, "seat"), plan.assumes)
}

/// When to come and when it begins and ends, behind a dot; nothing for a class without a time of day.
fn times(plan: &Plan) -> String {
    if plan.start_s.is_none() {
        return String::new();
    }
    let (latest, end) = (clock(plan, -600), clock(plan, plan.length_s.into()));
    format!(" · arrive by {latest} · first cue {} · end {end}", clock(plan, 0))
}

/// What goes onto the table, and what to bring.
pub fn total(plan: &Plan) -> String {
    let q = &plan.quantities;
    let filled = if q.filled_ml > 0.0 {
        format!(" (the kettles are filled with {:.1} l)", q.filled_ml / 1000.0)
    } else {
        String::new()
    };
    format!(
        "{:.1} g of leaf and {:.1} l of water{filled}; with {} % to spare {:.1} g and {:.1} l",
        q.table.leaf_g,
        q.table.water_ml / 1000.0,
        q.spare_percent,
        q.to_bring.leaf_g,
        q.to_bring.water_ml / 1000.0
    )
}

/// "95", "90–95".
pub fn temperatures(temp_c: &[f64]) -> String {
    let (low, high) = temp_c.iter().fold((f64::MAX, f64::MIN), |(a, b), &c| (a.min(c), b.max(c)));
    if low == high { format!("{low}") } else { format!("{low}–{high}") }
}

/// What to do at a kettle, in words.
pub fn deed(deed: &Deed) -> String {
    match deed {
        Deed::SwitchOn { set_c, takes_s, .. } => {
            format!("fill, switch on and set to {set_c} °C; ready in {}", words_s(*takes_s))
        }
        Deed::Afresh { set_c, takes_s, .. } => {
            format!("empty, fill afresh and set to {set_c} °C; ready in {}", words_s(*takes_s))
        }
        Deed::Set { from_c, set_c, takes_s } => {
            let how = if set_c > from_c { "heats" } else { "cools" };
            format!("set from {from_c} to {set_c} °C; {how} for {}", words_s(*takes_s))
        }
        Deed::Draw { code, ml } => format!("draw {ml:.0} ml for {code}"),
        Deed::Refill { ml, set_c, takes_s } => {
            format!("refill {ml:.0} ml and set to {set_c} °C; ready in {}", words_s(*takes_s))
        }
    }
}

impl Page<'_> {
    fn write(&mut self) {
        let plan = self.plan;
        self.heading();
        let rounds = counted(plan.rounds.len(), "round");
        self.out.text("", &format!("{rounds} · {} in all{}", words_s(plan.length_s), times(plan)));
        self.before_start();
        self.out.line(&format!("water boils at {:.1} °C here", plan.boiling_c));
        for warning in &plan.warnings {
            self.out.text("! ", warning);
        }
        self.teas();
        self.preparation();
        if any_proved(plan) {
            self.out.line("");
            self.out.text("", &proven_means(plan));
        }
        for round in &plan.rounds {
            self.round(round);
        }
        self.kettles();
        self.quantities();
        self.orders();
        for test in &plan.tests {
            self.test(test);
        }
        self.out.head("WHAT THE CLASS CAN SHOW");
        self.out.text("  ", &plan.can_show);
        self.out.head("CAUTIONS");
        for caution in &plan.cautions {
            self.out.text("  ", caution);
        }
        self.out.text("  ", &plan.caffeine.words());
        plan.tests.iter().for_each(|test| self.test_key(test));
    }

    /// Which class, for how many, and what the plan takes for granted.
    fn heading(&mut self) {
        self.out.text("", &format!("{} · {}", self.plan.title, self.plan.date));
        self.out.text("", &who(self.plan));
    }

    /// What is to be done at the kettles before the first cue.
    fn before_start(&mut self) {
        if let Some(line) = before_line(&self.plan.before_start) {
            self.out.text("", &format!("Before you start: {line}."));
        }
    }

    /// A difference test as it is laid out: nothing here tells what is in a cup.
    fn test(&mut self, test: &TestPlan) {
        self.out.head(&format!("TEST {} · {} · steep {}", test.test, test.kind, test.steep));
        self.out.text("  ", &test.question);
        self.out.text("  ", &test.can_show);
        for note in &test.notes {
            self.out.text("  ! ", note);
        }
        self.out.text("  ", &format!("when both teas are in the cups, type: test {}", test.test));
        self.out.text("  seat  ", "cups from left to right, in the order in which the seats are taken");
        for serving in &test.servings {
            let first = serving.reference.map_or(String::new(), |code| format!("first {code}, then "));
            self.out.line(&format!("  {:>4}  {first}{}", serving.seat, joined(&serving.codes, " ")));
        }
    }

    /// What is in the cups.
    fn test_key(&mut self, test: &TestPlan) {
        self.out.head(&format!("KEY TO TEST {}: for the teacher, out of sight of the seats", test.test));
        let poured: Vec<String> =
            test.teas.iter().zip(&test.cups).map(|(tea, cups)| format!("{cups} cups of {tea}")).collect();
        self.out.text("  ", &format!("pour {}, steep {}:", poured.join(" and "), test.steep));
        for set in &test.key {
            let cups: Vec<String> =
                set.cups.iter().map(|cup| format!("{} = {}", cup.code, cup.tea)).collect();
            let right = set.right.map_or(String::new(), |code| format!("; {code} is right"));
            let seat_s = if set.seats.len() == 1 { "seat" } else { "seats" };
            self.out
                .text("  ", &format!("{}{right} ({seat_s} {})", cups.join(", "), joined(&set.seats, ", ")));
        }
        for short in &test.short {
            self.out.text("  ! ", short);
        }
    }

    fn teas(&mut self) {
        self.out.head("TEAS");
        for tea in &self.plan.teas {
            let temp = temperatures(&tea.temp_c);
            let dose = format!(
                "{} · {} g in {} ml ({:.1} g per 100 ml) · {temp} °C",
                tea.name, tea.leaf_g, tea.water_ml, tea.dose_g_per_100_ml
            );
            self.out.text(&format!("  {}  ", tea.code), &dose);
            self.out.text("       steeps ", &format!("{} s", joined(&tea.steep_s, ", ")));
            if let (Some(cold), Some(warmed)) = (tea.in_cold_vessel, tea.in_warmed_vessel) {
                let first = tea.temp_c.first().copied().unwrap_or(100.0).min(self.plan.boiling_c).round();
                let words = format!(
                    "{first} °C into the cold vessel: {}; warmed first: {}",
                    cold.words(),
                    warmed.words()
                );
                self.out.text("       ", &words);
            }
        }
    }

    fn preparation(&mut self) {
        if self.plan.preparation.is_empty() {
            return;
        }
        self.out.head("BEFORE THE FIRST POUR");
        for p in &self.plan.preparation {
            let hands =
                if self.plan.pourers > Some(1) { format!(", pourer {}", p.hands) } else { String::new() };
            let at = clock(self.plan, p.at_s.into());
            self.out.line(&format!("  {at:>8}  {} {} ({} s{hands})", p.action, p.code, p.length_s));
        }
    }

    fn kettles(&mut self) {
        if self.plan.kettles.is_empty() {
            return;
        }
        self.out.head("KETTLES");
        for step in &self.plan.kettles {
            let KettleStep { kettle, at_s, deed: what, .. } = step;
            let name = self.kettle_names.get(kettle - 1).map_or("", String::as_str);
            let line = format!("{name}: {}", deed(what));
            let mark = format!("  {:>8}  ", clock(self.plan, *at_s));
            self.out.text(&mark, &line);
        }
    }

    fn quantities(&mut self) {
        let q = &self.plan.quantities;
        self.out.head("TO WEIGH OUT AND TO BRING");
        for (tea, need) in self.plan.teas.iter().zip(&q.teas) {
            let vessels = match need.vessels {
                None => "no number of vessels".to_string(),
                Some(1) => "1 vessel".into(),
                Some(n) => format!("{n} vessels"),
            };
            let first = need.liquor.first().map_or(0.0, |l| l.ml);
            let line = format!(
                "{} {} ({}): {vessels} of {} g, {:.1} g in all; {:.0} ml of liquor in the first steep, {} cups",
                tea.code, need.tea, tea.leaf, tea.leaf_g, need.brewed.leaf_g, first, need.cups_per_vessel
            );
            self.out.text("  ", &line);
        }
        self.out.text("  ", &format!("in all {}", total(self.plan)));
        let seat = format!(
            "each seat's part: {:.1} g of leaf and {:.2} l of water",
            q.seat.leaf_g,
            q.seat.water_ml / 1000.0
        );
        self.out.text("  ", &seat)
    }

    fn orders(&mut self) {
        self.out.head("SERVING ORDERS, seat by seat");
        for (i, order) in self.plan.orders.iter().enumerate() {
            self.out.line(&format!("  {:>4}  {}", i + 1, joined(order, " ")));
        }
        match &self.plan.order_note {
            Some(note) => self.out.text("  ", note),
            None => {
                self.out.text("  ", "Over the whole table every tea comes equally often in each place and right before each other tea; where a tea has ended, the rest keep their order.")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fixtures::class_file;
    use plan::document::document;
    use unicode_width::UnicodeWidthStr;

    #[test]
    fn names_in_wide_letters_or_with_marks_above_letters_stay_within_the_width() {
        let (wide, marked) = ("鐵觀音 ".repeat(10), "q\u{301}".repeat(20));
        let file = class_file(2, 2, "[sheet]\nattributes = [\"liking\"]")
            .replace("\"Tea 1\"", &format!("\"{}\"", wide.trim_end()))
            .replace("\"Tea 2\"", &format!("\"{marked}\""));
        let plan = document(&class::read::class(&file).unwrap().with_codes(1), 1).unwrap();
        for width in [60, 80] {
            let page = text(&plan, &[], width);
            assert!(page.lines().all(|line| line.width() < width), "{page}");
        }
        let page = text(&plan, &[], 80);
        assert!(page.contains(&format!("{marked} · 5 g in 100 ml (5.0 g per 100 ml) · 95 °C\n")), "{page}");
    }
}

//! The plan for a terminal: each round with the hands' work as a picture in characters, the lists, the warnings.

use plan::difference::TestPlan;
use plan::document::{Plan, RoundDocument};
use plan::kettles::{Deed, KettleStep};
use plan::rounds::{CupPlan, Proved};
use plan::warnings::words_s;
use protocol::Code;
use protocol::time::clock_face;
use std::fmt::Write;

/// What is printed and how wide.
struct Page<'a> {
    plan: &'a Plan,
    width: usize,
    kettle_names: &'a [String],
    out: String,
}

/// The whole plan in lines of at most `width` characters where the names allow it; 60 is narrow, 80 usual.
pub fn text(plan: &Plan, kettle_names: &[String], width: usize) -> String {
    let mut page = Page { plan, width: width.clamp(50, 120), kettle_names, out: String::new() };
    // Writing to a String can't fail.
    let _ = page.write();
    page.out
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

/// What is known of a value: the best there is, or how much better it could be at most.
pub fn proved(value: Proved) -> String {
    if value.proven {
        format!("{} s, proven least", value.value_s)
    } else {
        format!("{} s, not proven: at least {} s", value.value_s, value.bound_s)
    }
}

/// What to do at a kettle, in words.
pub fn deed(deed: &Deed) -> String {
    match deed {
        Deed::SwitchOn { set_c, takes_s } => {
            format!("fill, switch on and set to {set_c} °C; ready in {}", words_s(*takes_s))
        }
        Deed::Afresh { set_c, takes_s } => {
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
    fn write(&mut self) -> std::fmt::Result {
        let plan = self.plan;
        let who = match plan.pourers {
            None => "each seat brews its own set".to_string(),
            Some(1) => "one pourer serves all".into(),
            Some(n) => format!("{n} pourers serve all"),
        };
        self.wrapped("", &format!("{} · {}", plan.title, plan.date))?;
        let size = format!(
            "{} seats · {who} · {} rounds · {} in all",
            plan.seats,
            plan.rounds.len(),
            words_s(plan.length_s)
        );
        self.wrapped("", &size)?;
        if plan.start_s.is_some() {
            let latest = clock(plan, -600);
            let end = clock(plan, plan.length_s.into());
            self.wrapped("", &format!("arrive by {latest} · first cue {} · end {end}", clock(plan, 0)))?;
        }
        writeln!(self.out, "water boils at {:.1} °C here", plan.boiling_c)?;
        for warning in &plan.warnings {
            self.wrapped("! ", warning)?;
        }
        self.teas()?;
        self.preparation()?;
        for round in &plan.rounds {
            self.round(round)?;
        }
        self.kettles()?;
        self.quantities()?;
        self.orders()?;
        for test in &plan.tests {
            self.test(test)?;
        }
        writeln!(self.out, "\nWHAT THE CLASS CAN SHOW")?;
        self.wrapped("  ", &plan.can_show)?;
        writeln!(self.out, "\nCAUTIONS")?;
        for caution in &plan.cautions {
            self.wrapped("  ", caution)?;
        }
        self.wrapped("  ", &plan.caffeine.words())?;
        plan.tests.iter().try_for_each(|test| self.test_key(test))
    }

    /// A difference test as it is laid out: nothing here tells what is in a cup.
    fn test(&mut self, test: &TestPlan) -> std::fmt::Result {
        writeln!(self.out, "\nTEST {} · {} · steep {}", test.test, test.kind, test.steep)?;
        self.wrapped("  ", &test.question)?;
        self.wrapped("  ", &test.can_show)?;
        for note in &test.notes {
            self.wrapped("  ! ", note)?;
        }
        self.wrapped("  ", &format!("when both teas are in the cups, type: test {}", test.test))?;
        self.wrapped("  seat  ", "cups from left to right, in the order in which the seats are taken")?;
        for serving in &test.servings {
            let codes: Vec<String> = serving.codes.iter().map(Code::to_string).collect();
            let first = serving.reference.map_or(String::new(), |code| format!("first {code}, then "));
            writeln!(self.out, "  {:>4}  {first}{}", serving.seat, codes.join(" "))?;
        }
        Ok(())
    }

    /// What is in the cups.
    fn test_key(&mut self, test: &TestPlan) -> std::fmt::Result {
        writeln!(self.out, "\nKEY TO TEST {}: for the teacher, out of sight of the seats", test.test)?;
        let poured: Vec<String> =
            test.teas.iter().zip(&test.cups).map(|(tea, cups)| format!("{cups} cups of {tea}")).collect();
        self.wrapped("  ", &format!("pour {}, steep {}:", poured.join(" and "), test.steep))?;
        for set in &test.key {
            let cups: Vec<String> =
                set.cups.iter().map(|cup| format!("{} = {}", cup.code, cup.tea)).collect();
            let right = set.right.map_or(String::new(), |code| format!("; {code} is right"));
            let seats: Vec<String> = set.seats.iter().map(ToString::to_string).collect();
            let seat_s = if seats.len() == 1 { "seat" } else { "seats" };
            self.wrapped("  ", &format!("{}{right} ({seat_s} {})", cups.join(", "), seats.join(", ")))?;
        }
        for short in &test.short {
            self.wrapped("  ! ", short)?;
        }
        Ok(())
    }

    /// A sentence broken between words, its lines set in under the mark.
    fn wrapped(&mut self, mark: &str, words: &str) -> std::fmt::Result {
        let mut line = mark.to_string();
        for word in words.split_whitespace() {
            if line.chars().count() + word.chars().count() + 1 > self.width && line.trim() != mark.trim() {
                writeln!(self.out, "{}", line.trim_end())?;
                line = " ".repeat(mark.len());
            }
            line += word;
            line.push(' ');
        }
        writeln!(self.out, "{}", line.trim_end())
    }

    fn teas(&mut self) -> std::fmt::Result {
        writeln!(self.out, "\nTEAS")?;
        for tea in &self.plan.teas {
            let steeps: Vec<String> = tea.steep_s.iter().map(ToString::to_string).collect();
            let (low, high) = tea.temp_c.iter().fold((f64::MAX, f64::MIN), |(a, b), &c| (a.min(c), b.max(c)));
            let temp = if low == high { format!("{low}") } else { format!("{low}–{high}") };
            let dose = format!(
                "{} · {} g in {} ml ({:.1} g per 100 ml) · {temp} °C",
                tea.name, tea.leaf_g, tea.water_ml, tea.dose_g_per_100_ml
            );
            self.wrapped(&format!("  {}  ", tea.code), &dose)?;
            self.wrapped("       steeps ", &format!("{} s", steeps.join(", ")))?;
            if let (Some(cold), Some(warmed)) = (tea.in_cold_vessel, tea.in_warmed_vessel) {
                let first = tea.temp_c.first().copied().unwrap_or(100.0).min(self.plan.boiling_c).round();
                let words = format!(
                    "{first} °C into the cold vessel: {}; warmed first: {}",
                    cold.words(),
                    warmed.words()
                );
                self.wrapped("       ", &words)?;
            }
        }
        Ok(())
    }

    fn preparation(&mut self) -> std::fmt::Result {
        if self.plan.preparation.is_empty() {
            return Ok(());
        }
        writeln!(self.out, "\nBEFORE THE FIRST POUR")?;
        for p in &self.plan.preparation {
            let hands =
                if self.plan.pourers > Some(1) { format!(", pourer {}", p.hands) } else { String::new() };
            let at = clock(self.plan, p.at_s.into());
            writeln!(self.out, "  {at:>8}  {} {} ({} s{hands})", p.action, p.code, p.length_s)?;
        }
        Ok(())
    }

    fn round(&mut self, round: &RoundDocument) -> std::fmt::Result {
        let plan = &round.plan;
        let begins = clock(self.plan, round.begins_s.into());
        let waits = if round.waits_s > 0 {
            format!(" after waiting {} for the kettles", words_s(round.waits_s))
        } else {
            String::new()
        };
        writeln!(self.out, "\nROUND {} · begins {begins}{waits}", plan.round)?;
        writeln!(self.out, "  first to last cup {}", proved(plan.spread))?;
        writeln!(self.out, "  last cup ready after {}", proved(plan.last_cup))?;
        self.picture(round)?;
        let kettles = !self.kettle_names.is_empty();
        let lid_on = self.width >= 70 || !kettles;
        let head = if kettles { "  kettle" } else { "" };
        let lid = if lid_on { "lid on   " } else { "" };
        writeln!(self.out, "        pour     {lid}decant   ready    water{head}")?;
        let mut cups: Vec<&CupPlan> = plan.cups.iter().collect();
        cups.sort_by_key(|c| c.pour_at_s);
        for cup in cups {
            let at = |s: u32| clock(self.plan, i64::from(round.begins_s + s));
            let kettle = cup
                .kettle
                .and_then(|k| self.kettle_names.get(k - 1))
                .map_or(String::new(), |n| format!("  {n}"));
            let lid = if lid_on { format!("{:<8} ", at(cup.pour_at_s + cup.pour_s)) } else { String::new() };
            let (poured, decant, ready) = (at(cup.pour_at_s), at(cup.decant_at_s), at(cup.ready_at_s));
            let line =
                format!("  {}   {poured:<8} {lid}{decant:<8} {ready:<8} {} °C{kettle}", cup.code, cup.set_c);
            writeln!(self.out, "{line}")?;
        }
        let warm: Vec<String> = plan
            .cups
            .iter()
            .zip(&round.when_tasted)
            .filter_map(|(c, span)| Some(format!("{} {}", c.code, (*span)?.words())))
            .collect();
        if !warm.is_empty() {
            self.wrapped("  when tasted, at most about ", &warm.join(", "))?;
        }
        let (tastes, closes) =
            (clock(self.plan, round.tastes_s.into()), clock(self.plan, round.closes_s.into()));
        let gap =
            plan.smallest_gap_s.map_or(String::new(), |s| format!(" · shortest pause of any hands {s} s"));
        self.wrapped("  ", &format!("taste {tastes} to {closes}{gap}"))?;
        if round.pause_s > 0 {
            let rest = if round.is_break { "break" } else { "pause" };
            writeln!(self.out, "  then {} of {rest}", words_s(round.pause_s))?;
        }
        Ok(())
    }

    /// The hands' work from left to right: a capital pours, the small letter decants the same tea.
    fn picture(&mut self, round: &RoundDocument) -> std::fmt::Result {
        let cups = &round.plan.cups;
        let columns = self.width.saturating_sub(12).max(20);
        let per_column_s = (round.plan.last_cup.value_s as usize).div_ceil(columns).max(1);
        let used = (round.plan.last_cup.value_s as usize).div_ceil(per_column_s);
        let letter = |i: usize| (b'A' + i as u8) as char;
        let hands = cups.iter().map(|c| c.pour_hands.max(c.decant_hands)).max().unwrap_or(1);
        for hand in 1..=hands {
            let mut row = vec!['·'; used];
            for (i, cup) in cups.iter().enumerate() {
                let tasks = [
                    (cup.pour_hands, cup.pour_at_s, cup.pour_s, letter(i)),
                    (cup.decant_hands, cup.decant_at_s, cup.decant_s, letter(i).to_ascii_lowercase()),
                ];
                for (_, at_s, length_s, mark) in tasks.into_iter().filter(|t| t.0 == hand) {
                    let from = at_s as usize / per_column_s;
                    let to = ((at_s + length_s) as usize).div_ceil(per_column_s).min(used);
                    row[from..to.max(from + 1).min(used)].fill(mark);
                }
            }
            writeln!(self.out, "  hands {hand} {}", row.into_iter().collect::<String>())?;
        }
        let key: Vec<String> =
            cups.iter().enumerate().map(|(i, c)| format!("{} {}", letter(i), c.code)).collect();
        let scale =
            format!("{} (capital pours, small decants; one mark is {per_column_s} s)", key.join(", "));
        self.wrapped("          ", &scale)
    }

    fn kettles(&mut self) -> std::fmt::Result {
        if self.plan.kettles.is_empty() {
            return Ok(());
        }
        writeln!(self.out, "\nKETTLES")?;
        for step in &self.plan.kettles {
            let KettleStep { kettle, at_s, deed: what, .. } = step;
            let name = self.kettle_names.get(kettle - 1).map_or("", String::as_str);
            let line = format!("{name}: {}", deed(what));
            let mark = format!("  {:>8}  ", clock(self.plan, *at_s));
            self.wrapped(&mark, &line)?;
        }
        Ok(())
    }

    fn quantities(&mut self) -> std::fmt::Result {
        let q = &self.plan.quantities;
        writeln!(self.out, "\nTO WEIGH OUT AND TO BRING")?;
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
            self.wrapped("  ", &line)?;
        }
        let total = format!(
            "in all {:.1} g of leaf and {:.1} l of water; with {} % to spare {:.1} g and {:.1} l",
            q.table.leaf_g,
            q.table.water_ml / 1000.0,
            q.spare_percent,
            q.to_bring.leaf_g,
            q.to_bring.water_ml / 1000.0
        );
        self.wrapped("  ", &total)?;
        let seat = format!(
            "each seat's part: {:.1} g of leaf and {:.2} l of water",
            q.seat.leaf_g,
            q.seat.water_ml / 1000.0
        );
        self.wrapped("  ", &seat)
    }

    fn orders(&mut self) -> std::fmt::Result {
        writeln!(self.out, "\nSERVING ORDERS, seat by seat")?;
        for (i, order) in self.plan.orders.iter().enumerate() {
            let codes: Vec<String> = order.iter().map(Code::to_string).collect();
            writeln!(self.out, "  {:>4}  {}", i + 1, codes.join(" "))?;
        }
        match &self.plan.order_note {
            Some(note) => self.wrapped("  ", note),
            None => {
                self.wrapped("  ", "Over the whole table every tea comes equally often in each place and right before each other tea; where a tea has ended, the rest keep their order.")
            }
        }
    }
}

//! A round of the plan for a terminal: the hands' work as a picture in characters, the cups, what is done at the kettles.

use super::{Page, clock, deed, proved};
use plan::document::Plan;
use plan::kettles::{Deed, KettleStep};
use plan::placed::RoundDocument;
use plan::rounds::CupPlan;
use plan::warnings::words_s;
use protocol::fit;
use unicode_width::UnicodeWidthStr;

/// What hands do at the kettles for a round, before it and in it.
pub fn at_kettles<'p>(plan: &'p Plan, round: &RoundDocument) -> impl Iterator<Item = &'p KettleStep> {
    let number = round.plan.round;
    let draws = |step: &KettleStep| matches!(step.deed, Deed::Draw { .. });
    plan.kettles.iter().filter(move |step| step.round == number && step.hands.is_some() && !draws(step))
}

/// "110 ml", "2 × 110 ml".
pub fn water(cup: &CupPlan) -> String {
    let vessels = if cup.vessels > 1 { format!("{} × ", cup.vessels) } else { String::new() };
    format!("{vessels}{:.0} ml", cup.water_ml)
}

/// What to do at a kettle, in a line of a round.
fn short(what: &Deed, kettle: &str) -> String {
    match what {
        Deed::SwitchOn { set_c, .. } => format!("fill {kettle}, switch on, set {set_c} °C"),
        Deed::Afresh { set_c, .. } => format!("empty {kettle}, fill afresh, set {set_c} °C"),
        Deed::Refill { set_c, .. } => format!("refill {kettle} to the full, set {set_c} °C"),
        Deed::Set { set_c, .. } => format!("set {kettle} to {set_c} °C"),
        Deed::Draw { .. } => deed(what),
    }
}

impl Page<'_> {
    pub(super) fn round(&mut self, round: &RoundDocument) {
        let plan = &round.plan;
        let begins = clock(self.plan, round.begins_s.into());
        let waits = if round.waits_s > 0 {
            format!(" · waits {} for kettles", words_s(round.waits_s))
        } else {
            String::new()
        };
        self.out.head(&format!("ROUND {} · begins {begins}{waits}", plan.round));
        self.out.line(&format!("  first to last cup {}", proved(plan.spread)));
        self.out.line(&format!("  last cup ready after {}", proved(plan.last_cup)));
        if let Some(given) = &plan.given {
            self.out.text("  ", &given.words());
        }
        self.picture(round);
        self.cups(round, true);
        let warm: Vec<String> = plan
            .cups
            .iter()
            .zip(&round.when_tasted)
            .filter_map(|(c, span)| Some(format!("{} {}", c.code, (*span)?.words())))
            .collect();
        if !warm.is_empty() {
            self.out.text("  when tasted, at most about ", &warm.join(", "));
        }
        let (tastes, closes) =
            (clock(self.plan, round.tastes_s.into()), clock(self.plan, round.closes_s.into()));
        let gap =
            plan.smallest_gap_s.map_or(String::new(), |s| format!(" · shortest pause of any hands {s} s"));
        self.out.text("  ", &format!("taste {tastes} to {closes}{gap}"));
        if round.pause_s > 0 {
            let rest = if round.is_break { "break" } else { "pause" };
            self.out.line(&format!("  then {} of {rest}", words_s(round.pause_s)));
        }
    }

    /// A round's cups in the order of their pours, and what hands do at the kettles for it.
    pub(super) fn cups(&mut self, round: &RoundDocument, with_kettles: bool) {
        let kettles = !self.kettle_names.is_empty();
        let lid_on = self.out.width >= 69 || !kettles;
        let name = |kettle: usize| self.kettle_names.get(kettle - 1).map_or("", String::as_str);
        let at = |s: u32| clock(self.plan, i64::from(round.begins_s + s));
        let row = |cup: &CupPlan, ml: bool| {
            let kettle = cup.kettle.map_or(String::new(), |k| format!("  {}", name(k)));
            let lid = if lid_on { format!("{:<8} ", at(cup.pour_at_s + cup.pour_s)) } else { String::new() };
            let (poured, decant, ready) = (at(cup.pour_at_s), at(cup.decant_at_s), at(cup.ready_at_s));
            let water = if ml { format!("{} at ", water(cup)) } else { String::new() };
            let (code, set_c) = (cup.code, cup.set_c);
            format!("  {code}   {poured:<8} {lid}{decant:<8} {ready:<8} {water}{set_c} °C{kettle}")
        };
        let ml = round.plan.cups.iter().all(|cup| row(cup, true).width() <= self.out.width);
        let mut rows: Vec<(i64, String)> = Vec::new();
        for cup in &round.plan.cups {
            rows.push((i64::from(round.begins_s + cup.pour_at_s), row(cup, ml)));
        }
        for step in at_kettles(self.plan, round).filter(|_| with_kettles) {
            let line = format!(
                "  ·     {:<8} {}",
                clock(self.plan, step.at_s),
                short(&step.deed, name(step.kettle))
            );
            rows.push((step.at_s, fit::cut(&line, self.out.width)));
        }
        rows.sort_by_key(|(at_s, _)| *at_s);
        let kettle = if kettles { "  kettle" } else { "" };
        let lid = if lid_on { "lid on   " } else { "" };
        let mut lines = vec![format!("        pour     {lid}decant   ready    water{kettle}")];
        lines.extend(rows.into_iter().map(|(_, row)| row));
        self.out.lines(&lines);
    }

    /// The hands' work from left to right: a capital pours, the small letter decants the same tea.
    pub(super) fn picture(&mut self, round: &RoundDocument) {
        let cups = &round.plan.cups;
        let columns = self.out.width.saturating_sub(11).max(20);
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
            self.out.line(&format!("  hands {hand} {}", row.into_iter().collect::<String>()));
        }
        let key: Vec<String> =
            cups.iter().enumerate().map(|(i, c)| format!("{} {}", letter(i), c.code)).collect();
        let scale =
            format!("{} (capital pours, small decants; one mark is {per_column_s} s)", key.join(", "));
        self.out.text("          ", &scale)
    }
}

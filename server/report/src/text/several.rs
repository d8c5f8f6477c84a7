//! Several classes for a terminal or a printer.

pub mod screen;

use crate::text::lines::Lines;
use crate::text::table::Table;
use crate::words::{joined, phase};
use protocol::say::{many, steeps};
use stats::describe::Description;
use stats::say::{fine, p, plus};
use summary::several::pairs::{Difference, Pair};
use summary::several::say::{beyond, rehearsed};
use summary::several::{AttributeLine, ClassLine, Pool, WayLine};

/// The pooled classes in words and columns, in lines of at most `width` characters (60 to 100) unless names are long.
pub fn within(pool: &Pool, width: usize) -> String {
    let mut page = Page { pool, out: Lines::within(width) };
    page.write();
    page.out.finish()
}

struct Page<'a> {
    pool: &'a Pool,
    out: Lines,
}

impl Page<'_> {
    /// What there is, and what has to be known of it before anything else.
    fn head(&mut self) {
        let pool = self.pool;
        let counted = pool.counted().count();
        let seats: usize = pool.counted().map(|c| c.seats).sum();
        let sheets: usize = pool.counted().map(|c| c.sheets).sum();
        let classes = if counted == 1 { "class" } else { "classes" };
        let (seats, sheets) = (many(seats, "seat"), many(sheets, "sheet"));
        self.out.line(&format!("{} {classes} · {seats} · {sheets}", counted));
        rehearsed::sentence(pool).iter().for_each(|words| self.out.text("", words));
        for class in &pool.classes {
            let said = class.damage.iter().map(|words| format!("Class {}: {words}", class.class));
            said.for_each(|words| self.out.text("", &words));
        }
        beyond::sentence(pool).iter().for_each(|words| self.out.text("", words));
    }

    fn write(&mut self) {
        let pool = self.pool;
        self.head();
        if !pool.brief.is_empty() {
            self.out.head("IN SHORT");
        }
        pool.brief.iter().for_each(|line| self.out.text("  ", &line.text));
        self.out.head("CLASSES");
        pool.classes.iter().for_each(|class| self.class(class));
        self.out.head("WAYS");
        pool.ways.iter().for_each(|way| self.way(way));
        self.together();
        let (own, others): (Vec<&Pair>, Vec<&Pair>) = pool.pairs.iter().partition(|pair| pair.same_leaf);
        self.out.head("TWO WAYS OF ONE LEAF");
        self.pairs(&own, "No leaf was steeped two ways in one class.");
        self.out.head("OTHER PAIRS");
        self.pairs(&others, "none");
        self.strength();
        self.out.line("");
        self.out.text(
            "",
            "The plain figures describe these classes and no other. Two seats of one name in two classes count as two tasters. A \
             difference that does not show may still be there.",
        );
    }

    /// The votes on each way, under it those on its steeps.
    fn strength(&mut self) {
        let pool = self.pool;
        self.out.head("STRENGTH");
        if pool.strength.is_empty() {
            self.out.text("  ", "No strength votes.");
            return;
        }
        self.out.text(
            "  ",
            "By the votes of all classes together, each taster counted once for each way; what is shown is so with all ways looked at \
             (Holm) and alone is advice; of other votes it is told to which side they lean. Under each way its steeps by themselves, as \
             detail: shown by Holm over both exact tests of all steeps.",
        );
        for votes in &pool.strength {
            self.out.text("  ", &votes.words);
            let steeps = pool.rules.iter().filter(|rule| rule.way == votes.way);
            steeps.for_each(|rule| self.out.text("    ", &rule.words));
        }
    }

    fn class(&mut self, class: &ClassLine) {
        let (title, phase) = (&class.title, phase(class.phase));
        let (seats, sheets) = (many(class.seats, "seat"), many(class.sheets, "sheet"));
        self.out.text(
            &format!("  {:>3}  {}  ", class.class, class.date),
            &format!("{title} · {phase} · {seats} · {sheets} · ways {}", joined(&class.ways, " ")),
        );
        let mut aside = Vec::new();
        if class.rehearsal {
            aside.push("a rehearsal".to_string());
        }
        if !class.left_out.is_empty() {
            aside.push(format!("left out: {}", class.left_out.join(", ")));
        }
        if class.voided > 0 {
            aside.push(format!(
                "voided: {} (the review of this class alone says why)",
                many(class.voided, "cup")
            ));
        }
        if !aside.is_empty() {
            self.out.text("       ", &aside.join(" · "));
        }
        if !class.still_blind.is_empty() {
            self.out.text(
                "       ",
                &format!("still blind, so joined with no other class: {}", joined(&class.still_blind, ", ")),
            );
        }
    }

    fn way(&mut self, line: &WayLine) {
        let rule = line.way.known.as_ref().map_or(String::new(), |known| format!(": {}", known.rule()));
        self.out.text(&format!("  {:>3}  ", line.way.way), &format!("{}{rule}", line.way.called));
        line.attributes.iter().for_each(|attribute| self.attribute(attribute));
    }

    fn attribute(&mut self, line: &AttributeLine) {
        let steeps = line.steeps.iter().map(|s| (format!("steep {}", s.steep), s.figures));
        let rows: Vec<(String, Description)> = steeps.chain([("all".to_string(), line.all_steeps)]).collect();
        let head = format!("{} ({} to {})", line.scale.name, line.scale.min, line.scale.max);
        let table = Table::of(&rows)
            .words(&head, |(name, _)| name.clone())
            .numbers("n", |(_, f)| f.n.to_string())
            .numbers("mean", |(_, f)| fine(f.mean))
            .numbers("SD", |(_, f)| f.sd.map_or("–".into(), fine))
            .numbers("quartiles", |(_, f)| format!("{} {} {}", f.lower_quartile, f.median, f.upper_quartile));
        self.out.table(7, &table);
    }

    fn together(&mut self) {
        self.out.head("TOGETHER (each taster's level taken out, and the class with it)");
        for found in &self.pool.together {
            self.out.text("  ", &found.words);
            if let Some(ranks) = found.by_ranks {
                let words = format!(
                    "by ranks: chi-squared {} on {}, {}",
                    fine(ranks.statistic),
                    ranks.df,
                    p(ranks.p)
                );
                self.out.text("    ", &words);
            }
            let table = Table::of(&found.means)
                .words("way", |mean| self.pool.called(mean.way).into())
                .numbers("mean", |mean| fine(mean.adjusted_mean))
                .numbers("± its SE", |mean| fine(mean.standard_error))
                .words("letters", |mean| mean.letters.clone())
                .numbers("n", |mean| mean.n.to_string());
            if !found.means.is_empty() {
                self.out.table(4, &table);
            }
        }
        if self.pool.together.is_empty() {
            self.out.text("  ", "No taster scored two ways, so none can be compared.");
        }
    }

    fn pairs(&mut self, pairs: &[&Pair], none: &str) {
        for pair in pairs {
            self.out.text("  ", &pair.words);
            if pair.classes.len() > 1 {
                self.by_class(pair);
            }
        }
        if pairs.is_empty() {
            self.out.text("  ", none);
        }
    }

    fn by_class(&mut self, pair: &Pair) {
        let (first, second) = (self.pool.called(pair.first), self.pool.called(pair.second));
        // Intervals of one pair alone have no place beside "no difference is shown", which is said with all ways looked at.
        let shown = pair.shown();
        let these = if shown { ", each interval of these two alone" } else { "" };
        // The figures of two ways are at the steeps that these two share, which may be more than all ways do.
        let places: Vec<u32> = pair.steeps.iter().filter_map(|&steep| u32::try_from(steep).ok()).collect();
        let own = !places.is_empty() && pair.steeps != pair.steeps_told();
        let at = if own { format!(" at {}", steeps(&places)) } else { String::new() };
        self.out.text("    ", &format!("{first} less {second}{at}, class by class{these}:"));
        let table = Table::of(&pair.classes)
            .numbers("class", |class| class.class.to_string())
            .numbers("n", |class| class.here.n.to_string())
            .numbers("points", |class| plus(class.here.mean));
        let table = if shown { table.words("95 % interval", |class| interval(&class.here)) } else { table };
        let table = table.numbers("so far", |class| plus(class.so_far.mean));
        let table = if shown { table.words("95 % interval", |class| interval(&class.so_far)) } else { table };
        self.out.table(4, &table);
    }
}

fn interval(d: &Difference) -> String {
    match (d.low, d.high) {
        (Some(low), Some(high)) => format!("{} to {}", plus(low), plus(high)),
        _ => "too few to tell".into(),
    }
}

#[cfg(test)]
mod tests;

//! Several classes for a terminal or a printer.

use crate::text::WIDTHS;
use crate::text::table::{Column, lines, wrapped};
use protocol::say::many;
use stats::describe::Description;
use stats::say::{fine, p, plus};
use summary::several::pairs::{Difference, Pair};
use summary::several::{AttributeLine, ClassLine, Pool, WayLine};

/// The pooled classes in words and columns, in lines of at most `width` characters (60 to 100) unless names are long.
pub fn within(pool: &Pool, width: usize) -> String {
    let mut page = Page { pool, width: width.clamp(*WIDTHS.start(), *WIDTHS.end()), out: String::new() };
    page.write();
    page.out
}

/// A page that grows.
struct Page<'a> {
    pool: &'a Pool,
    width: usize,
    out: String,
}

impl Page<'_> {
    fn write(&mut self) {
        let pool = self.pool;
        let seats: usize = pool.classes.iter().map(|c| c.seats).sum();
        let sheets: usize = pool.classes.iter().map(|c| c.sheets).sum();
        let classes = if pool.classes.len() == 1 { "class" } else { "classes" };
        let (seats, sheets) = (many(seats, "seat"), many(sheets, "sheet"));
        self.line(&format!("{} {classes} · {seats} · {sheets}", pool.classes.len()));
        if !pool.brief.is_empty() {
            self.head("IN SHORT");
        }
        pool.brief.iter().for_each(|line| self.text("  ", line));
        self.head("CLASSES");
        pool.classes.iter().for_each(|class| self.class(class));
        self.head("WAYS");
        pool.ways.iter().for_each(|way| self.way(way));
        self.together();
        let (own, others): (Vec<&Pair>, Vec<&Pair>) = pool.pairs.iter().partition(|pair| pair.same_leaf);
        self.head("TWO WAYS OF ONE LEAF");
        self.pairs(&own, "No leaf was steeped two ways in one class.");
        self.head("OTHER PAIRS");
        self.pairs(&others, "none");
        self.head("STEEPS");
        self.text(
            "  ",
            "By the strength votes of all classes together: shown by Holm over both exact tests of all steeps, a hint where a steep by \
             itself reaches 5 %.",
        );
        pool.rules.iter().for_each(|rule| self.text("  ", &rule.words));
        if pool.rules.is_empty() {
            self.text("  ", "No strength votes.");
        }
        self.line("");
        self.text(
            "",
            "These figures describe these classes and no other. Two seats of one name in two classes count as two tasters. A \
             difference that does not show may still be there.",
        );
    }

    fn line(&mut self, line: &str) {
        self.out += line.trim_end();
        self.out.push('\n');
    }

    fn text(&mut self, first: &str, text: &str) {
        wrapped(first, text, self.width).iter().for_each(|line| self.line(line));
    }

    fn head(&mut self, head: &str) {
        self.line("");
        self.line(head);
    }

    fn table(&mut self, columns: &[Column], indent: usize) {
        lines(columns, indent, self.width).iter().for_each(|line| self.line(line));
    }

    fn class(&mut self, class: &ClassLine) {
        let ways: Vec<String> = class.ways.iter().map(ToString::to_string).collect();
        let (title, phase) = (&class.title, class.phase);
        let (seats, sheets) = (many(class.seats, "seat"), many(class.sheets, "sheet"));
        self.text(
            &format!("  {:>3}  {}  ", class.class, class.date),
            &format!("{title} · {phase} · {seats} · {sheets} · ways {}", ways.join(" ")),
        );
        if !class.still_blind.is_empty() {
            let codes: Vec<String> = class.still_blind.iter().map(ToString::to_string).collect();
            self.text(
                "       ",
                &format!("still blind, so joined with no other class: {}", codes.join(", ")),
            );
        }
    }

    fn way(&mut self, line: &WayLine) {
        let rule = line.way.known.as_ref().map_or(String::new(), |known| format!(": {}", known.rule()));
        self.text("  ", &format!("{}{rule}", line.way.label()));
        line.attributes.iter().for_each(|attribute| self.attribute(attribute));
    }

    fn attribute(&mut self, line: &AttributeLine) {
        let steeps = line.steeps.iter().map(|s| (format!("steep {}", s.steep), s.figures));
        let rows: Vec<(String, Description)> = steeps.chain([("all".to_string(), line.all_steeps)]).collect();
        let of = |cell: &dyn Fn(&Description) -> String| -> Vec<String> {
            rows.iter().map(|(_, figures)| cell(figures)).collect()
        };
        let head = format!("{} ({} to {})", line.scale.name, line.scale.min, line.scale.max);
        let columns = [
            Column::words(&head, rows.iter().map(|(name, _)| name.clone())),
            Column::numbers("n", of(&|f| f.n.to_string())),
            Column::numbers("mean", of(&|f| fine(f.mean))),
            Column::numbers("SD", of(&|f| f.sd.map_or("–".into(), fine))),
            Column::numbers(
                "quartiles",
                of(&|f| format!("{} {} {}", f.lower_quartile, f.median, f.upper_quartile)),
            ),
        ];
        self.table(&columns, 7);
    }

    fn together(&mut self) {
        self.head("TOGETHER (each taster's level taken out, and the class with it)");
        for found in &self.pool.together {
            self.text("  ", &found.words);
            if let Some(ranks) = found.by_ranks {
                let words = format!(
                    "by ranks: chi-squared {} on {}, {}",
                    fine(ranks.statistic),
                    ranks.df,
                    p(ranks.p)
                );
                self.text("    ", &words);
            }
            let of = |cell: &dyn Fn(&summary::several::together::Mean) -> String| -> Vec<String> {
                found.means.iter().map(cell).collect()
            };
            let columns = [
                Column::numbers("way", of(&|mean| mean.way.to_string())),
                Column::numbers("mean", of(&|mean| fine(mean.adjusted_mean))),
                Column::numbers("± its SE", of(&|mean| fine(mean.standard_error))),
                Column::words("letters", of(&|mean| mean.letters.clone())),
                Column::numbers("n", of(&|mean| mean.n.to_string())),
            ];
            if !found.means.is_empty() {
                self.table(&columns, 4);
            }
        }
        if self.pool.together.is_empty() {
            self.text("  ", "No taster scored two ways, so none can be compared.");
        }
    }

    fn pairs(&mut self, pairs: &[&Pair], none: &str) {
        for pair in pairs {
            self.text("  ", &pair.words);
            if pair.classes.len() > 1 {
                self.by_class(pair);
            }
        }
        if pairs.is_empty() {
            self.text("  ", none);
        }
    }

    fn by_class(&mut self, pair: &Pair) {
        let of = |cell: &dyn Fn(&summary::several::pairs::InClass) -> String| -> Vec<String> {
            pair.classes.iter().map(cell).collect()
        };
        self.text("    ", &format!("way {} less way {}, class by class:", pair.first, pair.second));
        let columns = [
            Column::numbers("class", of(&|class| class.class.to_string())),
            Column::numbers("n", of(&|class| class.here.n.to_string())),
            Column::numbers("points", of(&|class| plus(class.here.mean))),
            Column::words("95 % interval", of(&|class| interval(&class.here))),
            Column::numbers("so far", of(&|class| plus(class.so_far.mean))),
            Column::words("95 % interval", of(&|class| interval(&class.so_far))),
        ];
        self.table(&columns, 4);
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

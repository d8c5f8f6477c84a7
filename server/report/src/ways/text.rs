//! Ways as text for a terminal.

use super::words;
use crate::home::CAUTIONS;
use crate::text::lines::Lines;
use crate::text::table::Table;
use plan::ways::{Compared, Group};

/// The heading of a comparison whose file has no title.
pub(super) const TITLE: &str = "Ways side by side";

/// All groups, within so many columns.
pub fn text(compared: &Compared, width: usize) -> String {
    let mut lines = Lines::within(width);
    lines.text("", compared.title.as_deref().unwrap_or(TITLE));
    for of in &compared.groups {
        group(&mut lines, of);
    }
    lines.head("HOW IT IS RECKONED");
    lines.text("  ", words::HOW);
    lines.text("  ", CAUTIONS);
    lines.finish()
}

/// One row of the table: a way, or the middle.
struct Row<'a> {
    who: &'a str,
    dose: f64,
    temp_c: &'a [f64],
    steep_s: &'a [u32],
    rinse_s: Option<u32>,
    strength: Vec<Option<f64>>,
}

fn rows(group: &Group) -> Vec<Row<'_>> {
    let ways = group.ways.iter().map(|of| Row {
        who: &of.way.who,
        dose: of.way.dose_g_per_100_ml,
        temp_c: &of.way.temp_c,
        steep_s: &of.way.steep_s,
        rinse_s: of.way.rinse_s,
        strength: of.strength.clone(),
    });
    let middle = &group.middle;
    let middle = Row {
        who: "the middle way",
        dose: middle.dose_g_per_100_ml,
        temp_c: &middle.temp_c,
        steep_s: &middle.steep_s,
        rinse_s: middle.rinse_s,
        strength: vec![Some(1.0); middle.steep_s.len()],
    };
    let middle = (group.ways.len() > 1).then_some(middle);
    ways.chain(middle).collect()
}

fn group(lines: &mut Lines, group: &Group) {
    lines.head(&words::head(group).to_uppercase());
    let rows = rows(group);
    let table = Table::of(&rows)
        .words("", |row| row.who.into())
        .numbers("g/100 ml", |row| words::plain(row.dose))
        .numbers("°C", |row| words::water(row.temp_c))
        .words("rinse", |row| words::rinse(row.rinse_s))
        .words("steeps, s", |row| words::steeps(row.steep_s));
    lines.table(2, &table);
    for said in words::remarks(group) {
        lines.text("  ", &said);
    }
    if group.ways.len() > 1 {
        lines.head("Each cup, times as strong as the middle way's");
        let mut table = Table::of(&rows).words("steep", |row| row.who.into());
        for steep in 0..group.middle.steep_s.len() {
            table = table.numbers(&(steep + 1).to_string(), |row| {
                row.strength.get(steep).copied().flatten().map_or("–".into(), words::times)
            });
        }
        lines.table(2, &table);
    }
    lines.head("Where they differ, and where not");
    for difference in &group.differences {
        lines.text("  · ", &words::difference(difference));
    }
    for words in words::most(group) {
        lines.text("  ", &words);
    }
    if group.ways.len() > 1 {
        lines.head("Who stands apart");
        for words in words::apart(group) {
            lines.text("  · ", &words);
        }
        lines.head("The middle way");
        lines.text("  ", &words::middle(&group.middle));
        lines.text("  ", words::UNTASTED);
    }
}

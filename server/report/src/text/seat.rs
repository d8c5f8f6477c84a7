//! One seat's own page: you and the class.

use crate::text::table::Table;
use crate::text::{Page, figure};
use crate::words::rehearsal;
use stats::say::signed;
use summary::Summary;
use summary::find::seats::OwnScore;

/// The page of the seat of this name, for that person: its scores beside the class's. `None` if there is no such seat.
pub fn seat_page(summary: &Summary, seat: &str, width: usize) -> Option<String> {
    let found = summary.findings.figures.seats.iter().find(|page| page.seat == seat)?;
    let mut page = Page::new(summary, width);
    page.out.line(&format!("{} · {} · {seat} and the class", summary.title, summary.date));
    rehearsal(summary).iter().for_each(|line| page.out.text("", line));
    found.damage.iter().for_each(|line| page.out.text("", line));
    if found.scores.is_empty() {
        page.out.line("");
        page.out.line("You have scored nothing, so there is nothing to set beside the class.");
        return Some(page.out.finish());
    }
    page.out.line("");
    found.sentences.iter().for_each(|sentence| page.sentence(sentence));
    page.out.head("YOUR SCORES   and the others' mean");
    let mut cups: Vec<(protocol::Code, u32)> = found.scores.iter().map(|s| (s.tea, s.steep)).collect();
    cups.sort_by_key(|&(tea, steep)| (page.place(tea), steep));
    cups.dedup();
    let mut table = Table::of(&cups).words("tea/steep", |(tea, steep)| format!("{tea}/{steep}"));
    for attribute in &found.attributes {
        table = table.numbers(&attribute.attribute, |&(tea, steep)| {
            let own = |s: &&OwnScore| s.attribute == attribute.attribute && (s.tea, s.steep) == (tea, steep);
            let score = found.scores.iter().find(own);
            score.map_or("–".into(), |s| format!("{} ({})", s.own, figure(s.others_mean)))
        });
    }
    page.out.table(2, &table);
    page.out.head("HOW YOU USE THE SCALE   over the steeps");
    let table = Table::of(&found.attributes)
        .words("attribute", |a| a.attribute.clone())
        .numbers("above the class", |a| a.bias.get().map_or("–".into(), |b| signed(b.points)))
        .numbers("your SD", |a| figure(a.spread.get().map(|s| s.sd)))
        .numbers("others' SD", |a| figure(a.spread.get().and_then(|s| s.others_mean_sd)))
        .numbers("correlation", |a| figure(a.with_others.get().map(|c| c.r)));
    page.out.table(2, &table);
    Some(page.out.finish())
}

//! One seat's own page: you and the class.

use crate::home::{
    CAUTIONS, FEW_OTHERS, HABITS, Own, POUR_OFF, Recipe, YOURS, above_class, correlation, liked_and_wished,
};
use crate::text::screen::{NAME, set};
use crate::text::table::Table;
use crate::text::{Page, figure};
use crate::words::rehearsal;
use room::Room;
use summary::Summary;
use summary::find::seats::OwnScore;

/// The page of the seat of this name, for that person: its scores beside the class's, its votes and notes, and how to brew the teas
/// that are revealed. `None` if there is no such seat.
pub fn seat_page(summary: &Summary, room: &Room, seat: &str, width: usize) -> Option<String> {
    let found = &summary.findings.figures.seat(seat)?;
    let mut page = Page::new(summary, width);
    page.out.text("", &format!("{} · {} · {seat} and the class", summary.title, summary.date));
    rehearsal(summary).iter().for_each(|line| page.out.text("", line));
    found.damage.iter().for_each(|line| page.out.text("", line));
    let own = Own::of(room, summary, seat);
    if found.scores.is_empty() {
        page.out.line("");
        page.out.text("", "You have scored nothing, so there is nothing to set beside the class.");
        page.said(&own);
        page.brewing();
        return Some(page.out.finish());
    }
    page.out.line("");
    page.out.text("", YOURS);
    page.out.line("");
    let mine = liked_and_wished(summary, found, &own);
    mine.iter().for_each(|said| page.out.text("  ", said));
    if !mine.is_empty() {
        page.out.line("");
    }
    found.sentences.iter().for_each(|sentence| page.sentence(sentence));
    page.out.head("YOUR SCORES   and the others' mean");
    let mut cups: Vec<(protocol::Code, u32)> = found.scores.iter().map(|s| (s.tea, s.steep)).collect();
    cups.sort_by_key(|&(tea, steep)| (page.place(tea), steep));
    cups.dedup();
    let named = |tea: protocol::Code| {
        let line = summary.teas.iter().find(|line| line.code == tea);
        set(&line.and_then(|line| line.name.clone()).unwrap_or_default(), NAME).trim_end().to_string()
    };
    let cup = |(tea, steep): &(protocol::Code, u32)| {
        format!("{}  {}", summary.cup(*tea, *steep), named(*tea)).trim_end().to_string()
    };
    let mut table = Table::of(&cups).words("tea/steep", cup);
    for attribute in &found.attributes {
        table = table.numbers(&attribute.attribute, |&(tea, steep)| {
            let own = |s: &&OwnScore| s.attribute == attribute.attribute && (s.tea, s.steep) == (tea, steep);
            let score = found.scores.iter().find(own);
            score.map_or("–".into(), |s| format!("{} ({})", s.own, figure(s.others_shown())))
        });
    }
    page.out.table(2, &table);
    if found.scores.iter().any(OwnScore::hides_others) {
        page.out.text("  ", FEW_OTHERS);
    }
    page.said(&own);
    page.out.head("HOW YOU USE THE SCALE");
    page.out.text("  ", HABITS);
    let table = Table::of(&found.attributes)
        .words("attribute", |a| a.attribute.clone())
        .numbers("above the class", above_class)
        .numbers("your spread", |a| figure(a.spread.get().map(|s| s.sd)))
        .numbers("others' spread", |a| figure(a.spread.get().and_then(|s| s.others_mean_sd)))
        .numbers("correlation", correlation);
    page.out.table(2, &table);
    page.brewing();
    Some(page.out.finish())
}

impl Page<'_> {
    /// The seat's votes, words and notes.
    fn said(&mut self, own: &[Own]) {
        if own.is_empty() {
            return;
        }
        self.out.head("YOUR VOTES, WORDS AND NOTES");
        for cup in own {
            self.out.text(&format!("  {}  ", self.summary.cup(cup.tea, cup.steep)), &cup.words());
        }
    }

    /// How the teas are steeped, as far as they are revealed.
    fn brewing(&mut self) {
        self.out.head("TO BREW THEM AGAIN");
        let summary = self.summary;
        for tea in &summary.teas {
            let recipe = Recipe::of(tea).zip(tea.name.as_ref());
            let words =
                recipe.map_or("still blind".into(), |(recipe, name)| format!("{name}: {}", recipe.words()));
            self.out.text(&format!("  {}  ", tea.code), &words);
        }
        self.out.text("  ", POUR_OFF);
        self.out.line("");
        self.out.text("", CAUTIONS);
    }
}

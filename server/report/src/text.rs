//! The summary for a terminal or a printer: what was found in sentences, then the figures behind it.

mod attributes;
mod charts;
pub(crate) mod lines;
pub mod screen;
mod seat;
mod sections;
pub mod several;
pub mod spot;
pub(crate) mod table;

pub use lines::wrapped;
pub use seat::seat_page;

use crate::words::{about, came_later, capital, first, joined, missing, sheets_in, stands};
use lines::Lines;
use protocol::Code;
use summary::sentence::{About, Sentence};
use summary::{CupLine, Summary, TeaLine};

/// The whole summary, 80 wide.
pub fn text(summary: &Summary) -> String {
    within(summary, 80)
}

/// The whole summary in lines of at most `width` characters (60 to 100) unless names are long.
pub fn within(summary: &Summary, width: usize) -> String {
    let mut page = Page::new(summary, width);
    page.write();
    page.out.finish()
}

/// What was found, for whoever reads no further, in lines of at most 80 characters.
pub fn brief(summary: &Summary) -> String {
    let mut page = Page::new(summary, 80);
    page.opening();
    page.out.finish()
}

struct Page<'a> {
    summary: &'a Summary,
    out: Lines,
}

impl<'a> Page<'a> {
    fn new(summary: &'a Summary, width: usize) -> Self {
        Self { summary, out: Lines::within(width) }
    }

    /// Which class, who came, what was put right.
    fn head(&mut self) {
        let s = self.summary;
        self.out.line(&format!("{} · {} · {}", s.title, s.date, stands(s.phase)));
        let (came, expected) = (s.came, s.seats_expected);
        self.out.text("", &format!("{came} of {expected} expected seats came · {}", sheets_in(s)));
        first(s).iter().for_each(|line| self.out.text("", line));
    }

    /// The same, and what was found in short.
    fn opening(&mut self) {
        self.head();
        self.brief();
    }

    fn write(&mut self) {
        let s = self.summary;
        self.opening();
        self.found();
        self.teas();
        if s.findings.tasters > 0 {
            self.attributes();
            self.totals();
            self.ways();
            self.strength();
            self.adapted();
            self.words();
            self.agreement();
        }
        self.difference_tests();
        self.sheets();
        self.absent();
        if !s.still_blind.is_empty() {
            self.out.line("");
            self.still_blind();
        }
        self.out.head("HOW IT WAS COMPUTED");
        for line in &s.findings.method {
            self.out.text("  · ", line);
        }
    }

    /// Whose names are kept from the class.
    fn still_blind(&mut self) {
        let blind = &self.summary.still_blind;
        if !blind.is_empty() {
            let codes = joined(blind, ", ");
            self.out.text("", &format!("Still blind: {codes}. The teacher's `reveal` gives their names."));
        }
    }

    /// The findings for whoever reads no further.
    fn brief(&mut self) {
        let brief = &self.summary.findings.brief;
        if !brief.is_empty() {
            self.out.head("IN SHORT");
        }
        brief.iter().for_each(|line| self.out.text("  ", &line.text));
    }

    /// The sentences, under a head for each kind.
    fn found(&mut self) {
        self.out.head("WHAT WAS FOUND   + is shown   · is not shown, or only told");
        let sentences = &self.summary.findings.sentences;
        let mut before: Option<About> = None;
        for sentence in sentences {
            if before != Some(sentence.about) {
                self.out.line(&format!("  {}", kind(sentence.about)));
                before = Some(sentence.about);
            }
            self.sentence(sentence);
        }
    }

    fn sentence(&mut self, sentence: &Sentence) {
        self.out.text(if sentence.shown { "  + " } else { "  · " }, &sentence.text);
    }

    fn teas(&mut self) {
        self.out.head("THE TEAS");
        for (place, tea) in self.summary.teas.iter().enumerate() {
            self.out.text(&format!("  {} ", charts::letter(place)), &title(tea));
        }
    }

    /// Sheets and notes, tea by tea.
    fn sheets(&mut self) {
        self.out.head("SHEETS AND NOTES");
        for tea in &self.summary.teas {
            self.out.line(&format!("  {}", title(tea)));
            if tea.steeps.is_empty() {
                self.out.line("    not served");
            }
            for cup in &tea.steeps {
                self.cup(cup);
            }
        }
    }

    fn cup(&mut self, cup: &CupLine) {
        let sheets = cup.figures.sheets;
        let mut text = format!("{} · {} of {} sheets", cup.called, sheets.n, sheets.of);
        for (head, who) in [("missing", missing(&cup.missing)), ("came later", came_later(&cup.missing))] {
            if !who.is_empty() {
                text += &format!(" · {head}: {who}");
            }
        }
        self.out.text("    ", &text);
        for note in &cup.notes {
            self.out.text("      ", &format!("{}: \"{}\"", note.seat, note.text));
        }
    }

    /// Who owes what, seat by seat.
    fn absent(&mut self) {
        let owing: Vec<_> = self.summary.seats.iter().filter(|seat| !seat.missing.is_empty()).collect();
        if owing.is_empty() {
            self.out.head("No sheet is missing.");
            return;
        }
        self.out.head("Missing sheets");
        for seat in owing {
            if seat.sheets.n == 0 {
                self.out.line(&format!("  {}: all {}", seat.name, seat.sheets.of));
                continue;
            }
            let cups: Vec<String> = seat.missing.iter().map(|c| self.summary.cup(c.code, c.steep)).collect();
            self.out.text("  ", &format!("{}: {} (tea/steep)", seat.name, cups.join(", ")));
        }
    }

    /// A tea's place, which gives its letter in the pictures.
    fn place(&self, code: Code) -> usize {
        self.summary.teas.iter().position(|tea| tea.code == code).unwrap_or(0)
    }
}

/// What a group of sentences answers, as a head.
pub(super) fn kind(group: About) -> String {
    let asks = matches!(group, About::Difference | About::Agreement | About::Tests);
    capital(about(group)) + if asks { "?" } else { "" }
}

/// A tea's code and, once they may be known, its name and leaf.
fn title(tea: &TeaLine) -> String {
    match (&tea.name, &tea.leaf) {
        (Some(name), Some(leaf)) if name != leaf => format!("TEA {}  {name} (leaf: {leaf})", tea.code),
        (Some(name), _) => format!("TEA {}  {name}", tea.code),
        (None, _) => format!("TEA {}  still blind", tea.code),
    }
}

/// A figure with two decimals, or a dash.
fn figure(value: Option<f64>) -> String {
    value.map_or("–".into(), stats::say::fine)
}

#[cfg(test)]
mod odd;
#[cfg(test)]
mod tests;

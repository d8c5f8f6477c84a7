//! The summary as one page: sentences, pictures, and the figures behind every picture. Nothing is fetched and nothing
//! runs, so it can be mailed, kept and printed. What could not be reckoned is said in words. Pure.
//!
//! A picture is an SVG in the page with a text alternative; its figures are the tables of [`crate::tables`].

mod agreement;
mod axis;
mod canvas;
mod curves;
mod differences;
mod facts;
mod how;
mod html;
mod look;
mod spread;
mod strength;
mod ways;
mod words;

use crate::tables::{Cell, Holds, Table, TableOf, tables};
use crate::text::kind;
use facts::{Facts, capital, listed, scale_words};
use html::Html;
use protocol::Code;
use summary::Summary;
use summary::find::totals::TOTAL;
use summary::sentence::{About, Sentence};

/// The whole page.
pub fn html(summary: &Summary) -> String {
    let page = Page { summary, facts: Facts::of(summary), tables: tables(summary) };
    let mut out = Html::default();
    page.brief(&mut out);
    page.found(&mut out);
    page.teas(&mut out);
    if summary.findings.tasters > 0 {
        page.attributes(&mut out);
        page.strength(&mut out);
        page.words(&mut out);
        page.totals(&mut out);
        page.ways(&mut out);
    }
    page.tests(&mut out);
    page.sheets(&mut out);
    page.method(&mut out);
    out.page(&summary.title, &page.who_came())
}

/// What the page is made of.
struct Page<'a> {
    summary: &'a Summary,
    facts: Facts<'a>,
    tables: Vec<Table>,
}

impl Page<'_> {
    /// The day, and who was there.
    fn who_came(&self) -> Vec<String> {
        let s = self.summary;
        let names: Vec<String> = s.seats.iter().map(|seat| seat.name.clone()).collect();
        let came = match names.len() {
            0 => format!("Nobody came; {} seats were expected.", s.seats_expected),
            n => format!("{n} of {} expected seats came: {}.", s.seats_expected, listed(&names)),
        };
        let mut first = vec![format!("{} · class {}", s.date, s.phase), came];
        if s.sheets.of > 0 {
            first.push(format!("{} of {} sheets are in.", s.sheets.n, s.sheets.of));
        }
        if !s.still_blind.is_empty() {
            let codes: Vec<String> = s.still_blind.iter().map(ToString::to_string).collect();
            first.push(format!("Still blind: {}. The teacher's reveal gives their names.", listed(&codes)));
        }
        first
    }

    /// The findings for whoever reads no further.
    fn brief(&self, out: &mut Html) {
        let brief = &self.summary.findings.brief;
        if !brief.is_empty() {
            out.section("In short", |out| out.list(brief.iter().map(|line| (None, line.clone()))));
        }
    }

    /// The sentences, under a head for each kind.
    fn found(&self, out: &mut Html) {
        out.section("What was found", |out| {
            let sentences = &self.summary.findings.sentences;
            for group in sentences.chunk_by(|a, b| a.about == b.about) {
                out.head(kind(group[0].about));
                out.list(group.iter().map(|sentence| (Some(standing(sentence)), sentence.text.clone())));
            }
        });
    }

    fn teas(&self, out: &mut Html) {
        let tables = self.of(|about| *about == TableOf::Teas, None);
        if !tables.is_empty() {
            out.section("The teas", |out| tables.iter().for_each(|table| out.table(table, None)));
        }
    }

    /// Curves, scores, differences and tasters of every attribute.
    fn attributes(&self, out: &mut Html) {
        for scale in &self.summary.findings.figures.scales {
            let name = &scale.attribute;
            out.section(&capital(name), |out| {
                out.paragraph(&format!("The scale goes from {}.", scale_words(scale)));
                if let Some(why) = spread::without_interval(&self.facts, name) {
                    out.paragraph(&why);
                }
                out.pictures(|out| {
                    let curves = self.of(|about| *about == TableOf::Curves(name.clone()), None);
                    out.picture(&curves::curves(&self.facts, name), &curves);
                    let spread = self.of(|about| *about == TableOf::Spread(name.clone()), None);
                    out.picture(&spread::spread(&self.facts, name), &spread);
                    if let Some(difference) = self.facts.difference(name) {
                        out.picture(&differences::differences(&self.facts, difference), &self.pairs(name));
                    }
                    let mut tasters = self.of(|about| *about == TableOf::Panel, Some(name));
                    let letters = agreement::letters(&self.facts, name);
                    tasters.iter_mut().for_each(|table| by_letter(table, &letters));
                    tasters.extend(self.of(|about| *about == TableOf::Agreement, Some(name)));
                    out.picture(&agreement::agreement(&self.facts, name), &tasters);
                });
            });
        }
    }

    /// What stands behind a comparison of the teas by one attribute.
    fn pairs(&self, attribute: &str) -> Vec<Table> {
        let mut tables = self.of(|about| *about == TableOf::Pairs(attribute.into()), None);
        tables.extend(self.of(|about| *about == TableOf::Differences, Some(attribute)));
        tables
    }

    fn totals(&self, out: &mut Html) {
        let Some(totals) = &self.summary.findings.figures.totals else { return };
        out.section(&capital(TOTAL), |out| {
            let weights = totals.weights.iter().map(|w| {
                let from =
                    w.stretched_from.map_or(String::new(), |[min, max]| format!(" (from {min} to {max})"));
                format!("{} {} %{from}", w.attribute, w.percent)
            });
            out.paragraph(&format!(
                "Out of 100, by {}: {}.",
                totals.source,
                listed(&weights.collect::<Vec<_>>())
            ));
            out.pictures(|out| {
                let behind = self.of(|about| *about == TableOf::Totals, None);
                out.picture(&spread::totals(&self.facts, totals), &behind);
                out.picture(&differences::differences(&self.facts, &totals.difference), &self.pairs(TOTAL));
            });
        });
    }

    fn ways(&self, out: &mut Html) {
        let pairs = &self.summary.findings.figures.ways;
        if pairs.is_empty() {
            return;
        }
        out.section("Two ways of one leaf", |out| {
            out.pictures(|out| {
                for pair in pairs {
                    let mut tables = self.of(|about| *about == TableOf::Ways, None);
                    tables.iter_mut().for_each(|table| keep(table, [pair.first, pair.second]));
                    out.picture(&ways::ways(&self.facts, pair), &tables);
                }
            });
        });
    }

    fn strength(&self, out: &mut Html) {
        let Some(strength) = &self.summary.findings.figures.strength else { return };
        out.section("Strength", |out| {
            out.pictures(|out| {
                let votes = self.of(|about| *about == TableOf::Strength, None);
                out.picture(&strength::votes(&self.facts, strength), &votes);
                let penalty = self.of(|about| *about == TableOf::Penalty, None);
                out.picture(&strength::penalty(&self.facts, strength), &penalty);
            });
        });
    }

    fn words(&self, out: &mut Html) {
        let words = &self.summary.findings.figures.words;
        if words.is_empty() {
            return;
        }
        out.section("Words", |out| {
            out.pictures(|out| {
                let behind = self.of(|about| *about == TableOf::Words, None);
                out.picture(&words::words(&self.facts, words), &behind);
            });
        });
    }

    fn tests(&self, out: &mut Html) {
        let tables = self.of(|about| *about == TableOf::Tests, None);
        if !tables.is_empty() {
            out.section("Difference tests", |out| {
                tables.iter().for_each(|table| out.table(table, Some(&table.title)))
            });
        }
    }

    /// What is in and what was noted; every single score is for a spreadsheet.
    fn sheets(&self, out: &mut Html) {
        let tables = self.of(|about| matches!(about, TableOf::Sheets | TableOf::Notes), None);
        if !tables.is_empty() {
            out.section("Sheets and notes", |out| tables.iter().for_each(|table| out.behind(table)));
        }
    }

    fn method(&self, out: &mut Html) {
        out.section("How it was reckoned", |out| {
            out.list(self.summary.findings.method.iter().map(|line| (None, line.clone())));
        });
    }

    /// The tables that belong somewhere; with `attribute`, of tables over several attributes the rows of this one.
    fn of(&self, wanted: impl Fn(&TableOf) -> bool, attribute: Option<&str>) -> Vec<Table> {
        let mut found: Vec<Table> =
            self.tables.iter().filter(|table| wanted(&table.about)).cloned().collect();
        let Some(attribute) = attribute.map(Cell::from) else { return found };
        for table in &mut found {
            if let Some(column) = table.columns.iter().position(|column| column.holds == Holds::Attribute) {
                table.rows.retain(|row| row[column] == attribute);
                without(table, column);
            }
        }
        found.retain(|table| !table.rows.is_empty());
        found
    }
}

/// Takes a column out.
fn without(table: &mut Table, column: usize) {
    table.columns.remove(column);
    table.rows.iter_mut().for_each(|row| drop(row.remove(column)));
}

/// Puts letters in the place of seats, in the order of the letters.
fn by_letter(table: &mut Table, letters: &[(String, String)]) {
    let Some(column) = table.columns.iter().position(|column| column.holds == Holds::Seat) else { return };
    let place =
        |row: &Vec<Cell>| letters.iter().position(|(seat, _)| row[column] == Cell::from(seat.as_str()));
    table.rows.retain(|row| place(row).is_some());
    table.rows.sort_by_key(place);
    for row in &mut table.rows {
        row[column] = place(row).map(|place| letters[place].1.as_str()).into();
    }
    table.columns[column].name = "taster".into();
}

/// Keeps the rows that are about both of these teas.
fn keep(table: &mut Table, teas: [Code; 2]) {
    let about: Vec<bool> = table.columns.iter().map(|column| column.holds == Holds::Code).collect();
    let names = |row: &[Cell], tea: Code| row.iter().zip(&about).any(|(cell, of)| *of && *cell == tea.into());
    table.rows.retain(|row| teas.iter().all(|tea| names(row, *tea)));
}

/// Whether a sentence tells what is shown, what is not, or what was counted only.
fn standing(sentence: &Sentence) -> &'static str {
    match (sentence.shown, sentence.about, sentence.evidence.p) {
        (true, ..) => "Shown.",
        (false, About::Class, _) => "To bear in mind.",
        (false, About::Strength, Some(_)) => "A hint.",
        (false, _, Some(_)) => "Not shown.",
        (false, _, None) => "As counted.",
    }
}

#[cfg(test)]
mod tests;

//! The summary as one page: sentences, pictures, and the figures behind every picture. Nothing is fetched and nothing
//! runs, so it can be mailed, kept and printed. What could not be computed is said in words. Pure.
//!
//! A picture is an SVG in the page with a text alternative; its figures are the tables of [`crate::tables`].

mod agreement;
mod answers;
pub(crate) mod axis;
pub(crate) mod canvas;
mod cards;
mod curves;
mod differences;
mod facts;
pub(crate) mod folds;
mod how;
mod key;
pub(crate) mod labels;
mod ladder;
pub(crate) mod look;
mod overview;
mod parts;
pub mod several;
mod spread;
mod strength;
mod ways;
mod words;

use crate::lead::Lead;
use crate::tables::codes;
use crate::tables::{Cell, Holds, Table, TableOf, tables};
use crate::text::kind;
use crate::words::{first, seat, sheets_in, stands};
use facts::Facts;
use maud::{Markup, html};
use parts::{Pictures, Section, unbroken};
use protocol::say::list;
use summary::Summary;
use summary::aside::{Aside, What};
use summary::find::describe::Scale;
use summary::find::totals::TOTAL;
use summary::sentence::{About, Sentence};

pub(crate) const STYLE: &str = include_str!("page/style.css");

/// The whole page.
pub fn html(summary: &Summary) -> String {
    let page = Page { summary, facts: Facts::of(summary), tables: tables(summary) };
    let (lead, mut pictures) = (Lead::of(summary), Pictures::default());
    let first = page.first(lead.as_ref(), &mut pictures);
    let sections = page.sections(lead.as_ref(), &mut pictures);
    let (title, id) = (unbroken(&summary.title), |place: usize| format!("part-{}", place + 1));
    let body = html! {
        header {
            h1 { (title) }
            @for text in page.heading() { p { (unbroken(&text)) } }
        }
        (first)
        nav aria-label="Parts of this page" {
            ul {
                @for (place, section) in sections.iter().enumerate() {
                    // The space keeps them apart, since they stand in one line.
                    li { a href={ "#" (id(place)) } { (unbroken(&section.head)) } } "\n"
                }
            }
        }
        main {
            @for (place, section) in sections.iter().enumerate() {
                "\n"
                section id=(id(place)) class=[class(section)] {
                    h2 { (unbroken(&section.head)) }
                    (section.body)
                }
            }
        }
    };
    crate::html::page(&title, STYLE, &body)
}

/// What the page is made of.
struct Page<'a> {
    summary: &'a Summary,
    facts: Facts<'a>,
    tables: Vec<Table>,
}

impl Page<'_> {
    /// The first screen: what was found in short, and all teas in one picture.
    fn first(&self, lead: Option<&Lead<'_>>, pictures: &mut Pictures) -> Markup {
        let brief = &self.summary.findings.brief;
        let lines: Vec<&String> = match brief.is_empty() {
            true => self.summary.findings.sentences.iter().map(|sentence| &sentence.text).collect(),
            false => brief.iter().map(|line| &line.text).collect(),
        };
        let scored = self.summary.findings.tasters > 0;
        html! {
            div class="first" {
                section { h2 { "In short" } (parts::list(lines.into_iter().map(|line| (None, line)))) }
                @if scored { (pictures.picture(&overview::overview(lead), &self.behind_all(lead))) }
            }
        }
    }

    /// The tables behind the first picture.
    fn behind_all(&self, lead: Option<&Lead<'_>>) -> Vec<Table> {
        match lead.map(|lead| lead.name) {
            None => Vec::new(),
            Some(TOTAL) => self.of(&[TableOf::Totals], None),
            Some(name) => self.of(&[TableOf::Spread(name.into())], None),
        }
    }

    fn sections(&self, lead: Option<&Lead<'_>>, pictures: &mut Pictures) -> Vec<Section> {
        let mut sections = Vec::new();
        if self.summary.findings.tasters > 0 {
            let scales = &self.summary.findings.figures.scales;
            sections.push(self.cards(lead, pictures));
            let first = |scale: &Scale| lead.is_some_and(|lead| lead.name == scale.attribute);
            sections.extend(scales.iter().map(|scale| Some(self.attribute(scale, first(scale), pictures))));
            sections.push(self.totals(lead, pictures));
            sections.push(self.ways(pictures));
            sections.push(self.words(pictures));
            sections.push(self.strength(pictures));
            sections.push(self.adapted());
            sections.push(self.agreement(lead, pictures));
        } else {
            sections.push(self.teas());
        }
        sections.extend([self.tests(), Some(self.found()), Some(self.sheets()), Some(self.method())]);
        sections.into_iter().flatten().collect()
    }

    /// The day, how many were there, what has to be known before anything else is read.
    fn heading(&self) -> Vec<String> {
        let s = self.summary;
        let mut parts = vec![s.date.clone(), stands(s.phase)];
        if s.came > 0 {
            parts.push(format!("{} of {} expected seats came", s.came, s.seats_expected));
        }
        if s.sheets.of > 0 {
            parts.push(sheets_in(s));
        }
        let mut lines = vec![parts.join(" · ")];
        let first = first(s);
        lines.extend((!first.is_empty()).then(|| first.join(" ")));
        if !s.still_blind.is_empty() {
            let codes = codes(&s.still_blind);
            lines.push(format!("Still blind: {codes}. The teacher's reveal gives their names."));
        }
        lines
    }

    /// Who was there, by name.
    fn who_came(&self) -> String {
        let s = self.summary;
        let left_out = |aside: &&Aside| matches!(aside.what, What::LeftOut | What::LeftOutHere);
        let left_out = s.aside.iter().filter(left_out).flat_map(|aside| &aside.seat);
        let left_out = left_out.map(|name| format!("{name} (left out)"));
        let names: Vec<String> = s.seats.iter().map(seat).chain(left_out).collect();
        match s.came {
            0 => format!("Nobody came; {} seats were expected.", s.seats_expected),
            n => format!("{n} of {} expected seats came: {}.", s.seats_expected, list(&names)),
        }
    }

    /// The sentences with their evidence, folded by what they are about.
    fn found(&self) -> Section {
        let groups = self.summary.findings.sentences.chunk_by(|a, b| a.about == b.about);
        let body = html! {
            @for group in groups {
                (parts::folded(
                    &kind(group[0].about),
                    &parts::list(group.iter().map(|sentence| (Some(standing(sentence)), &sentence.text))),
                ))
            }
        };
        Section::folded("Every finding with its evidence", body)
    }

    /// The steeps that followed the votes while the class ran.
    fn adapted(&self) -> Option<Section> {
        let lines = self.summary.adapted.iter().map(|steep| (None, &steep.text));
        let body = parts::list(lines);
        (!self.summary.adapted.is_empty()).then(|| Section::new("Steeps changed by the votes", body))
    }

    fn teas(&self) -> Option<Section> {
        let tables = self.of(&[TableOf::Teas], None);
        let body = html! { @for table in &tables { (parts::table(table, None)) } };
        (!tables.is_empty()).then(|| Section::new("The teas", body))
    }

    /// Who came, what is in and what was noted; every single score is for a spreadsheet.
    fn sheets(&self) -> Section {
        let tables = self.of(&[TableOf::Sheets, TableOf::Notes], None);
        let body = html! {
            p { (unbroken(&self.who_came())) }
            (parts::behind(&tables))
        };
        Section::new("Who came, and their sheets", body)
    }

    fn method(&self) -> Section {
        let lines = self.summary.findings.method.iter().map(|line| (None, line));
        Section::folded("How it was computed", parts::folded("The method, step by step", &parts::list(lines)))
    }

    /// The tables that belong somewhere; with `attribute`, of tables over several attributes the rows of this one.
    fn of(&self, about: &[TableOf], attribute: Option<&str>) -> Vec<Table> {
        let mut found: Vec<Table> =
            self.tables.iter().filter(|table| about.contains(&table.about)).cloned().collect();
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

fn class(section: &Section) -> Option<&'static str> {
    section.folded.then_some("folded").or(section.single.then_some("single"))
}

/// Takes a column out.
fn without(table: &mut Table, column: usize) {
    table.columns.remove(column);
    table.rows.iter_mut().for_each(|row| drop(row.remove(column)));
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

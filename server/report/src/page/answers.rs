//! The parts of the page that answer a question each: attributes, totals, ways, words, strength, agreement, difference tests.

use crate::lead::Lead;
use crate::page::parts::{Pictures, Section, behind, beside, folded, list as listed, unbroken};
use crate::page::{Page, agreement, curves, differences, spread, strength, ways, words};
use crate::tables::{Cell, Holds, Table, TableOf};
use crate::words::capital;
use maud::{Markup, html};
use protocol::Code;
use protocol::say::list;
use room::difference_test::TestTea;
use stats::interval::SIGNIFICANCE;
use summary::find::describe::Scale;
use summary::find::difference_tests::TestFound;
use summary::find::totals::TOTAL;

impl Page<'_> {
    /// Curves, scores and differences of an attribute; of the `first`, whose scores are in the first picture, without them.
    pub(super) fn attribute(&self, scale: &Scale, first: bool, pictures: &mut Pictures) -> Section {
        let (name, facts) = (&scale.attribute, &self.facts);
        let mut all = vec![
            pictures.picture(&curves::curves(facts, name), &self.of(&[TableOf::Curves(name.clone())], None)),
        ];
        if !first {
            let table = self.of(&[TableOf::Spread(name.clone())], None);
            all.push(pictures.picture(&spread::spread(facts, name), &table));
        }
        let pairs = facts.difference(name).map(|difference| {
            pictures.picture(&differences::differences(facts, difference), &self.pairs(name))
        });
        // What the class asked first is shown to differ or not in the open.
        let behind = pairs.filter(|pairs| {
            if first {
                all.push(pairs.clone());
            }
            !first
        });
        let body = html! {
            @if let Some(why) = spread::without_interval(facts, name) { p { (unbroken(&why)) } }
            (beside(all))
            @if let Some(pairs) = behind { (folded("Which teas are shown to differ", &pairs)) }
        };
        Section::new(&capital(name), body)
    }

    /// Each taster beside the class: by what the class asked first, and folded by every other attribute.
    pub(super) fn agreement(&self, lead: Option<&Lead<'_>>, pictures: &mut Pictures) -> Option<Section> {
        let scales = &self.summary.findings.figures.scales;
        let mut one = |scale: &Scale| {
            let name = &scale.attribute;
            let mut tables = self.of(&[TableOf::Panel], Some(name));
            let letters = agreement::letters(&self.facts, name);
            tables.iter_mut().for_each(|table| by_letter(table, &letters));
            tables.extend(self.of(&[TableOf::Agreement], Some(name)));
            pictures.picture(&agreement::agreement(&self.facts, name), &tables)
        };
        let first = self.liking(lead)?;
        let picture = one(first);
        let others: Vec<Markup> = scales.iter().filter(|scale| *scale != first).map(one).collect();
        let body = html! {
            (beside([picture]))
            @if !others.is_empty() { (folded("By the other attributes", &beside(others))) }
        };
        Some(Section { single: true, ..Section::new("Do the tasters agree?", body) })
    }

    /// What stands behind a comparison of the teas by one attribute.
    pub(super) fn pairs(&self, attribute: &str) -> Vec<Table> {
        let mut tables = self.of(&[TableOf::Pairs(attribute.into())], None);
        tables.extend(self.of(&[TableOf::Differences], Some(attribute)));
        tables
    }

    pub(super) fn totals(&self, lead: Option<&Lead<'_>>, pictures: &mut Pictures) -> Option<Section> {
        let totals = self.summary.findings.figures.totals.as_ref()?;
        let weights = totals.weights.iter().map(|w| {
            let from = w.stretched_from.map_or(String::new(), |[min, max]| format!(" (from {min} to {max})"));
            format!("{} {} %{from}", w.attribute, w.percent)
        });
        let weights = list(&weights.collect::<Vec<_>>());
        let mut all = Vec::new();
        if lead.is_none_or(|lead| lead.name != TOTAL) {
            let teas = spread::totals(&self.facts, totals);
            all.push(pictures.picture(&teas, &self.of(&[TableOf::Totals], None)));
        }
        let pairs = differences::differences(&self.facts, &totals.difference);
        all.push(pictures.picture(&pairs, &self.pairs(TOTAL)));
        let body = html! {
            p { "Out of 100, by " (unbroken(&totals.source)) ": " (unbroken(&weights)) "." }
            (beside(all))
        };
        Some(Section::new(&capital(TOTAL), body))
    }

    pub(super) fn ways(&self, pictures: &mut Pictures) -> Option<Section> {
        let pairs = &self.summary.findings.figures.ways;
        let all = pairs.iter().map(|pair| {
            let mut tables = self.of(&[TableOf::Ways], None);
            tables.iter_mut().for_each(|table| keep(table, [pair.first, pair.second]));
            pictures.picture(&ways::ways(&self.facts, pair), &tables)
        });
        (!pairs.is_empty()).then(|| Section::pictures("Two ways of one leaf", all))
    }

    pub(super) fn strength(&self, pictures: &mut Pictures) -> Option<Section> {
        let strength = self.summary.findings.figures.strength.as_ref()?;
        let penalty = strength::penalty(&self.facts, strength);
        let all = [pictures.picture(&penalty, &self.of(&[TableOf::Penalty], None))];
        Some(Section::pictures("Strength", all))
    }

    pub(super) fn words(&self, pictures: &mut Pictures) -> Option<Section> {
        let words = &self.summary.findings.figures.words;
        let all = (!words.is_empty())
            .then(|| pictures.picture(&words::words(&self.facts, words), &self.of(&[TableOf::Words], None)));
        all.map(|picture| Section::pictures("Words", [picture]))
    }

    pub(super) fn tests(&self) -> Option<Section> {
        let tests = &self.summary.findings.figures.tests;
        let told = tests.iter().map(|test| (Some(verdict(test)), said_of(test)));
        let told: Vec<(Option<&str>, String)> = told.collect();
        let body = html! {
            (listed(told.iter().map(|(verdict, text)| (*verdict, text))))
            (behind(&self.of(&[TableOf::Tests], None)))
        };
        (!tests.is_empty()).then(|| Section::new("Difference tests", body))
    }
}

/// A difference test in a sentence: which it is, and what was answered.
fn said_of(test: &TestFound) -> String {
    let name = |tea: &TestTea| {
        let code = tea.code.map(|code| code.to_string());
        [code, tea.name.clone()].into_iter().flatten().collect::<Vec<_>>().join(" ")
    };
    let teas = list(&test.teas.each_ref().map(name));
    let answers = test.words.first().map_or("nobody has answered.", String::as_str);
    format!("Test {}, {}, of {teas}: {answers}", test.number, test.kind)
}

/// What a difference test shows.
fn verdict(test: &TestFound) -> &'static str {
    match test.outcome.get() {
        Some(outcome) if outcome.p <= SIGNIFICANCE => "Shown.",
        Some(_) => "Not shown.",
        None => "Not answered.",
    }
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

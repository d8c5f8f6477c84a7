//! A card for each tea: what it is, its ladder, its words, its notes.

use crate::lead::Lead;
use crate::page::Page;
use crate::page::ladder::{Shared, ladder};
use crate::page::parts::{Pictures, Section, unbroken};
use crate::tables::{Holds, Table, TableOf};
use crate::words::{capital, label};
use maud::{Markup, html};
use protocol::Code;
use protocol::say::many;
use summary::TeaLine;
use summary::find::describe::Scale;
use summary::say::next_time::{for_card, to_try};

impl Page<'_> {
    /// The teas in the order of the first picture, then those that are not in it.
    pub(super) fn cards(&self, lead: Option<&Lead<'_>>, pictures: &mut Pictures) -> Option<Section> {
        let scale = self.liking(lead);
        let of_scale = |scale: &'_ Scale| (f64::from(scale.min), f64::from(scale.max));
        let shared = Shared::of(&self.facts, scale.map(|scale| (scale.attribute.as_str(), of_scale(scale))));
        let (shown, out) = lead.map_or((&[][..], &[][..]), |lead| (&lead.teas, &lead.left_out));
        let mut teas: Vec<&TeaLine> =
            shown.iter().map(|tea| tea.tea).chain(out.iter().map(|(tea, _)| *tea)).collect();
        if lead.is_none() {
            teas = self.facts.teas().map(|(_, tea)| tea).collect();
        }
        let cards: Vec<Markup> =
            teas.into_iter().map(|tea| self.card(tea, &shared, scale, pictures)).collect();
        let body = html! { div class="pictures teas" { @for card in &cards { (card) } } };
        (!cards.is_empty()).then(|| Section::new("The teas, one by one", body))
    }

    /// The attribute that has a value at every steep: what the first picture is by, or else what the sheet asks first.
    pub(super) fn liking(&self, lead: Option<&Lead<'_>>) -> Option<&Scale> {
        let scales = &self.summary.findings.figures.scales;
        scales.iter().find(|scale| lead.is_some_and(|lead| lead.name == scale.attribute)).or(scales.first())
    }

    fn card(
        &self,
        tea: &TeaLine,
        shared: &Shared<'_>,
        scale: Option<&Scale>,
        pictures: &mut Pictures,
    ) -> Markup {
        let mut tables =
            scale.map_or(Vec::new(), |scale| self.of(&[TableOf::Curves(scale.attribute.clone())], None));
        tables.extend(self.of(&[TableOf::Strength], None));
        tables.iter_mut().for_each(|table| only(table, tea.code));
        tables.retain(|table| !table.rows.is_empty());
        let next = self.next_time(tea);
        let words = self.ticked(tea.code);
        let notes =
            tea.steeps.iter().flat_map(|cup| cup.notes.iter().map(|note| (capital(&cup.called), note)));
        let notes: Vec<_> = notes.collect();
        html! {
            article {
                h3 { (unbroken(&label(tea))) }
                p class="note" { (unbroken(&what_it_is(tea))) }
                (pictures.bare(&ladder(&self.facts, shared, tea), &tables))
                @if let Some(next) = next { p class="note" { "Next time: " (unbroken(&next)) } }
                @if let Some(words) = words { p class="note" { (unbroken(&words)) } }
                @if !notes.is_empty() {
                    ul class="note" {
                        @for (steep, note) in notes {
                            li { (steep) ", " (note.seat) ": " q { (note.text) } }
                        }
                    }
                }
            }
            "\n"
        }
    }

    /// What the class would change in a tea that was served, with what to try; nothing if strength was not asked.
    fn next_time(&self, tea: &TeaLine) -> Option<String> {
        let figures = &self.summary.findings.figures;
        let said =
            for_card(figures, tea.code, |code| self.facts.label(code)).filter(|_| !tea.steeps.is_empty())?;
        let Some(strength) = figures.strength.as_ref() else { return Some(said) };
        let tried = strength.to_try(tea.code).zip(tea.recipe.as_ref());
        let tried = tried.and_then(|(estimate, way)| to_try(estimate, (way.leaf_g, &way.steep_s)));
        Some(std::iter::once(said).chain(tried).collect::<Vec<_>>().join(" "))
    }

    /// The words ticked for a tea, the most ticked first.
    fn ticked(&self, tea: Code) -> Option<String> {
        let words = &self.summary.findings.figures.words;
        let counts = words.iter().filter_map(|word| {
            let count = word.teas.iter().find(|count| count.tea == tea && count.n > 0)?;
            Some((&word.word, count.n, count.of))
        });
        let mut counts: Vec<_> = counts.collect();
        counts.sort_by_key(|(_, n, _)| std::cmp::Reverse(*n));
        let of = counts.first()?.2;
        let said: Vec<String> = counts.iter().map(|(word, n, _)| format!("{word} {n}")).collect();
        Some(format!("Words, of {}: {}.", many(of, "taster"), said.join(", ")))
    }
}

/// Its leaf, where that is not its name, and its recipe as served.
fn what_it_is(tea: &TeaLine) -> String {
    let Some(way) = &tea.recipe else { return "Still blind: its name and recipe come with reveal.".into() };
    let leaf = tea.leaf.as_ref().filter(|leaf| tea.name.as_ref() != Some(leaf));
    let served = if tea.steeps.is_empty() { " (not served)" } else { "" };
    format!("{}{way}{served}", leaf.map_or(String::new(), |leaf| format!("{leaf}: ")))
}

/// Keeps the rows about one tea.
fn only(table: &mut Table, tea: Code) {
    if let Some(column) = table.columns.iter().position(|column| column.holds == Holds::Code) {
        table.rows.retain(|row| row[column] == tea.into());
    }
}

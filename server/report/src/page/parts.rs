//! The parts of the page: lists, tables, pictures with what stands behind them.

use crate::page::facts::{Figure, Pictured};
use crate::page::how::How;
use crate::tables::{Cell, Column, Table};
use crate::words::capital;
use maud::{Markup, html};

/// A part of the page under its head.
pub struct Section {
    pub head: String,
    pub body: Markup,
    /// Whether nothing of it is there until it is asked for.
    pub folded: bool,
    /// Whether it is one picture, so that another one may stand beside it.
    pub single: bool,
}

impl Section {
    pub fn new(head: &str, body: Markup) -> Self {
        Self { head: head.into(), body, folded: false, single: false }
    }

    /// Of what is there only when it is asked for.
    pub fn folded(head: &str, body: Markup) -> Self {
        Self { folded: true, ..Self::new(head, body) }
    }

    /// Pictures beside each other, as far as there is room.
    pub fn pictures(head: &str, pictures: impl IntoIterator<Item = Markup>) -> Self {
        let pictures: Vec<Markup> = pictures.into_iter().collect();
        Self { single: pictures.len() == 1, ..Self::new(head, beside(pictures)) }
    }
}

/// The same without a head.
pub fn beside(pictures: impl IntoIterator<Item = Markup>) -> Markup {
    html! { div class="pictures" { @for picture in pictures { (picture) } } }
}

/// A number stays with its percent sign.
pub fn unbroken(text: &str) -> String {
    text.replace(" %", "\u{a0}%")
}

/// A list; each item may begin with bold words.
pub fn list<'a>(items: impl IntoIterator<Item = (Option<&'static str>, &'a String)>) -> Markup {
    html! {
        ul {
            @for (first, text) in items {
                li { @if let Some(first) = first { b { (first) } " " } (unbroken(text)) }
            }
        }
    }
}

/// A table that stands open, under its title or under none.
pub fn table(table: &Table, title: Option<&str>) -> Markup {
    html! {
        div class="scroll" {
            table {
                @if let Some(title) = title { caption { (unbroken(title)) } }
                thead {
                    tr {
                        @for column in &table.columns {
                            th scope="col" class=[column.numeric().then_some("number")] {
                                (unbroken(&head(column)))
                            }
                        }
                    }
                }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (cell, column) in row.iter().zip(&table.columns) {
                                td class=[class(cell, column.numeric())] { (unbroken(&cell.to_string())) }
                            }
                        }
                        "\n"
                    }
                }
            }
        }
        @for note in &table.notes { p class="note" { (unbroken(note)) } }
    }
}

fn head(column: &Column) -> String {
    column.unit.as_ref().map_or_else(|| column.name.clone(), |unit| format!("{}, {unit}", column.name))
}

fn class(cell: &Cell, numeric: bool) -> Option<&'static str> {
    match cell {
        Cell::Not(_) => Some("not"),
        _ => numeric.then_some("number"),
    }
}

/// Tables that open when asked for.
pub fn behind(tables: &[Table]) -> Markup {
    match tables {
        [] => html! {},
        [one] => folded(&format!("Table: {}", one.title), &table(one, None)),
        several => folded(
            &format!("{} tables", several.len()),
            &html! { @for one in tables { (table(one, Some(&one.title))) } },
        ),
    }
}

/// Words that open when asked for.
pub fn folded(head: &str, body: &Markup) -> Markup {
    html! { details { summary { (unbroken(head)) } (body) } }
}

/// The pictures of a page so far.
#[derive(Default)]
pub struct Pictures {
    count: usize,
    /// What has been explained, with the identifier of where that stands.
    explained: Vec<(How, String)>,
}

impl Pictures {
    /// A picture with what stands behind it, or why there is none.
    pub fn picture(&mut self, pictured: &Pictured, tables: &[Table]) -> Markup {
        self.with(pictured, tables, true)
    }

    /// The same without its title above it.
    pub fn bare(&mut self, pictured: &Pictured, tables: &[Table]) -> Markup {
        self.with(pictured, tables, false)
    }

    fn with(&mut self, pictured: &Pictured, tables: &[Table], head: bool) -> Markup {
        match pictured {
            Ok(figure) => self.figure(figure, tables, head),
            Err(why) => html! { p class="none" { (unbroken(why)) } },
        }
    }

    fn figure(&mut self, figure: &Figure, tables: &[Table], head: bool) -> Markup {
        self.count += 1;
        let (id, title) = (format!("picture-{}", self.count), unbroken(&capital(&figure.title)));
        let names = [format!("{id}-title"), format!("{id}-desc")];
        html! {
            figure id=(id) {
                @if head { h3 { (title) } }
                svg viewBox=(figure.drawing.view_box()) role="img" aria-labelledby=(names.join(" ")) {
                    title id=(names[0]) { (title) }
                    desc id=(names[1]) { (unbroken(&figure.described)) }
                    "\n" (figure.drawing.body)
                }
                figcaption {
                    @if !figure.caption.is_empty() { p { (unbroken(&figure.caption)) } }
                    (self.how(&figure.how, &id))
                    @if !figure.evidence.is_empty() {
                        (folded("The evidence", &html! { p { (unbroken(&figure.evidence)) } }))
                    }
                    (behind(tables))
                }
            }
            "\n"
        }
    }

    /// How to read a picture, or where that is said.
    fn how(&mut self, how: &How, id: &str) -> Markup {
        if let Some((_, first)) = self.explained.iter().find(|(said, _)| said == how) {
            return html! { p class="how" { a href={ "#" (first) } { "How to read it" } } };
        }
        let id = format!("{id}-how");
        self.explained.push((how.clone(), id.clone()));
        html! { details id=(id) class="how" { summary { "How to read it" } p { (unbroken(&how.to_string())) } } }
    }
}

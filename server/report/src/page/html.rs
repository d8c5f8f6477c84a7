//! The page's elements: sections, words, tables, figures. Everything from people is escaped here and nowhere else.

use crate::page::facts::{Figure, Pictured, capital};
use crate::page::how::How;
use crate::plan::page as plan_page;
use crate::tables::{Cell, Table};
use std::fmt::Write;

/// Text that is shown and never runs; a number stays with its percent sign.
fn escaped(text: &str) -> String {
    plan_page::escaped(text).replace(" %", "\u{a0}%")
}

/// A page that grows.
#[derive(Default)]
pub struct Html {
    out: String,
    /// Heads and identifiers of the sections so far.
    sections: Vec<String>,
    figures: usize,
    /// How to read the pictures so far, with the identifier of the first of each kind.
    explained: Vec<(How, String)>,
}

impl Html {
    /// A part with its head.
    pub fn section(&mut self, head: &str, fill: impl FnOnce(&mut Self)) {
        self.sections.push(head.into());
        self.raw(&format!("<section id=\"part-{}\">\n<h2>{}</h2>\n", self.sections.len(), escaped(head)));
        fill(self);
        self.raw("</section>\n");
    }

    /// Words.
    pub fn paragraph(&mut self, text: &str) {
        self.raw(&format!("<p>{}</p>\n", escaped(text)));
    }

    /// A smaller head.
    pub fn head(&mut self, text: &str) {
        self.raw(&format!("<h3>{}</h3>\n", escaped(text)));
    }

    /// A list; each item may begin with bold words.
    pub fn list(&mut self, items: impl IntoIterator<Item = (Option<&'static str>, String)>) {
        self.raw("<ul>\n");
        for (first, text) in items {
            let first = first.map_or(String::new(), |first| format!("<b>{first}</b> "));
            self.raw(&format!("<li>{first}{}</li>\n", escaped(&text)));
        }
        self.raw("</ul>\n");
    }

    /// Pictures beside each other, as far as there is room.
    pub fn pictures(&mut self, fill: impl FnOnce(&mut Self)) {
        self.raw("<div class=\"pictures\">\n");
        fill(self);
        self.raw("</div>\n");
    }

    /// A picture with what stands behind it, or why there is none.
    pub fn picture(&mut self, pictured: &Pictured, tables: &[Table]) {
        match pictured {
            Ok(figure) => self.figure(figure, tables),
            Err(why) => self.raw(&format!("<p class=\"none\">{}</p>\n", escaped(why))),
        }
    }

    fn figure(&mut self, figure: &Figure, tables: &[Table]) {
        self.figures += 1;
        let (id, title) = (format!("picture-{}", self.figures), escaped(&capital(&figure.title)));
        self.raw(&format!(
            "<figure id=\"{id}\">\n<h3>{title}</h3>\n<svg viewBox=\"{}\" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">\n\
             <title id=\"{id}-title\">{title}</title>\n<desc id=\"{id}-desc\">{}</desc>\n{}\n</svg>\n",
            figure.drawing.view_box(),
            escaped(&figure.described),
            figure.drawing.body
        ));
        let how = self.how(&figure.how, &id);
        let caption =
            if figure.caption.is_empty() { "" } else { " " }.to_string() + &escaped(&figure.caption);
        self.raw(&format!("<figcaption>\n<p>{how}{caption}</p>\n"));
        tables.iter().for_each(|table| self.behind(table));
        self.raw("</figcaption>\n</figure>\n");
    }

    /// How to read a picture, or where that has been said.
    fn how(&mut self, how: &How, id: &str) -> String {
        if let Some((_, first)) = self.explained.iter().find(|(said, _)| said == how) {
            return format!("<a href=\"#{first}\">How to read it.</a>");
        }
        self.explained.push((how.clone(), id.into()));
        escaped(&how.to_string())
    }

    /// A table that opens when asked for; in print it is open.
    pub fn behind(&mut self, table: &Table) {
        self.raw(&format!("<details>\n<summary>Table: {}</summary>\n", escaped(&table.title)));
        self.table(table, None);
        self.raw("</details>\n");
    }

    /// A table that stands open, under its title or under none.
    pub fn table(&mut self, table: &Table, title: Option<&str>) {
        self.raw("<div class=\"scroll\"><table>\n");
        if let Some(title) = title {
            self.raw(&format!("<caption>{}</caption>\n", escaped(title)));
        }
        self.raw("<thead><tr>");
        for column in &table.columns {
            let unit = column.unit.as_ref().map_or(String::new(), |unit| format!(", {unit}"));
            let class = if column.numeric() { " class=\"number\"" } else { "" };
            self.raw(&format!(
                "<th scope=\"col\"{class}>{}</th>",
                escaped(&format!("{}{unit}", column.name))
            ));
        }
        self.raw("</tr></thead>\n<tbody>\n");
        for row in &table.rows {
            self.raw("<tr>");
            for (cell, column) in row.iter().zip(&table.columns) {
                let class = match cell {
                    Cell::Not(_) => " class=\"not\"",
                    _ if column.numeric() => " class=\"number\"",
                    _ => "",
                };
                self.raw(&format!("<td{class}>{}</td>", escaped(&cell.to_string())));
            }
            self.raw("</tr>\n");
        }
        self.raw("</tbody></table></div>\n");
        for note in &table.notes {
            self.raw(&format!("<p class=\"note\">{}</p>\n", escaped(note)));
        }
    }

    fn raw(&mut self, html: &str) {
        self.out += html;
    }

    /// The whole page under this title, `first` coming before the parts and the way to them.
    pub fn page(self, title: &str, first: &[String]) -> String {
        let title = escaped(title);
        let mut page = format!(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
             <style>\n{STYLE}</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n"
        );
        // Writing to a String can't fail.
        for text in first {
            let _ = writeln!(page, "<p>{}</p>", escaped(text));
        }
        let _ = writeln!(page, "</header>\n<nav aria-label=\"Parts of this page\">\n<ul>");
        for (i, head) in self.sections.iter().enumerate() {
            let _ = writeln!(page, "<li><a href=\"#part-{}\">{}</a></li>", i + 1, escaped(head));
        }
        let _ = write!(page, "</ul>\n</nav>\n<main>\n{}</main>\n</body>\n</html>\n", self.out);
        page
    }
}

/// Ink on paper. A picture is as wide as its column; on paper tables stand open under it.
const STYLE: &str = include_str!("style.css");

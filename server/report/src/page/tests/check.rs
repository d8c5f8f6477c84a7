//! What holds for every page.

use crate::page::canvas::{TEXT, width_of};
use std::collections::BTreeSet;

/// Elements without an end.
const EMPTY: [&str; 2] = ["meta", "!DOCTYPE"];

/// Says what is wrong with a page.
pub fn page_is_sound(page: &str) -> Result<(), String> {
    nested(page)?;
    names(page)?;
    for word in page.split(|c: char| !c.is_alphanumeric()) {
        if matches!(word, "NaN" | "inf" | "infinity") {
            return Err(format!("a figure is {word}"));
        }
    }
    for outside in
        ["http:", "https:", "//", "<script", "<link", "<img", "<iframe", "url(", "@import", " src=", " on"]
    {
        let found = page.split('<').skip(1).any(|tag| {
            let tag = tag.split('>').next().unwrap_or_default();
            format!("<{tag}").contains(outside) && !tag.starts_with('/')
        });
        if found {
            return Err(format!("an element has {outside}"));
        }
    }
    page.split("<figure").skip(1).try_for_each(picture)
}

/// Every element ends where it must, attributes are quoted.
fn nested(page: &str) -> Result<(), String> {
    let mut open: Vec<&str> = Vec::new();
    for piece in page.split('<').skip(1) {
        let Some((tag, text)) = piece.split_once('>') else { return Err(format!("no end: {piece}")) };
        if text.contains('>') {
            return Err(format!("a bare > in {text}"));
        }
        if tag.matches('"').count() % 2 == 1 {
            return Err(format!("quotes: {tag}"));
        }
        let name = tag.split([' ', '\n']).next().unwrap_or_default();
        if let Some(name) = name.strip_prefix('/') {
            let last = open.pop();
            if last != Some(name) {
                return Err(format!("</{name}> ends {last:?}"));
            }
        } else if !tag.ends_with('/') && !EMPTY.contains(&name) {
            open.push(name);
        }
    }
    if open.is_empty() { Ok(()) } else { Err(format!("open to the end: {open:?}")) }
}

/// Identifiers are there once, and what refers to them finds them.
fn names(page: &str) -> Result<(), String> {
    let all = |key: &str| -> Vec<String> {
        let start = format!(" {key}=\"");
        let values = page.split(&start).skip(1);
        values.filter_map(|rest| Some(rest.split_once('"')?.0.to_string())).collect()
    };
    let ids = all("id");
    let once: BTreeSet<&String> = ids.iter().collect();
    if once.len() != ids.len() {
        return Err(format!("an identifier twice: {ids:?}"));
    }
    let links = all("href").into_iter().filter_map(|href| href.strip_prefix('#').map(str::to_string));
    let labels =
        all("aria-labelledby").into_iter().flat_map(|l| l.split(' ').map(str::to_string).collect::<Vec<_>>());
    match links.chain(labels).find(|name| !once.contains(name)) {
        Some(missing) => Err(format!("nothing is called {missing}")),
        None => Ok(()),
    }
}

/// A picture has a text alternative, words on how to read it, a table, and letters that can be read and lie in it.
fn picture(figure: &str) -> Result<(), String> {
    let figure = figure.split("</figure>").next().unwrap_or_default();
    let of = |from: &str, to: &str| -> String {
        let rest = figure.split_once(from).map_or("", |(_, rest)| rest);
        rest.split(to).next().unwrap_or_default().to_string()
    };
    let title = of("-title\">", "</title>");
    let said = of("<desc", "</desc>");
    if !figure.contains("role=\"img\"") || of("<title", "</title>").len() < 15 || said.len() < 30 {
        return Err(format!("{title}: no text alternative"));
    }
    if !said.chars().any(|c| c.is_ascii_digit()) {
        return Err(format!("{title}: the text alternative has no numbers: {said}"));
    }
    if !of("<figcaption>", "</figcaption>").contains("How to read it") {
        return Err(format!("{title}: nothing says how to read it"));
    }
    if !of("<figcaption>", "</figcaption>").contains("<tbody><tr>") {
        return Err(format!("{title}: no table"));
    }
    let svg = of("</desc>", "</svg>");
    let height: f64 = of("viewBox=\"0 0 4000 ", "\"").parse().map_err(|_| format!("{title}: no size"))?;
    if svg.len() < 100 {
        return Err(format!("{title}: nothing is drawn"));
    }
    svg.split("<text")
        .skip(1)
        .try_for_each(|text| letters(text, height).map_err(|why| format!("{title}: {why}")))
}

/// One text of a picture, in tenths of a unit.
fn letters(element: &str, height: f64) -> Result<(), String> {
    let number = |key: &str| -> Option<f64> {
        element.split_once(&format!(" {key}=\""))?.1.split('"').next()?.parse().ok()
    };
    let (Some(x), Some(y), Some(size)) = (number("x"), number("y"), number("font-size")) else {
        return Err(format!("a text without place or size: {element}"));
    };
    if (size - TEXT * 10.0).abs() > 1e-6 {
        return Err(format!("letters of {size}"));
    }
    let text = element.split_once('>').and_then(|(_, t)| t.split('<').next()).unwrap_or_default().trim();
    let plain = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&apos;", "'");
    let width = width_of(&plain.replace("&amp;", "&")) * 10.0;
    let left = match element.split("text-anchor=\"").nth(1).and_then(|a| a.split('"').next()) {
        Some("start") => x,
        Some("end") => x - width,
        _ => x - width / 2.0,
    };
    let inside = left >= -1.0 && left + width <= 4001.0 && y - 50.0 >= -1.0 && y + 50.0 <= height + 1.0;
    if inside {
        Ok(())
    } else {
        Err(format!("`{plain}` lies outside: {left:.0} to {:.0} at {y}", left + width))
    }
}

/// The page's shape: without drawings, style, the tables' rows and the sentences, which have their own tests.
pub fn without_pictures(page: &str) -> String {
    let cut = |page: &str, from: &str, to: &str| {
        let mut pieces = page.split(from);
        let first = pieces.next().unwrap_or_default().to_string();
        pieces.fold(first, |page, piece| {
            page + from + "…" + to + piece.split_once(to).map_or("", |(_, rest)| rest)
        })
    };
    [
        ("</desc>", "</svg>"),
        ("<style>", "</style>"),
        ("<tbody>", "</tbody>"),
        ("<h2>Every finding with its evidence</h2>", "</section>"),
    ]
    .iter()
    .fold(page.to_string(), |page, (from, to)| cut(&page, from, to))
}

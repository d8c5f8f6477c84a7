//! What is wrong with a line that is not TOML, in plain words: what was forgotten, or what it was meant to be.

use super::fault::Fault;
use super::heads::Heads;
use super::meant;
use super::quantity::Unit;
use super::statement::{Kind, Section, Statement};
use protocol::text::{NAME_CHARS, acts, clean};
use std::ops::Range;

/// A value is repeated with what it lacks if it is at most so long, characters.
const REPEATED: usize = 50;

/// The first character that acts instead of being shown.
fn strange(source: &str, range: &Range<usize>) -> Option<(Range<usize>, char)> {
    let found =
        source[range.clone()].char_indices().find(|&(_, c)| acts(c) && !matches!(c, '\n' | '\r' | '\t'));
    found.map(|(at, c)| (range.start + at..range.start + at + c.len_utf8(), c))
}

/// The first space before any quote that only looks like one, as text from elsewhere may have it.
fn odd_space(source: &str, range: &Range<usize>) -> Option<(Range<usize>, char)> {
    let said = source[range.clone()].split('"').next()?;
    let found = said.char_indices().find(|&(_, c)| c.is_whitespace() && !c.is_ascii());
    found.map(|(at, c)| (range.start + at..range.start + at + c.len_utf8(), c))
}

/// The key of a line that is hard to read for what is not plain text in it.
pub(super) fn key_meant(source: &str, range: &Range<usize>) -> String {
    let key = source[range.clone()].split('=').next().unwrap_or_default();
    key.chars()
        .filter(|&c| !acts(c) && (c.is_ascii() || !c.is_whitespace()))
        .collect::<String>()
        .trim()
        .into()
}

/// What is wrong with a remark.
pub(super) fn of_remark(source: &str, line: Range<usize>) -> Fault {
    let (place, problem) = match strange(source, &line) {
        Some((place, c)) => (place, not_plain(c)),
        None => (line, "can't be read as it stands".into()),
    };
    Fault { place: Some(place), field: "the remark".into(), problem, remedy: "leave it out".into() }
}

fn not_plain(c: char) -> String {
    format!("holds a character that is not plain text (U+{:04X})", c as u32)
}

/// What is wrong with a statement; `twice` if its key stands further up already.
pub(super) fn of(
    source: &str,
    words: Heads,
    all: &[Statement<'_>],
    statement: &Statement<'_>,
    twice: bool,
) -> Fault {
    let section = statement.section.as_ref().map_or(String::new(), |section| named(source, all, section));
    let key = match statement.kind {
        Kind::Pair(key, _) => clean(key.trim_matches('"'), NAME_CHARS),
        Kind::Head(_) => "the head of a section".into(),
        Kind::Other(_) => "the line".into(),
    };
    let field =
        if matches!(statement.kind, Kind::Pair(..)) { format!("{section}{key}") } else { key.clone() };
    let fault = |place: Range<usize>, problem: &str, remedy: String| Fault {
        place: Some(place),
        field: field.clone(),
        problem: problem.into(),
        remedy,
    };
    let range = statement.range.clone();
    if let Some((place, c)) = strange(source, &range) {
        return fault(place, &not_plain(c), "leave it out".into());
    }
    if let Some((place, c)) = odd_space(source, &range) {
        let problem = format!("holds a space that is not the usual one (U+{:04X})", c as u32);
        return fault(place, &problem, "put a plain space in its place".into());
    }
    match &statement.kind {
        Kind::Head(name) => {
            let name = clean(name, NAME_CHARS);
            let remedy = words.remedy(&name);
            fault(range, "can't be read as it stands", remedy)
        }
        Kind::Other(word) => {
            let remedy = if word.ends_with(':') {
                "write `=` in place of the colon"
            } else {
                "a line is one word, `=` and a value, for example `seats = 8`; a remark begins with `#`"
            };
            let has = source[range.clone()].contains('=');
            fault(range, if has { "does not begin with one word" } else { "has no `=`" }, remedy.into())
        }
        Kind::Pair(_, _) if twice => {
            let key_ends = range.start + key.len();
            fault(range.start..key_ends, "stands here a second time", "keep one of the two lines".into())
        }
        Kind::Pair(_, value) => {
            let (problem, remedy) = of_value(&key, &source[value.clone()], statement.closed);
            fault(if value.is_empty() { range } else { value.clone() }, problem, remedy)
        }
    }
}

/// `tea 2 (Lantern Slope): `, `sheet: `.
fn named(source: &str, all: &[Statement<'_>], section: &Section<'_>) -> String {
    let word = clean(section.name, NAME_CHARS);
    let Some(number) = section.number else { return format!("{word}: ") };
    let name = all.iter().find_map(|s| match &s.kind {
        Kind::Pair(key, value)
            if [("tea", "name"), ("way", "who")].contains(&(word.as_str(), *key))
                && s.section.as_ref() == Some(section) =>
        {
            source[value.clone()].strip_prefix('"')?.strip_suffix('"')
        }
        _ => None,
    });
    let name = name.map_or(String::new(), |name| format!(" ({})", clean(name, NAME_CHARS)));
    format!("{word} {number}{name}: ")
}

/// Another key with its value that stands behind a value in the same line: the key, and from where on.
pub(super) fn more(said: &str) -> impl Iterator<Item = (&str, &str)> {
    let mut quoted = None;
    let equals = said.char_indices().filter(move |&(_, c)| {
        match quoted {
            None if matches!(c, '"' | '\'') => quoted = Some(c),
            Some(open) if c == open => quoted = None,
            _ => {}
        }
        c == '=' && quoted.is_none()
    });
    let key = |c: char| c.is_ascii_alphanumeric() || c == '_';
    equals.filter_map(move |(at, _)| {
        let before = said[..at].trim_end();
        let start = before.trim_end_matches(key).len();
        let apart = said[..start].ends_with([' ', ';', ',']);
        (apart && start < before.len()).then(|| (&before[start..], &said[start..]))
    })
}

/// What is wrong with a value that is not TOML, and what would be right.
fn of_value(key: &str, said: &str, closed: bool) -> (&'static str, String) {
    let shown = clean(said, usize::MAX);
    let example = |value: String| {
        if shown.chars().count() <= REPEATED { format!(": `{key} = {value}`") } else { String::new() }
    };
    if let Some(rest) = shown.strip_prefix(['“', '”', '„', '«', '‘', '’']) {
        let text = rest.strip_suffix(['“', '”', '»', '‘', '’', '"']).unwrap_or(rest);
        let remedy = format!("write straight quotes{}", example(format!("\"{text}\"")));
        return ("stands in quotes that are not straight", remedy);
    }
    let quote = said.chars().next().filter(|c| matches!(c, '"' | '\''));
    if said.is_empty() {
        return ("has no value", "write the value behind the `=`".into());
    }
    if let Some(rest) = shown.strip_prefix('=') {
        return ("has two `=`", format!("keep one{}", example(rest.trim().into())));
    }
    if let Some((_, second)) = more(said).next().filter(|_| !said.starts_with(['{', '['])) {
        let second = clean(second, REPEATED);
        return ("has another value behind it", format!("put `{second}` on a line of its own"));
    }
    if let Some(remedy) = meant::remedy(key, said) {
        return ("can't be read as it stands", remedy);
    }
    if let Some(quote) = quote
        && said.matches(quote).count() == 1
    {
        let remedy = format!("put {quote} at its end{}", example(format!("{shown}{quote}")));
        return ("begins a text that does not end", remedy);
    }
    if !closed {
        let remedy = if said.starts_with('{') { "put } at its end" } else { "put ] at its end" };
        return ("begins a list that does not end", remedy.into());
    }
    match (key, Unit::of(key)) {
        ("date", _) => return ("is no day of the calendar", "write for example `date = 2026-11-28`".into()),
        ("start", _) => return ("is no time of day", "write for example `start = 18:30:00`".into()),
        ("blind" | "strength" | "note" | "in_order" | "balanced" | "roasted", _) => {
            return ("is neither true nor false", "write true or false".into());
        }
        ("pourers", _) => {
            let remedy = "write \"each seat\", or the number of pourers at one table in digits";
            return ("is neither \"each seat\" nor a number", remedy.into());
        }
        ("steep_s", _) => {
            return ("is no list of seconds", "write for example `steep_s = [40, 25, 30]`".into());
        }
        (_, Some(Unit::Count)) => return ("is no number", "write the number alone, in digits".into()),
        (_, Some(unit)) => {
            let remedy = format!("write the number alone, in digits: so many {}", unit.name());
            return ("is no number", remedy);
        }
        _ => {}
    }
    if said.chars().next().is_some_and(char::is_alphabetic) && !said.contains('"') {
        return (
            "is a text without quotes",
            format!("put quotes around it{}", example(format!("\"{shown}\""))),
        );
    }
    let remedy = "numbers stand in digits alone, text in quotes, lists in brackets with commas between: 8, \"aroma\", [40, 25, 30]";
    ("can't be read as it stands", remedy.into())
}

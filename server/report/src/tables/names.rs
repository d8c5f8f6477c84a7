//! Names that a sheet's tab and a file can bear.

use crate::tables::Table;
use std::collections::HashSet;

/// The longest name of a sheet, UTF-16 units.
const LONGEST: usize = 31;
/// The longest part of it that an attribute takes, so that " by steep" and a number fit behind.
const ATTRIBUTE: usize = 19;

/// Short names for attributes, different from each other.
pub fn short<'a>(attributes: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken = HashSet::new();
    attributes.map(|attribute| free(&mut taken, attribute, ATTRIBUTE)).collect()
}

/// Makes all names fit and differ; what comes first keeps its name.
pub fn unique(tables: &mut [Table]) {
    let mut taken = HashSet::new();
    for table in tables {
        table.name = free(&mut taken, &table.name, LONGEST);
    }
}

/// The name, or with a number behind if it is taken, in `room` UTF-16 units.
fn free(taken: &mut HashSet<String>, name: &str, room: usize) -> String {
    let allowed = |c: char| if c.is_control() || r#"[]:*?/\<>|""#.contains(c) { '-' } else { c };
    let name: String = name.chars().map(allowed).collect();
    let numbers = std::iter::once(String::new()).chain((2..).map(|n: u32| format!(" {n}")));
    let mut candidates = numbers.map(|number| cut(&name, room - number.len()) + &number);
    // The numbers never end, so one is free.
    candidates.find(|name| taken.insert(name.to_lowercase())).unwrap_or_default()
}

/// As much of a text as fits, without spaces, dots and apostrophes at its ends, which tabs and files do not bear there.
fn cut(text: &str, room: usize) -> String {
    let mut left = room;
    let fits = |c: char| {
        left = left.checked_sub(c.len_utf16())?;
        Some(c)
    };
    let cut: String = text.chars().map_while(fits).collect();
    let bare = cut.trim_matches(|c: char| c.is_whitespace() || c == '.' || c == '\'');
    if bare.is_empty() { "-".into() } else { bare.into() }
}

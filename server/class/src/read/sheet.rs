//! Reads the sheet.

use super::table::{Placed, Table};
use super::{no_clash, weights};
use crate::weights::ClassWeights;
use protocol::{Attribute, Sheet};
use toml::Spanned;
use toml::de::DeValue;

/// The most attributes a sheet can have.
const MAX_ATTRIBUTES: usize = 12;
/// Names the summary and the exports use for themselves.
const RESERVED: [&str; 2] = ["strength", "note"];

/// Reads `[sheet]` with its weights. `None` means that faults have been noted.
pub(super) fn read(mut table: Table<'_, '_>) -> Option<(Sheet, Option<ClassWeights>)> {
    let default = Sheet::default();
    let example = "[\"aroma\", \"taste\", { name = \"liking\", min = 1, max = 9, low = \"dislike extremely\", high = \"like extremely\" }]";
    let strength = table.yes("strength", default.strength);
    let note = table.yes("note", default.note);
    let attributes = match table.raw("attributes") {
        None => Some(default.attributes),
        Some(value) => match value.get_ref().as_array() {
            Some(list) if (1..=MAX_ATTRIBUTES).contains(&list.len()) => {
                let read: Vec<_> =
                    list.iter().enumerate().map(|(i, v)| read_attribute(&mut table, i + 1, v)).collect();
                no_clash(
                    &mut table,
                    read.iter().flatten(),
                    "attribute",
                    |a| a.name.to_lowercase(),
                    |a| a.name.clone(),
                );
                read.into_iter().map(|a| a.map(|a| a.value)).collect()
            }
            Some(list) => {
                let problem = format!("lists {} attributes", list.len());
                table.fault(
                    value.span(),
                    "attributes",
                    problem,
                    format!("list 1 to {MAX_ATTRIBUTES}, for example `attributes = {example}`"),
                );
                None
            }
            None => {
                table.wrong_kind("attributes", value, "a list", example);
                None
            }
        },
    };
    let words = match table.raw("words") {
        None => Some(Vec::new()),
        Some(value) => {
            let words = read_words(&mut table, value);
            // The exports give each ticked word a row under this name.
            let taken = attributes.iter().flatten().find(|a| a.name.to_lowercase() == "word");
            if let (Some(taken), true) = (taken, words.as_ref().is_none_or(|words| !words.is_empty())) {
                let problem = format!("can't stand beside an attribute named `{}`", taken.name);
                table.fault(value.span(), "words", problem, "give the attribute another name");
            }
            words
        }
    };
    // Without a list of attributes there is nothing to hold the weights against.
    let weights = match &attributes {
        Some(attributes) => weights::read(&mut table, attributes),
        None => table.raw("weights").and(None),
    };
    table.finish();
    Some((Sheet { attributes: attributes?, strength, note, words: words? }, weights?))
}

/// The words to choose from. No comma and no `note` of its own may be in one: a seat without a screen types the words
/// with commas between, up to its note.
fn read_words(table: &mut Table<'_, '_>, value: &Spanned<DeValue<'_>>) -> Option<Vec<String>> {
    let example = "[\"floral\", \"nutty\", \"warm bread\"]";
    let Some(list) = value.get_ref().as_array() else {
        table.wrong_kind("words", value, "a list of texts", example);
        return None;
    };
    if list.len() > Sheet::MAX_WORDS {
        let problem = format!("lists {} words", list.len());
        table.fault(value.span(), "words", problem, format!("list up to {} words", Sheet::MAX_WORDS));
        return None;
    }
    let plain = |text: &str| {
        let word = protocol::text::name(text)?;
        if word.contains(',') || word.split_whitespace().any(|part| part == "note") {
            return Err("it holds a comma or the word `note`, which part what is typed at a seat".to_string());
        }
        Ok(word)
    };
    let read: Vec<_> = list.iter().map(|word| table.text("words", word, example, plain)).collect();
    no_clash(
        table,
        read.iter().flatten(),
        "word",
        |word: &String| protocol::text::name_key(word),
        String::clone,
    );
    read.into_iter().map(|word| word.map(|w| w.value)).collect()
}

fn read_attribute(
    sheet: &mut Table<'_, '_>,
    number: usize,
    value: &Spanned<DeValue<'_>>,
) -> Option<Placed<Attribute>> {
    let span = value.span();
    let plain = |name: String| Attribute { name, min: 1, max: 9, low: None, high: None };
    let attribute = match value.get_ref() {
        DeValue::Table(inner) => {
            let mut table = sheet.inner(&format!("attribute {number}"), inner, span.clone());
            let name = table.required("name", "\"aroma\"").and_then(|v| table.name("name", v, "\"aroma\""));
            let scale = |table: &mut Table<'_, '_>, key, default| match table.raw(key) {
                None => Some(default),
                Some(v) => table.whole_within(key, v, -100..=100, "points").map(|n| n.value as i32),
            };
            let (min, max) = (scale(&mut table, "min", 1), scale(&mut table, "max", 9));
            let words = |table: &mut Table<'_, '_>, key| match table.raw(key) {
                None => Some(None),
                Some(v) => table.name(key, v, "\"faint\"").map(|n| Some(n.value)),
            };
            let (low, high) = (words(&mut table, "low"), words(&mut table, "high"));
            table.finish();
            let (min, max) = (min?, max?);
            if min >= max {
                sheet.fault(
                    span,
                    &format!("attribute {number}"),
                    format!("has a scale from {min} to {max}"),
                    "let min be lower than max",
                );
                return None;
            }
            Attribute { name: name?.value, min, max, low: low?, high: high? }
        }
        _ => plain(sheet.name("attributes", value, "[\"aroma\", \"taste\"]")?.value),
    };
    if RESERVED.contains(&attribute.name.to_lowercase().as_str()) {
        let remedy = format!("choose another name; `{0} = true` asks for it", attribute.name.to_lowercase());
        sheet.fault(
            span,
            "attribute",
            format!("`{}` has a place of its own on the sheet", attribute.name),
            remedy,
        );
        return None;
    }
    Some(Placed { value: attribute, span })
}

//! Reads a class file or a file of ways (TOML). Every fault of the file is found in one go.

mod adapt;
mod broken;
mod difference;
mod draw;
mod fault;
mod heads;
mod meant;
mod quantity;
mod setting;
mod sheet;
mod slip;
mod statement;
pub(crate) mod steeps;
mod table;
mod tea;
mod temps;
mod ways;
mod weights;

pub use fault::{Fault, Faults};

use super::difference::MAX_TESTS;
use super::{Class, MAX_SEATS, MAX_TEAS, Pourers, Tea, taste};
use crate::ways::Collected;
use heads::Heads;
use protocol::{Code, Sheet};
use serde::de::DeserializeOwned;
use std::collections::BTreeSet;
use std::ops::Range;
use table::{Page, Placed, Table, whole};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml::value::Datetime;

/// Reads a class from the text of a class file.
///
/// # Errors
/// All the faults found, each with its place, what is wrong and what would be right.
pub fn class(text: &str) -> Result<Class, Faults> {
    file(text, heads::CLASS, read)
}

/// Reads people's ways of steeping from the text of a file of ways.
///
/// # Errors
/// All the faults found, each with its place, what is wrong and what would be right.
pub fn ways(text: &str) -> Result<Collected, Faults> {
    file(text, heads::WAYS, ways::read)
}

/// Reads a file with sections of these heads.
fn file<T>(text: &str, heads: Heads, read: impl FnOnce(Table<'_, '_>) -> Option<T>) -> Result<T, Faults> {
    let mut faults = Faults::default();
    let mended = heads::mend(text, heads, &mut faults);
    let readable = broken::part(&mended.text, heads, &mut faults);
    let whole = readable.text.as_deref().and_then(|rest| {
        let document = DeTable::parse(rest).ok()?;
        let page = Page { source: &mended.text, broken: &readable.broken, heads };
        read(Table::top(&page, document.get_ref(), &mut faults))
    });
    for fault in &mut faults.0 {
        fault.place = fault.place.take().map(|place| mended.in_source(place));
    }
    faults.0.sort_by_key(|f| f.place.as_ref().map(|place| place.start));
    match whole {
        Some(whole) if faults.0.is_empty() => Ok(whole),
        _ => Err(faults),
    }
}

fn read(mut top: Table<'_, '_>) -> Option<Class> {
    let title = top
        .required("title", "\"An evening side by side\"")
        .and_then(|v| top.text("title", v, "\"An evening side by side\"", protocol::text::title));
    let date = read_date(&mut top);
    let seats = top.count("seats", 1..=i64::from(MAX_SEATS), "", None);
    let pourers = read_pourers(&mut top);
    let warm_s = top.count("warm_s", 0..=120, "s", Some(0));
    let pour_s = top.count("pour_s", 1..=300, "s", None);
    let decant_s = top.count("decant_s", 1..=300, "s", None);
    let taste_s = top.optional_count("taste_s", 10..=3600, "s");
    let pause_s = top.count("pause_s", 0..=3600, "s", Some(15));
    let blind = top.yes("blind", true);
    let adapt = adapt::read(&mut top);
    let setting = setting::read(&mut top);
    let sheet_table = top.raw("sheet");
    let teas_list = top.raw("tea");
    if teas_list.is_none() {
        top.misses(
            &["tea"],
            "is missing: the class has no teas",
            "add a section headed [[tea]] for each tea",
        );
    }
    let sheet = match sheet_table {
        None => Some((Sheet::default(), None)),
        Some(value) => match value.get_ref().as_table() {
            None => {
                let remedy = "write [sheet] alone on its line, one bracket on either side, and once only";
                top.fault(value.span(), "sheet", "needs one section", remedy);
                None
            }
            Some(table) => sheet::read(top.inner("sheet", table, value.span())),
        },
    };
    // Without one of its sections nothing that names a tea can be judged.
    let teas = teas_list.and_then(|value| read_teas(&mut top, value)).filter(|_| !top.is_broken("tea"));
    let tests = setting::sections(&mut top, "test", MAX_TESTS, |t| difference::read(t, teas.as_deref()));
    let rounds = teas.iter().flatten().map(Tea::steeps).max();
    let breaks = setting.iter().flat_map(|s| &s.breaks).zip(places_of(&mut top, "break"));
    for (late, place) in breaks.filter(|(b, _)| rounds.is_some_and(|rounds| b.after_round >= rounds)) {
        let problem =
            format!("comes after round {}, but the class has {}", late.after_round, rounds.unwrap_or(0));
        top.fault(place, "break", problem, "put it after an earlier round, or leave it out");
    }
    top.finish();
    let ((sheet, weights), teas) = (sheet?, teas?);
    Some(Class {
        title: title?.value,
        date: date?,
        seats: seats?,
        pourers: pourers?,
        warm_s: warm_s?,
        pour_s: pour_s?,
        decant_s: decant_s?,
        taste_s: taste_s?.unwrap_or_else(|| taste::taste_s(teas.len(), &sheet)),
        pause_s: pause_s?,
        blind,
        sheet,
        weights,
        adapt: adapt?.map_or_else(Default::default, |adapt| adapt.value),
        teas,
        setting: setting?,
        tests: tests?,
    })
}

/// A day alone, without a time, as a class file writes it.
fn day(read: &Datetime) -> Option<String> {
    (read.date.is_some() && read.time.is_none() && read.offset.is_none()).then(|| read.to_string())
}

/// The day that a text names as a class file would; `None` if it names none.
pub(crate) fn day_of(text: &str) -> Option<String> {
    text.trim().parse().ok().as_ref().and_then(day)
}

/// Values that come with the program as TOML.
pub(crate) fn compiled_in<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    toml::from_str(text).map_err(|error| error.to_string())
}

fn read_date(top: &mut Table<'_, '_>) -> Option<String> {
    let value = top.required("date", "2026-11-28")?;
    let day = value.get_ref().as_datetime().and_then(day);
    if day.is_none() {
        top.wrong_kind("date", value, "a day without quotes", "2026-11-28");
    }
    day
}

fn read_pourers(top: &mut Table<'_, '_>) -> Option<Pourers> {
    let value = top.required("pourers", "\"each seat\"")?;
    if value.get_ref().as_str() == Some("each seat") {
        return Some(Pourers::EachSeat);
    }
    match whole(value.get_ref()) {
        Some(_) => top
            .whole_within("pourers", value, 1..=8, "pairs of hands at the table")
            .map(|n| Pourers::Table(n.value as u8)),
        None => {
            top.wrong_kind(
                "pourers",
                value,
                "\"each seat\" or a number of pourers at one table",
                "\"each seat\"",
            );
            None
        }
    }
}

fn read_teas(top: &mut Table<'_, '_>, value: &Spanned<DeValue<'_>>) -> Option<Vec<Tea>> {
    let Some(list) = value.get_ref().as_array() else {
        setting::wrong_head(top, "tea", value);
        return None;
    };
    if list.is_empty() || list.len() > MAX_TEAS {
        top.fault(
            value.span(),
            "tea",
            format!("stands {} times", list.len()),
            format!("write 1 to {MAX_TEAS} sections headed [[tea]]"),
        );
        return None;
    }
    let (mut teas, mut names, mut codes, mut leaves) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (i, value) in list.iter().enumerate() {
        let Some(table) = value.get_ref().as_table() else {
            setting::wrong_head(top, "tea", value);
            continue;
        };
        let number = i + 1;
        let read = tea::read(number, top.inner(&format!("tea {number}"), table, value.span()));
        if let (Some(name), Some(leaf)) = (&read.name, read.leaf) {
            leaves.push(adapt::OfLeaf { number, name: name.value.clone(), leaf, asked: read.adapt });
        }
        teas.extend(read.tea);
        names.extend(read.name);
        codes.extend(read.code);
    }
    no_clash(top, names.iter(), "tea: name", |name: &String| name.to_lowercase(), String::clone);
    no_clash(top, codes.iter(), "tea: code", Code::to_string, Code::to_string);
    adapt::not_of_ways(top, &leaves);
    // Fewer teas than sections: faults have been noted.
    (teas.len() == list.len()).then_some(teas)
}

/// Where each of the sections of a name begins.
fn places_of(top: &mut Table<'_, '_>, key: &'static str) -> Vec<Range<usize>> {
    let list = top.raw(key).and_then(|value| value.get_ref().as_array());
    list.map_or(Vec::new(), |list| list.iter().map(Spanned::span).collect())
}

/// Notes a fault for everything whose `key` an earlier one has already; `said` is how it is written.
fn no_clash<'p, T: 'p>(
    table: &mut Table<'_, '_>,
    all: impl Iterator<Item = &'p Placed<T>>,
    field: &str,
    key: impl Fn(&T) -> String,
    said: impl Fn(&T) -> String,
) {
    let mut seen = BTreeSet::new();
    for one in all {
        let key = key(&one.value);
        if seen.contains(&key) {
            table.fault(
                one.span.clone(),
                field,
                format!("`{}` is used twice", said(&one.value)),
                "give each its own",
            );
        }
        seen.insert(key);
    }
}

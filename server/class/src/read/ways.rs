//! Reads a file of ways: how people say that they steep a leaf.

use super::table::{Placed, Table};
use super::tea::{Amount, read_amount, read_choice, read_steeps, seconds};
use super::{no_clash, setting, temps};
use crate::start::leaf::MAX_YEARS;
use crate::ways::{Collected, LeafKind, MAX_WAYS, Way};
use protocol::text::acts;

/// The longest remark, characters.
const REMARK_CHARS: usize = 200;

/// Reads the whole file.
pub(super) fn read(mut top: Table<'_, '_>) -> Option<Collected> {
    let example = "\"How we steep it\"";
    let title = match top.raw("title") {
        None => Some(None),
        Some(v) => top.text("title", v, example, protocol::text::title).map(|n| Some(n.value)),
    };
    let Some(value) = top.raw("way") else {
        let problem = "is missing: the file has no ways";
        top.misses(&["way"], problem, "add a section headed [[way]] for each way");
        top.finish();
        return None;
    };
    let Some(list) = value.get_ref().as_array() else {
        setting::wrong_head(&mut top, "way", value);
        top.finish();
        return None;
    };
    if list.is_empty() || list.len() > MAX_WAYS {
        let problem = format!("stands {} times", list.len());
        top.fault(value.span(), "way", problem, format!("write 1 to {MAX_WAYS} sections headed [[way]]"));
        top.finish();
        return None;
    }
    let (mut ways, mut names) = (Vec::new(), Vec::new());
    for (i, value) in list.iter().enumerate() {
        let Some(table) = value.get_ref().as_table() else {
            setting::wrong_head(&mut top, "way", value);
            continue;
        };
        let (way, name) = read_way(i + 1, top.inner(&format!("way {}", i + 1), table, value.span()));
        ways.extend(way);
        names.extend(name);
    }
    no_clash(&mut top, names.iter(), "way: who", |name: &String| name.to_lowercase(), String::clone);
    let all = ways.len() == list.len();
    top.finish();
    all.then_some(Collected { title: title?, ways })
}

/// Reads the `number`th `[[way]]`; the name is there for finding clashes even if the rest has faults.
fn read_way(number: usize, mut table: Table<'_, '_>) -> (Option<Way>, Option<Placed<String>>) {
    let who = table.required("who", "\"Ann\"").and_then(|v| table.name("who", v, "\"Ann\""));
    if let Some(who) = &who {
        table.name = format!("way {number} ({}): ", who.value);
    }
    let form = read_choice(&mut table, "form", "twisted");
    let oxidation = read_choice(&mut table, "oxidation", "half");
    let roasted = table.raw("roasted").is_some().then(|| table.yes("roasted", false));
    let age_years = table.optional_count("age_years", 0..=i64::from(MAX_YEARS), "years");
    let amount = read_amount(&mut table);
    let water_ml = match table.raw("water_ml") {
        None => Some(None),
        Some(v) => table.number_within("water_ml", v, 10.0..=5000.0, "ml").map(|n| Some(n.value)),
    };
    if let (Some(Amount::Grams(_)), Some(None)) = (amount, water_ml) {
        let remedy = "add a line such as `water_ml = 110`, or give dose_g_per_100_ml in place of leaf_g";
        table.misses(&["water_ml"], "is missing: so many grams, to how much water?", remedy);
    }
    let rinse_s = seconds(&mut table, "rinse_s", 0..=60);
    let steep_s = read_steeps(&mut table);
    let temp_c = temps::read(&mut table, steep_s.as_ref().map(Vec::len));
    let remarks = match table.raw("remarks") {
        None => Some(None),
        Some(v) => table
            .text("remarks", v, "\"in a small pot\"", remark)
            .map(|n| Some(n.value).filter(|said| !said.is_empty())),
    };
    table.finish();
    let whole = || {
        Some(Way {
            who: who.as_ref()?.value.clone(),
            kind: LeafKind { form: form?, oxidation: oxidation?, roasted, age_years: age_years? },
            dose_g_per_100_ml: match amount? {
                Amount::Dose(dose) => dose,
                Amount::Grams(grams) => grams * 100.0 / water_ml??,
            },
            water_ml: water_ml?,
            temp_c: temp_c?,
            steep_s: steep_s?,
            rinse_s: rinse_s?,
            remarks: remarks?,
        })
    };
    (whole(), who)
}

/// What else somebody said: plain text of a bearable length.
fn remark(raw: &str) -> Result<String, String> {
    let said = raw.trim();
    match said.chars().count() {
        _ if said.chars().any(acts) => Err("it holds characters that act instead of being shown".into()),
        n if n > REMARK_CHARS => Err(format!("it has {n} characters; {REMARK_CHARS} at most fit")),
        _ => Ok(said.into()),
    }
}

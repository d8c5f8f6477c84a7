//! Reads one tea of a class file.

use super::table::{Placed, Table, whole};
use super::{adapt, setting, steeps, temps};
use crate::start::leaf::{Choice, Form};
use crate::{Adapt, MAX_STEEPS, Tea};
use protocol::Code;
use std::ops::RangeInclusive;

/// The longest steep, seconds.
const MAX_STEEP_S: i64 = crate::course::LONGEST_STEEP_S as i64;

/// One `[[tea]]` as far as it could be read. Name and code are there for finding clashes even if the rest has faults.
pub(super) struct Read {
    /// The tea; `None` means that faults have been noted.
    pub(super) tea: Option<Tea>,
    /// Its name.
    pub(super) name: Option<Placed<String>>,
    /// Its code, if one is given.
    pub(super) code: Option<Placed<Code>>,
    /// Its leaf.
    pub(super) leaf: Option<String>,
    /// Whether its later steeps may be changed, if that is said of it.
    pub(super) adapt: Option<Placed<Adapt>>,
}

/// Reads the `number`th `[[tea]]`.
pub(super) fn read(number: usize, mut table: Table<'_, '_>) -> Read {
    let name =
        table.required("name", "\"Lantern Slope\"").and_then(|v| table.name("name", v, "\"Lantern Slope\""));
    if let Some(name) = &name {
        table.name = format!("tea {number} ({}): ", name.value);
    }
    let leaf = match table.raw("leaf") {
        None => name.as_ref().map(|n| n.value.clone()),
        Some(v) => table.name("leaf", v, "\"spring harvest\"").map(|n| n.value),
    };
    let code = read_code(&mut table);
    let water_ml = table
        .required("water_ml", "110")
        .and_then(|v| table.number_within("water_ml", v, 10.0..=5000.0, "ml"))
        .map(|n| n.value);
    let amount = read_amount(&mut table);
    let rinse_s = seconds(&mut table, "rinse_s", 0..=60);
    let pour_s = seconds(&mut table, "pour_s", 1..=300);
    let decant_s = seconds(&mut table, "decant_s", 1..=300);
    let vessel = setting::read_vessel(&mut table);
    let adapt = adapt::read(&mut table);
    let form = read_choice::<Form>(&mut table, "form", "twisted");
    let steep_s = read_steeps(&mut table);
    let temp_c = temps::read(&mut table, steep_s.as_ref().map(Vec::len));
    table.finish();
    // A closure for the question mark: a tea with faults still gives its name and code.
    let whole = || {
        Some(Tea {
            name: name.as_ref()?.value.clone(),
            leaf: leaf.clone()?,
            code: code.as_ref().map(|c| c.value),
            leaf_g: amount?.grams(water_ml?),
            water_ml: water_ml?,
            temp_c: temp_c?,
            rinse_s: rinse_s?,
            steep_s: steep_s?,
            pour_s: pour_s?,
            decant_s: decant_s?,
            vessel: vessel?,
            adapt: adapt.as_ref()?.as_ref().map(|adapt| adapt.value),
            form: form?,
        })
    };
    let tea = whole();
    Read { tea, name, code, leaf, adapt: adapt.flatten() }
}

/// A word of a choice that may be left out. `None` means that a fault has been noted.
pub(super) fn read_choice<T: Choice>(
    table: &mut Table<'_, '_>,
    key: &'static str,
    example: &str,
) -> Option<Option<T>> {
    let Some(value) = table.raw(key) else { return Some(None) };
    let Some(word) = value.get_ref().as_str() else {
        table.wrong_kind(key, value, "a word in quotes", &format!("\"{example}\""));
        return None;
    };
    match T::ALL.iter().find(|(one, _)| one.word() == word) {
        Some((one, _)) => Some(Some(*one)),
        None => {
            let right = match T::understand(word) {
                Ok(one) => format!("write \"{}\"", one.word()),
                Err(_) => format!("write one of {}", T::words()),
            };
            table.fault(value.span(), key, "says what is not known", right);
            None
        }
    }
}

/// Seconds that may be left out. `None` means that a fault has been noted.
pub(super) fn seconds(
    table: &mut Table<'_, '_>,
    key: &'static str,
    range: RangeInclusive<i64>,
) -> Option<Option<u32>> {
    match table.raw(key) {
        None => Some(None),
        Some(v) => table.whole_within(key, v, range, "s").map(|s| Some(s.value as u32)),
    }
}

/// Leaf as it is given.
#[derive(Clone, Copy)]
pub(super) enum Amount {
    /// Grams.
    Grams(f64),
    /// Grams per 100 ml.
    Dose(f64),
}

impl Amount {
    /// Grams of leaf for so much water. To a hundredth of a gram: no kitchen scale shows more.
    fn grams(self, water_ml: f64) -> f64 {
        match self {
            Amount::Grams(grams) => grams,
            Amount::Dose(dose) => (dose * water_ml / 100.0 * 100.0).round() / 100.0,
        }
    }
}

/// Leaf in grams, or as a dose in grams per 100 ml. `None` means that a fault has been noted.
pub(super) fn read_amount(table: &mut Table<'_, '_>) -> Option<Amount> {
    let (grams, dose) = (table.raw("leaf_g"), table.raw("dose_g_per_100_ml"));
    match (grams, dose) {
        (Some(grams), None) => {
            table.number_within("leaf_g", grams, 0.1..=200.0, "g").map(|n| Amount::Grams(n.value))
        }
        (None, Some(dose)) => table
            .number_within("dose_g_per_100_ml", dose, 0.1..=30.0, "g per 100 ml")
            .map(|n| Amount::Dose(n.value)),
        (Some(_), Some(dose)) => {
            let remedy = "keep leaf_g or dose_g_per_100_ml, not both";
            table.fault(dose.span(), "dose_g_per_100_ml", "says again what leaf_g says", remedy);
            None
        }
        (None, None) => {
            let remedy = "add a line such as `leaf_g = 5.0`";
            table.misses(&["leaf_g", "dose_g_per_100_ml"], "is missing", remedy);
            None
        }
    }
}

fn read_code(table: &mut Table<'_, '_>) -> Option<Placed<Code>> {
    let value = table.raw("code")?;
    let span = value.span();
    let text = match value.get_ref().as_str() {
        Some(text) => text.to_string(),
        None => whole(value.get_ref()).map(|n| n.to_string()).unwrap_or_default(),
    };
    match text.parse() {
        Ok(code) => Some(Placed { value: code, span }),
        Err(problem) => {
            table.fault(
                span,
                "code",
                format!("is none: {problem}"),
                "write for example `code = \"417\"`, or leave it out and one is drawn",
            );
            None
        }
    }
}

pub(super) fn read_steeps(table: &mut Table<'_, '_>) -> Option<Vec<u32>> {
    let example = "[40, 25, 30]";
    let value = table.required("steep_s", example);
    let added = table.raw("then_add_s");
    let wanted = table.raw("steeps");
    let added_s = match added {
        None => Some(None),
        Some(v) => table.whole_within("then_add_s", v, 0..=600, "s").map(|n| Some(n.value as u32)),
    };
    let count = match wanted {
        None => Some(None),
        Some(v) => table
            .whole_within("steeps", v, 1..=i64::from(MAX_STEEPS), "")
            .map(|n| Some(Placed { value: n.value as u32, span: n.span })),
    };
    let value = value?;
    let Some(list) = value.get_ref().as_array() else {
        table.wrong_kind("steep_s", value, "a list of seconds", example);
        return None;
    };
    if list.is_empty() || list.len() > MAX_STEEPS as usize {
        let problem = format!("lists {} steeps", list.len());
        table.fault(
            value.span(),
            "steep_s",
            problem,
            format!("list 1 to {MAX_STEEPS}, for example `steep_s = {example}`; 0 is a flash steep"),
        );
        return None;
    }
    let numbers = list.iter().all(|v| whole(v.get_ref()).is_some());
    if !numbers && table.meant_list("steep_s", value, "whole number of seconds") {
        return None;
    }
    let first: Vec<Option<u32>> = list
        .iter()
        .map(|v| {
            if whole(v.get_ref()).is_none() {
                table.wrong_kind("steep_s", v, "whole seconds", example);
                return None;
            }
            table
                .whole_within("steep_s", v, 0..=MAX_STEEP_S, "s from lid on to the start of the decant")
                .map(|n| n.value as u32)
        })
        .collect();
    let first: Vec<u32> = first.into_iter().collect::<Option<_>>()?;
    let (added_s, count) = (added_s?, count?);
    if table.is_broken("then_add_s") || table.is_broken("steeps") {
        return None;
    }
    let listed = first.len() as u32;
    let Some(count) = count else {
        if let (Some(_), Some(v)) = (added_s, added) {
            table.fault(
                v.span(),
                "then_add_s",
                "has no effect without a number of steeps",
                format!("add `steeps = {}` or leave it out", listed + 4),
            );
            return None;
        }
        return Some(first);
    };
    if count.value < listed {
        let problem = format!("is {}, but steep_s lists {listed}", count.value);
        table.fault(count.span, "steeps", problem, format!("give at least {listed}, or shorten steep_s"));
        return None;
    }
    let Some(added_s) = added_s.or((count.value == listed).then_some(0)) else {
        let problem = format!(
            "is {}, but steep_s lists only {listed} and nothing says how the later ones go on",
            count.value
        );
        table.fault(count.span, "steeps", problem, "add for example `then_add_s = 10`");
        return None;
    };
    let all = steeps::expand(&first, added_s, count.value);
    if let Some(&last) = all.last()
        && i64::from(last) > MAX_STEEP_S
    {
        table.fault(
            count.span,
            "steeps",
            format!("makes the last steep {last} s long"),
            format!("keep every steep within {MAX_STEEP_S} s"),
        );
        return None;
    }
    Some(all)
}

//! Reads the room, its kettles and the vessels.

use super::table::{Placed, Table};
use crate::setting::{Break, FILLS_ML, Kettle, MAX_KETTLES, Material, Setting, Vessel, fill_s};
use toml::Spanned;
use toml::de::DeValue;

/// Reads the keys of the setting from the top of a class file. `None` means that faults have been noted.
pub(super) fn read(top: &mut Table<'_, '_>) -> Option<Setting> {
    let d = Setting::default();
    let start_s = read_start(top);
    let altitude_m = number(top, "altitude_m", -430.0..=5500.0, "m", d.altitude_m);
    let pressure_hpa = optional_number(top, "pressure_hpa", 500.0..=1085.0, "hPa");
    let room_c = number(top, "room_c", 0.0..=45.0, "°C", d.room_c);
    let tolerance_c = number(top, "tolerance_c", 0.0..=5.0, "°C", d.tolerance_c);
    let gap_s = top.count("gap_s", 0..=60, "s", Some(d.gap_s));
    let ready_within_s = top.optional_count("ready_within_s", 0..=3600, "s");
    let ready_give_s = top.count("ready_give_s", 0..=600, "s", Some(d.ready_give_s));
    let in_order = top.yes("in_order", d.in_order);
    let cup_ml = number(top, "cup_ml", 5.0..=300.0, "ml", d.cup_ml);
    let spare_percent = top.count("spare_percent", 0..=100, "per cent", Some(d.spare_percent));
    let kettles = sections(top, "kettle", MAX_KETTLES, read_kettle);
    let shared_kettles = top.yes("shared_kettles", d.shared_kettles);
    let breaks = sections(top, "break", 20, read_break);
    Some(Setting {
        start_s: start_s?,
        altitude_m: altitude_m?,
        pressure_hpa: pressure_hpa?,
        room_c: room_c?,
        tolerance_c: tolerance_c?,
        gap_s: gap_s?,
        ready_within_s: ready_within_s?,
        ready_give_s: ready_give_s?,
        in_order,
        cup_ml: cup_ml?,
        spare_percent: spare_percent?,
        kettles: kettles?,
        shared_kettles,
        breaks: breaks?,
    })
}

/// Reads a tea's vessel. `None` means that faults have been noted, `Some(None)` that none is given.
pub(super) fn read_vessel(table: &mut Table<'_, '_>) -> Option<Option<Vessel>> {
    let (material, mass) = (table.raw("vessel"), table.raw("vessel_g"));
    let mass_g = match mass {
        None => Some(None),
        Some(v) => table.number_within("vessel_g", v, 5.0..=5000.0, "g").map(|n| Some(n.value)),
    };
    let example = "\"porcelain\"";
    let material = match material {
        None => Some(None),
        Some(v) => match v.get_ref().as_str().map(|t| Material::ALL.into_iter().find(|m| m.name() == t)) {
            Some(Some(material)) => Some(Some(material)),
            Some(None) => {
                let known: Vec<&str> = Material::ALL.into_iter().map(Material::name).collect();
                table.fault(
                    v.span(),
                    "vessel",
                    "is of a material that is not known",
                    format!("one of {}", known.join(", ")),
                );
                None
            }
            None => {
                table.wrong_kind("vessel", v, "a material in quotes", example);
                None
            }
        },
    };
    match (material?, mass_g?, material_span(mass)) {
        (Some(material), Some(mass_g), _) => Some(Some(Vessel { material, mass_g })),
        (Some(_), None, _) if table.is_broken("vessel_g") => None,
        (None, Some(_), Some(_)) if table.is_broken("vessel") => None,
        (Some(material), None, _) => {
            let head = table.head();
            table.fault(
                head,
                "vessel_g",
                format!("is missing for a vessel of {}", material.name()),
                "add a line such as `vessel_g = 110`",
            );
            None
        }
        (None, Some(_), Some(span)) => {
            table.fault(
                span,
                "vessel_g",
                "has no effect without a material",
                format!("add a line such as `vessel = {example}`"),
            );
            None
        }
        _ => Some(None),
    }
}

fn material_span(value: Option<&Spanned<DeValue<'_>>>) -> Option<std::ops::Range<usize>> {
    value.map(Spanned::span)
}

fn number(
    table: &mut Table<'_, '_>,
    key: &'static str,
    range: std::ops::RangeInclusive<f64>,
    unit: &str,
    default: f64,
) -> Option<f64> {
    optional_number(table, key, range, unit).map(|n| n.unwrap_or(default))
}

fn optional_number(
    table: &mut Table<'_, '_>,
    key: &'static str,
    range: std::ops::RangeInclusive<f64>,
    unit: &str,
) -> Option<Option<f64>> {
    match table.raw(key) {
        None => Some(None),
        Some(v) => table.number_within(key, v, range, unit).map(|n| Some(n.value)),
    }
}

fn read_start(top: &mut Table<'_, '_>) -> Option<Option<u32>> {
    let Some(value) = top.raw("start") else { return Some(None) };
    let time =
        value.get_ref().as_datetime().filter(|t| t.date.is_none() && t.offset.is_none()).and_then(|t| t.time);
    match time {
        Some(time) => {
            let seconds = u32::from(time.hour) * 3600 + u32::from(time.minute) * 60;
            Some(Some(seconds + u32::from(time.second.unwrap_or(0))))
        }
        None => {
            top.wrong_kind("start", value, "a time of day without quotes", "18:30:00");
            None
        }
    }
}

/// Notes that something else stands under the name of sections that there may be several of.
pub(super) fn wrong_head(top: &mut Table<'_, '_>, key: &'static str, value: &Spanned<DeValue<'_>>) {
    let problem = format!("needs a section for each {key}");
    let remedy = format!("write [[{key}]] alone on its line, two brackets on either side, for each {key}");
    top.fault(value.span(), key, problem, remedy);
}

/// Reads every `[[key]]` section.
pub(super) fn sections<T>(
    top: &mut Table<'_, '_>,
    key: &'static str,
    most: usize,
    read: impl Fn(&mut Table<'_, '_>) -> Option<T>,
) -> Option<Vec<T>> {
    let Some(value) = top.raw(key) else { return Some(Vec::new()) };
    let tables = value
        .get_ref()
        .as_array()
        .map(|list| list.iter().map(|v| (v.span(), v.get_ref().as_table())).collect::<Vec<_>>());
    let Some(tables) = tables.filter(|t| t.iter().all(|(_, table)| table.is_some())) else {
        wrong_head(top, key, value);
        return None;
    };
    if tables.len() > most {
        top.fault(
            value.span(),
            key,
            format!("stands {} times", tables.len()),
            format!("give at most {most}"),
        );
        return None;
    }
    let mut all = Vec::new();
    for (i, (span, table)) in tables.iter().enumerate() {
        let Some(inner) = table else { continue };
        let mut table = top.inner(&format!("{key} {}", i + 1), inner, span.clone());
        let one = read(&mut table);
        table.finish();
        all.push(one);
    }
    all.into_iter().collect()
}

fn read_kettle(table: &mut Table<'_, '_>) -> Option<Kettle> {
    let name = table
        .required("name", "\"big kettle\"")
        .and_then(|v| table.name("name", v, "\"big kettle\""))
        .map(|n: Placed<String>| n.value);
    let fill_ml =
        table.required("fill_ml", "1200").and_then(|v| table.number_within("fill_ml", v, FILLS_ML, "ml"));
    let watts =
        table.required("watts", "1800").and_then(|v| table.number_within("watts", v, 50.0..=10_000.0, "W"));
    let efficiency = number(table, "efficiency", 0.1..=1.0, "", 0.85);
    let cooling_s = number(table, "cooling_s", 60.0..=100_000.0, "s", 2400.0);
    let starts_c = optional_number(table, "starts_c", 1.0..=100.0, "°C");
    let fill_s = table.count("fill_s", 0..=600, "s", Some(fill_s()));
    Some(Kettle {
        name: name?,
        fill_ml: fill_ml?.value,
        watts: watts?.value,
        efficiency: efficiency?,
        cooling_s: cooling_s?,
        starts_c: starts_c?,
        fill_s: fill_s?,
    })
}

fn read_break(table: &mut Table<'_, '_>) -> Option<Break> {
    let after_round = table.count("after_round", 1..=20, "", None);
    let length_s = table.count("length_s", 1..=7200, "s", None);
    Some(Break { after_round: after_round?, length_s: length_s? })
}

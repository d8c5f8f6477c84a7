//! Reads one `[[test]]` of a class file.

use super::table::Table;
use crate::Tea;
use crate::difference::{Asking, DifferenceTest};
use protocol::text::name_key;
use toml::Spanned;
use toml::de::DeValue;

const KINDS: [&str; 3] = ["triangle", "duo-trio", "paired"];

/// Reads a test over some of `teas`. Without them, what can't be checked is let through: their faults have been noted.
pub(super) fn read(table: &mut Table<'_, '_>, teas: Option<&[Tea]>) -> Option<DifferenceTest> {
    let kind = table.required("kind", "\"triangle\"").and_then(|value| read_kind(table, value));
    let (asked, sided, balanced) = (table.raw("ask"), table.raw("sided"), table.raw("balanced"));
    for (key, value, only) in
        [("ask", asked, "paired"), ("sided", sided, "paired"), ("balanced", balanced, "duo-trio")]
    {
        if let (Some(value), Some(kind)) = (value, kind)
            && kind != only
        {
            table.fault(value.span(), key, format!("means nothing in a {kind} test"), "leave it out");
        }
    }
    let ask = match asked {
        Some(value) => table.name("ask", value, "\"stronger\"").map(|ask| ask.value),
        None if kind == Some("paired") => {
            table.required("ask", "\"stronger\"");
            None
        }
        None => Some(String::new()),
    };
    let sided = sided.map_or(Some(2), |v| table.whole_within("sided", v, 1..=2, "").map(|n| n.value));
    let balanced = table.yes("balanced", false);
    let pair = table.required("teas", "[\"Lantern Slope\", \"Copper Pier\"]");
    let pair = pair.and_then(|value| read_pair(table, value, teas));
    let steep = read_steep(table, pair.zip(teas));
    let asking = match kind? {
        "triangle" => Asking::Triangle,
        "duo-trio" => Asking::DuoTrio { balanced },
        _ => Asking::Paired { ask: ask?, one_sided: sided? == 1 },
    };
    Some(DifferenceTest { asking, teas: pair?, steep: steep?, sets: Vec::new(), turns: Vec::new() })
}

fn read_kind(table: &mut Table<'_, '_>, value: &Spanned<DeValue<'_>>) -> Option<&'static str> {
    let Some(text) = value.get_ref().as_str() else {
        table.wrong_kind("kind", value, "a kind in quotes", "\"triangle\"");
        return None;
    };
    let found = KINDS.into_iter().find(|kind| *kind == text);
    if found.is_none() {
        let remedy = format!("one of {}", KINDS.join(", "));
        table.fault(value.span(), "kind", "is a kind of test that is not known", remedy);
    }
    found
}

fn read_pair(
    table: &mut Table<'_, '_>,
    value: &Spanned<DeValue<'_>>,
    teas: Option<&[Tea]>,
) -> Option<[usize; 2]> {
    let list = value.get_ref().as_array();
    let names: Option<Vec<&str>> = list.and_then(|l| l.iter().map(|v| v.get_ref().as_str()).collect());
    let Some([one, other]) = names.as_deref() else {
        let example = "[\"Lantern Slope\", \"Copper Pier\"]";
        let remedy = format!("write for example `teas = {example}`");
        table.fault(value.span(), "teas", "does not name two teas", remedy);
        return None;
    };
    let teas = teas?;
    let mut find = |name: &str| {
        let place = teas.iter().position(|tea| name_key(&tea.name) == name_key(name));
        if place.is_none() {
            let shown = protocol::text::clean(name, protocol::text::NAME_CHARS);
            let names: Vec<&str> = teas.iter().map(|tea| tea.name.as_str()).collect();
            let remedy = format!("name two of: {}", names.join("; "));
            table.fault(value.span(), "teas", format!("names `{shown}`, and no tea is called so"), remedy);
        }
        place
    };
    let (one, other) = (find(one), find(other));
    if one.is_some() && one == other {
        table.fault(value.span(), "teas", "names the same tea twice", "name two different teas");
        return None;
    }
    Some([one?, other?])
}

/// Both teas must have the steep.
fn read_steep(table: &mut Table<'_, '_>, pair: Option<([usize; 2], &[Tea])>) -> Option<u32> {
    let value = table.required("steep", "1")?;
    let steep = table.whole_within("steep", value, 1..=i64::from(crate::MAX_STEEPS), "")?.value as u32;
    let (pair, teas) = pair?;
    let shorter = pair.into_iter().filter_map(|i| teas.get(i)).find(|tea| tea.steeps() < steep);
    if let Some(tea) = shorter {
        let problem = format!("is {steep}, but {} has {} in all", tea.name, tea.steeps());
        table.fault(value.span(), "steep", problem, format!("give 1 to {}", tea.steeps()));
        return None;
    }
    Some(steep)
}

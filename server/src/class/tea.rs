//! Reads one tea of a class file.

use super::table::{Placed, Table, whole};
use super::{MAX_STEEPS, Tea, steeps};
use protocol::Code;

/// The longest steep, seconds.
const MAX_STEEP_S: i64 = 3600;

/// One `[[tea]]` as far as it could be read. Name and code are there for finding clashes even if the rest has faults.
pub struct Read {
    /// The tea; `None` means that faults have been noted.
    pub tea: Option<Tea>,
    /// Its name.
    pub name: Option<Placed<String>>,
    /// Its code, if one is given.
    pub code: Option<Placed<Code>>,
}

/// Reads the `number`th `[[tea]]`.
pub fn read(number: usize, mut table: Table<'_, '_>) -> Read {
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
    let leaf_g =
        table.required("leaf_g", "5.0").and_then(|v| table.number_within("leaf_g", v, 0.1..=200.0, "g"));
    let water_ml = table
        .required("water_ml", "110")
        .and_then(|v| table.number_within("water_ml", v, 10.0..=5000.0, "ml"));
    let rinse_s = match table.raw("rinse_s") {
        None => Some(None),
        Some(v) => table.whole_within("rinse_s", v, 0..=60, "s").map(|s| Some(s.value as u32)),
    };
    let steep_s = read_steeps(&mut table);
    let temp_c = read_temps(&mut table, steep_s.as_ref().map(Vec::len));
    table.finish();
    // Not the question mark: a tea with faults still gives its name and code.
    let tea = match (&name, leaf, leaf_g, water_ml, temp_c, rinse_s, steep_s) {
        (
            Some(name),
            Some(leaf),
            Some(leaf_g),
            Some(water_ml),
            Some(temp_c),
            Some(rinse_s),
            Some(steep_s),
        ) => Some(Tea {
            name: name.value.clone(),
            leaf,
            code: code.as_ref().map(|c| c.value),
            leaf_g: leaf_g.value,
            water_ml: water_ml.value,
            temp_c,
            rinse_s,
            steep_s,
        }),
        _ => None,
    };
    Read { tea, name, code }
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
                problem,
                "write for example `code = \"417\"`, or leave it out and one is drawn",
            );
            None
        }
    }
}

fn read_steeps(table: &mut Table<'_, '_>) -> Option<Vec<u32>> {
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
    let first: Vec<Option<u32>> = list
        .iter()
        .map(|v| {
            table
                .whole_within("steep_s", v, 0..=MAX_STEEP_S, "s from lid on to the start of the decant")
                .map(|n| n.value as u32)
        })
        .collect();
    let first: Vec<u32> = first.into_iter().collect::<Option<_>>()?;
    let (added_s, count) = (added_s?, count?);
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

fn read_temps(table: &mut Table<'_, '_>, steeps: Option<usize>) -> Option<Vec<f64>> {
    let range = 1.0..=100.0;
    let unit = "°C (water boils at 100 °C at sea level)";
    let value = table.required("temp_c", "95")?;
    let Some(list) = value.get_ref().as_array() else {
        let one = table.number_within("temp_c", value, range, unit)?;
        return Some(vec![one.value; steeps?]);
    };
    let all: Vec<Option<f64>> =
        list.iter().map(|v| table.number_within("temp_c", v, range.clone(), unit).map(|n| n.value)).collect();
    let all: Vec<f64> = all.into_iter().collect::<Option<_>>()?;
    let steeps = steeps?;
    if all.len() != steeps {
        let problem = format!(
            "lists {} temperatures for {steeps} steep{}",
            all.len(),
            if steeps == 1 { "" } else { "s" }
        );
        table.fault(value.span(), "temp_c", problem, format!("give one for all, or a list of {steeps}"));
        return None;
    }
    Some(all)
}

//! The water's temperature at each steep: one for all, a list, or a ramp.

use super::table::{Table, number};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const UNIT: &str = "°C (water boils at 100 °C at sea level)";

/// Reads `temp_c` for so many steeps. `None` means that a fault has been noted, here or about the steeps.
pub(super) fn read(table: &mut Table<'_, '_>, steeps: Option<usize>) -> Option<Vec<f64>> {
    let range = 1.0..=100.0;
    let value = table.required("temp_c", "95")?;
    match value.get_ref() {
        DeValue::Array(list) => {
            let numbers = list.iter().all(|v| number(v.get_ref()).is_some());
            if !numbers && table.meant_list("temp_c", value, "number of °C") {
                return None;
            }
            let all: Vec<Option<f64>> = list
                .iter()
                .map(|v| table.number_within("temp_c", v, range.clone(), UNIT).map(|n| n.value))
                .collect();
            let all: Vec<f64> = all.into_iter().collect::<Option<_>>()?;
            let steeps = steeps?;
            if all.len() != steeps {
                let problem = format!(
                    "lists {} temperatures for {steeps} steep{}",
                    all.len(),
                    if steeps == 1 { "" } else { "s" }
                );
                let remedy = format!("give one for all, or a list of {steeps}");
                table.fault(value.span(), "temp_c", problem, remedy);
                return None;
            }
            Some(all)
        }
        DeValue::Table(inner) => read_ramp(table, value, inner, steeps),
        _ => {
            let one = table.number_within("temp_c", value, range, UNIT)?;
            Some(vec![one.value; steeps?])
        }
    }
}

fn read_ramp(
    outer: &mut Table<'_, '_>,
    value: &Spanned<DeValue<'_>>,
    inner: &DeTable<'_>,
    steeps: Option<usize>,
) -> Option<Vec<f64>> {
    let mut table = outer.inner("temp_c", inner, value.span());
    let end = |table: &mut Table<'_, '_>, key, example| {
        let value = table.required(key, example)?;
        table.number_within(key, value, 1.0..=100.0, UNIT).map(|n| n.value)
    };
    let from_c = end(&mut table, "from", "90");
    let to_c = end(&mut table, "to", "98");
    let last_step = steeps.map_or(1, |s| s as u32).max(1);
    let from_steep = table.count("from_steep", 1..=i64::from(last_step), "", Some(1));
    let to_steep = table.count("to_steep", 1..=i64::from(last_step), "", Some(last_step));
    let head = table.head();
    table.finish();
    let (from_c, to_c, from_steep, to_steep, steeps) = (from_c?, to_c?, from_steep?, to_steep?, steeps?);
    if from_steep > to_steep {
        outer.fault(head, "temp_c", "ends before it begins", "let from_steep be no later than to_steep");
        return None;
    }
    Some((1..=steeps as u32).map(|steep| ramp(steep, (from_steep, from_c), (to_steep, to_c))).collect())
}

/// The temperature of a steep on a straight line between two steeps, level outside them, to a tenth of a degree.
fn ramp(steep: u32, (from_steep, from_c): (u32, f64), (to_steep, to_c): (u32, f64)) -> f64 {
    let part = match to_steep - from_steep {
        0 => f64::from(u8::from(steep > from_steep)),
        steps => (f64::from(steep) - f64::from(from_steep)) / f64::from(steps),
    };
    ((from_c + (to_c - from_c) * part.clamp(0.0, 1.0)) * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::ramp;

    #[test]
    fn a_ramp_is_level_before_and_after_and_straight_between() {
        let ramped: Vec<f64> = (1..=6).map(|steep| ramp(steep, (2, 90.0), (5, 99.0))).collect();
        assert_eq!(ramped, [90.0, 90.0, 93.0, 96.0, 99.0, 99.0]);
        assert_eq!([1, 2, 3].map(|steep| ramp(steep, (2, 90.0), (2, 99.0))), [90.0, 90.0, 99.0]);
    }
}

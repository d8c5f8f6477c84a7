//! Reads the weights of a class.

use super::table::{Table, number};
use crate::weights::standard::{STANDARDS, Standard, Weights};
use crate::weights::{AttributeWeight, ClassWeights};
use protocol::Attribute;
use toml::Spanned;
use toml::de::DeValue;

/// An example that fits most sheets.
const EXAMPLE: &str = "{ aroma = 40, taste = 60 }";

/// Reads `weights` of the sheet. `None` means that a fault has been noted.
pub(super) fn read(table: &mut Table<'_, '_>, attributes: &[Attribute]) -> Option<Option<ClassWeights>> {
    let Some(value) = table.raw("weights") else { return Some(None) };
    match value.get_ref() {
        DeValue::String(row) => row_of(table, value, row, attributes).map(Some),
        DeValue::Table(_) => own(table, value, attributes).map(Some),
        _ => {
            let wanted = "the name of a row of weights or a table of percents";
            table.wrong_kind("weights", value, wanted, EXAMPLE);
            None
        }
    }
}

fn row_of(
    table: &mut Table<'_, '_>,
    value: &Spanned<DeValue<'_>>,
    row: &str,
    attributes: &[Attribute],
) -> Option<ClassWeights> {
    let Some(standard) = Standard::of(row) else {
        let rows: Vec<String> = STANDARDS.iter().map(|s| format!("\"{}\"", s.tea)).collect();
        let problem = format!("knows no row named `{}`", protocol::text::clean(row, 40));
        let remedy = format!("write one of {}, or a table such as {EXAMPLE}", rows.join(", "));
        table.fault(value.span(), "weights", problem, remedy);
        return None;
    };
    let weights = Weights::from(standard);
    let on_sheet = |name: &str| attributes.iter().any(|a| a.name == name);
    let missing: Vec<&str> =
        weights.factors().iter().map(|(name, _)| name.as_str()).filter(|name| !on_sheet(name)).collect();
    if !missing.is_empty() {
        let problem = format!("weighs {}, which the sheet does not ask", missing.join(", "));
        let remedy = format!("add {} to `attributes`, or give weights of your own", missing.join(", "));
        table.fault(value.span(), "weights", problem, remedy);
        return None;
    }
    let of = |(attribute, percent): &(String, f64)| AttributeWeight {
        attribute: attribute.clone(),
        percent: *percent,
    };
    Some(ClassWeights { row: Some(row.into()), attributes: weights.factors().iter().map(of).collect() })
}

fn own(
    table: &mut Table<'_, '_>,
    value: &Spanned<DeValue<'_>>,
    attributes: &[Attribute],
) -> Option<ClassWeights> {
    let entries = value.get_ref().as_table()?;
    let mut found = Vec::new();
    let mut faulty = false;
    for (key, percent) in entries {
        let name = key.get_ref().as_ref();
        let shown = protocol::text::clean(name, 40);
        if !attributes.iter().any(|a| a.name == name) {
            let asked: Vec<&str> = attributes.iter().map(|a| a.name.as_str()).collect();
            let remedy = format!("weigh only what the sheet asks: {}", asked.join(", "));
            table.fault(
                key.span(),
                "weights",
                format!("names `{shown}`, which the sheet does not ask"),
                remedy,
            );
            faulty = true;
            continue;
        }
        match number(percent.get_ref()).filter(|p| *p > 0.0 && *p <= 100.0) {
            Some(percent) => found.push((key.span(), AttributeWeight { attribute: name.into(), percent })),
            None => {
                let problem = format!("gives `{shown}` no weight above 0 and up to 100");
                let remedy = "write the percent as a number, or leave the attribute out";
                table.fault(percent.span(), "weights", problem, remedy);
                faulty = true;
            }
        }
    }
    if faulty {
        return None;
    }
    // A TOML table has no order of its own; the text's is the teacher's.
    found.sort_by_key(|(span, _)| span.start);
    let weights = ClassWeights { row: None, attributes: found.into_iter().map(|(_, w)| w).collect() };
    match weights.weights() {
        Ok(_) => Some(weights),
        Err(fault) => {
            let remedy = format!("write percents that add up to 100, for example `weights = {EXAMPLE}`");
            table.fault(value.span(), "weights", format!("can't be used: {fault}"), remedy);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::read;

    fn with(sheet: &str) -> Result<Option<crate::weights::ClassWeights>, Vec<String>> {
        let text = include_str!("../../../tests/classes/two-ways.toml");
        let text = text.replacen("[[tea]]", &format!("[sheet]\n{sheet}\n\n[[tea]]"), 1);
        match read::class(&text) {
            Ok(class) => Ok(class.weights),
            Err(faults) => Err(faults.0.iter().map(|f| format!("{}: {}", f.field, f.problem)).collect()),
        }
    }

    #[test]
    fn own_weights_are_read_in_the_order_of_the_file() {
        let found = with("attributes = [\"taste\", \"aroma\"]\nweights = { taste = 62.5, aroma = 37.5 }");
        let found = found.unwrap().unwrap();
        let pairs: Vec<_> = found.attributes.iter().map(|w| (w.attribute.as_str(), w.percent)).collect();
        assert_eq!((found.row, pairs), (None, vec![("taste", 62.5), ("aroma", 37.5)]));
    }

    #[test]
    fn a_row_fills_in_its_weights() {
        let five = "attributes = [\"appearance\", \"liquor colour\", \"aroma\", \"taste\", \"infused leaf\"]";
        let found = with(&format!("{five}\nweights = \"oolong\"")).unwrap().unwrap();
        let percents: Vec<f64> = found.attributes.iter().map(|w| w.percent).collect();
        assert_eq!((found.row.as_deref(), percents), (Some("oolong"), vec![20.0, 5.0, 30.0, 35.0, 10.0]));
        assert_eq!(with(five), Ok(None));
    }

    #[test]
    fn weights_that_do_not_fit_are_refused_with_the_reason() {
        for (weights, problem) in [
            ("\"oolongs\"", "knows no row named `oolongs`"),
            ("\"green\"", "weighs appearance, liquor colour, infused leaf, which the sheet does not ask"),
            ("{ aroma = 40, taste = 50 }", "can't be used: the weights add up to 90 %, not to 100 %"),
            ("{ aroma = 40, tastes = 60 }", "names `tastes`, which the sheet does not ask"),
            ("{ aroma = 0, taste = 100 }", "gives `aroma` no weight above 0 and up to 100"),
            ("{}", "can't be used: needs one factor at least"),
            ("7", "is the number 7, but should be the name of a row of weights or a table of percents"),
        ] {
            let found = with(&format!("attributes = [\"aroma\", \"taste\"]\nweights = {weights}"));
            assert_eq!(found, Err(vec![format!("sheet: weights: {problem}")]), "{weights}");
        }
    }
}

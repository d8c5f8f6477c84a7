//! What a plan takes for granted about hands and kettles, in words.

use class::{Class, Pourers};

/// One sentence: who pours, and whose kettles the water comes from.
pub(super) fn assumes(class: &Class) -> String {
    let (seats, kettles) = (class.seats, &class.setting.kettles);
    let names: Vec<&str> = kettles.iter().map(|k| k.name.as_str()).collect();
    let names = names.join(" and ");
    let several = kettles.len() > 1;
    // "One kettle: kettle" says nothing.
    let unnamed = !several && names.to_lowercase() == "kettle";
    let named =
        |before: &str, after: &str| if unnamed { String::new() } else { format!("{before}{names}{after}") };
    match class.pourers {
        _ if kettles.is_empty() => match class.pourers {
            Pourers::EachSeat => "Each seat pours, with water at every temperature always at hand.".into(),
            Pourers::Table(_) => "Water at every temperature is always at hand.".into(),
        },
        Pourers::Table(_) if several => format!("All water comes from {} kettles: {names}.", kettles.len()),
        Pourers::Table(_) => format!("All water comes from one kettle{}.", named(": ", "")),
        Pourers::EachSeat if class.setting.shared_kettles => {
            let from = if unnamed { "one kettle" } else { &names };
            format!("Each seat pours, and all {seats} seats draw their water from {from}.")
        }
        Pourers::EachSeat => {
            let own = if several { "kettles of its own" } else { "a kettle of its own" };
            format!(
                "Each seat pours and has {own}{}: {} kettles in all.",
                named(" (", ")"),
                seats as usize * kettles.len()
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use class::read;

    #[test]
    fn a_kettle_that_is_called_just_that_is_not_named() {
        let six = include_str!("../../../demo/six-teas.toml").replacen("big kettle", "Kettle", 1);
        let said = |file: &str| assumes(&read::class(file).unwrap());
        let seats = six.replacen("pourers = 1", "pourers = \"each seat\"", 1);
        assert_eq!(said(&six), "All water comes from one kettle.");
        assert_eq!(said(&seats), "Each seat pours and has a kettle of its own: 6 kettles in all.");
        assert_eq!(
            said(&format!("shared_kettles = true\n{seats}")),
            "Each seat pours, and all 6 seats draw their water from one kettle."
        );
    }
}

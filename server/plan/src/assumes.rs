//! What a plan takes for granted about hands and kettles, in words.

use class::{Class, Pourers};

/// One sentence: who pours, and whose kettles the water comes from.
pub(super) fn assumes(class: &Class) -> String {
    let (seats, kettles) = (class.seats, &class.setting.kettles);
    let names: Vec<&str> = kettles.iter().map(|k| k.name.as_str()).collect();
    let names = names.join(" and ");
    let several = kettles.len() > 1;
    match class.pourers {
        _ if kettles.is_empty() => match class.pourers {
            Pourers::EachSeat => "Each seat pours, with water at every temperature always at hand.".into(),
            Pourers::Table(_) => "Water at every temperature is always at hand.".into(),
        },
        Pourers::Table(_) if several => format!("All water comes from {} kettles: {names}.", kettles.len()),
        Pourers::Table(_) => format!("All water comes from one kettle: {names}."),
        Pourers::EachSeat if class.setting.shared_kettles => {
            format!("Each seat pours, and all {seats} seats draw their water from {names}.")
        }
        Pourers::EachSeat => {
            let own = if several { "kettles of its own" } else { "a kettle of its own" };
            format!(
                "Each seat pours and has {own} ({names}): {} kettles in all.",
                seats as usize * kettles.len()
            )
        }
    }
}

//! How much water goes into the kettles in the course of a class: more than is drawn where some is poured away or left over.

use super::{Deed, KettleStep};
use class::setting::Kettle;
use class::{Class, Pourers};

/// All fillings of all kettles, millilitres: the first one, those afresh, and what fills up. None for a kettle that is not
/// used.
pub(crate) fn filled_ml(class: &Class, steps: &[KettleStep]) -> f64 {
    let one = |(i, kettle): (usize, &Kettle)| -> f64 {
        let own = || steps.iter().filter(move |step| step.kettle == i + 1);
        let stands_full = kettle.starts_c.is_some() && own().next().is_some();
        let poured_in = own().map(|step| match step.deed {
            Deed::SwitchOn { ml, .. } | Deed::Afresh { ml, .. } | Deed::Refill { ml, .. } => ml,
            Deed::Set { .. } | Deed::Draw { .. } => 0.0,
        });
        poured_in.fold(if stands_full { kettle.fill_ml } else { 0.0 }, |sum, ml| sum + ml)
    };
    let sets = match class.pourers {
        Pourers::EachSeat if !class.setting.shared_kettles => class.seats.max(1),
        _ => 1,
    };
    // Not `sum`, whose nought of nothing has a sign.
    f64::from(sets) * class.setting.kettles.iter().enumerate().map(one).fold(0.0, |sum, ml| sum + ml)
}

#[cfg(test)]
mod tests {
    use crate::document::{Plan, document};
    use crate::kettles::Deed;
    use class::read;

    const SIX: &str = include_str!("../../../../demo/six-teas.toml");

    fn planned(file: &str) -> Plan {
        document(&read::class(file).unwrap().with_codes(1), 1).unwrap()
    }

    #[test]
    fn what_is_brought_is_enough_for_every_filling() {
        let second = "\n[[kettle]]\nname = \"small kettle\"\nfill_ml = 1000\nwatts = 1800\n";
        let plan = planned(&format!("{SIX}{second}"));
        let (first_ml, afresh_ml) = (1500.0 + 1000.0, 1500.0 + 1000.0);
        let afresh = plan.kettles.iter().filter(|step| matches!(step.deed, Deed::Afresh { .. })).count();
        assert_eq!(afresh, 2);
        let refills = plan.kettles.iter().filter_map(|step| match step.deed {
            Deed::Refill { ml, .. } => Some(ml),
            _ => None,
        });
        let filled_ml = first_ml + afresh_ml + refills.sum::<f64>();
        let q = &plan.quantities;
        assert_eq!(q.filled_ml, filled_ml);
        assert!(q.table.water_ml < filled_ml, "{q:?}");
        assert!((q.to_bring.water_ml - 1.1 * filled_ml).abs() < 1e-6, "10 % to spare: {q:?}");
    }

    #[test]
    fn a_kettle_that_stands_full_has_been_filled_too_and_every_seat_fills_its_own() {
        let once_ml = planned(SIX).quantities.filled_ml;
        let on = planned(&SIX.replacen("[[kettle]]", "[[kettle]]\nstarts_c = 98", 1));
        assert_eq!(on.quantities.filled_ml, once_ml);
        let seats = planned(&SIX.replacen("pourers = 1", "pourers = \"each seat\"", 1));
        assert!(seats.quantities.filled_ml >= 6.0 * 1500.0, "{}", seats.quantities.filled_ml);
    }

    #[test]
    fn what_is_drawn_is_brought_where_no_kettle_is_filled() {
        let q = planned(include_str!("../../../tests/classes/two-ways.toml")).quantities;
        assert_eq!((q.filled_ml, q.to_bring), (0.0, q.with_spare(q.table)));
    }
}

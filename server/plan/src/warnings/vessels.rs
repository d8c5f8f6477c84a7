//! Vessels: leaf that leaves nothing to drink, and one vessel more for next to nothing.

use super::listed;
use crate::quantities::{Quantities, TeaNeed};
use class::{Class, Pourers, Tea};
use protocol::Code;

/// So much of a vessel's water, or of a cup, is worth saving a vessel: a tenth.
const LITTLE: f64 = 0.1;
/// Takes a rounding of the arithmetic for no reason to ask for a millilitre more.
const ROUNDING: f64 = 1e-6;

/// Teas whose leaf would keep all the water.
pub(super) fn none(class: &Class, quantities: &Quantities) -> Option<String> {
    let without = class.coded().zip(&quantities.teas).filter(|(_, need)| need.vessels.is_none());
    let codes: Vec<Code> = without.map(|((code, _), _)| code).collect();
    (!codes.is_empty()).then(|| {
        format!(
            "{}: the leaf would keep all the water of its first steep; take more water or less leaf.",
            listed(&codes)
        )
    })
}

/// Teas of which one vessel less would nearly do.
pub(super) fn nearly_one_less(class: &Class, quantities: &Quantities) -> Vec<String> {
    let mut said: Vec<(Vec<Code>, String)> = Vec::new();
    for ((code, tea), need) in class.coded().zip(&quantities.teas) {
        let Some(words) = one_less(class, tea, need) else { continue };
        match said.iter_mut().find(|(_, known)| *known == words) {
            Some((codes, _)) => codes.push(code),
            None => said.push((vec![code], words)),
        }
    }
    said.into_iter().map(|(codes, words)| format!("{}: {words}", listed(&codes))).collect()
}

fn one_less(class: &Class, tea: &Tea, need: &TeaNeed) -> Option<String> {
    let (Pourers::Table(_), Some(vessels)) = (class.pourers, need.vessels) else { return None };
    let less = vessels.checked_sub(1).filter(|&less| less > 0)?;
    let smallest_ml = need.liquor.iter().map(|l| l.ml).fold(f64::INFINITY, f64::min);
    let (seats, cup_ml) = (f64::from(class.seats.max(1)), class.setting.cup_ml);
    let short_ml = seats * cup_ml - f64::from(less) * smallest_ml;
    let water_ml = (tea.water_ml + short_ml / f64::from(less) - ROUNDING).ceil();
    let smaller_ml = (f64::from(less) * smallest_ml / seats + ROUNDING).floor();
    let more_water = water_ml - tea.water_ml <= LITTLE * tea.water_ml;
    let smaller_cups = smaller_ml >= (1.0 - LITTLE) * cup_ml;
    let change = match (more_water, smaller_cups) {
        (true, true) => format!("{water_ml:.0} ml of water in each, or cups of {smaller_ml:.0} ml,"),
        (true, false) => format!("{water_ml:.0} ml of water in each"),
        (false, true) => format!("cups of {smaller_ml:.0} ml"),
        (false, false) => return None,
    };
    let short_ml = short_ml.ceil();
    Some(match less {
        1 => format!("2 vessels for {short_ml:.0} ml: {}.", change.replace(" in each", "") + " do with one"),
        _ => format!("{vessels} vessels for {short_ml:.0} ml: {change} do with {less}."),
    })
}

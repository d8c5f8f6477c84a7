//! How hot the water really is: where it boils, what a vessel takes from it, and how it cools.
//!
//! Millilitres of water count as grams. Water near boiling is up to 4 % lighter; that moves the temperature after a
//! pour by about half a degree, well inside the ranges given here.

use class::setting::{Material, Setting, Vessel};
use serde::Serialize;

/// Specific heat of liquid water, J/(kg K): its mean from 20 to 95 °C is 4187.9 (reference equation of state), so
/// this is good to 0.1 %.
pub const WATER_J_PER_KG_K: f64 = 4186.0;
/// Drinks above this are "very hot", °C (IARC Monographs volume 116, 2016).
pub const VERY_HOT_C: f64 = 65.0;
/// How well one cooling constant describes a whole cooling, as a share of it: cooling slows down on the way.
const COOLING_SPREAD: f64 = 0.15;

/// A temperature that is known as a range only, °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Span {
    /// The lowest it is likely to be.
    pub low_c: f64,
    /// The highest it is likely to be.
    pub high_c: f64,
}

impl Span {
    /// A temperature known exactly.
    pub fn exactly(temp_c: f64) -> Self {
        Self { low_c: temp_c, high_c: temp_c }
    }

    fn between(a_c: f64, b_c: f64) -> Self {
        Self { low_c: a_c.min(b_c), high_c: a_c.max(b_c) }
    }

    /// In whole degrees, for people: `88–91 °C`, or `90 °C` if both ends round to the same.
    pub fn words(self) -> String {
        let (low, high) = (format!("{:.0}", self.low_c), format!("{:.0}", self.high_c));
        if low == high { format!("{low} °C") } else { format!("{low}–{high} °C") }
    }
}

/// Air pressure of the standard atmosphere, hPa, at a height in metres above sea level, −2000 to 11 000 m
/// (ISO 2533; the tests hold it to a table computed elsewhere).
/// Weather moves the true pressure by ± 20 hPa.
pub fn pressure_at_hpa(altitude_m: f64) -> f64 {
    1013.25 * (1.0 - 0.0065 * altitude_m / 288.15).powf(5.255_88)
}

/// The room's air pressure, hPa: as measured, or else from its altitude.
pub fn air_pressure_hpa(setting: &Setting) -> f64 {
    setting.pressure_hpa.unwrap_or_else(|| pressure_at_hpa(setting.altitude_m))
}

/// Boiling point of water, °C, at an air pressure in hPa, 7 to 200 000 hPa: the saturation temperature by the
/// backward equation of region 4 of IAPWS-IF97 (IAPWS R7-97, 2012). The tests
/// hold its coefficients against values computed with CoolProp and iapws.
pub fn boiling_c(pressure_hpa: f64) -> f64 {
    const N: [f64; 10] = [
        0.116_705_214_527_67e4,
        -0.724_213_167_032_06e6,
        -0.170_738_469_400_92e2,
        0.120_208_247_024_70e5,
        -0.323_255_503_223_33e7,
        0.149_151_086_135_30e2,
        -0.482_326_573_615_91e4,
        0.405_113_405_420_57e6,
        -0.238_555_575_678_49,
        0.650_175_348_447_98e3,
    ];
    let megapascals = pressure_hpa / 1e4;
    let beta = megapascals.powf(0.25);
    let e = beta * beta + N[2] * beta + N[5];
    let f = N[0] * beta * beta + N[3] * beta + N[6];
    let g = N[1] * beta * beta + N[4] * beta + N[7];
    let d = 2.0 * g / (-f - (f * f - 4.0 * e * g).sqrt());
    let sum = N[9] + d;
    (sum - (sum * sum - 4.0 * (N[8] + N[9] * d)).sqrt()) / 2.0 - 273.15
}

/// What to say about a set point that water cannot reach in this room; nothing if it lies within `tolerance_c` of
/// the boiling point. How to make up for it is common practice, no source.
pub fn reach_warning(set_c: f64, boiling_c: f64, tolerance_c: f64) -> Option<String> {
    (set_c > boiling_c + tolerance_c).then(|| {
        format!(
            "Water boils at {boiling_c:.1} °C here and cannot be {set_c} °C: pour it at the full boil, and steep \
             longer or take more leaf to make up for it."
        )
    })
}

/// Specific heat of a material, J/(kg K), from the lowest to the highest value in use.
///
/// Published tables: porcelain 1050, clay 920, fireclay 800, window glass 840, borosilicate glass 750, grey cast iron
/// 460, silver 233, austenitic stainless steel 500. The spread of porcelain (750–1080) and the 235 of silver are from
/// memory, not shown as a citation. Where one value only was found, ± 5 % is allowed for alloys.
pub fn specific_heat(material: Material) -> (f64, f64) {
    match material {
        Material::Porcelain => (750.0, 1080.0),
        Material::Stoneware => (800.0, 920.0),
        Material::Glass => (750.0, 840.0),
        Material::CastIron => (437.0, 483.0),
        Material::Silver => (233.0, 235.0),
        Material::StainlessSteel => (475.0, 525.0),
    }
}

/// Mass balance without any loss to the air: water into a vessel whose whole wall comes to the same temperature.
fn mixed_c(water_c: f64, water_g: f64, vessel_c: f64, vessel_g: f64, vessel_j_per_kg_k: f64) -> f64 {
    let (water, vessel) = (water_g * WATER_J_PER_KG_K, vessel_g * vessel_j_per_kg_k);
    if water + vessel <= 0.0 {
        return water_c;
    }
    (water * water_c + vessel * vessel_c) / (water + vessel)
}

/// Temperature after water of `water_c` has been poured into an empty vessel that stands at `vessel_c` (a cold one
/// at the room's temperature), over the specific heats of its material. It is the hottest that the pour can leave:
/// leaf and air take a little more.
pub fn poured_c(water_c: f64, water_ml: f64, vessel: &Vessel, vessel_c: f64) -> Span {
    let (low, high) = specific_heat(vessel.material);
    let with = |heat| mixed_c(water_c, water_ml, vessel_c, vessel.mass_g, heat);
    Span::between(with(low), with(high))
}

/// The same after the vessel, at `vessel_c` before, has been warmed with as much water of the same temperature and
/// emptied: its wall then stands where that first filling ended.
pub fn poured_warmed_c(water_c: f64, water_ml: f64, vessel: &Vessel, vessel_c: f64) -> Span {
    let (low, high) = specific_heat(vessel.material);
    let fill = |wall_c, heat| mixed_c(water_c, water_ml, wall_c, vessel.mass_g, heat);
    let with = |heat| fill(fill(vessel_c, heat), heat);
    Span::between(with(low), with(high))
}

/// What liquid stands in while it cools.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cooling {
    /// A closed crockery teapot. Galton, The Art of Travel: 2 °F a minute near 82 °C, which is 0.0165–0.018 a minute.
    /// A small lidded bowl cools faster; no published figure was found for one.
    ClosedPot,
    /// An open ceramic mug of 300 ml: 0.022–0.027 a minute, mean 0.024 (M. de Podesta's measurements, quoted second
    /// hand).
    OpenMug,
    /// A cup with a lid: about half as fast as the open mug (from the same measurements).
    LiddedCup,
    /// A small open tasting cup of 30–50 ml: 0.06–0.12 a minute, common practice, an order of magnitude only.
    TastingCup,
}

impl Cooling {
    /// The least and the greatest cooling constant, per minute: the measured one ± 15 %, wider for a tasting cup.
    pub fn per_minute(self) -> (f64, f64) {
        let about = |k: f64| (k * (1.0 - COOLING_SPREAD), k * (1.0 + COOLING_SPREAD));
        match self {
            Cooling::ClosedPot => about(0.017_25),
            Cooling::OpenMug => about(0.024),
            Cooling::LiddedCup => about(0.012),
            Cooling::TastingCup => (0.06, 0.12),
        }
    }
}

/// Temperature after `seconds` by Newton's law of cooling with one constant, per minute.
fn newton_c(from_c: f64, room_c: f64, per_minute: f64, seconds: f64) -> f64 {
    room_c + (from_c - room_c) * (-per_minute * seconds / 60.0).exp()
}

/// Temperature after standing for `seconds` in a room of `room_c`: Newton's law of cooling over both ranges, that of
/// the start and that of the cooling constant.
pub fn cooled_c(from: Span, cooling: Cooling, room_c: f64, seconds: f64) -> Span {
    let (slow, fast) = cooling.per_minute();
    let after = |from_c| {
        Span::between(newton_c(from_c, room_c, slow, seconds), newton_c(from_c, room_c, fast, seconds))
    };
    Span { low_c: after(from.low_c).low_c, high_c: after(from.high_c).high_c }
}

/// A warning if a cup reaches the lips above 65 °C, or may do so.
pub fn lips_warning(cup: Span) -> Option<String> {
    let how_sure = if cup.low_c > VERY_HOT_C { "is" } else { "may be" };
    (cup.high_c > VERY_HOT_C).then(|| {
        format!(
            "The cup {how_sure} very hot at the lips ({}): wait until it is below 65 °C (IARC 2016: very hot \
             drinks above 65 °C are probably carcinogenic; they also scald).",
            cup.words()
        )
    })
}

#[cfg(test)]
mod tests;

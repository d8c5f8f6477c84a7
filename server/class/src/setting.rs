//! The room and its kettles: what the plan needs to know beyond the teas. Everything here may be left out.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::ops::RangeInclusive;

/// The most kettles at one table.
pub const MAX_KETTLES: usize = 4;

/// The room, its kettles, and the run of the class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Setting {
    /// Clock time at which the first round begins, seconds after midnight.
    pub start_s: Option<u32>,
    /// Height above sea level, metres.
    pub altitude_m: f64,
    /// Air pressure, if it was measured; it goes before the altitude.
    pub pressure_hpa: Option<f64>,
    /// Air in the room, °C.
    pub room_c: f64,
    /// Set points so close together need no new setting, °C.
    pub tolerance_c: f64,
    /// Seconds that one pair of hands has at least between two tasks.
    pub gap_s: u32,
    /// Cups of a round may get ready so far apart, seconds; `None` asks for the smallest spread there is.
    pub ready_within_s: Option<u32>,
    /// What more of it the plan may give where the last cup then comes a minute or more earlier, seconds; 0 for none. Of no
    /// effect with `ready_within_s`.
    #[serde(skip_serializing_if = "is_usual_give")]
    pub ready_give_s: u32,
    /// Whether teas are poured in the order of the file.
    pub in_order: bool,
    /// What one person's tasting cup holds, millilitres.
    pub cup_ml: f64,
    /// How much more leaf and water to bring than is needed, per cent.
    pub spare_percent: u32,
    /// The kettles; none means that water at every temperature is always at hand.
    pub kettles: Vec<Kettle>,
    /// When each seat brews: whether all seats draw from these kettles, or every seat has such kettles of its own.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub shared_kettles: bool,
    /// Breaks between rounds.
    pub breaks: Vec<Break>,
}

impl Default for Setting {
    fn default() -> Self {
        Self {
            start_s: None,
            altitude_m: 0.0,
            pressure_hpa: None,
            room_c: 20.0,
            tolerance_c: 1.0,
            gap_s: 0,
            ready_within_s: None,
            ready_give_s: READY_GIVE_S,
            in_order: false,
            cup_ml: 30.0,
            spare_percent: 10,
            kettles: Vec::new(),
            shared_kettles: false,
            breaks: Vec::new(),
        }
    }
}

/// What a kettle may hold, millilitres.
pub const FILLS_ML: RangeInclusive<f64> = 100.0..=20_000.0;

/// A kettle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kettle {
    /// What it is called.
    pub name: String,
    /// What it is filled with, millilitres.
    pub fill_ml: f64,
    /// Heating power, watts.
    pub watts: f64,
    /// Share of the power that reaches the water, 0 to 1.
    pub efficiency: f64,
    /// Time constant of its cooling, seconds.
    pub cooling_s: f64,
    /// Where it stands when the class begins, °C; `None` means that it is preset for its first tea.
    pub starts_c: Option<f64>,
    /// Seconds of hands' work to fill it up.
    #[serde(default = "fill_s", skip_serializing_if = "is_usual_filling")]
    pub fill_s: u32,
}

/// What is given of the least spread unless the class file says so, seconds. Common practice, no source.
const READY_GIVE_S: u32 = 10;

// What is as usual is left out of a ledger, whose entries older programs have written without it.
fn is_usual_give(s: &u32) -> bool {
    *s == READY_GIVE_S
}

fn is_usual_filling(s: &u32) -> bool {
    *s == fill_s()
}

/// What it takes to fill a kettle up unless the class file says so, seconds. Common practice, no source.
pub fn fill_s() -> u32 {
    20
}

/// A break after a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Break {
    /// After which round.
    pub after_round: u32,
    /// How long, seconds.
    pub length_s: u32,
}

/// What a steeping vessel is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// Porcelain.
    Porcelain,
    /// Stoneware or clay.
    Stoneware,
    /// Glass.
    Glass,
    /// Cast iron.
    CastIron,
    /// Silver.
    Silver,
    /// Stainless steel.
    StainlessSteel,
}

impl Material {
    /// All materials.
    pub const ALL: [Material; 6] = [
        Material::Porcelain,
        Material::Stoneware,
        Material::Glass,
        Material::CastIron,
        Material::Silver,
        Material::StainlessSteel,
    ];

    /// Its name in a class file.
    pub fn name(self) -> &'static str {
        match self {
            Material::Porcelain => "porcelain",
            Material::Stoneware => "stoneware",
            Material::Glass => "glass",
            Material::CastIron => "cast iron",
            Material::Silver => "silver",
            Material::StainlessSteel => "stainless steel",
        }
    }
}

/// A steeping vessel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Vessel {
    /// What it is made of.
    pub material: Material,
    /// Its mass without lid water, grams.
    pub mass_g: f64,
}

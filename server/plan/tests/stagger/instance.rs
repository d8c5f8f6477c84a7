//! One round as a line of JSON.

use plan::exact::{Kettle, Round, TeaJob};
use plan::heat::Heat;
use serde::Deserialize;

/// A tea of an instance, seconds and °C.
#[derive(Deserialize)]
pub struct Tea {
    pour: u32,
    steep: u32,
    decant: u32,
    temp: f64,
}

/// A kettle of an instance.
#[derive(Deserialize)]
pub struct KettleLine {
    fill_kg: f64,
    watts: f64,
    eta: f64,
    tau_s: f64,
    start_c: Option<f64>,
}

/// One line.
#[derive(Deserialize)]
pub struct Instance {
    /// Its name.
    pub id: String,
    hands: u8,
    #[serde(default)]
    order_fixed: bool,
    room_c: f64,
    tol_c: f64,
    teas: Vec<Tea>,
    #[serde(default)]
    kettles: Vec<KettleLine>,
    #[serde(default)]
    gap: u32,
}

impl Instance {
    /// The round for the planner.
    pub fn round(&self) -> Round {
        let tea = |t: &Tea| TeaJob {
            pour_s: t.pour,
            steep_s: t.steep,
            decant_s: t.decant,
            temp_c: t.temp,
            ml: 0.0,
        };
        let kettle = |&KettleLine { fill_kg, watts, eta, tau_s, start_c }: &KettleLine| Kettle {
            heat: Heat { fill_kg, watts, eta, tau_s },
            start_c,
            water: None,
        };
        Round {
            teas: self.teas.iter().map(tea).collect(),
            hands: self.hands,
            by: Vec::new(),
            kettles: self.kettles.iter().map(kettle).collect(),
            room_c: self.room_c,
            tol_c: self.tol_c,
            order_fixed: self.order_fixed,
            gap_s: self.gap,
            lid_s: 0,
        }
    }
}

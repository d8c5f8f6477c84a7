//! What the teas of a picture are called, under it: the picture itself has room for their codes only.

use crate::page::canvas::{Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::Facts;
use crate::page::look::{Ink, Mark};
use protocol::Code;

const ROW: f64 = 19.0;
/// Room for a sign.
const SIGN: f64 = 18.0;

/// The names of some teas, each with its sign or without.
pub struct Key {
    teas: Vec<(usize, String)>,
    signs: bool,
    columns: usize,
}

impl Key {
    /// Of teas that are all blind, the codes in the picture say everything: nothing, unless signs have to be told.
    pub fn of(facts: &Facts<'_>, teas: &[Code], signs: bool) -> Self {
        let named = teas.iter().any(|&tea| facts.name(tea).is_some());
        let told = teas.iter().filter(|_| named || signs);
        let teas: Vec<(usize, String)> = told.map(|&tea| (facts.place(tea), facts.label(tea))).collect();
        let sign = if signs { SIGN } else { 2.0 };
        let widest = teas.iter().map(|(_, label)| sign + width_of(label)).fold(0.0, f64::max);
        let columns = ((WIDTH / (widest + 12.0)) as usize).clamp(1, 4);
        Self { teas, signs, columns }
    }

    pub fn height(&self) -> f64 {
        match self.teas.len() {
            0 => 0.0,
            teas => teas.div_ceil(self.columns) as f64 * ROW + 6.0,
        }
    }

    pub fn draw(&self, pen: &mut Pen, top: f64) {
        let column = WIDTH / self.columns as f64;
        for (i, (place, label)) in self.teas.iter().enumerate() {
            let (x, y) =
                ((i % self.columns) as f64 * column, top + 6.0 + ((i / self.columns) as f64 + 0.5) * ROW);
            let sign = if self.signs { SIGN } else { 2.0 };
            if self.signs {
                pen.mark((x + 8.0, y), Mark::of(*place), Ink::Tea(*place));
            }
            pen.text(&fitted(label, column - sign - 4.0), (x + sign, y), Side::Right, Ink::Black);
        }
    }
}

//! A true liking over dose, temperature and time.

use super::Way;
use crate::calibrate::dice::Dice;

/// A hill: what everybody likes, but for noise and how high each scores.
#[derive(Clone, Debug, PartialEq)]
pub struct Hill {
    /// The best way: ln of g per 100 ml, °C, ln of seconds.
    pub top: [f64; 3],
    /// The points there.
    pub peak: f64,
    /// The points lost a step away along each.
    pub loss: [f64; 3],
    /// The points lost where dose and time are both a step off to one side, beside their own.
    pub strong: f64,
}

/// What a step is: half as much again, 10 °C, half as long again.
pub fn steps() -> [f64; 3] {
    [1.5_f64.ln(), 10.0, 1.5_f64.ln()]
}

/// Where a way lies.
pub fn place(way: Way) -> [f64; 3] {
    [way.0.ln(), way.1, f64::from(way.2).ln()]
}

impl Hill {
    /// A hill with its top at some place; how steep it is, is drawn: a quarter to three quarters of a point a step, and dose and time make
    /// up for one another.
    pub fn drawn(top: [f64; 3], dice: &mut Dice) -> Self {
        let loss = [dice.between(0.3, 0.8), dice.between(0.2, 0.6), dice.between(0.25, 0.7)];
        let strong = dice.between(0.0, 1.2) * (loss[0] * loss[2]).sqrt();
        Self { top, peak: 7.0, loss, strong }
    }

    /// None at all: every way is liked the same.
    pub fn flat() -> Self {
        Self { top: [4.0_f64.ln(), 85.0, 60.0_f64.ln()], peak: 6.0, loss: [0.0; 3], strong: 0.0 }
    }

    /// The true liking of a place, points.
    pub fn liking(&self, place: &[f64; 3]) -> f64 {
        let steps = steps();
        let off = [0, 1, 2].map(|i| (place[i] - self.top[i]) / steps[i]);
        let own: f64 = (0..3).map(|i| self.loss[i] * off[i] * off[i]).sum();
        self.peak - own - self.strong * off[0] * off[2]
    }

    /// What a place loses to the top, points.
    pub fn lost(&self, place: &[f64; 3]) -> f64 {
        self.peak - self.liking(place)
    }

    /// Two hills of the same shape whose tops lie so many steps apart about this one's, as much in dose as in time.
    pub fn apart(&self, apart: f64) -> [Self; 2] {
        let steps = steps();
        let off = |side: f64| {
            let mut hill = self.clone();
            for i in [0, 2] {
                hill.top[i] += side * apart / 2.0 / 2.0_f64.sqrt() * steps[i];
            }
            hill
        };
        [off(-1.0), off(1.0)]
    }
}

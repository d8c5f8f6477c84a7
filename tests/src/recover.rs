//! How near the sweet spot that is named comes to a true one: hills are drawn, classes taste ways on them, and `spot` is asked.
//!
//! The path is that of the program: events as a ledger has them, a room, the scores that count, the sweet spot. A hill is a surface of the
//! second order over dose, temperature and time, in the steps that `spot` codes them by; nothing of it is told to the program.

pub mod hill;
pub mod run;
pub mod table;

use hill::Hill;
use run::{Crowd, Held, held};
use summary::spot::Spots;
use summary::spot::fitted::Assumed;

/// One way: grams per 100 ml, °C, seconds.
pub type Way = (f64, f64, u32);

/// The sweet spots by some classes.
pub fn asked(classes: &[Held], assumed: Option<Assumed>) -> Spots {
    summary::spot::spots(classes, assumed)
}

/// Classes of a crowd on the ways of a hill.
pub fn classes(
    hill: &Hill,
    ways: &[Vec<Way>],
    crowd: Crowd,
    dice: &mut crate::calibrate::dice::Dice,
) -> Vec<Held> {
    ways.iter().enumerate().map(|(number, ways)| held(hill, number, ways, crowd, dice)).collect()
}

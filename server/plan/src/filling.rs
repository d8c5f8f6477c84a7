//! What is in a kettle: how much may be drawn from it, when it has to be filled up, and what the fresh water makes of it.
//!
//! A kettle is filled for two reasons only. It does not hold the next draw: then it is filled up, or emptied and filled
//! afresh where that is quicker ([`Filling::refill`]). Or the next draw is at a lower temperature, and it is ready sooner
//! emptied and filled afresh than left to cool: then that is done ([`Filling::emptied_s`]).
//!
//! This is the one place for the rule: the search for a round's schedule and the kettles' way through a whole class
//! both go by it.

use super::heat::{Heat, NEVER_S};
use class::setting::Kettle;

/// A kettle keeps this part of its filling back: an element must stay under water. Common practice, no source.
const KEPT_BACK: f64 = 0.1;
/// Takes a rounding of the arithmetic for no reason to fill a kettle up, millilitres.
const ROUNDING_ML: f64 = 1e-3;

/// From the end of a pour until the hands that poured see to the kettle, to set or to fill it, seconds: the lid comes
/// first. Common practice, no source.
pub const LID_S: u32 = 3;

/// A full kettle, as far as its water goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// What it holds, millilitres.
    pub full_ml: f64,
    /// What may be drawn of that, millilitres.
    pub usable_ml: f64,
    /// Seconds of hands' work to fill it up.
    pub fill_s: u32,
}

/// How a kettle gets full again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Refill {
    /// Fresh water put in, millilitres; all it holds if it is emptied first.
    pub ml: f64,
    /// Whether it is emptied first.
    pub afresh: bool,
    /// Seconds from then until the water is as wanted; [`NEVER_S`] if it never gets there.
    pub takes_s: u32,
}

impl Filling {
    /// That of a kettle of the class file.
    pub fn of(kettle: &Kettle) -> Self {
        let usable_ml = kettle.fill_ml * (1.0 - KEPT_BACK);
        Self { full_ml: kettle.fill_ml, usable_ml, fill_s: kettle.fill_s }
    }

    /// Whether hands that pour fill the kettle up after it, `lid_s` after its end: only if the steep leaves them the time.
    /// Else it is done directly after the decant.
    pub fn follows_pour(steep_s: impl Into<i64>, fill_s: impl Into<i64>, lid_s: impl Into<i64>) -> bool {
        steep_s.into() >= fill_s.into() + lid_s.into()
    }

    /// Whether `ml` can be drawn while `left_ml` may be drawn.
    pub fn holds(left_ml: f64, ml: f64) -> bool {
        ml <= left_ml + ROUNDING_ML
    }

    /// What it must hold so that `ml` can be drawn at once, millilitres.
    pub fn full_for(ml: f64) -> f64 {
        ml / (1.0 - KEPT_BACK)
    }

    /// Whether it is as full as can be.
    pub fn is_full(&self, left_ml: f64) -> bool {
        Self::holds(left_ml, self.usable_ml)
    }

    /// What the water becomes when it is filled up with water of the room's temperature, °C.
    pub fn mixed_c(&self, left_ml: f64, from_c: f64, room_c: f64) -> f64 {
        let ml = self.usable_ml - left_ml;
        ((self.full_ml - ml) * from_c + ml * room_c) / self.full_ml
    }

    /// The quicker way to a full kettle at `to_c`: filling up what is left at `from_c`, or emptying it first.
    pub fn refill(
        &self,
        heat: &Heat,
        left_ml: f64,
        from_c: f64,
        to_c: f64,
        room_c: f64,
        tol_c: f64,
    ) -> Refill {
        let mixed_s = heat.set_up_s(self.mixed_c(left_ml, from_c, room_c), to_c, room_c, tol_c);
        let afresh_s = heat.set_up_s(room_c, to_c, room_c, tol_c);
        if afresh_s < mixed_s {
            Refill { ml: self.full_ml, afresh: true, takes_s: afresh_s }
        } else {
            Refill { ml: self.usable_ml - left_ml, afresh: false, takes_s: mixed_s }
        }
    }

    /// Seconds of heating of a kettle that is emptied and filled afresh to get from `from_c` down to `to_c`; `None` if it is
    /// ready as soon when it is left to cool. Hands could set it after `set_s`, and fill it after `busy_s`.
    pub fn emptied_s(
        &self,
        heat: &Heat,
        from_c: f64,
        to_c: f64,
        room_c: f64,
        tol_c: f64,
        (set_s, busy_s): (u32, u32),
    ) -> Option<u32> {
        let afresh_s = heat.set_up_s(room_c, to_c, room_c, tol_c);
        let ready_s = busy_s.saturating_add(self.fill_s).saturating_add(afresh_s);
        let cools_s = heat.set_up_s(from_c, to_c, room_c, tol_c).saturating_add(set_s);
        (to_c < from_c && ready_s < cools_s).then_some(afresh_s)
    }

    /// From the end of a pour until hands can fill the kettle.
    pub fn busy_s(&self, steep_s: u32, decant_s: u32, lid_s: u32) -> u32 {
        if Self::follows_pour(steep_s, self.fill_s, lid_s) { lid_s } else { steep_s + decant_s }
    }

    /// The least seconds that [`Self::refill`] takes when from none to `most_left_ml` may still be drawn.
    pub fn quickest_s(
        &self,
        heat: &Heat,
        most_left_ml: f64,
        from_c: f64,
        to_c: f64,
        room_c: f64,
        tol_c: f64,
    ) -> u32 {
        let ends = [0.0, most_left_ml].map(|left_ml| self.mixed_c(left_ml, from_c, room_c));
        let within = ends[0].min(ends[1]) - tol_c <= to_c && to_c <= ends[0].max(ends[1]) + tol_c;
        // Both heating and cooling take longer from farther away, so the least is at an end or on the way.
        let from = |from_c| heat.set_up_s(from_c, to_c, room_c, tol_c);
        if within { 0 } else { ends.into_iter().chain([room_c]).map(from).min().unwrap_or(NEVER_S) }
    }
}

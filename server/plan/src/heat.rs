//! How long a kettle needs from one set point to the next.

use crate::water::WATER_J_PER_KG_K;
use class::setting::Kettle;

/// Set-up time of a kettle that never gets to its set point.
pub const NEVER_S: u32 = u32::MAX;

/// A full kettle, as far as its heat goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Water in it, kg.
    pub fill_kg: f64,
    /// Heating power, W.
    pub watts: f64,
    /// Part of the power that reaches the water, 0–1. Heat lost to the air on the way is part of it.
    pub eta: f64,
    /// Time constant of its cooling, s.
    pub tau_s: f64,
}

impl Heat {
    /// That of a kettle of the class file.
    pub fn of(kettle: &Kettle) -> Self {
        let &Kettle { fill_ml, watts, efficiency: eta, cooling_s: tau_s, .. } = kettle;
        Self { fill_kg: fill_ml / 1000.0, watts, eta, tau_s }
    }

    /// Whole seconds from one set point to another: none within `tol_c`, else heating or cooling, rounded up (less
    /// 1e-9, so that rounding of the arithmetic costs no second). [`NEVER_S`] if it never gets there, as when it would
    /// have to cool below the room.
    pub fn set_up_s(&self, from_c: f64, to_c: f64, room_c: f64, tol_c: f64) -> u32 {
        let seconds = if (from_c - to_c).abs() <= tol_c {
            0.0
        } else if to_c > from_c {
            self.heating_s(from_c, to_c)
        } else {
            self.cooling_s(from_c, to_c, room_c)
        };
        // The cast keeps to the ends of u32: what takes for ever is NEVER_S.
        (seconds - 1e-9).ceil() as u32
    }

    /// m·c·ΔT/(P·η).
    fn heating_s(&self, from_c: f64, to_c: f64) -> f64 {
        self.fill_kg * WATER_J_PER_KG_K * (to_c - from_c) / (self.watts * self.eta)
    }

    /// Newton's law of cooling solved for time, τ·ln((from − room)/(to − room)), for from > to; infinite if `to_c` is
    /// not above the room.
    fn cooling_s(&self, from_c: f64, to_c: f64, room_c: f64) -> f64 {
        if to_c <= room_c { f64::INFINITY } else { self.tau_s * ((from_c - room_c) / (to_c - room_c)).ln() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
    }

    fn kettle(fill_kg: f64, watts: f64, eta: f64, tau_s: f64) -> Heat {
        Heat { fill_kg, watts, eta, tau_s }
    }

    #[test]
    fn a_kettle_heats_as_the_table_says() {
        // Reference table, printed to 0.1 s. The last is a school measurement at 75.075 %, with 4200 for water.
        let table = [
            (1.0, 2200.0, 0.90, 20.0, 169.1),
            (1.0, 2200.0, 0.80, 20.0, 190.3),
            (1.7, 3000.0, 0.85, 20.0, 223.3),
            (0.5, 1850.0, 0.85, 20.0, 106.5),
            (1.1, 3000.0, 0.750_75 * WATER_J_PER_KG_K / 4200.0, 22.0, 160.0),
        ];
        for (litres, watts, efficiency, from_c, seconds) in table {
            near(kettle(litres, watts, efficiency, 2400.0).heating_s(from_c, 100.0), seconds, 0.06);
        }
    }

    #[test]
    fn a_kettle_cools_as_newton_says() {
        // Reference checks: a room of 22 °C, 0.025 a minute.
        let kettle = kettle(1.0, 2000.0, 0.9, 60.0 / 0.025);
        near(kettle.cooling_s(90.0, 60.0, 22.0) / 60.0, 23.277, 1e-3);
        near(kettle.cooling_s(84.0, 65.0, 22.0) / 60.0, 14.64, 5e-3);
    }

    #[test]
    fn set_up_times_are_those_of_the_scheduling_rule() {
        // Worked out with the independent checker of the stagger cases; room 20 °C, tolerance 1 °C.
        let small = kettle(1.2, 2200.0, 0.85, 2400.0);
        let large = kettle(1.5, 1500.0, 0.85, 2400.0);
        let set_up_s = |heat: Heat, from_c, to_c| heat.set_up_s(from_c, to_c, 20.0, 1.0);
        assert_eq!(set_up_s(large, 75.0, 70.0), 229);
        assert_eq!(set_up_s(large, 70.0, 75.0), 25);
        assert_eq!(set_up_s(small, 20.0, 100.0), 215);
        assert_eq!(set_up_s(small, 100.0, 80.0), 691);
        let exact = kettle(1.0, 2093.0, 1.0, 3000.0);
        assert_eq!(set_up_s(exact, 90.0, 95.0), 10, "10 s sharp costs no eleventh");
        assert_eq!(set_up_s(exact, 95.0, 94.0), 0, "within the tolerance");
        assert_eq!(set_up_s(exact, 95.0, 93.9), 45);
        assert_eq!(set_up_s(exact, 95.0, 20.0), NEVER_S);
    }
}

//! How far any way to taste next may go, however far the liking rises.
//!
//! Each class may go a step beyond what was tasted, and the next one a step beyond that: without an end, twenty grams in a small cup would
//! come of it. What people have tasted themselves stays allowed, whatever it is. Where water boils is the class's own. Common practice, no
//! source.

use super::coding::What;

/// So much leaf a cup still takes, g to 100 ml: more of it is hardly covered by its water.
pub const MOST_G: f64 = 12.0;
/// Less leaf than this is hardly a tea, g to 100 ml.
pub const LEAST_G: f64 = 0.5;
/// Water as a warm room has it, °C: cooler water would have to be cooled.
pub const COOLEST_C: f64 = 20.0;
/// The shortest steep that can be poured and poured off by the clock, s.
pub const SHORTEST_S: f64 = 5.0;
/// The longest steep that people wait for at a table, s.
pub const LONGEST_S: f64 = 900.0;

/// The least and the most of a factor, g to 100 ml, °C or s, where water boils at so many °C.
pub fn limits(what: What, boiling_c: f64) -> (f64, f64) {
    match what {
        What::Dose => (LEAST_G, MOST_G),
        What::Temperature => (COOLEST_C, boiling_c.floor()),
        What::Time => (SHORTEST_S, LONGEST_S),
    }
}

/// From what was tasted of a factor to what may be tasted next, all in coded units: `further` steps beyond, but not beyond the limits.
/// Water that has to boil for it is none: there the limit goes before what was tasted elsewhere.
pub fn beyond(what: What, (low, high): (f64, f64), (least, most): (f64, f64), further: f64) -> (f64, f64) {
    let (low, high) = ((low - further).max(least.min(low)), (high + further).min(most.max(high)));
    let high = if what == What::Temperature { high.min(most) } else { high };
    // Where all that was tasted lies outside, the nearest that may be tasted.
    (low.min(high), high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn however_many_classes_go_on_none_goes_beyond_the_limits() {
        for what in What::ALL {
            let coded = |said: f64| what.natural(said) / what.step();
            let ends = limits(what, 95.6);
            let limits = (coded(ends.0), coded(ends.1));
            let mut tasted = match what {
                What::Dose => (coded(4.0), coded(5.0)),
                What::Temperature => (coded(80.0), coded(85.0)),
                What::Time => (coded(30.0), coded(60.0)),
            };
            for _ in 0..30 {
                let next = beyond(what, tasted, limits, 1.0);
                assert!(next.0 >= limits.0 - 1e-9 && next.1 <= limits.1 + 1e-9, "{what:?} {next:?}");
                assert!(next.1 - tasted.1 <= 1.0 + 1e-9 && tasted.0 - next.0 <= 1.0 + 1e-9);
                tasted = next;
            }
            // They are come to, not only kept.
            assert!((tasted.0 - limits.0).abs() < 1e-9 && (tasted.1 - limits.1).abs() < 1e-9, "{what:?}");
        }
    }

    #[test]
    fn what_people_tasted_themselves_stays_allowed_and_nothing_beyond_it() {
        let coded = |said: f64| What::Dose.natural(said) / What::Dose.step();
        let next = beyond(What::Dose, (coded(9.0), coded(15.0)), (coded(LEAST_G), coded(MOST_G)), 1.0);
        assert!((next.1 - coded(15.0)).abs() < 1e-9);
    }
}

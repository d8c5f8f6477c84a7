//! How much faster the host's clock runs than the seat's.

use super::Exchange;
use std::collections::VecDeque;

/// Two ordinary computer clocks gain no more than this on each other, in parts per million. Common practice:
/// crystals are sold as good to some tens of parts per million.
const ORDINARY_PPM: f64 = 100.0;
/// After a contradiction: a time service steers a clock by 500 at most while it corrects it (the tolerance that `ntptime`
/// prints), beside what clocks differ by.
const UNSTEADY_PPM: f64 = 600.0;
/// A rate wanders with the temperature; what was measured holds to this, in parts per million. Our own choice.
const WANDER_PPM: f64 = 0.5;

/// The least and the greatest gain of the host's clock on the seat's, in microseconds per microsecond.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Skew {
    low: f64,
    high: f64,
    /// What these clocks are trusted to keep, measured or not.
    widest: f64,
}

impl Default for Skew {
    fn default() -> Self {
        Self::within(ORDINARY_PPM)
    }
}

impl Skew {
    /// Of a clock that has contradicted itself.
    pub(super) const UNSTEADY: Self = Self::within(UNSTEADY_PPM);

    const fn within(ppm: f64) -> Self {
        Self { low: -ppm * 1e-6, high: ppm * 1e-6, widest: ppm * 1e-6 }
    }

    /// What the marks say: the slope between the bounds of any two of them. Over a short baseline that says nothing.
    pub(super) fn of(marks: &VecDeque<Exchange>, known: Skew) -> Self {
        let (mut low, mut high) = (-known.widest, known.widest);
        for (i, later) in marks.iter().enumerate() {
            for earlier in marks.range(..i) {
                // Each bound holds at an instant of its own; between two exchanges that overlap there is no time.
                let up_us = (later.t4_us - earlier.t1_us) as f64;
                let down_us = (later.t1_us - earlier.t4_us) as f64;
                if down_us <= 0.0 {
                    continue;
                }
                let ((a_low, a_high), (b_low, b_high)) = (earlier.bounds_us(), later.bounds_us());
                low = low.max((b_low - a_high) / up_us - WANDER_PPM * 1e-6);
                high = high.min((b_high - a_low) / down_us + WANDER_PPM * 1e-6);
            }
        }
        Self { low, high, ..known }
    }

    /// Whether the marks contradict each other.
    pub(super) fn is_impossible(self) -> bool {
        self.low > self.high
    }

    /// The least and the greatest change of the offset over `passed_us` of the seat's clock, which may be negative.
    pub(super) fn drift_us(self, passed_us: i64) -> (f64, f64) {
        let (a, b) = (self.low * passed_us as f64, self.high * passed_us as f64);
        (a.min(b), a.max(b))
    }

    /// The skew and the bound on it, in parts per million, once it is known better than by the kind of clock.
    pub(super) fn measured_ppm(self) -> Option<(f64, f64)> {
        let (middle, half) = ((self.low + self.high) / 2.0, (self.high - self.low) / 2.0);
        (half < self.widest * 0.5).then_some((middle * 1e6, half * 1e6))
    }
}

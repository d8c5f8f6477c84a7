//! Clock arithmetic: how far the host's clock is ahead of a seat's own, and how sure that is.
//!
//! All four instants of an exchange are microseconds. A seat multiplies its own clock by the class's pace first,
//! so that both sides count host microseconds and the offset changes only with the skew of the two clocks.
//!
//! An exchange does not only guess the offset, it bounds it: nothing arrives before it was sent, so the offset is at
//! least T3 − T4 and at most T2 − T1, which is θ ± δ/2 of RFC 5905. The exchange with the smallest delay gives the
//! narrowest bounds, and the filter begins with it; the other exchanges of the window can only narrow them further,
//! because the fastest way there and the fastest way back may belong to two of them. The bounds of an old exchange
//! widen with its age, as the dispersion of RFC 5905 does, by what is known of the skew.

mod skew;
#[cfg(test)]
mod tests;

use crate::HostTime;
use skew::Skew;
use std::collections::VecDeque;

/// How many exchanges the filter looks back over (RFC 5905 §10 keeps eight).
pub const WINDOW: usize = 8;
/// The best exchange of each stretch of this length, in microseconds of the seat's clock, is kept as a mark to
/// measure the skew by.
const STRETCH_US: i64 = 30_000_000;
/// How many marks are kept: ten minutes of them.
const MARKS: usize = 20;
/// Both clocks are read to whole microseconds.
const PRECISION_US: f64 = 1.0;

/// One question and answer: sent and received by the seat (`t1`, `t4`, the seat's clock),
/// received and answered by the host (`t2`, `t3`, the host's clock).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exchange {
    /// Seat sends.
    pub t1_us: i64,
    /// Host receives.
    pub t2_us: i64,
    /// Host answers.
    pub t3_us: i64,
    /// Seat receives.
    pub t4_us: i64,
}

impl Exchange {
    /// Host's clock minus seat's clock, θ = ½[(T2 − T1) + (T3 − T4)] (RFC 5905 §8). Positive: the host is ahead.
    pub fn offset_us(&self) -> i64 {
        ((self.t2_us - self.t1_us) + (self.t3_us - self.t4_us)).div_euclid(2)
    }

    /// Time on the way there and back, δ = (T4 − T1) − (T3 − T2) (RFC 5905 §8).
    /// The true offset lies within ± δ/2 of [`Self::offset_us`].
    pub fn delay_us(&self) -> i64 {
        (self.t4_us - self.t1_us) - (self.t3_us - self.t2_us)
    }

    /// The least offset that this exchange allows, at the instant `t4`, and the greatest, at the instant `t1`.
    fn bounds_us(&self) -> (f64, f64) {
        let (least, most) = (self.t3_us - self.t4_us, self.t2_us - self.t1_us);
        (least as f64 - PRECISION_US, most as f64 + PRECISION_US)
    }

    /// The bounds carried on (or back) to `own_us`, widened by the skew that is possible.
    fn bounds_at_us(&self, own_us: i64, skew: Skew) -> (f64, f64) {
        let (least, most) = self.bounds_us();
        let (low, high) = skew.drift_us(own_us - self.t4_us);
        // The greatest offset is of the instant `t1`. What the clocks drift apart from there to `t4` is taken off on the
        // other side too, so that the middle stays the θ of RFC 5905.
        let (_, on_its_way) = skew.drift_us(self.t4_us - self.t1_us);
        let on_its_way = on_its_way.max(0.0);
        (least + low - on_its_way, most + high + on_its_way)
    }
}

/// A seat's idea of host time, with the bound on its error.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Estimate {
    window: VecDeque<Exchange>,
    /// The best exchange of each stretch, the current one last.
    marks: VecDeque<Exchange>,
    skew: Skew,
    /// How often an exchange contradicted what was known.
    resets: u32,
}

impl Estimate {
    /// Takes one more exchange. One with a negative delay (the answer is made up) is left out. If it contradicts what
    /// is known, one of the two clocks has jumped: everything older is forgotten.
    pub fn add(&mut self, exchange: Exchange) {
        if exchange.delay_us() < 0 {
            return;
        }
        if self.window.len() == WINDOW {
            self.window.pop_front();
        }
        self.window.push_back(exchange);
        self.mark(exchange);
        self.skew = Skew::of(&self.marks, self.skew);
        let (low, high) = self.bounds_us(exchange.t4_us).unwrap_or((0.0, 0.0));
        if low > high || self.skew.is_impossible() {
            self.resets += 1;
            self.window = VecDeque::from([exchange]);
            self.marks = self.window.clone();
            self.skew = Skew::UNSTEADY;
        }
    }

    /// Keeps the best exchange of each stretch.
    fn mark(&mut self, exchange: Exchange) {
        let stretch = |e: &Exchange| e.t4_us.div_euclid(STRETCH_US);
        match self.marks.back_mut() {
            Some(last) if stretch(last) == stretch(&exchange) => {
                if exchange.delay_us() <= last.delay_us() {
                    *last = exchange;
                }
            }
            _ => {
                if self.marks.len() == MARKS {
                    self.marks.pop_front();
                }
                self.marks.push_back(exchange);
            }
        }
    }

    /// Forgets everything, for a host whose clock is another one.
    pub fn reset(&mut self) {
        *self = Self::default();
    }

    /// How often an exchange contradicted all that was known before.
    pub fn resets(&self) -> u32 {
        self.resets
    }

    /// The exchange that the filter begins with: the one with the smallest delay in the window (RFC 5905 §10), the
    /// latest of several.
    pub fn chosen(&self) -> Option<&Exchange> {
        self.window.iter().rev().min_by_key(|e| e.delay_us())
    }

    /// How far the offsets in the window scatter about the chosen one, ψ = √(Σ(θ₀ − θᵢ)² / (n − 1)) (RFC 5905 §10);
    /// `None` for fewer than two exchanges.
    pub fn jitter_us(&self) -> Option<f64> {
        let chosen = self.chosen().filter(|_| self.window.len() > 1)?.offset_us();
        let squares: f64 = self.window.iter().map(|e| ((chosen - e.offset_us()) as f64).powi(2)).sum();
        Some((squares / (self.window.len() - 1) as f64).sqrt())
    }

    /// The skew: by how many microseconds a second the host's clock gains on the seat's, and the bound on that; `None`
    /// until the baseline is long enough to say more than that both are ordinary clocks.
    pub fn skew_ppm(&self) -> Option<(f64, f64)> {
        self.skew.measured_ppm()
    }

    /// The least and the greatest offset at `own_us` that every exchange allows.
    fn bounds_us(&self, own_us: i64) -> Option<(f64, f64)> {
        let known = self.window.iter().chain(&self.marks);
        known.map(|e| e.bounds_at_us(own_us, self.skew)).reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)))
    }

    /// Host time when the seat's own clock shows `own_us`; `None` before the first exchange.
    pub fn host_time(&self, own_us: i64) -> Option<HostTime> {
        let (low, high) = self.bounds_us(own_us)?;
        Some(HostTime(own_us.saturating_add(((low + high) / 2.0).floor() as i64)))
    }

    /// The bound on the error of [`Self::host_time`] at `own_us`, ± host microseconds: half the delay when the
    /// exchange is fresh, growing with age.
    pub fn bound_us(&self, own_us: i64) -> Option<i64> {
        let (low, high) = self.bounds_us(own_us)?;
        Some(((high - low) / 2.0).ceil() as i64)
    }

    /// The seat's own clock when it is `at` on the host's: [`Self::host_time`] the other way round.
    pub fn own_us(&self, at: HostTime) -> Option<i64> {
        let mut own_us = self.window.back()?.t4_us;
        // The offset changes by far less than a thousandth of the time, so each step is a thousand times nearer.
        for _ in 0..4 {
            let here = self.host_time(own_us)?;
            own_us = own_us.saturating_add(at - here);
        }
        Some(own_us)
    }
}

//! Clock arithmetic: how far the host's clock is ahead of a seat's own.
//!
//! All four instants of an exchange are microseconds. A seat multiplies its own clock by the class's pace first,
//! so that both sides count host microseconds and the offset is a constant.

use crate::HostTime;
use std::collections::VecDeque;

/// How many exchanges the filter looks back over (RFC 5905 §10 keeps eight).
pub const WINDOW: usize = 8;

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
}

/// A seat's idea of host time: the exchange with the smallest delay among the last few.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Estimate {
    window: VecDeque<Exchange>,
}

impl Estimate {
    /// Takes one more exchange. One with a negative delay (a clock jumped, or the answer is made up) is left out.
    pub fn add(&mut self, exchange: Exchange) {
        if exchange.delay_us() < 0 {
            return;
        }
        if self.window.len() == WINDOW {
            self.window.pop_front();
        }
        self.window.push_back(exchange);
    }

    /// Forgets everything, for a host that was started anew.
    pub fn reset(&mut self) {
        self.window.clear();
    }

    fn best(&self) -> Option<&Exchange> {
        self.window.iter().min_by_key(|e| e.delay_us())
    }

    /// Host time when the seat's own clock shows `own_us`; `None` before the first exchange.
    pub fn host_time(&self, own_us: i64) -> Option<HostTime> {
        self.best().map(|e| HostTime(own_us + e.offset_us()))
    }

    /// The bound on the error, ± half the smallest delay, in host microseconds.
    pub fn bound_us(&self) -> Option<i64> {
        self.best().map(|e| (e.delay_us() + 1) / 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exchange(t1_us: i64, t2_us: i64, t3_us: i64, t4_us: i64) -> Exchange {
        Exchange { t1_us, t2_us, t3_us, t4_us }
    }

    /// Equations of RFC 5905 §8; the numbers are a worked example of our own.
    #[test]
    fn offset_and_delay_follow_rfc_5905() {
        let e = exchange(100_000_000, 100_530_000, 100_532_000, 100_042_000);
        assert_eq!((e.offset_us(), e.delay_us()), (510_000, 40_000));
        let lopsided = exchange(0, 30_000, 30_000, 40_000);
        assert_eq!((lopsided.offset_us(), lopsided.delay_us()), (10_000, 40_000));
    }

    /// Minimum-delay choice of RFC 5905 §10 over eight (offset, delay) pairs in µs; the pairs are our own.
    #[test]
    fn the_exchange_with_the_smallest_delay_is_believed() {
        let pairs = [
            (12_100, 38_400),
            (11_400, 21_900),
            (15_000, 64_200),
            (10_900, 24_800),
            (11_100, 20_300),
            (9_700, 47_000),
            (11_900, 33_500),
            (13_600, 55_100),
        ];
        let mut estimate = Estimate::default();
        assert_eq!(estimate.host_time(0), None);
        for (offset, delay) in pairs {
            estimate.add(exchange(0, offset + delay / 2, offset + delay / 2, delay));
        }
        assert_eq!(estimate.host_time(1_000), Some(HostTime(12_100)));
        assert_eq!(estimate.bound_us(), Some(10_150));
    }

    #[test]
    fn only_the_last_eight_count_and_an_impossible_one_does_not() {
        let mut estimate = Estimate::default();
        estimate.add(exchange(0, 5, 5, 2));
        for _ in 0..WINDOW {
            estimate.add(exchange(0, 150, 150, 100));
        }
        estimate.add(exchange(0, 0, 50, 10));
        assert_eq!(estimate.host_time(0), Some(HostTime(100)));
        estimate.reset();
        assert_eq!(estimate.bound_us(), None);
    }
}

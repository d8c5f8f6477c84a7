//! How often a seat may send and come back, far above what any person does: a program that runs wild is bounded, and told.

use protocol::SeatId;
use std::collections::BTreeMap;

/// How often something may be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rate {
    /// So many at once: more than an outbox of a whole class that was without a link.
    pub at_once: i64,
    /// Then one in so many microseconds of host time.
    pub every_us: i64,
}

impl Default for Rate {
    /// Common practice, no source: a class of eight teas and eight steeps has 64 sheets, and nobody fills five a second.
    fn default() -> Self {
        Self { at_once: 300, every_us: 200_000 }
    }
}

/// How often a seat may join again: common practice, no source. A link that comes and goes with a poor network is no wilder.
pub(crate) const REJOINS: Rate = Rate { at_once: 30, every_us: 2_000_000 };
/// How often it may say something else than a score over one connection. Its clock asks eight times at once when it joins, then once in
/// 2.5 s.
pub(super) const SAYINGS: Rate = Rate { at_once: 200, every_us: 100_000 };

/// What is left of a rate: a bucket that fills up again.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Bucket {
    full_at_us: Option<i64>,
}

impl Bucket {
    /// Whether once more is within the rate at `now_us`, which never goes back. Once more that is not is not counted.
    pub(crate) fn is_within(&mut self, rate: Rate, now_us: i64) -> bool {
        let full_at_us = self.full_at_us.map_or(now_us, |full_at_us| full_at_us.max(now_us));
        let next_us = full_at_us.saturating_add(rate.every_us);
        let within = next_us - now_us <= rate.at_once.saturating_mul(rate.every_us);
        if within {
            self.full_at_us = Some(next_us);
        }
        within
    }
}

/// The same for each seat, over all its connections.
#[derive(Debug, Default)]
pub(crate) struct Sent {
    by_seat: BTreeMap<SeatId, Bucket>,
}

impl Sent {
    /// Whether one more from a seat is within the rate at `now_us`.
    pub(crate) fn is_within(&mut self, rate: Rate, seat: SeatId, now_us: i64) -> bool {
        self.by_seat.entry(seat).or_default().is_within(rate, now_us)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    const RATE: Rate = Rate { at_once: 3, every_us: 10 };

    #[test]
    fn a_seat_may_send_some_at_once_and_then_one_by_one_whatever_the_others_do() {
        let (ann, bob) = (SeatId(Uuid::from_u128(1)), SeatId(Uuid::from_u128(2)));
        let mut sent = Sent::default();
        let mut within = |seat, now_us| sent.is_within(RATE, seat, now_us);
        assert_eq!([100; 4].map(|now_us| within(ann, now_us)), [true, true, true, false]);
        assert!(within(bob, 100));
        assert_eq!([109, 110, 111, 120].map(|now_us| within(ann, now_us)), [false, true, false, true]);
        assert_eq!([1_000; 4].map(|now_us| within(ann, now_us)), [true, true, true, false], "all again");
    }
}

//! Links that come and go: the teacher hears of the first few in a minute, and then once of the rest.

use protocol::SeatId;
use std::collections::BTreeMap;

/// How long one that comes and goes is not told of again, in microseconds of the room's time.
const MINUTE_US: i64 = 60_000_000;
/// So many times in that long a seat's link is told of as any other.
const TOLD: u32 = 3;

/// What is told of a link that came or went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tell {
    /// That it did.
    It,
    /// That it does so often.
    Often,
    /// Nothing more.
    Nothing,
}

/// How often each seat has come lately.
#[derive(Debug, Default)]
pub(crate) struct Flapping {
    by_seat: BTreeMap<SeatId, Lately>,
}

#[derive(Debug)]
struct Lately {
    since_us: i64,
    times: u32,
}

impl Flapping {
    /// What to tell of a seat that has come at `now_us`.
    pub(crate) fn came(&mut self, seat: SeatId, now_us: i64) -> Tell {
        let lately = self.by_seat.entry(seat).or_insert(Lately { since_us: now_us, times: 0 });
        if now_us - lately.since_us >= MINUTE_US {
            *lately = Lately { since_us: now_us, times: 0 };
        }
        lately.times = lately.times.saturating_add(1);
        match lately.times {
            ..=TOLD => Tell::It,
            times if times == TOLD + 1 => Tell::Often,
            _ => Tell::Nothing,
        }
    }

    /// Whether it is told that a seat has gone: unless it was not told that it had come.
    pub(crate) fn tells_of_going(&self, seat: SeatId) -> bool {
        self.by_seat.get(&seat).is_none_or(|lately| lately.times <= TOLD)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn of_a_seat_that_comes_and_goes_a_minute_has_three_tellings_and_one_that_says_so() {
        let (ann, bob) = (SeatId(Uuid::from_u128(1)), SeatId(Uuid::from_u128(2)));
        let mut flapping = Flapping::default();
        assert!(flapping.tells_of_going(ann), "it came before there was anybody to tell");
        let told: Vec<Tell> = (0..1_000).map(|n| flapping.came(ann, n * 1_000)).collect();
        assert_eq!(told[..5], [Tell::It, Tell::It, Tell::It, Tell::Often, Tell::Nothing]);
        assert_eq!(told.iter().filter(|&&tell| tell != Tell::Nothing).count(), 4);
        assert!(!flapping.tells_of_going(ann));
        assert_eq!(flapping.came(bob, 5_000), Tell::It, "another one is told of");
        assert!(flapping.tells_of_going(bob));
        assert_eq!(flapping.came(ann, MINUTE_US), Tell::It, "a minute later, again");
        assert!(flapping.tells_of_going(ann));
    }
}

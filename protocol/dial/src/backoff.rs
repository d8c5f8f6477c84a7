//! How long to wait before dialling again.

use std::time::Duration;

const FIRST: Duration = Duration::from_millis(250);
const LONGEST: Duration = Duration::from_secs(8);
/// How often somebody asks who waits at the door to be let in, at the most.
const AT_DOOR: Duration = Duration::from_secs(2);
/// A link that lasted this long, in seconds, was a good one: the waits start over.
const HEALTHY_S: i64 = 10;

/// Waits that double from a quarter of a second to eight seconds, spread by a seed so that a room of seats does
/// not dial all at once.
#[derive(Clone, Debug)]
pub struct Backoff {
    seed: u64,
    attempt: u32,
}

impl Backoff {
    /// Waits from the beginning.
    pub fn new(seed: u64) -> Self {
        Self { seed, attempt: 0 }
    }

    /// How many attempts have failed since the last good link.
    pub fn attempt(&self) -> u32 {
        self.attempt
    }

    /// The wait after a link that lasted `healthy_s` seconds, 0 for none.
    pub fn next(&mut self, healthy_s: i64) -> Duration {
        if healthy_s >= HEALTHY_S {
            self.attempt = 0;
        }
        let wait = FIRST.saturating_mul(1 << self.attempt.min(5)).min(LONGEST);
        self.attempt = self.attempt.saturating_add(1);
        // Between three quarters and the whole of it.
        wait.mul_f64(0.75 + 0.25 * part(self.seed.wrapping_add(u64::from(self.attempt))))
    }
}

/// The wait of somebody at the door, spread like the others.
pub fn at_door(seed: u64) -> Duration {
    AT_DOOR.mul_f64(0.75 + 0.25 * part(seed))
}

/// A seed from any text, the same on every machine (FNV-1a, 64 bits).
pub fn seed_of(text: &str) -> u64 {
    text.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |sum, byte| (sum ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// A part of one, in thousandths, that looks drawn at random and is the same for the same seed.
pub fn part(seed: u64) -> f64 {
    (mix(seed) % 1_000) as f64 / 1_000.0
}

/// The finishing step of SplitMix64: near seeds give far numbers.
fn mix(seed: u64) -> u64 {
    let z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_up_to_eight_seconds_and_start_over_after_a_good_link() {
        let mut backoff = Backoff::new(7);
        for full_ms in [250, 500, 1_000, 2_000, 4_000, 8_000, 8_000, 8_000] {
            let wait = backoff.next(0).as_millis();
            assert!((full_ms * 3 / 4..=full_ms).contains(&wait), "{wait} of {full_ms}");
        }
        assert!(backoff.next(9).as_millis() > 5_000, "a link of nine seconds was not a good one");
        assert!(backoff.next(10).as_millis() <= 250);
    }

    #[test]
    fn two_seats_do_not_dial_at_the_same_instant() {
        let waits = |name| {
            let mut backoff = Backoff::new(seed_of(name));
            (0..6).map(|_| backoff.next(0)).collect::<Vec<_>>()
        };
        assert_ne!(waits("Ann"), waits("Ben"));
        assert_eq!(waits("Ann"), waits("Ann"));
    }
}

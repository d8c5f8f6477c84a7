//! What the teacher hears of keys that are none of the class's: a line a minute at most, with how many came.

use std::net::IpAddr;

/// How far apart two lines about keys of one kind, right or wrong, are, in microseconds of the room's time.
pub(super) const EVERY_US: i64 = 60_000_000;

/// The wrong keys since the last line.
#[derive(Debug, Default)]
pub(crate) struct WrongKeys {
    told_us: Option<i64>,
    /// How many have come since, and from where the last one did.
    since: Option<(u64, Option<IpAddr>)>,
}

impl WrongKeys {
    /// A wrong key has come.
    pub(crate) fn wrong(&mut self, from: Option<IpAddr>) {
        let before = self.since.map_or(0, |(count, _)| count);
        self.since = Some((before.saturating_add(1), from));
    }

    /// What the teacher is to hear at `now_us`, which never goes back.
    pub(crate) fn due(&mut self, now_us: i64) -> Option<String> {
        if self.told_us.is_some_and(|told_us| now_us - told_us < EVERY_US) {
            return None;
        }
        let (count, from) = self.since.take()?;
        self.told_us = Some(now_us);
        let from = from.map_or("somewhere".into(), |address| address.to_canonical().to_string());
        let who = match count {
            1 => format!("somebody at {from} tried"),
            _ => format!("{count} times somebody tried, the last time from {from},"),
        };
        Some(format!(
            "{who} to lead or look on with a key that is not this class's, and was not let in. Unless that was you, see that nobody has the key files"
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SECOND_US: i64 = 1_000_000;

    #[test]
    fn the_first_is_told_at_once_and_the_next_ones_a_minute_later_in_one_line() {
        let mut keys = WrongKeys::default();
        let ip = |text: &str| text.parse().ok();
        assert_eq!(keys.due(0), None);
        keys.wrong(ip("::ffff:192.0.2.7"));
        let told = keys.due(0).unwrap();
        assert!(told.starts_with("somebody at 192.0.2.7 tried to lead or look on with a key"), "{told}");
        for _ in 0..500 {
            keys.wrong(ip("192.0.2.8"));
            assert_eq!(keys.due(59 * SECOND_US), None);
        }
        let told = keys.due(60 * SECOND_US).unwrap();
        assert!(
            told.starts_with("500 times somebody tried, the last time from 192.0.2.8, to lead"),
            "{told}"
        );
        assert_eq!(keys.due(3_600 * SECOND_US), None, "nothing has come since");
    }

    proptest! {
        #[test]
        fn however_many_come_a_minute_lies_between_two_lines_and_none_is_left_out(
            waits_us in prop::collection::vec(0..30 * SECOND_US, 1..200),
        ) {
            let (mut keys, mut now_us, mut told_us, mut told) = (WrongKeys::default(), 0, Vec::new(), 0);
            for wait_us in &waits_us {
                now_us += wait_us;
                keys.wrong(None);
                let waiting = keys.since.map_or(0, |(count, _)| count);
                if keys.due(now_us).is_some() {
                    told_us.push(now_us);
                    told += waiting;
                }
            }
            prop_assert!(told_us.windows(2).all(|two| two[1] - two[0] >= EVERY_US));
            prop_assert_eq!(told + keys.since.map_or(0, |(count, _)| count), waits_us.len() as u64);
        }
    }
}

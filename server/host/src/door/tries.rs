//! How many wrong join codes one address may try.
//!
//! A right code is never looked up here: a class often shares one address, and nobody is kept out by a neighbour's typing
//! errors. So this does not make guessing impossible, the size of a code does (2^38); it keeps guessing from going on
//! unnoticed, and tells who mistypes how long to wait.

use std::net::{IpAddr, Ipv6Addr};

/// How many wrong codes an address may try in a row.
pub(crate) const AT_ONCE: i64 = 10;
/// How long it takes until it may try one more, in microseconds of the room's time.
pub(crate) const EVERY_US: i64 = 6_000_000;
/// How many addresses are remembered; the one whose last try is longest ago is forgotten first.
pub(crate) const ADDRESSES: usize = 256;

/// What a wrong code comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wrong {
    /// One of those that may be tried.
    Counted,
    /// One too many.
    TooOften {
        /// Seconds until the next may be tried.
        wait_s: i64,
        /// The first one too many since the address had all its tries.
        is_first: bool,
    },
}

/// The wrong codes of all addresses: for each a bucket of tries that fills up again.
#[derive(Debug, Default)]
pub(crate) struct Tries {
    /// The one whose last try is longest ago comes first.
    by_address: Vec<Tried>,
}

#[derive(Debug)]
struct Tried {
    /// `None` for connections that come from no address.
    address: Option<IpAddr>,
    /// When it has all its tries again.
    full_at_us: i64,
    told: bool,
}

impl Tries {
    /// A wrong code has come at `now_us`, which never goes back.
    pub(crate) fn wrong(&mut self, from: Option<IpAddr>, now_us: i64) -> Wrong {
        let address = from.map(network);
        let known = self.by_address.iter().position(|tried| tried.address == address);
        let fresh = Tried { address, full_at_us: now_us, told: false };
        let mut tried = known.map_or(fresh, |place| self.by_address.remove(place));
        if tried.full_at_us <= now_us {
            (tried.full_at_us, tried.told) = (now_us, false);
        }
        let full_at_us = tried.full_at_us.saturating_add(EVERY_US);
        let wait_us = full_at_us - now_us - AT_ONCE * EVERY_US;
        let wrong = if wait_us <= 0 {
            tried.full_at_us = full_at_us;
            Wrong::Counted
        } else {
            let wait_s = (wait_us + 999_999) / 1_000_000;
            Wrong::TooOften { wait_s, is_first: !std::mem::replace(&mut tried.told, true) }
        };
        if self.by_address.len() >= ADDRESSES {
            self.by_address.remove(0);
        }
        self.by_address.push(tried);
        wrong
    }
}

/// Whoever has one address of IPv6 can usually take any of the 2^64 that begin like it.
pub(crate) fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => IpAddr::V6(Ipv6Addr::from_bits(v6.to_bits() & !u128::from(u64::MAX))),
        v4 => v4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::net::Ipv4Addr;

    const SECOND_US: i64 = 1_000_000;

    fn v4(n: u32) -> Option<IpAddr> {
        Some(IpAddr::V4(Ipv4Addr::from_bits(n)))
    }

    #[test]
    fn ten_wrong_codes_may_come_at_once_and_then_one_every_six_seconds() {
        let mut tries = Tries::default();
        for _ in 0..AT_ONCE {
            assert_eq!(tries.wrong(v4(1), 5), Wrong::Counted);
        }
        assert_eq!(tries.wrong(v4(1), 5), Wrong::TooOften { wait_s: 6, is_first: true });
        assert_eq!(tries.wrong(v4(1), 5 + SECOND_US / 2), Wrong::TooOften { wait_s: 6, is_first: false });
        assert_eq!(tries.wrong(v4(1), 5 + 4 * SECOND_US), Wrong::TooOften { wait_s: 2, is_first: false });
        assert_eq!(tries.wrong(v4(1), 5 + EVERY_US), Wrong::Counted);
        assert_eq!(tries.wrong(v4(1), 5 + EVERY_US), Wrong::TooOften { wait_s: 6, is_first: false });
        assert_eq!(tries.wrong(v4(2), 5 + EVERY_US), Wrong::Counted, "another address has its own");
    }

    #[test]
    fn one_networks_addresses_of_ipv6_are_one_and_an_ipv4_address_written_as_ipv6_is_the_same() {
        let of = |text: &str| network(text.parse().unwrap());
        assert_eq!(of("2001:db8:1:2::7"), of("2001:db8:1:2:ffff::9"));
        assert_ne!(of("2001:db8:1:2::7"), of("2001:db8:1:3::7"));
        assert_eq!(of("::ffff:192.0.2.7"), of("192.0.2.7"));
        assert_ne!(of("192.0.2.7"), of("192.0.2.8"));
    }

    #[test]
    fn the_address_whose_last_try_is_longest_ago_is_forgotten_first() {
        let mut tries = Tries::default();
        for n in 0..ADDRESSES as u32 {
            tries.wrong(v4(n), i64::from(n));
        }
        tries.wrong(v4(0), 1_000);
        tries.wrong(v4(9_999), 1_001);
        let knows = |n| tries.by_address.iter().any(|tried| tried.address == v4(n));
        assert_eq!([0, 1, 2, 9_999].map(knows), [true, false, true, true]);
    }

    /// Wrong codes from some addresses: of which one, and how long after the one before.
    fn course(addresses: u32) -> impl Strategy<Value = Vec<(u32, i64)>> {
        let wait = prop_oneof![Just(0), 0..20_000_i64, 0..20 * SECOND_US, 0..200 * SECOND_US];
        prop::collection::vec((0..addresses, wait), 1..400)
    }

    proptest! {
        #[test]
        fn in_no_span_of_time_are_more_wrong_codes_counted_than_fit_in_it(course in course(3)) {
            let (mut tries, mut now_us) = (Tries::default(), 0);
            let mut counted: [Vec<i64>; 3] = Default::default();
            for (address, wait_us) in course {
                now_us += wait_us;
                match tries.wrong(v4(address), now_us) {
                    Wrong::Counted => counted[address as usize].push(now_us),
                    Wrong::TooOften { wait_s, .. } => prop_assert!((1..=EVERY_US / SECOND_US).contains(&wait_s)),
                }
            }
            for times in counted {
                for (first, &from_us) in times.iter().enumerate() {
                    for (last, &to_us) in times.iter().enumerate().skip(first) {
                        let fit = AT_ONCE + (to_us - from_us) / EVERY_US;
                        prop_assert!(((last - first) as i64) < fit, "{from_us} to {to_us} µs");
                    }
                }
            }
        }

        #[test]
        fn who_waits_as_long_as_told_may_try_again(course in course(3)) {
            let (mut tries, mut now_us) = (Tries::default(), 0);
            for (address, wait_us) in course {
                now_us += wait_us;
                if let Wrong::TooOften { wait_s, .. } = tries.wrong(v4(address), now_us) {
                    now_us += wait_s * SECOND_US;
                    prop_assert_eq!(tries.wrong(v4(address), now_us), Wrong::Counted);
                }
            }
        }

        #[test]
        fn however_many_addresses_try_only_so_many_are_remembered(course in course(2_000)) {
            let (mut tries, mut now_us) = (Tries::default(), 0);
            for (address, wait_us) in course {
                now_us += wait_us;
                tries.wrong(v4(address), now_us);
                prop_assert!(tries.by_address.len() <= ADDRESSES);
                prop_assert_eq!(tries.by_address.last().map(|tried| tried.address), Some(v4(address)));
            }
        }
    }
}

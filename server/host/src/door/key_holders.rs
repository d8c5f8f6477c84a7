//! What the teacher hears of consoles that have come in by a key, and of those that have gone: at most a line a minute.

use super::wrong_keys::EVERY_US;
use std::net::IpAddr;

/// A console that has proved a key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct KeyHolder {
    /// What it is called; no other one is called so while it is here.
    pub(crate) name: String,
    /// Whether it leads: its key is the teacher's, and else the observer's.
    pub(crate) acts: bool,
    /// From which address it came, if from one.
    pub(crate) from: Option<IpAddr>,
}

impl KeyHolder {
    fn place(&self) -> String {
        self.from.map_or("somewhere".into(), |address| address.to_canonical().to_string())
    }

    /// `leads from 192.0.2.7 with the teacher's key`.
    fn does(&self) -> String {
        let (does, whose) = if self.acts { ("leads", "teacher's") } else { ("looks on", "observer's") };
        format!("{does} from {} with the {whose} key", self.place())
    }
}

/// The consoles that are here, and what the teacher has not heard of them yet.
#[derive(Debug, Default)]
pub(crate) struct KeyHolders {
    here: Vec<KeyHolder>,
    told_us: Option<i64>,
    since: Since,
}

/// What has happened since the last line.
#[derive(Debug, Default)]
struct Since {
    /// How many came with the teacher's key, and with the observer's.
    came: [u64; 2],
    went: u64,
    /// The last of them, and whether it came.
    last: Option<(KeyHolder, bool)>,
}

/// What the teacher is to hear.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Told {
    pub(crate) words: String,
    /// The console whose coming it is, where it is one's alone.
    pub(crate) of: Option<String>,
}

impl KeyHolders {
    /// A console has come, or has gone.
    pub(crate) fn heard(&mut self, guest: KeyHolder, is_here: bool) {
        self.here.retain(|other| other.name != guest.name);
        let since = &mut self.since;
        if is_here {
            since.came[usize::from(!guest.acts)] += 1;
            self.here.push(guest.clone());
        } else {
            since.went += 1;
        }
        since.last = Some((guest, is_here));
    }

    /// What the teacher is to hear at `now_us`, which never goes back.
    pub(crate) fn due(&mut self, now_us: i64) -> Option<Told> {
        if self.told_us.is_some_and(|told_us| now_us - told_us < EVERY_US) {
            return None;
        }
        let Since { came: [leading, looking], went, last } = std::mem::take(&mut self.since);
        let (last, is_here) = last?;
        self.told_us = Some(now_us);
        if leading + looking + went == 1 {
            return Some(match is_here {
                true => {
                    Told { words: format!("somebody {}, as {}", last.does(), last.name), of: Some(last.name) }
                }
                false => {
                    let did = if last.acts { "led" } else { "looked on" };
                    Told {
                        words: format!("whoever {did} from {}, as {}, has gone", last.place(), last.name),
                        of: None,
                    }
                }
            });
        }
        let here: Vec<String> = self.here.iter().map(|one| format!("{} {}", one.name, one.does())).collect();
        let here = if here.is_empty() { "none is here now".into() } else { here.join("; ") };
        let words = format!(
            "consoles since the last such line: {leading} came to lead, {looking} to look on, {went} went, the last one from {}; {here}",
            last.place()
        );
        Some(Told { words, of: None })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SECOND_US: i64 = 1_000_000;

    fn guest(name: &str, acts: bool, from: &str) -> KeyHolder {
        KeyHolder { name: name.into(), acts, from: from.parse().ok() }
    }

    fn words(told: Option<Told>) -> String {
        told.unwrap().words
    }

    #[test]
    fn the_first_that_comes_is_told_at_once_and_what_follows_within_a_minute_in_one_line() {
        let mut holders = KeyHolders::default();
        assert_eq!(holders.due(0), None);
        holders.heard(guest("Ann", true, "::ffff:10.0.0.4"), true);
        let first = holders.due(0).unwrap();
        assert_eq!(first.words, "somebody leads from 10.0.0.4 with the teacher's key, as Ann");
        assert_eq!(first.of.as_deref(), Some("Ann"));
        holders.heard(guest("Olga", false, "10.0.0.5"), true);
        for _ in 0..40 {
            holders.heard(guest("Eve", true, "10.0.0.6"), true);
            holders.heard(guest("Eve", true, "10.0.0.6"), false);
        }
        assert_eq!(holders.due(59 * SECOND_US), None);
        assert_eq!(
            words(holders.due(60 * SECOND_US)),
            "consoles since the last such line: 40 came to lead, 1 to look on, 40 went, the last one from 10.0.0.6; Ann leads from 10.0.0.4 with the teacher's key; Olga looks on from 10.0.0.5 with the observer's key"
        );
        holders.heard(guest("Olga", false, "10.0.0.5"), false);
        assert_eq!(words(holders.due(120 * SECOND_US)), "whoever looked on from 10.0.0.5, as Olga, has gone");
        holders.heard(guest("Ann", true, "10.0.0.4"), false);
        assert_eq!(words(holders.due(180 * SECOND_US)), "whoever led from 10.0.0.4, as Ann, has gone");
        assert_eq!(holders.due(3_600 * SECOND_US), None, "nobody has come or gone since");
    }

    proptest! {
        #[test]
        fn however_often_they_come_and_go_a_minute_lies_between_two_lines_and_the_last_is_told(
            waits_us in prop::collection::vec(0..30 * SECOND_US, 1..100),
        ) {
            let (mut holders, mut now_us, mut told_us) = (KeyHolders::default(), 0, Vec::new());
            for (n, wait_us) in waits_us.iter().enumerate() {
                now_us += wait_us;
                holders.heard(guest("Eve", true, "10.0.0.6"), n % 2 == 0);
                told_us.extend(holders.due(now_us).map(|_| now_us));
            }
            prop_assert!(told_us.windows(2).all(|two| two[1] - two[0] >= EVERY_US));
            holders.due(now_us + EVERY_US);
            prop_assert!(holders.since.last.is_none());
            prop_assert!(holders.here.len() == waits_us.len() % 2);
        }
    }
}

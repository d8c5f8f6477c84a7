//! Who is sent away, and who is let back.

use super::{Refusal, refuse};
use crate::{Away, Event, Room, Seat};
use protocol::text::{NAME_CHARS, NOTE_CHARS, clean, name_key};
use protocol::wire::RefusalCode;
use protocol::{HostTime, SeatId};

/// Which seats a teacher means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Who {
    /// Names with commas between; `*` in one stands for any letters.
    Named(String),
    /// All that were first taken at this instant or later.
    Since(HostTime),
}

/// What a name is followed by once somebody else has it.
const ASIDE: &str = "(away)";

impl Room {
    /// Seats are sent away: those of them that are there.
    pub(super) fn send_away(
        &self,
        who: &Who,
        without_scores: bool,
        reason: &str,
    ) -> Result<Vec<Event>, Refusal> {
        let (found, named) = match who {
            Who::Named(names) => (self.all_meant(names)?, !names.contains('*')),
            Who::Since(at) => {
                let late = self.seats.iter().filter(|seat| seat.joined_at >= *at);
                (late.filter(|seat| self.is_here(seat)).collect(), false)
            }
        };
        let seats: Vec<SeatId> = found.iter().filter(|seat| self.is_here(seat)).map(|seat| seat.id).collect();
        if !named && seats.is_empty() {
            return refuse(RefusalCode::BadName, "nobody is meant by that; `who` says who is seated");
        }
        let here = self.seats.iter().filter(|seat| self.is_here(seat)).count();
        if !named && seats.len() == here && here > 1 {
            return refuse(
                RefusalCode::Other,
                format!("that would be all {here} who are seated; name those that are to go"),
            );
        }
        if seats.is_empty() {
            // Sent away already: it may be the scores that are to go too.
            let with = found.iter().filter(|seat| without_scores && seat.counts);
            return Ok(with
                .map(|seat| Event::SeatCounts { seat: seat.id, counts: false, undone: false })
                .collect());
        }
        let reason = clean(reason.trim(), NOTE_CHARS);
        Ok(vec![Event::SentAway { seats, without_scores, reason }])
    }

    /// Seats that were sent away are let back.
    pub(super) fn let_in_again(&self, names: &str) -> Result<Vec<Event>, Refusal> {
        let found = match names.trim() {
            all if all.eq_ignore_ascii_case("all") && self.seat_meant(all).is_none() => {
                self.seats.iter().filter(|seat| seat.same_as.is_none()).collect()
            }
            names => self.all_meant(names)?,
        };
        let gone = found.iter().filter(|seat| seat.away.is_some());
        let seats: Vec<SeatId> = gone.map(|seat| seat.id).collect();
        Ok(if seats.is_empty() { Vec::new() } else { vec![Event::LetBack { seats, undone: false }] })
    }

    /// The seats of names that somebody typed, each once.
    fn all_meant(&self, names: &str) -> Result<Vec<&Seat>, Refusal> {
        // A name may have a comma in it, or a star.
        if let Some(seat) = self.seat_meant(names.trim()) {
            return Ok(vec![seat]);
        }
        let mut found: Vec<&Seat> = Vec::new();
        for name in names.split(',').map(str::trim).filter(|name| !name.is_empty()) {
            let pattern = name_key(name);
            let persons = self.seats.iter().filter(|seat| seat.same_as.is_none());
            let all = match (self.seat_meant(name), name.contains('*')) {
                (Some(seat), _) => vec![seat],
                (None, true) => persons.filter(|seat| fits(&name_key(&seat.name), &pattern)).collect(),
                (None, false) => vec![self.must_mean(name)?],
            };
            found.extend(all);
        }
        found.sort_by_key(|seat| seat.id);
        found.dedup_by_key(|seat| seat.id);
        Ok(found)
    }

    /// Whether a seat may say anything at all.
    pub(super) fn check_is_here(&self, seat: SeatId) -> Result<(), Refusal> {
        match self.seat_of(seat).and_then(|seat| seat.away.as_ref()) {
            Some(away) => refuse(RefusalCode::SentAway, Away::words(&away.reason)),
            None => Ok(()),
        }
    }

    /// What a seat that was sent away is called once somebody else has its name.
    pub(super) fn name_away(&self, name: &str) -> String {
        let aside = |n: usize| if n == 1 { ASIDE.to_string() } else { format!("{ASIDE} {n}") };
        let called = |n: usize| {
            let room = NAME_CHARS.saturating_sub(aside(n).chars().count() + 1);
            let short: String = name.chars().take(room).collect();
            format!("{} {}", short.trim_end(), aside(n))
        };
        // There are no more names than seats.
        (1..).map(called).find(|name| self.seat_named(name).is_none()).unwrap_or_default()
    }
}

/// Whether a name's key fits a pattern, in which every `*` stands for any letters or none.
pub fn fits(name: &str, pattern: &str) -> bool {
    let Some((first, rest)) = pattern.split_once('*') else { return name == pattern };
    let Some(mut left) = name.strip_prefix(first) else { return false };
    let mut parts: Vec<&str> = rest.split('*').collect();
    let last = parts.pop().unwrap_or_default();
    for part in parts {
        let Some(at) = left.find(part) else { return false };
        left = &left[at + part.len()..];
    }
    left.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::fits;

    #[test]
    fn a_star_stands_for_any_letters() {
        for (name, pattern, is) in [
            ("stranger-1", "stranger-*", true),
            ("stranger-", "stranger-*", true),
            ("ann", "stranger-*", false),
            ("ann", "*", true),
            ("annabel", "*n*l", true),
            ("aba", "ab*ba", false),
            ("ann", "an", false),
        ] {
            assert_eq!(fits(name, pattern), is, "{name} {pattern}");
        }
    }
}

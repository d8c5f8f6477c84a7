//! Who waits at the door until the teacher lets them in by name. Nothing of it is in the ledger but who was let in.

use protocol::person::looks;
use protocol::text::name_key;
use protocol::wire::{Join, RefusalCode};
use protocol::{Challenge, KeyId, Token};
use room::Refusal;
use room::near::nearest;
use uuid::Uuid;

/// No more people are at the door at once.
const MOST: usize = 200;
/// Who has not asked for so long has gone, in microseconds of the room's time.
const GONE_AFTER_US: i64 = 30_000_000;

/// Who waits to be let in by name.
#[derive(Debug, Default)]
pub(crate) struct Lobby {
    /// In the order in which they came.
    waiting: Vec<Waiting>,
}

#[derive(Debug)]
struct Waiting {
    name: String,
    token: Token,
    key: KeyId,
    asked_us: i64,
}

impl Lobby {
    /// The token of somebody who waits and proves it: it has been said once, and is not said again.
    pub(crate) fn proved(&self, join: &Join, over: Challenge, class_id: Uuid) -> Option<Token> {
        join.proofs.iter().find_map(|proved| {
            let waits = self.waiting.iter().find(|waits| waits.key == proved.key)?;
            waits.token.is_proved_by(&proved.proof, over, class_id).then_some(waits.token)
        })
    }

    /// Why somebody can't wait or sit down under a name: somebody else waits under it, or one that reads like it.
    pub(crate) fn check(&self, name: &str, token: Token) -> Result<(), Refusal> {
        let is_same = |other: &str| name_key(other) == name_key(name) || looks(other) == looks(name);
        match self.waiting.iter().find(|waits| waits.token != token && is_same(&waits.name)) {
            Some(other) => Err(Refusal {
                code: RefusalCode::NameTaken,
                reason: format!("somebody else is at the door as {}; choose another name", other.name),
            }),
            None => Ok(()),
        }
    }

    /// Somebody asks to be let in: what they hear, and whether the teacher is to hear of them, because they ask for the first time.
    pub(crate) fn ask(&mut self, name: &str, token: Token, now_us: i64) -> (Refusal, bool) {
        let refused = |reason| Refusal { code: RefusalCode::NotAdmitted, reason };
        let are_waiting = self.waiting.len();
        let known = self.waiting.iter_mut().find(|waits| waits.token == token);
        let is_first = match known {
            Some(waits) => {
                waits.asked_us = now_us;
                // Started again under another name.
                std::mem::replace(&mut waits.name, name.into()) != name
            }
            None if are_waiting >= MOST => {
                let words = format!(
                    "{MOST} people are at the door already, and the teacher lets people in by name; stay here, this seat asks again by itself"
                );
                return (refused(words), false);
            }
            None => {
                self.waiting.push(Waiting { name: name.into(), token, key: token.key(), asked_us: now_us });
                true
            }
        };
        let words = format!(
            "you are at the door as {name}; the teacher lets people in by name. Stay here: this seat asks again by itself, and sits down once you are let in"
        );
        (refused(words), is_first)
    }

    /// Forgets who has sat down.
    pub(crate) fn sat_down(&mut self, token: Token) {
        self.waiting.retain(|waits| waits.token != token);
    }

    /// Forgets who has gone.
    pub(crate) fn look(&mut self, now_us: i64) {
        self.waiting.retain(|waits| now_us - waits.asked_us < GONE_AFTER_US);
    }

    /// Who waits, in the order in which they came.
    pub(crate) fn names(&self) -> Vec<String> {
        self.waiting.iter().map(|waits| waits.name.clone()).collect()
    }

    /// Whom the teacher means by names with commas between, or by `all`.
    pub(crate) fn meant(&self, typed: &str) -> Result<Vec<String>, Refusal> {
        let nobody = |reason: String| Err(Refusal { code: RefusalCode::BadName, reason });
        if self.waiting.is_empty() {
            return nobody("nobody is at the door".into());
        }
        let of = |name: &str| self.waiting.iter().find(|waits| name_key(&waits.name) == name_key(name));
        // A name may have a comma in it.
        if let Some(waits) = of(typed.trim()) {
            return Ok(vec![waits.name.clone()]);
        }
        if typed.trim().eq_ignore_ascii_case("all") {
            return Ok(self.names());
        }
        let mut meant = Vec::new();
        for name in typed.split(',').map(str::trim).filter(|name| !name.is_empty()) {
            match of(name) {
                Some(waits) => meant.push(waits.name.clone()),
                None => {
                    let near = nearest(name, self.waiting.iter().map(|waits| waits.name.as_str()));
                    let near = near.map_or(String::new(), |near| format!("; did you mean {near}?"));
                    let shown = protocol::text::clean(name, protocol::text::NAME_CHARS);
                    return nobody(format!("nobody is at the door as {shown}{near}"));
                }
            }
        }
        Ok(meant)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND_US: i64 = 1_000_000;

    fn token(n: u128) -> Token {
        Token(Uuid::from_u128(n))
    }

    fn lobby(names: &[&str]) -> Lobby {
        let mut lobby = Lobby::default();
        for (n, name) in (0..).zip(names) {
            assert!(lobby.ask(name, token(n), 0).1);
        }
        lobby
    }

    #[test]
    fn the_teacher_hears_of_each_once_and_who_asks_no_more_is_forgotten() {
        let mut lobby = lobby(&["Ann", "Bob"]);
        for s in 1..60 {
            lobby.look(s * SECOND_US);
            let (refusal, is_first) = lobby.ask("Ann", token(0), s * SECOND_US);
            assert_eq!((refusal.code, is_first), (RefusalCode::NotAdmitted, false));
            assert_eq!(lobby.names().len(), if s < 30 { 2 } else { 1 }, "{s} s");
        }
        assert!(lobby.ask("Bob", token(1), 60 * SECOND_US).1);
        assert!(lobby.ask("Bobby", token(1), 61 * SECOND_US).1, "the same seat by another name");
        lobby.sat_down(token(0));
        assert_eq!(lobby.names(), ["Bobby"]);
    }

    #[test]
    fn nobody_takes_a_name_under_which_somebody_else_waits_or_one_that_reads_like_it() {
        let lobby = lobby(&["Ann"]);
        for (name, other, is_free) in
            [("Ann", 0, true), ("ANN", 1, false), ("\u{410}nn", 1, false), ("Anna", 1, true)]
        {
            assert_eq!(lobby.check(name, token(other)).is_ok(), is_free, "{name}");
        }
        let refusal = lobby.check("ann", token(1)).unwrap_err();
        assert_eq!(refusal.reason, "somebody else is at the door as Ann; choose another name");
    }

    #[test]
    fn no_more_than_two_hundred_wait_and_the_next_is_told() {
        let mut lobby = Lobby::default();
        for n in 0..1_000 {
            let (refusal, is_first) = lobby.ask(&format!("stranger {n}"), token(n), 0);
            assert_eq!(is_first, n < 200, "{n}: {}", refusal.reason);
        }
        assert_eq!(lobby.names().len(), MOST);
        let (refusal, _) = lobby.ask("Ann", token(5_000), 0);
        assert!(refusal.reason.starts_with("200 people are at the door already"), "{}", refusal.reason);
    }

    #[test]
    fn the_teacher_means_one_or_several_or_all_and_a_slip_is_answered() {
        let lobby = lobby(&["Ann", "Bob", "Li, Wei"]);
        for (typed, meant) in [
            ("ann", Ok(vec!["Ann"])),
            ("Bob, Ann", Ok(vec!["Bob", "Ann"])),
            ("li, wei", Ok(vec!["Li, Wei"])),
            ("All", Ok(vec!["Ann", "Bob", "Li, Wei"])),
            ("Bop", Err("nobody is at the door as Bop; did you mean Bob?")),
            ("Zachary", Err("nobody is at the door as Zachary")),
        ] {
            let found = lobby.meant(typed);
            let found = found.as_ref().map(|names| names.iter().map(String::as_str).collect::<Vec<_>>());
            assert_eq!(found.map_err(|refusal| refusal.reason.as_str()), meant, "{typed}");
        }
        assert_eq!(Lobby::default().meant("all").unwrap_err().reason, "nobody is at the door");
    }
}

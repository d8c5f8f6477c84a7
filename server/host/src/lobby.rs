//! Who waits at the door until the teacher lets them in by name. Nothing of it is in the ledger but who was let in.

mod lines;

use crate::door::tries::network;
use lines::Lines;
use protocol::person::{self, looks};
use protocol::text::name_key;
use protocol::wire::{Join, RefusalCode};
use protocol::{Challenge, Token};
use room::near::nearest;
use room::{Refusal, fits};
use std::collections::BTreeMap;
use std::net::IpAddr;
use uuid::Uuid;

/// No more people are at the door at once.
const MOST: usize = 200;
/// Who has not asked for so long has gone, in microseconds of the room's time.
const GONE_AFTER_US: i64 = 30_000_000;
/// The teacher is not asked again about who was turned away, or who is new from that address, for so long.
const TURNED_AWAY_US: i64 = 300_000_000;

/// Who waits to be let in by name.
#[derive(Debug, Default)]
pub(crate) struct Lobby {
    /// In the order in which they came.
    waiting: Vec<Waiting>,
    /// To whom of several of one name it was given, as long as they are here.
    given: Vec<Token>,
    turned_away: Vec<Turned>,
    /// Whether the teacher has heard that nobody more can wait.
    is_full_told: bool,
    pub(crate) lines: Lines,
}

#[derive(Debug)]
struct Waiting {
    name: String,
    /// What the teacher calls them: the name, with a number behind it where somebody was here before under the same.
    called: String,
    /// Why it is called otherwise than by its name.
    beside: Option<Beside>,
    token: Token,
    from: Option<IpAddr>,
    asked_us: i64,
}

/// Who stood in the way of a name at the door.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Beside {
    /// What they are called.
    called: String,
    /// Whether they came under the very name, and not one that only reads like it.
    is_same: bool,
}

impl Beside {
    /// For whoever comes: not who it is.
    fn for_comer(&self) -> &'static str {
        match self.is_same {
            true => ", because somebody waits there by that name already",
            false => ", because a name that reads alike waits there already",
        }
    }

    /// For the teacher, behind what somebody is called who came as `name`.
    fn for_teacher(&self, name: &str) -> String {
        match self.is_same {
            true => format!(" (another {name}: one waits there already)"),
            false => format!(" (came as {name}, which reads like {}, who waits there)", self.called),
        }
    }
}

#[derive(Debug)]
struct Turned {
    token: Token,
    from: Option<IpAddr>,
    until_us: i64,
}

/// Whom the teacher lets in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Meant {
    /// Somebody who waits, by what they are called.
    Here(String),
    /// Whoever comes next under this name.
    ToCome(String),
}

impl Meant {
    /// What they are called.
    pub(crate) fn name(&self) -> &str {
        let (Meant::Here(name) | Meant::ToCome(name)) = self;
        name
    }
}

/// What has come of asking to be let in.
#[derive(Debug)]
pub(crate) struct Asked {
    pub(crate) refusal: Refusal,
    /// Where they ask for the first time, what the teacher is to call them, and why so if it is not their name.
    pub(crate) news: Option<(String, String)>,
    /// Whether nobody more can wait, and the teacher has not heard of it.
    pub(crate) is_full: bool,
}

fn is_same(one: &str, other: &str) -> bool {
    name_key(one) == name_key(other) || looks(one) == looks(other)
}

fn refused(reason: String) -> Refusal {
    Refusal { code: RefusalCode::NotAdmitted, reason }
}

impl Lobby {
    /// The token of somebody who waits and proves it: it has been said once, and is not said again.
    pub(crate) fn proved(&self, join: &Join, over: Challenge, class_id: Uuid) -> Option<Token> {
        let waiting = self.waiting.iter().map(|waits| waits.token);
        let mut known = waiting.chain(self.turned_away.iter().map(|turned| turned.token));
        known.find(|token| {
            let mut proofs = join.proofs.iter().filter(|proved| proved.key == token.key());
            proofs.any(|proved| token.is_proved_by(&proved.proof, over, class_id))
        })
    }

    /// Why somebody can't sit down under a name: the teacher has let somebody else in under it, or one that reads like it.
    pub(crate) fn check(&self, name: &str, token: Token) -> Result<(), Refusal> {
        let other = |waits: &&Waiting| {
            waits.token != token && self.given.contains(&waits.token) && is_same(&waits.name, name)
        };
        match self.waiting.iter().find(other) {
            Some(_) => Err(Refusal {
                code: RefusalCode::NameTaken,
                reason: "the teacher has let somebody else in by that name; choose another name".into(),
            }),
            None => Ok(()),
        }
    }

    /// Somebody asks to be let in.
    pub(crate) fn ask(&mut self, name: &str, token: Token, from: Option<IpAddr>, now_us: i64) -> Asked {
        let from = from.map(network);
        let place = self.waiting.iter().position(|waits| waits.token == token);
        if place.is_none() && self.is_turned_away(token, from) {
            let refusal = refused("the teacher hasn't let you in; ask them".into());
            return Asked { refusal, news: None, is_full: false };
        }
        let mut is_full = false;
        let known = place.filter(|&place| self.waiting[place].name == name);
        let (called, beside) = match known {
            Some(place) => {
                let waits = &mut self.waiting[place];
                waits.asked_us = now_us;
                (waits.called.clone(), waits.beside.clone())
            }
            None => {
                // Started again under another name.
                self.waiting.retain(|waits| waits.token != token);
                if self.waiting.len() >= MOST {
                    self.make_room();
                    is_full = !std::mem::replace(&mut self.is_full_told, true);
                }
                let (called, beside) = (self.free(name), self.beside(name));
                let coming = (called.clone(), beside.clone());
                let name = name.to_string();
                self.waiting.push(Waiting { name, called, beside, token, from, asked_us: now_us });
                coming
            }
        };
        let why = beside.as_ref().map_or("", Beside::for_comer);
        let refusal = refused(format!(
            "you are at the door as {called}{why}; the teacher lets people in by name. Stay here: this seat asks again by itself, and sits down once you are let in"
        ));
        let why = beside.map_or(String::new(), |beside| beside.for_teacher(name));
        Asked { refusal, news: known.is_none().then_some((called, why)), is_full }
    }

    /// The oldest goes of the address that holds most places.
    fn make_room(&mut self) {
        let mut held: BTreeMap<Option<IpAddr>, usize> = BTreeMap::new();
        self.waiting.iter().for_each(|waits| *held.entry(waits.from).or_default() += 1);
        let most = held.values().max().copied();
        if let Some(oldest) = self.waiting.iter().position(|waits| held.get(&waits.from).copied() == most) {
            self.waiting.remove(oldest);
        }
    }

    /// What somebody is called whom the teacher can tell apart from all who wait.
    fn free(&self, name: &str) -> String {
        let numbered = (2..).map(|n| format!("{name} {n}"));
        let mut called = std::iter::once(name.to_string()).chain(numbered);
        let is_free = |called: &String| !self.waiting.iter().any(|waits| is_same(&waits.called, called));
        called.find(is_free).unwrap_or_default()
    }

    /// Who waits and is called so already, or by what reads the same.
    fn beside(&self, name: &str) -> Option<Beside> {
        let same = |waits: &Waiting| name_key(&waits.called) == name_key(name);
        let alike = || self.waiting.iter().find(|waits| is_same(&waits.called, name));
        let waits = self.waiting.iter().find(|waits| same(waits)).or_else(alike)?;
        Some(Beside { called: waits.called.clone(), is_same: same(waits) })
    }

    /// Whether somebody waits under a name.
    pub(crate) fn is_here(&self, name: &str) -> bool {
        self.waiting.iter().any(|waits| name_key(&waits.name) == name_key(name))
    }

    fn is_turned_away(&self, token: Token, from: Option<IpAddr>) -> bool {
        self.turned_away.iter().any(|turned| {
            turned.token == token || from.is_some_and(|from| turned.from == Some(from) && !from.is_loopback())
        })
    }

    /// Who has sat down waits no more.
    pub(crate) fn sat_down(&mut self, token: Token) {
        self.waiting.retain(|waits| waits.token != token);
        self.given.retain(|given| *given != token);
    }

    /// Forgets who has gone.
    pub(crate) fn look(&mut self, now_us: i64) {
        self.waiting.retain(|waits| now_us - waits.asked_us < GONE_AFTER_US);
        self.given.retain(|given| self.waiting.iter().any(|waits| waits.token == *given));
        self.turned_away.retain(|turned| now_us < turned.until_us);
        self.is_full_told &= self.waiting.len() > MOST / 2;
    }

    /// What those who wait are called, in the order in which they came.
    pub(crate) fn names(&self) -> Vec<String> {
        self.waiting.iter().map(|waits| waits.called.clone()).collect()
    }

    fn called(&self, typed: &str) -> Option<&Waiting> {
        self.waiting.iter().find(|waits| name_key(&waits.called) == name_key(typed))
    }

    /// Whom the teacher means by names with commas between, or by `all`.
    pub(crate) fn meant(&self, typed: &str) -> Result<Vec<Meant>, Refusal> {
        let refuse = |reason: String| Err(Refusal { code: RefusalCode::BadName, reason });
        // A name may have a comma in it.
        if let Some(waits) = self.called(typed.trim()) {
            return Ok(vec![Meant::Here(waits.called.clone())]);
        }
        if typed.trim().eq_ignore_ascii_case("all") {
            // Of several of one name only the teacher can say who it is.
            let first = self.waiting.iter().filter(|waits| waits.called == waits.name);
            let all: Vec<Meant> = first.map(|waits| Meant::Here(waits.called.clone())).collect();
            return if all.is_empty() { refuse("nobody is at the door".into()) } else { Ok(all) };
        }
        let names = typed.split(',').map(str::trim).filter(|name| !name.is_empty());
        let mut meant = Vec::new();
        for name in names {
            meant.push(match (self.called(name), person::name(name)) {
                (Some(waits), _) => Meant::Here(waits.called.clone()),
                (None, Ok(name)) => {
                    match nearest(&name, self.waiting.iter().map(|waits| waits.called.as_str())) {
                        Some(near) => {
                            return refuse(format!("nobody is at the door as {name}; did you mean {near}?"));
                        }
                        None => Meant::ToCome(name),
                    }
                }
                (None, Err(why)) => return refuse(format!("nobody can be let in by that name: {why}")),
            });
        }
        Ok(meant)
    }

    /// The name that is given to somebody who waits, and to nobody else who waits under it.
    pub(crate) fn give(&mut self, called: &str) -> Option<String> {
        let (name, token) = self.called(called).map(|waits| (waits.name.clone(), waits.token))?;
        let others = |given: &Token| {
            let of = self.waiting.iter().find(|waits| waits.token == *given);
            of.is_some_and(|waits| !is_same(&waits.name, &name))
        };
        let mut given: Vec<Token> = self.given.iter().copied().filter(others).collect();
        given.push(token);
        self.given = given;
        Some(name)
    }

    /// Turns those away who are called so, by a name or by one with `*` for any letters. What they were called.
    pub(crate) fn turn_away(&mut self, typed: &str, now_us: i64) -> Vec<String> {
        let pattern = name_key(typed);
        let is_meant = |waits: &Waiting| {
            let called = name_key(&waits.called);
            called == pattern || typed.contains('*') && fits(&called, &pattern)
        };
        let (gone, stay): (Vec<Waiting>, Vec<Waiting>) = self.waiting.drain(..).partition(is_meant);
        self.waiting = stay;
        let until_us = now_us + TURNED_AWAY_US;
        self.turned_away.extend(gone.iter().map(|waits| Turned {
            token: waits.token,
            from: waits.from,
            until_us,
        }));
        gone.into_iter().map(|waits| waits.called).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND_US: i64 = 1_000_000;

    fn token(n: u128) -> Token {
        Token(Uuid::from_u128(n))
    }

    fn address(n: u8) -> Option<IpAddr> {
        Some(IpAddr::from([192, 0, 2, n]))
    }

    /// Each from an address of their own.
    fn lobby(names: &[&str]) -> Lobby {
        let mut lobby = Lobby::default();
        for (n, name) in (0..).zip(names) {
            assert!(lobby.ask(name, token(n.into()), address(n), 0).news.is_some());
        }
        lobby
    }

    #[test]
    fn the_teacher_hears_of_each_once_and_who_asks_no_more_is_forgotten() {
        let mut lobby = lobby(&["Ann", "Bob"]);
        for s in 1..60 {
            lobby.look(s * SECOND_US);
            let asked = lobby.ask("Ann", token(0), address(0), s * SECOND_US);
            assert_eq!((asked.refusal.code, asked.news), (RefusalCode::NotAdmitted, None), "{s} s");
            assert_eq!(lobby.names().len(), if s < 30 { 2 } else { 1 }, "{s} s");
        }
        assert!(lobby.ask("Bob", token(1), address(1), 60 * SECOND_US).news.is_some());
        assert!(lobby.ask("Bobby", token(1), address(1), 61 * SECOND_US).news.is_some(), "by another name");
        lobby.sat_down(token(0));
        assert_eq!(lobby.names(), ["Bobby"]);
    }

    #[test]
    fn who_wait_under_one_name_have_numbers_and_it_is_for_the_one_whom_the_teacher_lets_in() {
        let mut lobby = lobby(&["Dan", "DAN", "D\u{430}n", "Dana"]);
        assert_eq!(lobby.names(), ["Dan", "DAN 2", "D\u{430}n 3", "Dana"]);
        let free = |lobby: &Lobby| [0, 1, 2, 3, 9].map(|n| lobby.check("dan", token(n)).is_ok());
        assert_eq!(free(&lobby), [true; 5], "the first locks nobody out");
        assert_eq!(lobby.give("dan 2"), Some("DAN".into()));
        assert_eq!(free(&lobby), [false, true, false, false, false]);
        assert_eq!(
            lobby.check("Dan", token(0)).unwrap_err().reason,
            "the teacher has let somebody else in by that name; choose another name"
        );
        assert!(lobby.check("Dana", token(3)).is_ok());
        lobby.give("Dan");
        assert_eq!(free(&lobby), [true, false, false, false, false], "the teacher thought better of it");
    }

    #[test]
    fn whose_name_stands_behind_one_that_reads_alike_hears_why_and_so_does_the_teacher() {
        let mut lobby = lobby(&["A n n", "Dan"]);
        for (name, n, called, to_teacher, to_comer) in [
            (
                "Ann",
                7,
                "Ann 2",
                " (came as Ann, which reads like A n n, who waits there)",
                "you are at the door as Ann 2, because a name that reads alike waits there already; the teacher",
            ),
            (
                "dan",
                8,
                "dan 2",
                " (another dan: one waits there already)",
                "you are at the door as dan 2, because somebody waits there by that name already; the teacher",
            ),
            ("Zoe", 9, "Zoe", "", "you are at the door as Zoe; the teacher"),
        ] {
            let first = lobby.ask(name, token(n), address(n as u8), 0);
            assert_eq!(first.news, Some((called.into(), to_teacher.into())));
            assert!(first.refusal.reason.starts_with(to_comer), "{}", first.refusal.reason);
            let again = lobby.ask(name, token(n), address(n as u8), SECOND_US);
            assert_eq!(
                (again.news, again.refusal),
                (None, first.refusal),
                "it is the same as long as they wait"
            );
        }
        assert!(lobby.is_here("ANN") && !lobby.is_here("Ann 2"));
    }

    #[test]
    fn strangers_lose_their_places_before_somebody_from_another_address_and_the_teacher_hears_it_once() {
        let mut lobby = Lobby::default();
        assert!(lobby.ask("Ann", token(9_999), address(2), 0).news.is_some());
        let told: Vec<u128> = (0..1_000)
            .filter(|&n| lobby.ask(&format!("stranger {n}"), token(n), address(1), 0).is_full)
            .collect();
        assert_eq!(told, [199]);
        let names = lobby.names();
        assert_eq!((names.len(), &names[0][..], &names[1][..]), (MOST, "Ann", "stranger 801"));
        assert!(lobby.ask("Bob", token(5_000), address(3), 0).news.is_some(), "there is room for Bob");
        assert!(["Ann", "Bob"].iter().all(|name| lobby.names().contains(&name.to_string())));
    }

    #[test]
    fn who_is_turned_away_is_not_asked_about_again_for_a_while_nor_who_is_new_from_there() {
        let mut lobby = lobby(&["Ann", "rascal 1", "rascal 2"]);
        assert!(lobby.ask("Cy", token(7), address(1), 0).news.is_some());
        assert_eq!(lobby.turn_away("nobody", 0), Vec::<String>::new());
        assert_eq!(lobby.turn_away("Rascal*", 0), ["rascal 1", "rascal 2"]);
        for (name, n, from, is_asked) in [
            ("rascal 1", 1, 1, false),
            ("Zed", 1, 9, false),
            ("Zed", 8, 1, false),
            ("Cy", 7, 1, true),
            ("Zed", 9, 9, true),
        ] {
            let words = lobby.ask(name, token(n), address(from), SECOND_US).refusal.reason;
            assert_eq!(words == "the teacher hasn't let you in; ask them", !is_asked, "{name}: {words}");
        }
        lobby.look(TURNED_AWAY_US);
        assert!(lobby.ask("rascal 1", token(1), address(1), TURNED_AWAY_US).news.is_some());
    }

    #[test]
    fn the_teacher_means_one_or_several_or_all_or_somebody_who_is_to_come() {
        let lobby = lobby(&["Ann", "Bob", "Li, Wei", "Bob"]);
        let here = |names: &[&str]| Ok(names.iter().map(|name| Meant::Here(name.to_string())).collect());
        for (typed, meant) in [
            ("ann", here(&["Ann"])),
            ("Bob 2, Ann", here(&["Bob 2", "Ann"])),
            ("li, wei", here(&["Li, Wei"])),
            ("All", here(&["Ann", "Bob", "Li, Wei"])),
            ("Zoe", Ok(vec![Meant::ToCome("Zoe".into())])),
            ("!", Err("nobody can be let in by that name: it needs at least one letter or digit")),
        ] {
            let found = lobby.meant(typed);
            assert_eq!(
                found.as_ref().map_err(|refusal| refusal.reason.as_str()),
                meant.as_ref().map_err(|e| *e),
                "{typed}"
            );
        }
        assert_eq!(Lobby::default().meant("all").unwrap_err().reason, "nobody is at the door");
    }
}

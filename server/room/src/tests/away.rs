//! Seats are sent away and let back.

use super::*;
use protocol::{Challenge, Nonce};

impl Led {
    fn away(&mut self, names: &str, without_scores: bool, now_s: i64) -> Result<usize, Refusal> {
        let who = Who::Named(names.into());
        self.teacher(Teacher::Away { who, without_scores, reason: String::new() }, now_s)
    }

    /// Whether somebody with this token is let in at the door, and to a place.
    fn enters(&mut self, name: &str, token: Token) -> Result<usize, RefusalCode> {
        let over = Challenge::plain(Nonce([7; 16]));
        let proofs = vec![token.proved(over, self.room.class_id)];
        let join = Join { proofs, ..Join::new(self.room.class_id, name, token) };
        let hello = protocol::wire::Hello::new(self.room.join_code, Some(join));
        match self.room.admits(&hello, over, true) {
            Ok(_) => self.join(name, Some(token), None).map_err(|refusal| refusal.code),
            Err(NotAdmitted::Because(refusal)) => Err(refusal.code),
            Err(NotAdmitted::WrongCode) => Err(RefusalCode::JoinCodeWrong),
        }
    }

    fn names(&self) -> Vec<&str> {
        self.room.seats.iter().filter(|seat| self.room.is_here(seat)).map(|seat| seat.name.as_str()).collect()
    }

    fn counted(&self) -> Vec<&str> {
        self.room.counted().map(|seat| seat.name.as_str()).collect()
    }

    /// The ledger read back is the same room.
    fn reads_back(&self) {
        assert_eq!(Room::replay(self.ledger.clone()).unwrap(), self.room);
    }
}

/// A class that runs, with Ann, Bob and Cy, of whom the first two have scored the first cup.
fn scored() -> (Led, i64) {
    let mut led = Led::two_ways();
    for name in ["Ann", "Bob", "Cy"] {
        led.join(name, None, None).unwrap();
    }
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    let now_s = led.cups_of(1);
    led.score(0, 417, 1, 1, 7, now_s).unwrap();
    led.score(1, 417, 1, 1, 4, now_s).unwrap();
    (led, now_s)
}

#[test]
fn however_often_a_squatter_comes_back_whoever_bears_the_name_gets_in_at_once() {
    let mut led = Led::two_ways();
    let (squatter, ann) = (Token(led.fresh()), Token(led.fresh()));
    led.join("Ann", Some(squatter), None).unwrap();
    assert_eq!(led.enters("Ann", ann), Err(RefusalCode::NameTaken));
    led.away("Ann", false, 1).unwrap();
    for _ in 0..20 {
        assert_eq!(led.enters("Ann", squatter), Err(RefusalCode::SentAway));
    }
    assert_eq!(led.enters("Ann", ann), Ok(2), "the other one is renamed, and she sits down");
    for _ in 0..20 {
        assert_eq!(led.enters("Ann", squatter), Err(RefusalCode::SentAway));
        assert_eq!(led.enters("Ann", ann), Ok(0));
    }
    let names: Vec<&str> = led.room.seats.iter().map(|seat| seat.name.as_str()).collect();
    assert_eq!((names, led.room.persons()), (vec!["Ann (away)", "Ann"], 1));
    assert_eq!(led.room.seat_named("ann").unwrap().token, ann);
    // Whatever is let back keeps out of her name.
    led.teacher(Teacher::Steer(Steering::Undo), 2).unwrap();
    assert_eq!(led.names(), ["Ann (away)", "Ann"]);
    assert_eq!(led.enters("Ann", squatter), Ok(0));
    led.away("Ann (away)", false, 3).unwrap();
    let third = Token(led.fresh());
    assert_eq!(led.enters("Ann (away)", third), Err(RefusalCode::BadName), "so nobody else is called");
    led.reads_back();
}

#[test]
fn who_is_sent_away_owes_nothing_and_what_was_scored_counts_unless_it_is_to_go_too() {
    let (mut led, now_s) = scored();
    let owed = |led: &Led| led.room.view(HostTime(now_s * SECOND_US), 0).class_in;
    assert_eq!((owed(&led).present, owed(&led).due), (2, 12));
    led.away("bob", false, now_s).unwrap();
    assert_eq!((owed(&led).present, owed(&led).due), (2, 9), "what is scored is due, and nothing else");
    assert_eq!(led.counted(), ["Ann", "Bob", "Cy"]);
    let id = led.fresh();
    let late = Command::Score { seat: led.room.seats[1].id, score: score(id, 238, 1, 1, 5) };
    assert_eq!(led.command(&late, now_s).unwrap_err().code, RefusalCode::SentAway);
    assert_eq!(led.teacher(Teacher::Back("Bob".into()), now_s + 1), Ok(1));
    assert_eq!((owed(&led).present, owed(&led).due), (2, 9), "it owes what is decanted from now on");
    assert_eq!(led.command(&late, now_s + 1), Ok(1), "what waited at the seat comes in");

    led.away("Bob", true, now_s + 2).unwrap();
    assert_eq!((led.counted(), led.room.scores.all().len()), (vec!["Ann", "Cy"], 3));
    led.teacher(Teacher::Steer(Steering::Undo), now_s + 3).unwrap();
    assert_eq!(led.counted(), ["Ann", "Bob", "Cy"]);
    led.away("Bob", false, now_s + 4).unwrap();
    assert_eq!(led.away("Bob", true, now_s + 5), Ok(1), "the scores go after it");
    assert_eq!(led.counted(), ["Ann", "Cy"]);
    assert_eq!(led.away("Bob", true, now_s + 5), Ok(0), "it is so already");
    led.teacher(Teacher::Count { name: "Bob".into(), counts: true }, now_s + 6).unwrap();
    assert_eq!(led.counted(), ["Ann", "Bob", "Cy"], "away, and counted all the same");
    led.reads_back();
}

#[test]
fn a_wave_goes_by_one_act_and_comes_back_by_one() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    for n in 1..=30 {
        led.join_as(&format!("stranger-{n}"), None, None, protocol::Role::Scores, 50).unwrap();
    }
    led.join_as("Bob", None, None, protocol::Role::Scores, 60).unwrap();
    assert_eq!(led.away("Stranger-*", false, 61), Ok(1));
    assert_eq!(led.names(), ["Ann", "Bob"]);
    assert_eq!((led.counted(), led.room.left_out().count()), (vec!["Ann", "Bob"], 0), "they left no trace");
    led.teacher(Teacher::Steer(Steering::Undo), 62).unwrap();
    assert_eq!(led.names().len(), 32);
    let since = |s: i64| Who::Since(HostTime(s * SECOND_US));
    let wave = |who| Teacher::Away { who, without_scores: true, reason: "who\u{1b}[2J are you".into() };
    let all = led.teacher(wave(since(0)), 63).unwrap_err();
    assert!(all.reason.contains("all 32 who are seated"), "{}", all.reason);
    assert_eq!(led.teacher(wave(since(50)), 63), Ok(1));
    assert_eq!(led.names(), ["Ann"]);
    led.teacher(Teacher::Back("Bob, stranger-7".into()), 64).unwrap();
    assert_eq!(led.names(), ["Ann", "stranger-7", "Bob"]);
    led.teacher(Teacher::Back("all".into()), 65).unwrap();
    assert_eq!((led.names().len(), led.teacher(Teacher::Back("ALL".into()), 66)), (32, Ok(0)));
    assert_eq!(led.away("Ann, Nobody", false, 67).unwrap_err().reason, "no seat is named Nobody");
    assert!(led.away("guest-*", false, 68).unwrap_err().reason.contains("nobody is meant"));
    led.reads_back();
}

#[test]
fn a_pourer_who_is_sent_away_leaves_the_place_and_has_it_again_if_it_is_still_free() {
    let mut led = Led::new(include_str!("../../../tests/classes/five-teas.toml"));
    led.join("Ann", None, Some(1)).unwrap();
    led.away("Ann", false, 1).unwrap();
    assert_eq!((led.room.seats[0].pourer, led.room.hands_of(&led.room.seats[0])), (None, None));
    led.teacher(Teacher::Back("Ann".into()), 2).unwrap();
    assert_eq!(led.room.seats[0].pourer, Some(1));
    led.away("Ann", false, 3).unwrap();
    led.join("Bob", None, Some(1)).unwrap();
    led.teacher(Teacher::Steer(Steering::Undo), 4).unwrap();
    assert_eq!((led.room.seats[0].pourer, led.room.seats[1].pourer), (None, Some(1)));
    led.reads_back();
}

#[test]
fn undo_takes_back_what_was_last_whether_it_was_about_seats_or_teas() {
    let (mut led, now_s) = scored();
    let code = Code::new(417).unwrap();
    led.teacher(Teacher::Steer(Steering::Drop { code, reason: String::new() }), now_s).unwrap();
    led.away("Cy", false, now_s + 1).unwrap();
    let undo = |led: &mut Led, s| led.teacher(Teacher::Steer(Steering::Undo), now_s + s);
    undo(&mut led, 2).unwrap();
    assert_eq!((led.names().len(), led.room.course.is_dropped(code)), (3, true));
    undo(&mut led, 3).unwrap();
    assert!(!led.room.course.is_dropped(code));
    assert_eq!(undo(&mut led, 4).unwrap_err().reason, "there is nothing to undo");
    led.reads_back();
}

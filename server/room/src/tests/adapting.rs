//! The next steep follows the class: when something is suggested, who takes it, and that it lasts.

use super::*;
use plan::steer::is_begun;
use protocol::Strength::{self, JustRight, TooThin};

const FIVE: &str = include_str!("../../../tests/classes/five-teas.toml");
const TWO: &str = include_str!("../../../tests/classes/two-ways.toml");

/// A class of five leaves that runs, with so many seats.
fn class(adapt: &str, seats: usize) -> Led {
    let leaves = FIVE.replacen("leaf = \"Lantern Slope oolong\"", "leaf = \"Harbour Ridge oolong\"", 1);
    let mut led = Led::new(&format!("adapt = \"{adapt}\"\n{leaves}"));
    for seat in 0..seats {
        led.join(&format!("Seat {seat}"), None, None).unwrap();
    }
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    led
}

impl Led {
    fn votes(&mut self, code: Code, round: u32, votes: &[Strength], now_s: i64) {
        for (seat, &vote) in votes.iter().enumerate() {
            let id = self.fresh();
            let number: u16 = code.to_string().parse().unwrap();
            let score = Score { strength: Some(vote), ..score(id, number, round, 1, 5) };
            let seat = self.room.seats[seat].id;
            self.command(&Command::Score { seat, score }, now_s).unwrap();
        }
    }

    fn offers(&self, now_s: i64) -> Vec<Offer> {
        self.room.suggestions(HostTime(now_s * SECOND_US))
    }

    fn first(&self) -> Code {
        self.room.class.coded().next().unwrap().0
    }

    fn says(&mut self, wish: Steering, now_s: i64) -> Result<usize, Refusal> {
        self.teacher(Teacher::Steer(wish), now_s)
    }

    fn steep_s(&self, code: Code, round: u32) -> u32 {
        self.room.course.steep((code, round)).unwrap().steep_s
    }

    fn refused(&self, code: Code, now_s: i64) -> String {
        self.room.suggestion(code, HostTime(now_s * SECOND_US)).unwrap_err().reason
    }

    fn closes_s(&self, round: u32) -> i64 {
        self.room.timetable.find(Action::SheetCloses, None, round).unwrap().at.0 / SECOND_US
    }
}

#[test]
fn a_suggestion_comes_with_four_votes_or_all_sheets_and_goes_when_its_steep_is_wet() {
    for (seats, votes, comes) in [(6, 3, false), (6, 4, true), (2, 1, false), (2, 2, true)] {
        let mut led = class("suggest", seats);
        let (code, now_s) = (led.first(), led.cups_of(1));
        assert!(led.refused(code, 1).contains("none of its steeps has been poured yet"));
        led.votes(code, 1, &vec![TooThin; votes], now_s);
        let offers = led.offers(now_s);
        assert_eq!(offers.len(), usize::from(comes), "{votes} of {seats}");
        let Some(offer) = offers.first() else {
            let words = format!("{votes} of {seats} have voted on its steep 1");
            assert!(led.refused(code, now_s).contains(&words), "{}", led.refused(code, now_s));
            continue;
        };
        assert_eq!((offer.suggestion.tea, offer.suggestion.steep, offer.round), (code, 2, 2));
        assert_eq!((offer.all_in, offer.follows), (votes == seats, false));
        assert!(offer.takes_s() > Some(offer.suggestion.planned_s));
        assert!(offer.suggestion.to_string().contains(&format!("{votes} of {seats} voted · too thin")));
        let pour = led.room.timetable.find(Action::Pour, Some(code), 2).unwrap().at;
        assert!(is_begun(&led.room.timetable, (code, 2), pour));
        assert_eq!(led.room.suggestions(pour), []);
    }
}

#[test]
fn what_the_teacher_takes_is_one_revision_that_keeps_plan_suggestion_and_votes() {
    let mut led = class("suggest", 4);
    let (code, now_s) = (led.first(), led.cups_of(1));
    led.votes(code, 1, &[TooThin, TooThin, TooThin, JustRight], now_s);
    let offer = led.offers(now_s).remove(0);
    let (planned_s, suggested_s) = (offer.suggestion.planned_s, offer.takes_s().unwrap());
    let before = led.room.clone();
    led.says(Steering::Follow { codes: vec![], steep_s: None }, now_s).unwrap();
    let kept = led.room.adapted[0];
    assert_eq!((kept.planned_s, kept.suggested_s, kept.taken_s), (planned_s, Some(suggested_s), suggested_s));
    assert_eq!((kept.votes.0, kept.could_vote, kept.followed), ([0, 3, 1, 0, 0], 4, false));
    let pour = led.room.timetable.find(Action::Pour, Some(code), 2).unwrap();
    assert_eq!((pour.steep_s, led.steep_s(code, 2)), (Some(suggested_s), suggested_s));
    assert_eq!(led.room.timetable.revision, before.timetable.revision + 1);
    assert!(led.refused(code, now_s).contains("has been changed already"));
    led.says(Steering::Undo, now_s).unwrap();
    assert_eq!(led.offers(now_s).len(), 1, "what was undone can be taken once more");
    led.says(Steering::Follow { codes: vec![code], steep_s: Some(planned_s + 7) }, now_s).unwrap();
    assert_eq!(led.steep_s(code, 2), planned_s + 7);
    led.says(Steering::Leave(code), now_s).unwrap();
    assert_eq!(led.steep_s(code, 2), planned_s);
    assert!(led.refused(code, now_s).contains("as you said"));
    assert_eq!(Room::replay(led.ledger.clone()), Ok(led.room), "a restart changes nothing");
}

#[test]
fn a_tea_that_is_off_says_why_and_so_does_one_that_went_another_way() {
    let led = class("off", 4);
    assert!(led.refused(led.first(), 0).contains("adapt = \"off\""));
    let mut led = Led::new(TWO);
    led.join("Ann", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    assert!(led.refused(led.first(), 0).contains("two ways of one leaf are compared; they stay as written"));
    let mut led = class("suggest", 4);
    let (code, now_s) = (led.first(), led.cups_of(1));
    led.votes(code, 1, &[TooThin; 4], now_s);
    led.says(Steering::Longer { codes: vec![code], by_s: 5 }, now_s).unwrap();
    assert!(led.refused(code, now_s).contains("has been changed already"));
    led.says(Steering::Undo, now_s).unwrap();
    led.says(Steering::Skip { code, round: Some(2), reason: String::new() }, now_s).unwrap();
    assert!(led.refused(code, now_s).contains("a steep was left out"));
    led.says(Steering::Drop { code, reason: String::new() }, now_s).unwrap();
    assert!(led.refused(code, now_s).contains("dropped"));
    let nothing = led.says(Steering::Follow { codes: vec![], steep_s: None }, now_s).unwrap_err();
    assert!(nothing.reason.contains("no other time is suggested"), "{}", nothing.reason);
}

#[test]
fn the_host_follows_when_the_sheet_closes_and_not_what_the_teacher_leaves() {
    let mut led = class("follow", 5);
    let codes: Vec<Code> = led.room.class.coded().map(|(code, _)| code).collect();
    let (now_s, closes_s) = (led.cups_of(1), led.closes_s(1));
    for &code in &codes[..3] {
        led.votes(code, 1, &[TooThin; 4], now_s);
    }
    led.votes(codes[3], 1, &[JustRight; 4], now_s);
    led.says(Steering::Leave(codes[1]), now_s).unwrap();
    assert_eq!(led.command(&Command::Follow, now_s), Ok(0), "a sheet is still to come");
    let asks = led.room.asks_to_follow_at(HostTime(now_s * SECOND_US)).unwrap();
    assert_eq!(asks, HostTime(led.closes_s(1) * SECOND_US).min(asks));
    let revision = led.room.timetable.revision;
    let at_s = asks.0 / SECOND_US;
    assert_eq!(led.command(&Command::Follow, at_s - 1), Ok(0));
    assert_eq!(led.command(&Command::Follow, at_s), Ok(1), "all teas in one event");
    assert_eq!(led.room.timetable.revision, revision + 1);
    let followed: Vec<(Code, bool)> = led.room.adapted.iter().map(|a| (a.code, a.followed)).collect();
    assert_eq!(followed, [(codes[0], true), (codes[2], true)]);
    assert_eq!((led.command(&Command::Follow, closes_s), led.room.asks_to_follow_at(asks)), (Ok(0), None));
    led.says(Steering::Undo, at_s).unwrap();
    assert_eq!(led.command(&Command::Follow, closes_s), Ok(0), "what was undone is not followed again");
    assert_eq!(Room::replay(led.ledger.clone()), Ok(led.room));
}

#[test]
fn the_host_follows_at_once_when_all_sheets_of_the_round_are_in_and_waits_in_a_hold() {
    let mut led = class("follow", 4);
    let codes: Vec<Code> = led.room.class.coded().map(|(code, _)| code).collect();
    let now_s = led.cups_of(1);
    for &code in &codes {
        assert_eq!(led.command(&Command::Follow, now_s), Ok(0));
        led.votes(code, 1, &[TooThin; 4], now_s);
    }
    led.teacher(Teacher::Hold, now_s).unwrap();
    assert_eq!(led.command(&Command::Follow, now_s), Ok(0));
    led.teacher(Teacher::Resume, now_s).unwrap();
    assert_eq!(led.command(&Command::Follow, now_s), Ok(1));
    assert_eq!(led.room.adapted.len(), codes.len());
}

//! What the votes suggest, on the screen.

use super::*;
use protocol::Strength::{self, JustRight, TooStrong, TooThin};

const SEATS: [&str; 8] = ["Ann", "Bob", "Cleo", "Dan", "Eve", "Finn", "Gil", "Li Wei"];

/// A class of five leaves whose first round is being tasted: of three teas most have voted, of one two, of one nobody.
fn voted(adapt: &str) -> Class {
    let five = include_str!("../../../../tests/classes/five-teas.toml");
    let five = five.replacen("leaf = \"Lantern Slope oolong\"", "leaf = \"Harbour Ridge oolong\"", 1);
    let mut class = Class::with(&format!("adapt = \"{adapt}\"\n{five}"), &SEATS);
    class.tell(&Command::Teacher(Teacher::Start { anyway: true }));
    class.now = class.room.timetable.find(Action::Taste, None, 1).unwrap().at + 30 * SECOND_US;
    let codes: Vec<_> = class.room.class.coded().map(|(code, _)| code).collect();
    let most: [&[Strength]; 4] = [
        &[TooThin, TooThin, TooThin, TooThin, TooThin, JustRight, JustRight],
        &[TooStrong, TooStrong, TooStrong, TooStrong, JustRight],
        &[JustRight; 6],
        &[TooThin; 2],
    ];
    for (&code, votes) in codes.iter().zip(most) {
        for (seat, &vote) in votes.iter().enumerate() {
            let seat = class.room.seats[seat].id;
            let score = Score {
                id: class.fresh(),
                code,
                steep: 1,
                revision: 1,
                values: [("liking".to_string(), 7)].into(),
                strength: Some(vote),
                note: String::new(),
                words: Vec::new(),
            };
            class.tell(&Command::Score { seat, score });
        }
    }
    class
}

#[test]
fn while_a_round_is_tasted_each_tea_says_what_its_votes_suggest() {
    let class = voted("suggest");
    pictures!("suggested", class);
    insta::assert_snapshot!("suggested-100x30", voted("suggest").picture(100, 30));
}

#[test]
fn what_the_host_takes_by_itself_says_when_and_how_to_say_no() {
    pictures!("followed", voted("follow"));
}

#[test]
fn why_says_for_each_tea_what_is_suggested_or_why_nothing_is() {
    let class = voted("suggest");
    insta::assert_snapshot!("why", crate::console::suggested::why(&class.room, None, class.now));
}

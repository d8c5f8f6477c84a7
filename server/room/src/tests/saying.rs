//! What the teacher says, to all or to one.

use super::*;

fn heard(led: &Led, name: &str, since: u64) -> Vec<(String, bool)> {
    let seat = led.room.seat_named(name).unwrap();
    led.room.said_to(seat, since).into_iter().map(|saying| (saying.words, saying.to_you)).collect()
}

fn say(led: &mut Led, wish: Teacher) -> Result<usize, Refusal> {
    led.teacher(wish, 0)
}

#[test]
fn what_is_said_is_heard_by_whom_it_is_said_to_and_not_by_who_came_later() {
    let mut led = Led::two_ways();
    for name in ["Li", "Li Wei", "Ann"] {
        led.join(name, None, None).unwrap();
    }
    say(&mut led, Teacher::Say("  pour\u{1b}[2J  slowly ".into())).unwrap();
    for typed in ["li wei the lid", "Li Wei: the lid"] {
        say(&mut led, Teacher::SayTo(typed.into())).unwrap();
    }
    led.join_as("Ben", None, None, protocol::Role::Scores, 1).unwrap();
    let all = ("pour [2J slowly".to_string(), false);
    let the_lid = || ("the lid".to_string(), true);
    assert_eq!(heard(&led, "Li Wei", 0), [all.clone(), the_lid(), the_lid()]);
    assert_eq!((heard(&led, "Li", 0), heard(&led, "Ben", 0)), (vec![all], vec![]));
    let first = led.room.said[0].seq;
    assert_eq!(heard(&led, "Li Wei", first), [the_lid(), the_lid()], "what was heard is not said again");
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn what_cant_be_said_is_refused_with_what_to_do() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    for (wish, words) in [
        (Teacher::Say(" \u{1b} ".into()), "say what?"),
        (Teacher::SayTo("Ann".into()), "say what?"),
        (Teacher::SayTo("everybody slowly".into()), "everybody"),
        (Teacher::Say("word ".repeat(200)), "say it in two"),
    ] {
        let before = led.room.clone();
        let refusal = say(&mut led, wish).unwrap_err();
        assert!(refusal.reason.contains(words), "{}", refusal.reason);
        assert_eq!(led.room, before);
    }
}

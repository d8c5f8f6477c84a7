//! What the teacher says is shown once.

use super::*;
use protocol::wire::Saying;

fn saying(seq: u64, words: &str) -> Saying {
    Saying { seq, words: words.into(), to_you: seq.is_multiple_of(2) }
}

fn said(effects: &[Effect]) -> Vec<&str> {
    let words = |effect| match effect {
        &Effect::Say(Happening::Said { ref words, .. }) => Some(words.as_str()),
        _ => None,
    };
    effects.iter().filter_map(words).collect()
}

/// What stands on the screen of what the teacher says.
fn standing(desk: &Desk) -> Option<String> {
    desk.app.teacher_says(desk.now).map(|(words, more)| format!("{words} + {more}"))
}

/// The program is started again on what it kept, and is told all there is.
fn started_again(desk: &Desk, all: Vec<Saying>) -> Desk {
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    again.now = desk.now;
    again.link_up(Welcome { seq: 24, said: all, ..welcome(Phase::Running) });
    again
}

#[test]
fn what_the_teacher_says_is_on_the_screen_and_comes_once_however_often_it_is_told() {
    let mut desk = running();
    desk.host(HostMessage::Said(saying(20, "the lid")));
    let effects = desk.take();
    assert_eq!(said(&effects), ["the lid"]);
    assert!(effects.contains(&Effect::Keep), "so that it is not shown again after a restart");
    assert_eq!(standing(&desk).as_deref(), Some("the teacher to you: the lid + 0"));
    let mut again = started_again(&desk, vec![saying(20, "the lid"), saying(23, "slowly")]);
    assert_eq!(said(&again.take()), ["slowly"]);
    assert_eq!(standing(&again).as_deref(), Some("the teacher: slowly + 0"));
    again.host(HostMessage::Said(saying(23, "slowly")));
    assert_eq!(again.take(), []);
}

#[test]
fn each_line_has_its_time_and_the_next_follows() {
    let mut desk = running();
    let long = "x".repeat(250);
    for (seq, words) in [(21, "one"), (23, &long), (25, "three")] {
        desk.host(HostMessage::Said(saying(seq, words)));
    }
    assert_eq!(said(&desk.take()), ["one", &long, "three"], "in lines all come at once");
    let start = desk.now.0 / 1_000_000;
    for (after_s, words, more) in [
        (0, "one", 2),
        (9, "one", 2),
        (10, long.as_str(), 1),
        (34, &long, 1),
        (35, "three", 0),
        (44, "three", 0),
    ] {
        desk.go_to(start + after_s);
        assert_eq!(standing(&desk), Some(format!("the teacher: {words} + {more}")), "after {after_s} s");
    }
    desk.go_to(start + 45);
    assert_eq!(standing(&desk), None);
}

#[test]
fn lines_that_were_said_while_the_seat_was_away_come_one_after_the_other_and_those_not_shown_come_after_a_restart()
 {
    let all = || vec![saying(21, "one"), saying(23, "two"), saying(25, "three")];
    let mut desk = started_again(&running(), all());
    assert_eq!(standing(&desk).as_deref(), Some("the teacher: one + 2"));
    desk.go_to(desk.now.0 / 1_000_000 + 11);
    assert_eq!(standing(&desk).as_deref(), Some("the teacher: two + 1"));
    let again = started_again(&desk, all());
    assert_eq!(standing(&again).as_deref(), Some("the teacher: three + 0"));
    assert_eq!(again.app.all_said().map(|(words, _)| words).collect::<Vec<_>>(), ["one", "two", "three"]);
}

#[test]
fn what_else_is_said_takes_nothing_from_the_time_of_a_line() {
    let mut desk = running();
    let start = desk.now.0 / 1_000_000;
    desk.host(HostMessage::Said(saying(21, "one")));
    desk.host(HostMessage::Said(saying(23, "two")));
    desk.go_to(start + 4);
    for _ in 0..3 {
        desk.host(HostMessage::Notice { words: "the disk is full".into() });
        desk.go_to(start + 6);
    }
    assert_eq!(desk.app.notice(desk.now), Some("the disk is full"));
    // Four seconds alone, then the notices until the sixteenth, then the six that are left.
    for (after_s, words) in [(21, "the teacher: one + 1"), (22, "the teacher: two + 0")] {
        desk.go_to(start + after_s);
        assert_eq!(standing(&desk).as_deref(), Some(words), "after {after_s} s");
    }
}

#[test]
fn a_key_shows_all_that_was_said_and_then_nothing_of_it_comes_by_itself() {
    for key in [Key::Char('!'), Key::Said] {
        let mut desk = running();
        desk.host(HostMessage::Said(saying(21, "one")));
        desk.host(HostMessage::Said(saying(22, "two")));
        desk.key(key);
        assert!(desk.app.reading);
        assert_eq!(crate::answer::said(&desk.app), ["the teacher: one", "the teacher to you: two"]);
        assert_eq!(standing(&desk), None);
        desk.key(Key::Char('7'));
        assert!(!desk.app.reading && desk.app.desk.drafts.is_empty(), "any key goes back and does no more");
        assert_eq!(standing(&started_again(&desk, vec![saying(21, "one"), saying(22, "two")])), None);
    }
}

#[test]
fn a_seat_in_lines_has_shown_what_it_has_printed() {
    let mut desk = running();
    desk.host(HostMessage::Said(saying(21, "one")));
    desk.host(HostMessage::Said(saying(23, "two")));
    desk.event(Event::SaidIsRead);
    let mut again = started_again(&desk, vec![saying(21, "one"), saying(23, "two")]);
    assert_eq!(said(&again.take()), Vec::<&str>::new());
}

#[test]
fn another_class_has_its_own_sayings() {
    let mut desk = running();
    desk.host(HostMessage::Said(saying(21, "one")));
    desk.link_up(Welcome { class_id: Uuid::from_u128(90), ..welcome(Phase::Running) });
    assert_eq!((standing(&desk), desk.app.all_said().count()), (None, 0));
}

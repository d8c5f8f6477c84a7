//! Difference tests at a seat.

use super::*;
use crate::fixture::{code, duo_trio, triangle};
use crate::host_clock::OwnTime;
use protocol::Answer;

fn asked() -> Desk {
    let mut desk = running();
    desk.go_to(110);
    desk.host(HostMessage::Test { seq: 20, card: triangle() });
    desk.go_to(111);
    desk
}

fn answers(effects: &[Effect]) -> Vec<Answer> {
    let answer = |e: &Effect| if let Effect::Send(SeatMessage::Answer(a)) = e { Some(*a) } else { None };
    effects.iter().filter_map(answer).collect()
}

#[test]
fn an_open_test_takes_the_keys_a_digit_chooses_and_enter_sends() {
    let mut desk = asked();
    assert_eq!(desk.app.test_in_hand(), Some(&triangle()));
    desk.take();
    desk.keys("2");
    assert_eq!((desk.app.pick(1), desk.app.test_state(1)), (Some(code(512)), CupState::Draft));
    desk.key(Key::Right);
    desk.key(Key::Right);
    assert_eq!(desk.app.pick(1), Some(code(617)), "the last one to the right");
    desk.key(Key::Enter);
    let effects = desk.take();
    assert_eq!(effects[0], Effect::Keep, "on the disk before it is sent");
    let answer = answers(&effects).remove(0);
    assert_eq!((answer.test, answer.pick, answer.revision), (1, code(617), 1));
    assert_eq!(desk.app.test_in_hand(), None, "the sheet is back");
    assert_eq!(desk.app.test_state(1), CupState::Sent);
    desk.host(HostMessage::Accepted { seq: 21, id: answer.id, link: String::new() });
    assert_eq!(desk.app.test_state(1), CupState::Kept);
    assert_eq!(desk.app.notice(desk.now), Some("test 1: 617 is kept"));
    desk.take();
    desk.host(HostMessage::Accepted { seq: 21, id: answer.id, link: String::new() });
    assert!(desk.take().is_empty(), "a repeated acknowledgement changes nothing");
}

#[test]
fn a_changed_mind_is_a_new_answer_with_a_higher_revision() {
    let mut desk = asked();
    desk.keys("1");
    desk.key(Key::Enter);
    let first = answers(&desk.take()).remove(0);
    desk.host(HostMessage::Accepted { seq: 21, id: first.id, link: String::new() });
    desk.key(Key::Tab);
    assert!(desk.app.test_in_hand().is_some(), "the test stands after the last cup");
    desk.key(Key::Enter);
    assert_eq!(desk.app.notice(desk.now), Some("test 1: nothing new to send: choose another cup"));
    desk.keys("3");
    desk.key(Key::Enter);
    let second = answers(&desk.take()).remove(0);
    assert_eq!((second.pick, second.revision), (code(617), 2));
    assert_ne!(first.id, second.id);
}

#[test]
fn whoever_fills_a_sheet_is_not_interrupted() {
    let mut desk = running();
    desk.go_to(110);
    desk.key(Key::Down);
    desk.go_to(118);
    desk.host(HostMessage::Test { seq: 20, card: triangle() });
    assert_eq!(desk.app.test_in_hand(), None);
    assert_eq!(desk.app.notice(desk.now), Some("test 1 is open: Tab, after the cups"));
    desk.keys("6");
    desk.key(Key::Tab);
    assert_eq!(desk.app.test_in_hand(), None, "the cup that has become ready stands before it");
    assert_eq!(desk.app.offer_words(desk.now).as_deref(), Some("test 1 and 1 cup are open: Tab"));
    desk.key(Key::Tab);
    assert!(desk.app.test_in_hand().is_some());
    desk.key(Key::Tab);
    assert_eq!(desk.app.test_in_hand(), None, "and round again to the first cup");
}

#[test]
fn an_answer_survives_a_lost_link_and_the_program() {
    let mut desk = asked();
    desk.lose_link();
    desk.keys("2");
    desk.key(Key::Enter);
    assert!(answers(&desk.take()).is_empty(), "there is no link to send by");
    assert_eq!((desk.app.waiting(), desk.app.answers_waiting().len()), (1, 1));
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    again.now = desk.now;
    let open = || Welcome { tests: vec![triangle()], ..welcome(Phase::Running) };
    again.link_up(open());
    let sent = answers(&again.take());
    assert_eq!((sent.len(), sent[0].pick), (1, code(512)));
    assert_eq!(again.app.test_in_hand(), None, "it has been answered");
    again.host(HostMessage::Declined {
        id: sent[0].id,
        code: RefusalCode::NotOpen,
        reason: "not open".into(),
    });
    assert_eq!((again.app.waiting(), again.app.test_state(1)), (0, CupState::Draft), "the choice comes back");
    let closed = HostMessage::Course { seq: 40, phase: Phase::Closed, timetable: timetable(2) };
    desk.host(closed);
    assert!(!desk.app.is_done(), "not before the host has it");
}

#[test]
fn a_seat_that_comes_back_has_the_tests_opened_meanwhile_and_what_was_answered() {
    let mut desk = running();
    desk.go_to(110);
    desk.lose_link();
    desk.take();
    let id = Uuid::from_u128(5);
    let kept = Answer { id, test: 2, pick: code(384), revision: 3 };
    let missed = protocol::wire::Back {
        owes_from_us: None,
        reopened: None,
        seq: 30,
        link: String::new(),
        pace: 1.0,
        clock: Some(2),
        phase: Phase::Running,
        last_call_us: None,
        timetable: None,
        teas: vec![],
        scores: vec![],
        tests: vec![triangle(), duo_trio()],
        answers: vec![kept],
        said: vec![],
    };
    desk.host(HostMessage::Back(Box::new(missed)));
    let opened = |said: &[Happening]| said.iter().filter(|h| matches!(h, Happening::TestOpened(_))).count();
    assert_eq!(opened(&desk.said()), 2);
    assert_eq!((desk.app.test_state(2), desk.app.pick(2)), (CupState::Kept, Some(code(384))));
    assert_eq!(desk.app.test_in_hand().map(|card| card.test), Some(1));
    let open =
        Welcome { tests: vec![triangle(), duo_trio()], answers: vec![kept], ..welcome(Phase::Running) };
    desk.link_up(open);
    assert_eq!(opened(&desk.said()), 0, "nothing that was known is told again");
    desk.event(Event::Answer { test: 2, pick: code(512) });
    assert_eq!(answers(&desk.take())[0].revision, 4);
}

#[test]
fn what_can_be_no_answer_is_not_sent() {
    let mut desk = asked();
    desk.take();
    for (test, pick, words) in
        [(2, 384, "test 2 is not open"), (1, 705, "test 1: 705 is none of your cups: 384, 512, 617")]
    {
        desk.event(Event::Answer { test, pick: code(pick) });
        let said = desk.said();
        assert!(matches!(&said[..], [Happening::NotTaken { reason, .. }] if reason == words), "{said:?}");
    }
    desk.key(Key::Enter);
    assert_eq!(desk.app.notice(desk.now), Some("test 1: choose a cup first"));
    desk.keys("4");
    assert_eq!(desk.app.notice(desk.now), Some("1 to 3 chooses a cup; Tab goes back to the sheet"));
    desk.now = OwnTime(desk.now.0 + 1);
    desk.key(Key::Esc);
    assert_eq!((desk.app.test_in_hand(), desk.app.pick(1)), (None, None));
}

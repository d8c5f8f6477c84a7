//! Closing loses nothing.

use super::*;
use crate::host_clock::OwnTime;

const SECOND: i64 = 1_000_000;

/// A half-filled sheet of each tea of the first round.
fn two_drafts() -> Desk {
    let mut desk = running();
    desk.go_to(120);
    desk.keys("76");
    desk.key(Key::Tab);
    desk.keys("54");
    desk
}

fn call(desk: &mut Desk, until_s: i64) {
    desk.host(HostMessage::LastCall { seq: 30, until: HostTime(until_s * SECOND) });
}

fn of_cups(scores: &[Score]) -> Vec<String> {
    scores.iter().map(|score| format!("{} {:?}", Cup::of(score).short(), score.values.len())).collect()
}

fn writing(effects: &[Effect]) -> Vec<u32> {
    let told =
        |e: &Effect| if let Effect::Send(SeatMessage::Writing { sheets }) = e { Some(*sheets) } else { None };
    effects.iter().filter_map(told).collect()
}

#[test]
fn a_last_call_counts_down_and_then_every_begun_sheet_is_sent_as_it_stands() {
    let mut desk = two_drafts();
    desk.take();
    call(&mut desk, 150);
    assert_eq!(desk.app.last_call_left_s(desk.now), Some(30));
    let said = desk.said();
    assert!(
        matches!(&said[..], [Happening::LastCall { left_s: 30, missing, .. }] if missing.len() == 2),
        "{said:?}"
    );
    call(&mut desk, 150);
    assert!(desk.said().is_empty(), "said once");
    desk.go_to(140);
    assert!(matches!(desk.said()[..], [Happening::LastCall { left_s: 10, .. }]));
    desk.keys("3");
    desk.go_to(149);
    assert!(sent(&desk.take()).is_empty());
    desk.go_to(150);
    let scores = sent(&desk.take());
    assert_eq!(of_cups(&scores), ["238/1 3", "417/1 2"]);
    assert_ne!(scores[0].id, scores[1].id);
    assert_eq!(desk.app.cup_in_hand().map(|cup| cup.short()).as_deref(), Some("238/1"), "the sheet stays");
    desk.keys("2");
    desk.key(Key::Enter);
    let again = sent(&desk.take());
    assert_eq!(
        (of_cups(&again), again[0].revision),
        (vec!["238/1 4".to_string()], 2),
        "it goes on where it was"
    );
}

#[test]
fn a_last_call_promises_to_send_what_is_on_a_screen_alone_and_asks_nothing_of_who_does_not_score() {
    use crate::words::{last_call, last_call_in_lines};
    use protocol::Role::{PoursOnly, Scores, Watches};
    assert_eq!(last_call(30, Scores), "last call: 0:30, then what is on your sheets is sent");
    let lines = last_call_in_lines(10, Scores);
    assert_eq!(
        lines,
        "last call: 0:10, then the class closes; press Enter before then: a line without it is lost"
    );
    for (role, words) in [PoursOnly, Watches]
        .into_iter()
        .flat_map(|role| [last_call, last_call_in_lines].map(|words| (role, words(9, role))))
    {
        assert_eq!(words, "last call: 0:09, then the class closes; nothing is asked of you", "{role:?}");
    }
    for role in [Scores, PoursOnly] {
        let mut desk = Desk::seated(Welcome { role, ..welcome(Phase::Running) });
        desk.go_to(120);
        desk.take();
        call(&mut desk, 150);
        desk.go_to(140);
        let said = desk.said().into_iter().filter_map(|what| match what {
            Happening::LastCall { left_s, role, .. } => Some((left_s, role)),
            _ => None,
        });
        assert_eq!(said.collect::<Vec<_>>(), [(30, role), (10, role)]);
    }
}

#[test]
fn a_choice_in_a_difference_test_goes_with_the_last_call() {
    let mut desk = running();
    desk.go_to(30);
    desk.host(HostMessage::Test { seq: 20, card: crate::fixture::triangle() });
    desk.go_to(31);
    desk.keys("2");
    call(&mut desk, 40);
    desk.go_to(40);
    assert_eq!(desk.app.answers_waiting().len(), 1);
}

#[test]
fn a_test_that_has_the_keys_keeps_them_when_a_last_call_ends() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.host(HostMessage::Test { seq: 20, card: crate::fixture::triangle() });
    desk.key(Key::Tab);
    desk.keys("1");
    call(&mut desk, 100);
    desk.go_to(100);
    desk.take();
    desk.keys("2");
    desk.key(Key::Enter);
    assert_eq!(sent(&desk.take()), [], "what was typed at the test is no score");
    let picks: Vec<_> = desk.app.answers_waiting().iter().map(|answer| answer.pick).collect();
    assert_eq!(picks, [fixture::code(384), fixture::code(512)]);
}

#[test]
fn a_last_call_that_ends_without_a_link_leaves_the_sheets_waiting() {
    let mut desk = two_drafts();
    call(&mut desk, 150);
    desk.lose_link();
    desk.go_to(151);
    assert!(sent(&desk.take()).is_empty());
    assert_eq!(desk.app.outbox().len(), 2);
    desk.link_up(Welcome { last_call_us: Some(HostTime(150 * SECOND)), ..welcome(Phase::Running) });
    assert_eq!(sent(&desk.take()).len(), 2, "once each");
}

#[test]
fn a_seat_that_comes_back_into_a_last_call_that_is_over_sends_its_drafts() {
    let kept = two_drafts().app.kept().clone();
    let mut again = Desk::new();
    again.app = App::new("Ann", kept);
    again.now = OwnTime(151 * SECOND);
    again.link_up(Welcome { last_call_us: Some(HostTime(150 * SECOND)), ..welcome(Phase::Running) });
    assert_eq!(sent(&again.take()).len(), 2);
}

#[test]
fn a_sheet_that_can_t_be_sent_as_it_stands_stays_and_says_why() {
    let mut desk = two_drafts();
    // The class file was edited: the first line is asked no more.
    desk.app.class.as_mut().unwrap().sheet.attributes.remove(0);
    call(&mut desk, 150);
    desk.take();
    desk.go_to(150);
    let said = desk.said();
    let refused = said.iter().filter(|what| {
        matches!(what, Happening::NotTaken { reason, .. }
            if reason.contains("could not be sent as it stands: the sheet has no `aroma`"))
    });
    assert_eq!((refused.count(), desk.app.desk.drafts.len()), (2, 2));
}

#[test]
fn when_the_sheet_of_a_round_closes_what_is_on_it_is_sent_and_scores_are_still_taken() {
    let mut desk = two_drafts();
    desk.key(Key::Char('/'));
    desk.keys("417");
    desk.key(Key::Enter);
    desk.take();
    desk.go_to(175);
    assert_eq!(of_cups(&sent(&desk.take())), ["238/1 2", "417/1 2"]);
    desk.keys("9");
    desk.key(Key::Enter);
    assert_eq!(sent(&desk.take())[0].revision, 2);
    desk.go_to(290);
    desk.keys("1");
    desk.go_to(300);
    assert!(sent(&desk.take()).is_empty(), "the second round has not closed");
}

#[test]
fn the_host_is_told_on_how_many_sheets_somebody_writes_when_that_changes_and_after_a_welcome() {
    let mut desk = Desk::new();
    desk.link_up(welcome(Phase::Running));
    assert_eq!(writing(&desk.take()), [0]);
    desk.go_to(120);
    desk.keys("76");
    assert_eq!(writing(&desk.take()), [1]);
    desk.key(Key::Tab);
    desk.keys("5");
    assert_eq!(writing(&desk.take()), [2]);
    desk.key(Key::Enter);
    assert_eq!(writing(&desk.take()), [1]);
    desk.lose_link();
    desk.link_up(welcome(Phase::Running));
    assert_eq!(writing(&desk.take()), [1]);
    desk.key(Key::Backspace);
    desk.go_to(125);
    assert!(writing(&desk.take()).is_empty());
}

#[test]
fn the_time_left_to_taste_is_said_at_thirty_and_at_ten_seconds_but_not_in_a_rehearsal() {
    for (pace, wanted) in [(1.0, vec![(145, 30), (165, 10)]), (60.0, vec![])] {
        let mut desk = Desk::seated(Welcome { pace, ..welcome(Phase::Running) });
        let mut heard = Vec::new();
        for second in 1..180 {
            desk.go_to(second);
            for what in desk.said() {
                if let Happening::TasteLeft { left_s, .. } = what {
                    heard.push((second, left_s));
                }
            }
        }
        assert_eq!(heard, wanted);
    }
}

#[test]
fn in_a_last_call_no_other_end_of_the_tasting_is_said() {
    let mut desk = running();
    desk.go_to(120);
    call(&mut desk, 170);
    desk.go_to(169);
    assert!(!desk.said().iter().any(|what| matches!(what, Happening::TasteLeft { .. })));
}

#[test]
fn while_the_class_holds_no_end_of_a_tasting_is_said() {
    let mut desk = running();
    desk.go_to(120);
    let begun = timetable(2).cues.into_iter().filter(|cue| cue.at <= HostTime(120 * SECOND));
    let held = Timetable::new(2, begun.collect());
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Held, timetable: held });
    desk.go_to(170);
    let later = timetable(3).cues.into_iter().map(|cue| match cue.action {
        Action::SheetCloses => protocol::Cue { at: HostTime(230 * SECOND), ..cue },
        _ => cue,
    });
    let resumed = Timetable::new(3, later.filter(|cue| cue.steep == 1).collect());
    desk.host(HostMessage::Course { seq: 14, phase: Phase::Running, timetable: resumed });
    desk.go_to(220);
    let said = desk.said().into_iter();
    let left: Vec<_> = said.filter(|what| matches!(what, Happening::TasteLeft { .. })).collect();
    assert_eq!(left, [30, 10].map(|left_s| Happening::TasteLeft { round: 1, left_s }));
}

#[test]
fn a_seat_that_comes_back_after_the_class_was_closed_is_told_what_was_not_sent_and_keeps_it_in_its_notes() {
    let mut desk = two_drafts();
    call(&mut desk, 150);
    desk.lose_link();
    desk.go_to(152);
    desk.take();
    desk.link_up(welcome(Phase::Closed));
    let waiting: Vec<_> = desk.app.outbox().iter().map(|score| score.id).collect();
    assert_eq!(sent(&desk.take()).len(), 2);
    for id in waiting {
        let reason = "the class is closed; scores are no longer taken".into();
        desk.host(HostMessage::Declined { id, code: RefusalCode::ClassClosed, reason });
    }
    let told = desk.said().into_iter().filter_map(|what| match what {
        Happening::NotSent(sheets) => Some(sheets),
        _ => None,
    });
    let sheets = ["238 steep 1: aroma 5, taste 4", "417 steep 1: aroma 7, taste 6"];
    assert_eq!(told.collect::<Vec<_>>(), [sheets], "once, when the last of them is back");
    assert!(crate::notes::text(&desk.app).contains("  steep 1, not sent: aroma 7, taste 6\n"));
}

#[test]
fn what_a_class_that_is_closed_at_once_leaves_on_the_sheets_is_said() {
    let mut desk = two_drafts();
    desk.take();
    desk.host(HostMessage::Course { seq: 30, phase: Phase::Closed, timetable: timetable(2) });
    let said = desk.said();
    assert!(
        matches!(&said[..], [Happening::Phase(_), Happening::NotSent(sheets)] if sheets.len() == 2),
        "{said:?}"
    );
}

#[test]
fn nothing_is_cued_or_under_water_that_was_to_be_poured_after_the_class_was_closed() {
    let mut desk = running();
    desk.go_to(130);
    let ahead = timetable(2).coming(protocol::HostTime(130_000_000)).len();
    assert!(ahead > 3);
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Closed, timetable: timetable(2) });
    desk.take();
    let end = timetable(2).cues.iter().map(protocol::Cue::end).max().unwrap();
    for second in (131..end.0 / 1_000_000 + 10).step_by(3) {
        desk.go_to(second);
        let said = desk.take();
        assert!(!said.iter().any(|effect| matches!(effect, Effect::Say(Happening::Cue { .. }))), "{said:?}");
        assert_eq!(desk.app.next_ring(desk.now), None);
    }
}

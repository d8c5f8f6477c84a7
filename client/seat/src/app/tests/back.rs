//! Gone and back: what a seat takes over, and what never goes back.

use super::*;
use crate::host_clock::{OwnTime, Why};
use protocol::clock::Exchange;
use protocol::wire::{Back, Welcome};

fn nothing_missed() -> Back {
    let (seq, phase) = (12, Phase::Running);
    let (teas, scores, tests, answers) = (vec![], vec![], vec![], vec![]);
    Back {
        owes_from_us: None,
        reopened: None,
        seq,
        link: String::new(),
        pace: 1.0,
        clock: Some(2),
        phase,
        last_call_us: None,
        timetable: None,
        teas,
        scores,
        tests,
        answers,
        said: vec![],
    }
}

fn back(desk: &mut Desk, back: Back) {
    desk.host(HostMessage::Back(Box::new(back)));
}

/// An exchange that takes no time with a host that is so far ahead.
fn answered(desk: &mut Desk, ahead_us: i64) {
    let (own, host) = (desk.now.0, desk.now.0 + ahead_us);
    let exchange = Exchange { t1_us: own, t2_us: host, t3_us: host, t4_us: own };
    desk.link(LinkEvent::Exchange { exchange, slept_us: 0 });
}

#[test]
fn a_seat_that_missed_nothing_goes_on_as_it_was_and_sends_what_waits() {
    let mut desk = running();
    desk.go_to(96);
    desk.lose_link();
    desk.keys("76");
    desk.key(Key::Enter);
    desk.take();
    let before = desk.app.class.clone().unwrap();
    back(&mut desk, nothing_missed());
    let class = desk.app.class.as_ref().unwrap();
    assert_eq!((&class.timetable, class.phase, &class.teas), (&before.timetable, before.phase, &before.teas));
    assert_eq!(desk.app.link, LinkState::Linked);
    assert_eq!(sent(&desk.take()).len(), 1, "the score that waited");
}

#[test]
fn a_seat_takes_over_what_it_missed() {
    let mut desk = running();
    desk.go_to(96);
    desk.lose_link();
    desk.said();
    let open =
        TeaCard { name: Some("Lantern Slope".into()), ..desk.app.class.as_ref().unwrap().teas[0].clone() };
    let missed = Back {
        seq: 20,
        link: String::new(),
        phase: Phase::Held,
        timetable: Some(Timetable::new(2, timetable(1).cues.into_iter().filter(|c| c.steep == 1).collect())),
        teas: vec![open.clone()],
        scores: vec![score(5, 417, 1)],
        ..nothing_missed()
    };
    back(&mut desk, missed);
    let class = desk.app.class.as_ref().unwrap();
    assert_eq!((class.seq, class.phase, class.timetable.revision), (20, Phase::Held, 2));
    assert_eq!(desk.app.cup_state(Cup { code: fixture::code(417), steep: 1 }), CupState::Kept);
    assert_eq!(desk.app.known(), Some((fixture::CLASS, 20)));
    let said = desk.said();
    assert_eq!(said, [Happening::LinkBack, Happening::Phase(Phase::Held), Happening::Revealed(vec![open])]);
}

#[test]
fn a_course_older_than_what_the_seat_has_changes_nothing() {
    let mut desk = running();
    desk.host(HostMessage::Course { seq: 15, phase: Phase::Held, timetable: timetable(3) });
    desk.said();
    desk.host(HostMessage::Course { seq: 14, phase: Phase::Running, timetable: timetable(2) });
    let class = desk.app.class.as_ref().unwrap();
    assert_eq!((class.phase, class.timetable.revision), (Phase::Held, 3));
    assert!(desk.said().is_empty());
}

#[test]
fn no_clock_on_the_screen_goes_back_when_the_estimate_does() {
    let mut desk = running();
    desk.go_to(30);
    let shown = desk.app.host_now(desk.now).unwrap();
    // Another clock at the host, 400 ms behind.
    back(&mut desk, Back { clock: Some(9), ..nothing_missed() });
    desk.take();
    answered(&mut desk, -400_000);
    assert!(matches!(desk.said()[..], [Happening::ClockSet(moved)] if moved.by_us == -400_000));
    assert_eq!(desk.app.host_now(desk.now), Some(shown), "it stands still");
    desk.now = OwnTime(desk.now.0 + 300_000);
    desk.event(Event::Tick);
    assert_eq!(desk.app.host_now(desk.now), Some(shown));
    desk.now = OwnTime(desk.now.0 + 300_000);
    assert_eq!(desk.app.host_now(desk.now), Some(shown + 200_000), "and goes on");
}

#[test]
fn the_bell_is_set_for_the_next_own_cue_and_moves_with_the_timetable() {
    let mut desk = Desk::seated(Welcome { pourers: Some(2), hands: Some(2), ..welcome(Phase::Running) });
    let set = |desk: &Desk| desk.app.next_ring(desk.now).map(|(at, keys)| (at.0 / 1_000_000, keys));
    assert_eq!(set(&desk), Some((115, vec![(1, Action::Taste, None)])), "others pour; all taste");
    let sooner = vec![cue(100, Action::Taste, None, 1, 60)];
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable: Timetable::new(2, sooner) });
    assert_eq!(set(&desk), Some((100, vec![(1, Action::Taste, None)])));
    desk.go_to(100);
    assert_eq!(set(&desk), None);
}

/// An exchange that came back just now after `delay_us`, with the host's clock ahead of the seat's by `ahead_us`.
fn exchange(desk: &Desk, delay_us: i64, ahead_us: i64) -> LinkEvent {
    let (t4_us, t2_us) = (desk.now.0, desk.now.0 - delay_us / 2 + ahead_us);
    let exchange = Exchange { t1_us: t4_us - delay_us, t2_us, t3_us: t2_us, t4_us };
    LinkEvent::Exchange { exchange, slept_us: 0 }
}

#[test]
fn time_stands_still_after_a_better_estimate_although_nothing_happened_since_it_was_last_shown() {
    let mut desk = Desk::new();
    desk.now = OwnTime(40_000_000);
    desk.host(HostMessage::Welcome(Box::new(welcome(Phase::Lobby))));
    let first = exchange(&desk, 3_000_000, 1_000_000);
    desk.link(first);
    // Nothing happens for a while; the screen is drawn all the same.
    desk.now = OwnTime(43_000_000);
    let shown = desk.app.host_now(desk.now).unwrap();
    assert_eq!(shown, HostTime(44_000_000));
    let better = exchange(&desk, 2_000, 0);
    desk.link(better);
    assert_eq!(desk.app.host_now(desk.now), Some(shown), "no clock on the screen goes back");
    let bound_us = desk.app.bound_us(desk.now).unwrap();
    assert!((1_000_000..1_002_000).contains(&bound_us), "off by what it stands ahead: ± {bound_us} µs");
    desk.now = OwnTime(45_000_000);
    assert!(desk.app.host_now(desk.now).unwrap() > shown, "it goes on when it is right again");
    assert!(desk.app.bound_us(desk.now).unwrap() < 2_000);
}

#[test]
fn a_better_answer_that_sets_the_clock_back_too_far_to_stand_still_is_said() {
    let mut desk = Desk::new();
    desk.now = OwnTime(40_000_000);
    desk.host(HostMessage::Welcome(Box::new(welcome(Phase::Lobby))));
    let slow = exchange(&desk, 8_000_000, 3_000_000);
    desk.link(slow);
    let better = exchange(&desk, 2_000, 0);
    desk.said();
    desk.link(better);
    assert_eq!(desk.app.host_now(desk.now), Some(HostTime(40_000_000)));
    let said = desk.said();
    let [Happening::ClockSet(moved)] = said.as_slice() else { panic!("{said:?}") };
    assert_eq!((moved.why, moved.by_us), (Why::Better, -3_000_000));
    assert!(
        desk.app
            .notice(desk.now)
            .unwrap()
            .starts_with("the host answered more quickly, and the clock was set: it went back by 3.0 s")
    );
}

#[test]
fn what_was_poured_before_the_hosts_clock_went_back_is_wet_all_the_same() {
    let mut desk = running();
    desk.go_to(40);
    // The host's machine was restarted with its clock 20 s behind: the pour at 35 s is ahead once more.
    back(&mut desk, Back { clock: Some(9), ..nothing_missed() });
    answered(&mut desk, -20_000_000);
    assert_eq!(desk.app.host_now(desk.now), Some(HostTime(20_000_000)));
    desk.said();
    // A hold by that clock takes the pour for dry.
    let held = timetable(1).cues.into_iter().filter(|c| c.action == Action::Warm).collect();
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Held, timetable: Timetable::new(2, held) });
    desk.said();
    desk.go_to(105);
    let said = desk.said().into_iter();
    let cues: Vec<_> = said
        .filter_map(|what| match what {
            Happening::Cue { cue, .. } => Some((cue.at.0 / 1_000_000, cue.to_string())),
            _ => None,
        })
        .collect();
    assert_eq!(cues, [(85, "decant 417".to_string())], "85 s by the host's clock, 105 s by the seat's own");
}

#[test]
fn a_seat_whose_first_answer_was_slow_still_hears_the_cue_that_comes_before_time_goes_on() {
    let mut desk = Desk::new();
    desk.now = OwnTime(84_000_000);
    desk.host(HostMessage::Welcome(Box::new(welcome(Phase::Running))));
    // Started again in the middle of a steep, it takes 84 s for 85.5 s: the decant at 85 s seems to be over.
    let slow = exchange(&desk, 4_000_000, 1_500_000);
    desk.link(slow);
    desk.now = OwnTime(84_040_000);
    let better = exchange(&desk, 2_000, 0);
    desk.link(better);
    desk.go_to(96);
    let decants = desk.said().into_iter().filter(|what| match what {
        Happening::Cue { cue, .. } => cue.action == Action::Decant && cue.at == HostTime(85_000_000),
        _ => false,
    });
    assert_eq!(decants.count(), 1);
}

#[test]
fn what_a_host_had_acknowledged_and_has_lost_is_sent_again_under_its_old_id_and_said_once() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("76");
    desk.key(Key::Enter);
    let score = sent(&desk.take()).pop().unwrap();
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: "0123456789abcdef".into() });
    assert!(desk.app.outbox().is_empty());
    desk.take();
    // The same host, and it has the score.
    let welcome = |seq, scores: Vec<Score>| {
        let link = "fedcba9876543210".into();
        let welcome = Welcome { seq, link, scores, ..fixture::welcome(Phase::Running) };
        HostMessage::Welcome(Box::new(welcome))
    };
    let (there, lost) = (welcome(21, vec![score.clone()]), welcome(12, Vec::new()));
    for (message, again) in [(there, 0), (lost, 1)] {
        desk.host(message);
        let effects = desk.take();
        let resent = sent(&effects);
        assert_eq!(resent.len(), again);
        assert!(resent.iter().all(|again| again.id == score.id));
        let said = effects.iter().any(|effect| matches!(effect, Effect::Say(Happening::Warning(words)) if words.starts_with("the host has lost 1 score of yours")));
        assert_eq!(said, again == 1);
    }
}

#[test]
fn what_a_host_that_fell_back_before_the_pour_does_not_take_again_stays_a_begun_sheet_over_every_restart() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("76");
    desk.key(Key::Enter);
    let score = sent(&desk.take()).pop().unwrap();
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: "0123456789abcdef".into() });
    desk.take();
    // An old copy was put in the place of its ledger: there the class has not begun.
    let lobby = || Welcome { seq: 3, link: "fedcba9876543210".into(), ..fixture::welcome(Phase::Lobby) };
    desk.host(HostMessage::Welcome(Box::new(lobby())));
    assert_eq!(sent(&desk.take()), std::slice::from_ref(&score));
    let (code, reason) = (RefusalCode::NotPoured, "417 steep 1 is not in the cup yet".to_string());
    desk.host(HostMessage::Declined { id: score.id, code, reason });
    let said = desk.take();
    assert!(said.iter().any(|effect| matches!(effect, Effect::Say(Happening::NotTaken { .. }))), "{said:?}");
    for _ in 0..2 {
        let kept = desk.app.kept().clone();
        assert_eq!(kept.class(fixture::CLASS).unwrap().drafts, [(Cup::of(&score), Filled::from(&score))]);
        desk = Desk::new();
        desk.app = App::new("Ann", kept);
        desk.link_up(lobby());
        assert_eq!(sent(&desk.take()), [], "it is not sent for a cup that is not there");
    }
}

#[test]
fn what_the_teacher_changed_of_what_is_owed_comes_with_what_was_missed() {
    let mut desk = running();
    desk.go_to(180);
    let cup = Cup { code: fixture::code(417), steep: 1 };
    assert!(desk.app.missing(HostTime(180_000_000)).contains(&cup));
    let owes_from_us = Some(HostTime(170_000_000));
    desk.host(HostMessage::Back(Box::new(Back { owes_from_us, seq: 20, ..nothing_missed() })));
    assert_eq!(desk.app.missing(HostTime(180_000_000)), []);
    let open = protocol::wire::OpenSheet { code: cup.code, steep: 1, until_us: HostTime(240_000_000) };
    desk.host(HostMessage::Back(Box::new(Back { reopened: Some(vec![open]), seq: 21, ..nothing_missed() })));
    assert_eq!(desk.app.missing(HostTime(180_000_000)), [cup]);
}

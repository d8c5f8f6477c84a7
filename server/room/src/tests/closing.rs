//! Closing loses nothing: the last call, and what may happen while it is on.

use super::*;
use crate::last_call::LAST_CALL_S;

const CLOSE: Teacher = Teacher::Close { last_call_s: LAST_CALL_S };

/// The first round is in the cups, and nothing else is wet.
fn tasting() -> (Led, i64) {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let now_s = led.cups_of(1);
    (led, now_s)
}

#[test]
fn a_class_closes_with_a_last_call_in_which_scores_are_taken_until_it_is_closed() {
    let (mut led, now_s) = tasting();
    assert_eq!(led.teacher(CLOSE, now_s), Ok(2), "held, since there is more to pour, and the last call");
    assert_eq!(led.room.phase, Phase::Held);
    let until = HostTime((now_s + 30) * SECOND_US);
    assert_eq!((led.room.last_call, led.room.view(until, 0).last_call), (Some(until), Some(until)));
    assert_eq!(led.room.welcome(&led.room.seats[0], &led.rounds, 1.0).last_call_us, Some(until));
    assert_eq!(led.room.missed(&led.room.seats[0], led.room.seq, 1.0).last_call_us, Some(until));
    assert_eq!(led.teacher(CLOSE, now_s + 1), Ok(0), "it has been called");
    for wish in [Teacher::Resume, Teacher::Start { anyway: true }] {
        assert!(led.teacher(wish, now_s + 2).unwrap_err().reason.starts_with("the last call is on"));
    }
    assert_eq!(led.command(&Command::TimeUp, now_s + 30), Ok(0), "what was sent at its end is on its way");
    assert_eq!(led.score(0, 417, 1, 1, 5, now_s + 32), Ok(1));
    assert_eq!(led.command(&Command::TimeUp, now_s + 33), Ok(1));
    assert_eq!((led.room.phase, led.room.last_call, led.room.closes_at()), (Phase::Closed, None, None));
    assert_eq!(code(led.score(0, 238, 1, 1, 5, now_s + 33)), RefusalCode::ClassClosed);
    assert_eq!(led.command(&Command::TimeUp, now_s + 99), Ok(0));
}

#[test]
fn close_now_closes_at_once_also_in_a_last_call_and_so_does_a_close_before_the_first_cup() {
    let (mut led, now_s) = tasting();
    led.teacher(CLOSE, now_s).unwrap();
    assert_eq!(led.teacher(Teacher::Close { last_call_s: 0 }, now_s + 1), Ok(1));
    assert_eq!(led.room.phase, Phase::Closed);
    let mut lobby = Led::two_ways();
    assert_eq!(lobby.teacher(CLOSE, 0), Ok(1));
    assert_eq!(lobby.room.phase, Phase::Closed, "there is nothing to write");
}

#[test]
fn a_closed_class_pours_nothing_any_more_and_owes_no_cup_that_was_to_come() {
    let (mut led, now_s) = tasting();
    led.teacher(Teacher::Close { last_call_s: 0 }, now_s).unwrap();
    let at = |s: i64| HostTime(s * SECOND_US);
    let (then, later) = (led.room.view(at(now_s), 5), led.room.view(at(now_s + 100_000), 5));
    assert!(then.coming.is_empty() && then.class_in.due > 0);
    assert_eq!((&later.teas, later.class_in, later.round), (&then.teas, then.class_in, then.round));
    assert_eq!(led.room.cups(at(now_s + 100_000)), led.room.cups(at(now_s)));
}

#[test]
fn what_is_wet_or_about_to_be_keeps_a_class_open() {
    let (mut led, now_s) = tasting();
    let pour = led.room.timetable.cues.iter().find(|c| c.steep == 2 && c.action == Action::Pour).unwrap();
    let pour_s = pour.at.0 / SECOND_US;
    assert!(pour_s - 2 > now_s);
    for at_s in [pour_s - 2, pour_s, pour_s + 20] {
        for wish in [CLOSE, Teacher::Close { last_call_s: 0 }] {
            let reason = led.teacher(wish, at_s).unwrap_err().reason;
            assert!(reason.contains("is wet for another"), "{at_s} s: {reason}");
        }
    }
    let (mut led, _) = tasting();
    assert_eq!(led.teacher(CLOSE, pour_s - 3), Ok(2), "nothing has begun");
}

#[test]
fn a_class_whose_last_cup_has_been_poured_is_not_held_for_its_last_call() {
    let (mut led, _) = tasting();
    let end_s = led.cups_of(3);
    assert_eq!(led.teacher(CLOSE, end_s), Ok(1));
    assert_eq!(led.room.phase, Phase::Running, "its last tasting goes on");
}

#[test]
fn the_last_call_lasts_thirty_seconds_of_the_room_at_every_pace() {
    let (mut led, now_s) = tasting();
    led.happens(
        HostTime(now_s * SECOND_US),
        Event::Opened { unix_us: 0, pace: 60.0, boot: None, door: Default::default() },
    );
    led.teacher(CLOSE, now_s).unwrap();
    assert_eq!(led.room.last_call, Some(HostTime((now_s + 30 * 60) * SECOND_US)));
    assert_eq!(led.room.closes_at(), Some(HostTime((now_s + 33 * 60) * SECOND_US)));
}

#[test]
fn after_a_restart_seats_have_time_to_come_back_with_what_they_wrote() {
    let (mut led, now_s) = tasting();
    led.teacher(CLOSE, now_s).unwrap();
    let opened = || Event::Opened { unix_us: 0, pace: 1.0, boot: None, door: Default::default() };
    let at = |s: i64| HostTime(s * SECOND_US);
    led.happens(at(now_s + 5), opened());
    assert_eq!(led.room.closes_at(), Some(at(now_s + 33)), "there is time enough");
    led.happens(at(now_s + 600), opened());
    assert_eq!(led.score(0, 417, 1, 1, 5, now_s + 619), Ok(1));
    assert_eq!(led.command(&Command::TimeUp, now_s + 619), Ok(0));
    assert_eq!(led.command(&Command::TimeUp, now_s + 620), Ok(1));
}

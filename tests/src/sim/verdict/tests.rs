//! Every check can fail: a class in which all is well, with one thing changed.

use super::super::faults::{Fault, Links, Restart, Trouble};
use super::super::run;
use super::super::trace::{Record, What};
use super::super::world::World;
use super::*;
use class::course::Act;
use protocol::wire::{HostMessage, from_json};
use protocol::{Action, Cue, HostTime};
use room::{Event, Steering, Teacher};
use seat::app::Happening;
use std::sync::OnceLock;

/// A hold, a cut link and a host that was started again, all promises kept.
fn sound() -> Held {
    static SOUND: OnceLock<Held> = OnceLock::new();
    let hold = || {
        let mut world = World::calm(11, 3);
        world.teacher.extend([(36_000, Teacher::Hold), (48_000, Teacher::Resume)]);
        let restart = Restart::SameBoot { wall_stepped_us: 0 };
        let fault = |from_ms, to_ms, what| Fault { from_ms, to_ms: Some(to_ms), what };
        world.faults = vec![
            fault(26_000, 60_000, Trouble::Cut(Links::Seat(0))),
            fault(40_000, 44_000, Trouble::HostDown(restart)),
        ];
        let held = run(&world).unwrap();
        assert_eq!(judge(&held), []);
        held
    };
    SOUND.get_or_init(hold).clone()
}

/// The sound class with its first record of some kind changed, and what the verdict on it is.
fn changed(change: impl Fn(&mut Record) -> bool) -> Vec<Broken> {
    let mut held = sound();
    assert!(held.trace.iter_mut().any(change), "there is nothing to change");
    judge(&held)
}

fn says(verdict: &[Broken], promise: Promise, words: &str) {
    let found = verdict.iter().any(|broken| broken.promise == promise && broken.words.contains(words));
    assert!(found, "`{words}` is missing under `{promise}` in {verdict:#?}");
}

fn first_cue(action: Action, change: impl Fn(&mut Record, &mut Cue)) -> Vec<Broken> {
    changed(|record| {
        let What::Cue { cue, .. } = &record.what else { return false };
        let mut cue = cue.clone();
        let found = cue.action == action;
        if found {
            change(record, &mut cue);
            if let What::Cue { cue: of, .. } = &mut record.what {
                *of = cue;
            }
        }
        found
    })
}

#[test]
fn a_moved_decant_is_seen() {
    let verdict = first_cue(Action::Decant, |record, cue| {
        (record.at_us, cue.at) = (record.at_us + 1_000, cue.at + 1_000);
    });
    says(&verdict, Promise::WetEndsOnTime, "is 1000 µs off the end of its steep");
    says(&verdict, Promise::CuesOnTheInstant, "no timetable has decant");
}

#[test]
fn a_decant_that_is_not_where_the_teacher_moved_it_is_seen() {
    let mut world = World::calm(12, 3);
    let codes: Vec<_> = world.class.coded().map(|(code, _)| code).collect();
    world.teacher.push((30_000, Teacher::Steer(Steering::Longer { codes, by_s: 7 })));
    let mut held = run(&world).unwrap();
    assert_eq!(judge(&held), []);
    let acts = held.ledger.iter_mut().filter_map(|entry| match &mut entry.event {
        Event::Steered { act: Act::Timed { steeps }, .. } => Some(steeps),
        _ => None,
    });
    acts.flatten().for_each(|timed| timed.steep_s += 1);
    says(&judge(&held), Promise::WetEndsOnTime, "is -1000000 µs off the end of its steep");
}

#[test]
fn a_decant_that_never_came_is_seen() {
    let verdict = first_cue(Action::Decant, |_, cue| cue.action = Action::Warm);
    says(&verdict, Promise::WetEndsOnTime, "no decant came");
    says(&verdict, Promise::CuedWithoutNetwork, "never came");
}

#[test]
fn a_decant_that_the_ledger_moved_is_seen() {
    let mut held = sound();
    let timetable = held.ledger.iter_mut().find_map(|entry| match &mut entry.event {
        Event::Held { timetable, .. } => Some(timetable),
        _ => None,
    });
    let cue = timetable.unwrap().cues.iter_mut().find(|cue| cue.action == Action::Decant).unwrap();
    cue.at = cue.at + 1;
    says(&judge(&held), Promise::WetEndsOnTime, "is wet, and its decant is at");
}

#[test]
fn a_host_time_that_did_not_go_on_is_seen() {
    let mut held = sound();
    let opened = held.trace.iter_mut().filter_map(|record| match &mut record.what {
        What::Opened { at, .. } => Some(at),
        _ => None,
    });
    let at = opened.last().unwrap();
    *at = *at + -2;
    says(&judge(&held), Promise::WetEndsOnTime, "the host's clock 2 shows");
}

#[test]
fn a_cue_that_comes_early_late_or_twice_is_seen() {
    let early = first_cue(Action::Pour, |record, _| record.at_us -= 30_000);
    says(&early, Promise::CuesOnTheInstant, "µs early");
    let late = first_cue(Action::Pour, |record, _| record.at_us += 30_000);
    says(&late, Promise::CuesOnTheInstant, "µs late");
    let mut held = sound();
    let cue = held.trace.iter().position(|record| matches!(record.what, What::Cue { .. })).unwrap();
    held.trace.insert(cue, held.trace[cue].clone());
    says(&judge(&held), Promise::CuesOnTheInstant, "came twice");
    says(&judge(&held), Promise::CuesOnTheInstant, "and it rang");
}

#[test]
fn a_bound_that_is_too_narrow_is_seen() {
    let verdict = changed(|record| match &mut record.what {
        What::Shown(shown) => shown.host.as_mut().is_some_and(|host| {
            *host = *host + shown.bound_us.unwrap_or(0) + 1_000;
            true
        }),
        _ => false,
    });
    says(&verdict, Promise::CuesOnTheInstant, "and states ±");
}

#[test]
fn a_screen_that_goes_back_is_seen() {
    let mut held = sound();
    let last = held.trace.iter_mut().rev().find_map(|record| match &mut record.what {
        What::Shown(shown) => Some(shown),
        _ => None,
    });
    let shown = last.unwrap();
    (shown.host, shown.seq) = (shown.host.map(|HostTime(us)| HostTime(us - 1_900_000)), 0);
    says(&judge(&held), Promise::ScreensGoOn, "host time went back by");
    says(&judge(&held), Promise::ScreensGoOn, " after ");
}

#[test]
fn a_whole_welcome_for_who_was_there_and_a_hello_that_hides_it_are_seen() {
    let mut held = sound();
    let received = |record: &Record| match &record.what {
        What::Received(text) => from_json::<HostMessage>(text).ok(),
        _ => None,
    };
    let is = |wanted: fn(&HostMessage) -> bool| {
        move |record: &Record| received(record).is_some_and(|m| wanted(&m))
    };
    let welcome =
        held.trace.iter().find(|record| is(|m| matches!(m, HostMessage::Welcome(_)))(record)).unwrap();
    let welcome = welcome.what.clone();
    let back =
        held.trace.iter_mut().find(|record| is(|m| matches!(m, HostMessage::Back(_)))(record)).unwrap();
    back.what = welcome;
    says(&judge(&held), Promise::ScreensGoOn, "a whole welcome, although");
    let verdict = changed(|record| match &mut record.what {
        What::Sent(text) if text.contains("\"since\"") => {
            *text = text.replace("\"since\"", "\"sense\"");
            true
        }
        _ => false,
    });
    says(&verdict, Promise::ScreensGoOn, "its hello says since None");
}

#[test]
fn a_score_that_is_lost_doubled_or_another_one_is_seen() {
    let scored =
        |held: &Held| held.ledger.iter().position(|e| matches!(e.event, Event::Scored { .. })).unwrap();
    let mut held = sound();
    held.ledger.remove(scored(&held));
    says(&judge(&held), Promise::ScoresKeptOnce, "is kept, and the ledger has no such score");
    says(&judge(&held), Promise::ScoresKeptOnce, "was accepted as event");
    says(&judge(&held), Promise::StateIsAFold, "can't be replayed");
    let mut held = sound();
    held.ledger.push(held.ledger[scored(&held)].clone());
    says(&judge(&held), Promise::ScoresKeptOnce, "is in the ledger twice");
    let mut held = sound();
    let at = scored(&held);
    if let Event::Scored { score, .. } = &mut held.ledger[at].event {
        score.note = "\u{1b}[2J".into();
    }
    says(&judge(&held), Promise::ScoresKeptOnce, "no such score");
    says(&judge(&held), Promise::TextIsInert, "is not inert");
}

#[test]
fn a_score_before_the_cup_and_a_close_without_its_last_call_are_seen() {
    let mut held = sound();
    let scored = held.ledger.iter_mut().find(|entry| matches!(entry.event, Event::Scored { .. })).unwrap();
    scored.at = scored.at + -20_000_000;
    says(&judge(&held), Promise::NoFalseScore, "is scored, and it is in the cup at");
    let mut held = sound();
    held.ledger.retain(|entry| !matches!(entry.event, Event::LastCall { .. }));
    says(&judge(&held), Promise::ClosingLosesNothing, "the last call ended at None");
}

#[test]
fn a_score_that_nobody_answered_for_is_seen() {
    let mut held = sound();
    let kept = held.trace.iter().position(|record| matches!(record.what, What::Said(Happening::Kept { .. })));
    held.trace.remove(kept.unwrap());
    says(&judge(&held), Promise::NothingDropped, "neither kept, nor declined, nor waiting");
}

#[test]
fn a_room_that_is_not_its_ledger_and_a_summary_that_miscounts_are_seen() {
    let verdict = changed(|record| match &mut record.what {
        What::Replayed { differs, .. } => differs.replace("the room".into()).is_none(),
        _ => false,
    });
    says(&verdict, Promise::StateIsAFold, "gives the room");
    let mut held = sound();
    held.summary.teas[0].steeps[0].figures.sheets.n -= 1;
    says(&judge(&held), Promise::NumbersCarryEvidence, "the summary says 2 of 3");
}

#[test]
fn a_program_that_gives_up_or_panics_is_seen() {
    let verdict = changed(|record| {
        let ended = matches!(record.what, What::Ended(_));
        if ended {
            record.what = What::Ended(seat::app::End::Refused("no".into()));
        }
        ended
    });
    says(&verdict, Promise::NothingDropped, "its program ended with Refused");
    let mut held = sound();
    let panicked = Record { what: What::Panicked, ..held.trace[0].clone() };
    held.trace.push(panicked);
    says(&judge(&held), Promise::NothingDropped, "panicked");
}

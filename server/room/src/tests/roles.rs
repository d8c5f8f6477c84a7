//! Who owes sheets: not who pours only or watches, not who is left out, and who came late only what came later.

use super::*;
use protocol::Role;
use view::Tally;

/// A table with one pourer: Pia pours only, Wim watches, Ann and Bob score; the class has begun.
fn table() -> Led {
    let text = include_str!("../../../tests/classes/five-tests.toml");
    let mut led = Led::new(text);
    led.join_as("Pia", None, Some(1), Role::PoursOnly, 0).unwrap();
    led.join_as("Wim", None, None, Role::Watches, 0).unwrap();
    led.join("Ann", None, None).unwrap();
    led.join("Bob", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    led
}

fn tallies(led: &Led, now_s: i64) -> Vec<(String, usize, usize)> {
    let view = led.room.view(HostTime(now_s * SECOND_US), 0);
    view.seats.into_iter().map(|s| (s.name, s.sheets.present, s.sheets.due)).collect()
}

#[test]
fn who_pours_only_or_watches_owes_nothing_and_a_score_of_theirs_is_declined_with_what_to_do() {
    let mut led = table();
    let now_s = led.cups_of(1);
    let cups = led.room.class.teas.len();
    let owed: Vec<usize> = tallies(&led, now_s).into_iter().map(|(_, _, due)| due).collect();
    assert_eq!(owed, [0, 0, cups, cups]);
    for (seat, flag) in [(0, "without --pours-only"), (1, "without --watch")] {
        let refusal = led.score(seat, 417, 1, 1, 5, now_s).unwrap_err();
        assert_eq!(refusal.code, RefusalCode::NotScoring);
        assert!(refusal.reason.ends_with(flag), "{}", refusal.reason);
    }
    assert_eq!(led.score(2, 417, 1, 1, 5, now_s), Ok(1));
    let view = led.room.view(HostTime(now_s * SECOND_US), 0);
    assert_eq!(view.class_in, Tally { present: 1, due: 2 * cups });
    led.teacher(Teacher::Test(1), now_s).unwrap();
    let test = &led.room.view(HostTime(now_s * SECOND_US), 0).tests[0];
    assert_eq!((test.answered, test.missing.join(" ")), (Tally { present: 0, due: 2 }, "Ann Bob".into()));
    let pia = led.room.seats[0].id;
    assert_eq!(led.room.test_card(1, pia), None, "and is not asked");
    assert_eq!(led.room.test_answers()[0].seats, 2);
}

#[test]
fn the_serving_design_and_the_test_sets_are_dealt_to_those_who_score_in_the_order_in_which_they_came_to() {
    let mut led = table();
    let n_teas = led.room.class.teas.len();
    let rows = plan::orders::orders(n_teas, 5, led.room.seed);
    let codes: Vec<Code> = led.room.class.coded().map(|(code, _)| code).collect();
    let row = |n: usize| rows[n].iter().map(|&tea| codes[tea]).collect::<Vec<_>>();
    let order = |led: &Led, seat: usize| led.room.welcome(&led.room.seats[seat], &led.rounds, 1.0).order;
    let set = |led: &Led, seat: usize| led.room.test_card(1, led.room.seats[seat].id);
    let card = |led: &Led, place| led.room.class.tests[0].card(1, place);
    assert_eq!((order(&led, 2), order(&led, 3)), (row(0), row(1)), "whoever pours or watches takes no row");
    assert_eq!((set(&led, 2), set(&led, 3)), (card(&led, 0), card(&led, 1)));
    // Wim comes to score after all and is the third; Ann pours only from now on and keeps what she had.
    let [wim, ann] = [1, 2].map(|n: usize| led.room.seats[n].token);
    led.join_as("Wim", Some(wim), None, Role::Scores, 0).unwrap();
    led.join_as("Ann", Some(ann), None, Role::PoursOnly, 0).unwrap();
    led.join("Cy", None, None).unwrap();
    led.join_as("Ann", Some(ann), None, Role::Scores, 0).unwrap();
    for (seat, place) in [(1, 2), (2, 0), (3, 1), (4, 3)] {
        assert_eq!((order(&led, seat), set(&led, seat)), (row(place), card(&led, place)));
    }
}

#[test]
fn whoever_pours_is_told_before_the_class_begins_what_to_do_at_the_kettles() {
    let mut led = Led::new(include_str!("../../../../demo/six-teas.toml"));
    led.join_as("Pia", None, Some(1), Role::PoursOnly, 0).unwrap();
    led.join("Ann", None, None).unwrap();
    let told = |led: &Led| {
        let seats = led.room.seats.iter();
        seats.map(|seat| led.room.welcome(seat, &led.rounds, 1.0).before_start).collect::<Vec<_>>()
    };
    let before = told(&led);
    let words = "before you start: fill the kettle, switch it on, set";
    assert!(before[0].as_ref().is_some_and(|said| said.starts_with(words)), "{before:?}");
    assert_eq!(before[1], None, "who only tastes has no kettle");
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    assert_eq!(told(&led), [None, None], "it has begun");
}

#[test]
fn a_seat_that_joins_again_for_something_else_owes_from_then_on() {
    let mut led = table();
    let (first_s, second_s) = (led.cups_of(1), led.cups_of(2));
    let wim = led.room.seats[1].token;
    assert_eq!(led.join_as("Wim", Some(wim), None, Role::Watches, first_s), Ok(0));
    assert_eq!(led.join_as("Wim", Some(wim), None, Role::Scores, first_s + 1), Ok(1));
    let from = led.room.welcome(&led.room.seats[1], &led.rounds, 1.0).owes_from_us;
    assert_eq!(from, HostTime((first_s + 1) * SECOND_US));
    let (_, present, due) = tallies(&led, second_s)[1].clone();
    let of_second = led.room.cups(HostTime(second_s * SECOND_US)).iter().filter(|s| s.cup.1 == 2).count();
    assert_eq!((present, due), (0, of_second), "what it watched it does not owe");
    let ann = led.room.seats[2].token;
    led.score(2, 417, 1, 1, 5, second_s).unwrap();
    led.join_as("Ann", Some(ann), None, Role::PoursOnly, second_s).unwrap();
    assert_eq!(tallies(&led, second_s)[2], ("Ann".into(), 1, 1), "what is there counts all the same");
}

#[test]
fn a_place_at_the_kettle_is_not_for_who_watches() {
    let mut led = table();
    assert_eq!(code(led.join_as("Una", None, Some(1), Role::Watches, 0)), RefusalCode::BadPourer);
    let pia = led.room.seats[0].token;
    led.join_as("Pia", Some(pia), None, Role::Watches, 0).unwrap();
    assert_eq!(led.room.seats[0].pourer, None, "and is free again");
    led.join_as("Una", None, Some(1), Role::PoursOnly, 0).unwrap();
    let mut each = Led::two_ways();
    each.join_as("Wim", None, None, Role::Watches, 0).unwrap();
    assert_eq!(each.room.hands_of(&each.room.seats[0]), None);
}

#[test]
fn who_comes_late_owes_the_cups_that_were_decanted_after_they_sat_down() {
    let mut led = table();
    let first = led.room.timetable.find(Action::Decant, Code::new(417), 1).unwrap().end().0 / SECOND_US;
    led.join_as("Zoe", None, None, Role::Scores, first).unwrap();
    let now_s = led.cups_of(1);
    let later = led
        .room
        .cups(HostTime(now_s * SECOND_US))
        .iter()
        .filter(|s| s.decanted_at > Some(HostTime(first * SECOND_US)))
        .count();
    assert!(later < led.room.class.teas.len());
    assert_eq!(tallies(&led, now_s)[4], ("Zoe".into(), 0, later));
    assert_eq!(led.score(4, 417, 1, 1, 5, now_s), Ok(1), "a cup that was kept for her is taken");
    assert_eq!(tallies(&led, now_s)[4], ("Zoe".into(), 1, later + 1));
}

#[test]
fn the_teacher_leaves_a_seat_out_and_lets_it_count_again_and_its_scores_are_kept() {
    let mut led = table();
    let now_s = led.cups_of(1);
    led.score(2, 417, 1, 1, 5, now_s).unwrap();
    let count = |counts| Teacher::Count { name: "ann".into(), counts };
    assert_eq!(led.teacher(count(false), now_s), Ok(1));
    assert_eq!(led.teacher(count(false), now_s), Ok(0));
    assert_eq!(tallies(&led, now_s)[2], ("Ann".into(), 0, 0));
    assert_eq!(led.score(2, 238, 1, 1, 5, now_s), Ok(1), "what is sent is kept");
    assert!(led.room.counted().all(|seat| seat.name != "Ann"));
    let left_out = |led: &Led| -> Vec<(String, bool)> {
        led.room.left_out().map(|(seat, only_here)| (seat.name.clone(), only_here)).collect()
    };
    assert_eq!(left_out(&led), [("Ann".into(), false)]);
    led.teacher(Teacher::Close { last_call_s: 0 }, now_s).unwrap();
    assert_eq!(led.teacher(count(true), now_s), Ok(1), "when the class is closed too");
    assert_eq!(led.correct(Correction::Count { name: "Ann".into(), counts: true }), Ok(0));
    assert_eq!(tallies(&led, now_s)[2].1, 2);
    let typo = led.correct(Correction::Count { name: "Anne".into(), counts: false }).unwrap_err();
    assert_eq!(typo.reason, "no seat is named Anne; did you mean Ann?");
    let ann = led.room.seats[2].id;
    led.room.set_aside(ann);
    assert_eq!(left_out(&led), [("Ann".into(), true)], "here and not in the ledger");
}

#[test]
fn of_seats_that_share_kettles_the_first_is_cued_to_fill_them_and_after_its_release_the_next() {
    let text = include_str!("../../../tests/classes/two-ways.toml");
    for (shared, fill_ml, cued) in [("true", 800, [false, true, false]), ("false", 200, [false, true, true])]
    {
        let kettle = format!("[[kettle]]\nname = \"steel\"\nfill_ml = {fill_ml}\nwatts = 2000\n");
        let mut led = Led::new(&format!("shared_kettles = {shared}\n{text}\n{kettle}"));
        led.join_as("Wim", None, None, Role::Watches, 0).unwrap();
        led.join("Ann", None, None).unwrap();
        led.join("Bob", None, None).unwrap();
        led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
        let fills = |led: &Led| -> Vec<bool> {
            let told =
                led.room.seats.iter().map(|seat| led.room.welcome(seat, &led.rounds, 1.0).timetable.cues);
            told.map(|cues| cues.iter().any(|c| c.action.is_at_kettle())).collect()
        };
        assert!(led.room.timetable.cues.iter().any(|c| c.action.is_at_kettle()), "the host sees it");
        assert_eq!(fills(&led), cued, "shared_kettles = {shared}");
        led.teacher(Teacher::Release("Ann".into()), 1).unwrap();
        assert!(fills(&led)[2], "Bob now");
    }
}

//! When a difference test opens, what is an answer, and what counts.

use super::*;
use class::difference::Side;

/// A class with tests, its first two seats taken, in the middle of its second round.
fn five_tests() -> Led {
    let mut led = Led::new(include_str!("../../../tests/classes/five-tests.toml"));
    led.join("Ann", None, Some(1)).unwrap();
    led.join("Bob", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    led
}

fn end_of_round(led: &Led, round: u32) -> i64 {
    led.room.timetable.find(Action::Taste, None, round).unwrap().at.0 / SECOND_US
}

#[test]
fn a_test_is_opened_when_both_of_its_teas_are_in_the_cups_and_once() {
    let mut led = five_tests();
    let taste = end_of_round(&led, 1);
    let decants = [417, 862].map(|n| led.room.timetable.find(Action::Decant, Code::new(n), 1).unwrap().end());
    let last = decants.into_iter().max().unwrap().0 / SECOND_US;
    assert_eq!(code(led.teacher(Teacher::Test(1), last - 1)), RefusalCode::NotPoured);
    assert_eq!(led.teacher(Teacher::Test(1), last), Ok(1));
    assert_eq!(led.teacher(Teacher::Test(1), taste), Ok(0), "it is open already");
    assert_eq!(
        code(led.teacher(Teacher::Test(2), taste)),
        RefusalCode::NotPoured,
        "its liquor is the second"
    );
    for unknown in [0, 6, u32::MAX] {
        assert_eq!(code(led.teacher(Teacher::Test(unknown), taste)), RefusalCode::UnknownTest);
    }
    let view = led.room.view(HostTime(taste * SECOND_US), 0);
    assert_eq!(view.tests.iter().map(|t| t.open).collect::<Vec<_>>(), [true, false, false, false, false]);
}

#[test]
fn an_answer_is_one_of_the_seats_own_cups_and_the_last_one_counts() {
    let mut led = five_tests();
    let now_s = end_of_round(&led, 1);
    let seats = [led.room.seats[0].id, led.room.seats[1].id];
    let [own, other] = seats.map(|seat| led.room.test_card(1, seat).unwrap().codes);
    let send = |led: &mut Led, seat: SeatId, answer| led.command(&Command::Answer { seat, answer }, now_s);
    let id = |n| Uuid::from_u128(n);
    assert_eq!(code(send(&mut led, seats[0], answer(id(1), 1, own[0], 1))), RefusalCode::NotOpen);
    led.teacher(Teacher::Test(1), now_s).unwrap();
    assert_eq!(send(&mut led, seats[0], answer(id(1), 1, own[0], 1)), Ok(1));
    assert_eq!(send(&mut led, seats[0], answer(id(1), 1, own[0], 1)), Ok(0), "sent again");
    assert_eq!(code(send(&mut led, seats[0], answer(id(1), 1, own[1], 1))), RefusalCode::IdReused);
    assert_eq!(code(send(&mut led, seats[1], answer(id(1), 1, own[0], 1))), RefusalCode::IdReused);
    assert_eq!(code(send(&mut led, seats[0], answer(id(2), 7, own[0], 1))), RefusalCode::UnknownTest);
    assert_eq!(code(send(&mut led, seats[0], answer(id(2), 1, other[0], 1))), RefusalCode::BadAnswer);
    assert_eq!(code(send(&mut led, seats[0], answer(id(2), 1, own[0], 0))), RefusalCode::BadAnswer);
    assert_eq!(send(&mut led, seats[0], answer(id(2), 1, own[2], 2)), Ok(1));
    let scored = led.command(&Command::Score { seat: seats[0], score: score(id(2), 417, 1, 1, 5) }, now_s);
    assert_eq!(code(scored), RefusalCode::IdReused, "scores and answers share their ids");
    assert_eq!(led.room.answers.of(seats[0], 1).map(|kept| kept.answer.pick), Some(own[2]));
    assert_eq!(led.room.answers.all().len(), 2, "all are kept");
    let view = led.room.view(HostTime(now_s * SECOND_US), 0);
    assert_eq!(
        (view.tests[0].answered, view.tests[0].missing.as_slice()),
        (view::Tally { present: 1, due: 2 }, &["Bob".to_string()][..])
    );
    for revision in 3..=100 {
        assert_eq!(send(&mut led, seats[0], answer(id(revision.into()), 1, own[0], revision)), Ok(1));
    }
    assert_eq!(code(send(&mut led, seats[0], answer(id(101), 1, own[0], 101))), RefusalCode::BadAnswer);
    led.teacher(Teacher::Close { last_call_s: 0 }, 4000).unwrap();
    assert_eq!(code(send(&mut led, seats[1], answer(id(200), 1, other[0], 1))), RefusalCode::ClassClosed);
    assert_eq!(send(&mut led, seats[0], answer(id(1), 1, own[0], 1)), Ok(0), "a known one is acknowledged");
}

#[test]
fn what_was_answered_is_counted_tea_by_tea_and_right_or_wrong() {
    let mut led = five_tests();
    let now_s = end_of_round(&led, 1);
    let seats = [led.room.seats[0].id, led.room.seats[1].id];
    for test in [1, 4, 5] {
        led.teacher(Teacher::Test(test), now_s).unwrap();
        for (n, &seat) in seats.iter().enumerate() {
            // The first cup from the left, whatever is in it.
            let pick = led.room.test_card(test, seat).unwrap().codes[0];
            let answer = answer(led.fresh(), test, pick, 1);
            led.command(&Command::Answer { seat, answer }, now_s).unwrap();
            let given = &led.room.test_answers()[test as usize - 1];
            assert_eq!((given.answers.len(), given.seats, given.open), (n + 1, 2, true));
            let set = led.room.class.tests[test as usize - 1].set(n).unwrap();
            let found = given.answers[n];
            assert_eq!((found.seat, found.picked), (seat, set.cups[0].tea));
            let right = match test {
                1 => Some(set.cups.iter().filter(|cup| cup.tea == found.picked).count() == 1),
                4 => None,
                _ => Some(found.picked == Side::First),
            };
            assert_eq!(found.correct, right, "test {test}");
        }
    }
    let given = led.room.test_answers();
    assert_eq!(
        given[0].teas.each_ref().map(|t| (t.code, t.name.clone())),
        [(Code::new(417), None), (Code::new(862), None)]
    );
    assert!(given[1].answers.is_empty() && !given[1].open);
    led.teacher(Teacher::Reveal(None), now_s).unwrap();
    assert_eq!(led.room.test_answers()[0].teas[1].name.as_deref(), Some("Copper Pier"));
}

//! Cups that are voided while the class goes on.

use super::*;

fn put_right(
    led: &mut Led,
    void: bool,
    steep: u32,
    seat: Option<&str>,
    now_s: i64,
) -> Result<usize, Refusal> {
    let (code, seat, reason) = (Code::new(417).unwrap(), seat.map(String::from), "spilled".to_string());
    let wish = if void {
        Correction::Void { code, steep, seat, reason }
    } else {
        Correction::Restore { code, steep, seat, reason }
    };
    led.teacher(Teacher::Correct(wish), now_s)
}

/// What a seat is told of cups that do not count: the steep, and whether it is only its own score.
fn told(led: &Led, name: &str) -> Vec<(u32, bool)> {
    let voided = led.room.voided_for(led.room.seat_named(name).unwrap());
    voided.into_iter().map(|void| (void.steep, void.only_yours)).collect()
}

fn given() -> (Led, i64) {
    let mut led = Led::two_ways();
    for name in ["Ann", "Bob"] {
        led.join(name, None, None).unwrap();
    }
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    let now_s = led.cups_of(1) + 1;
    led.score(0, 417, 1, 1, 6, now_s).unwrap();
    led.score(1, 417, 1, 4, 7, now_s).unwrap();
    (led, now_s)
}

#[test]
fn a_cup_is_voided_for_all_and_nobody_owes_it_until_it_is_restored() {
    let (mut led, now_s) = given();
    assert_eq!(put_right(&mut led, true, 1, None, now_s), Ok(1));
    assert_eq!((told(&led, "Ann"), told(&led, "Bob")), (vec![(1, false)], vec![(1, false)]));
    assert_eq!(led.score(0, 417, 1, 2, 8, now_s + 1).unwrap_err().code, RefusalCode::Voided);
    let cup = led.room.served((Code::new(417).unwrap(), 1));
    assert!(!led.room.owes(&led.room.seats[0], &cup));
    assert_eq!(put_right(&mut led, false, 1, None, now_s + 2), Ok(1));
    assert_eq!(told(&led, "Ann"), []);
    assert_eq!(led.room.scores.counting().count(), 2, "both count again");
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn one_seat_s_score_is_voided_and_it_may_score_the_cup_again_from_the_first_revision_on() {
    let (mut led, now_s) = given();
    assert_eq!(put_right(&mut led, true, 1, Some("bob"), now_s), Ok(1));
    assert_eq!((told(&led, "Ann"), told(&led, "Bob")), (vec![], vec![(1, true)]));
    led.score(1, 417, 1, 1, 3, now_s + 1).unwrap();
    assert_eq!(told(&led, "Bob"), [], "the new one counts");
    let bob = led.room.seats[1].id;
    let liking: Vec<i32> = led.room.scores.of_seat(bob).map(|kept| kept.score.values["liking"]).collect();
    assert_eq!(liking, [3]);
}

#[test]
fn a_cup_that_is_still_to_come_is_left_out_and_not_voided() {
    let (mut led, now_s) = given();
    let refusal = put_right(&mut led, true, 2, None, now_s).unwrap_err();
    assert!(refusal.reason.contains("`skip 417 2`"), "{}", refusal.reason);
    let refusal = put_right(&mut led, true, 9, None, now_s).unwrap_err();
    assert_eq!(refusal.code, RefusalCode::UnknownCup);
}

//! Sheets that are opened again are owed once more, and what was scored counts until then.

use super::*;
use protocol::wire::OpenSheet;

fn open(led: &Led, name: &str) -> Vec<OpenSheet> {
    led.room.open_sheets(led.room.seat_named(name).unwrap())
}

/// The sheets of a seat that are in, and all that are due.
fn sheets(led: &Led, seat: usize, now_s: i64) -> (usize, usize) {
    let tally = led.room.view(HostTime(now_s * SECOND_US), 0).seats[seat].sheets;
    (tally.present, tally.due)
}

/// A class whose round 2 is tasted: Ann and Bob have scored 417 in both rounds, Dee has come since, Wes watches.
fn tasted() -> (Led, i64) {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    led.join("Bob", None, None).unwrap();
    led.join_as("Wes", None, None, protocol::Role::Watches, 0).unwrap();
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    let now_s = led.cups_of(2);
    for (seat, round) in [(0, 1), (1, 1), (0, 2), (1, 2)] {
        led.score(seat, 417, round, 1, 5, now_s).unwrap();
    }
    led.join_as("Dee", None, None, protocol::Role::Scores, now_s + 1).unwrap();
    (led, now_s + 1)
}

fn reopen(led: &mut Led, round: Option<u32>, seat: Option<&str>, now_s: i64) -> Result<usize, Refusal> {
    let seat = seat.map(String::from);
    led.teacher(Teacher::Reopen { code: Code::new(417).unwrap(), round, seat }, now_s)
}

#[test]
fn all_who_owe_a_sheet_owe_it_once_more_and_what_was_scored_counts_until_it_is_scored_again() {
    let (mut led, now_s) = tasted();
    let before = sheets(&led, 0, now_s);
    assert_eq!(reopen(&mut led, None, None, now_s), Ok(1));
    assert_eq!(sheets(&led, 0, now_s), (before.0 - 1, before.1), "the host counts it as owed");
    let taste_s = led.room.course.taste_s(&led.room.class, 2).max(30);
    let until_us = HostTime((now_s + i64::from(taste_s)) * SECOND_US);
    let sheet = OpenSheet { code: Code::new(417).unwrap(), steep: 2, until_us };
    assert_eq!((open(&led, "Ann"), open(&led, "Bob"), open(&led, "Dee")), (vec![sheet], vec![sheet], vec![]));
    let counted =
        |led: &Led| led.room.scores.of(led.room.seats[0].id, (sheet.code, 2)).unwrap().score.values["liking"];
    assert_eq!(counted(&led), 5);
    assert_eq!(reopen(&mut led, Some(2), None, now_s), Ok(0), "it is so already");
    led.score(0, 417, 2, 2, 8, now_s + 500).unwrap();
    assert_eq!(
        (counted(&led), open(&led, "Ann"), sheets(&led, 0, now_s)),
        (8, vec![], before),
        "late, and taken"
    );
    assert_eq!(open(&led, "Bob"), [sheet]);
    assert_eq!(reopen(&mut led, Some(2), Some("ann"), now_s + 600), Ok(1), "and open once more");
    led.teacher(Teacher::Steer(Steering::Undo), now_s + 601).unwrap();
    assert_eq!((open(&led, "Ann"), open(&led, "Bob")), (vec![], vec![sheet]), "undone is the last of them");
    led.teacher(Teacher::Steer(Steering::Undo), now_s + 602).unwrap();
    assert_eq!(open(&led, "Bob"), []);
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn what_can_t_be_opened_again_is_said() {
    let (mut led, now_s) = tasted();
    for (round, seat, words) in [
        (Some(3), None, "not in the cup yet in round 3"),
        (Some(9), None, "no 417 steep 9"),
        (
            Some(1),
            Some("Dee"),
            "Dee came later and owes no sheet of 417 in round 1; it is taken all the same",
        ),
        (Some(1), Some("Wes"), "watches and does not score"),
        (None, Some("Zoe"), "no seat is named Zoe"),
    ] {
        let refusal = reopen(&mut led, round, seat, now_s).unwrap_err();
        assert!(refusal.reason.contains(words), "{}", refusal.reason);
    }
    let code = Code::new(417).unwrap();
    led.correct(Correction::Void { code, steep: 1, seat: None, reason: "spilled".into() }).unwrap();
    let void = reopen(&mut led, Some(1), None, now_s).unwrap_err();
    assert!(void.reason.contains("`restore 417 1 WHY`"), "{}", void.reason);
    led.teacher(Teacher::Close { last_call_s: 30 }, now_s + 2000).unwrap();
    let call = reopen(&mut led, Some(2), None, now_s + 2001).unwrap_err();
    assert!(call.reason.contains("every sheet is open until its end"), "{}", call.reason);
}

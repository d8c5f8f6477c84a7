//! Whom the door lets in: a seat by its token, everybody else by the join code, and strangers learn nothing.

use super::*;
use protocol::wire::Hello;

const CODE: &str = "KX7M-QR4T";

/// A class with a join code in which Ann sits.
fn led() -> (Led, Join) {
    let mut led = Led::two_ways();
    led.teacher(Teacher::JoinCode(CODE.parse().unwrap()), 0).unwrap();
    led.join("Ann", Some(Token(Uuid::from_u128(2))), None).unwrap();
    let join = Join {
        class_id: led.room.class_id,
        name: "Ann".into(),
        token: Token(Uuid::from_u128(2)),
        pourer: None,
        role: protocol::Role::Scores,
        since: None,
        heard: None,
    };
    (led, join)
}

fn says(code: Option<&str>, join: Option<Join>) -> Hello {
    Hello::new(code.map(|code| code.parse().unwrap()), join)
}

#[test]
fn a_new_seat_needs_the_code_and_one_that_is_seated_its_token_alone() {
    let (led, ann) = led();
    let bob = Join { token: Token(Uuid::from_u128(3)), name: "Bob".into(), ..ann.clone() };
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann.clone() };
    let (right, wrong) = (Some(CODE), Some("2222-2222"));
    let to = |join: &Join| Ok(Admitted::ToJoin(join.clone()));
    for (case, code, join, comes_to) in [
        ("a seat without a code", None, Some(&ann), to(&ann)),
        ("a seat with a code of before", wrong, Some(&ann), to(&ann)),
        ("a new one with the code", right, Some(&bob), to(&bob)),
        ("who knows only the code", right, None, Ok(Admitted::ToHear)),
        ("who names another class", right, Some(&elsewhere), Ok(Admitted::ToHear)),
        ("a new one with a wrong code", wrong, Some(&bob), Err(NotAdmitted::WrongCode)),
        ("a seat of another class with its code", wrong, Some(&elsewhere), Err(NotAdmitted::WrongCode)),
        ("who knows a wrong code", wrong, None, Err(NotAdmitted::WrongCode)),
    ] {
        assert_eq!(led.room.admits(&says(code, join.cloned()), false), comes_to, "{case}");
    }
}

#[test]
fn who_says_no_code_hears_the_same_whatever_class_they_name() {
    let (led, ann) = led();
    let bob = Join { token: Token(Uuid::from_u128(3)), ..ann.clone() };
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann };
    let heard = [None, Some(bob), Some(elsewhere)].map(|join| led.room.admits(&says(None, join), false));
    for refused in heard {
        let Err(NotAdmitted::Because(refusal)) = refused else { panic!("{refused:?}") };
        assert_eq!(refusal.code, RefusalCode::JoinCodeWanted);
        assert_eq!(refusal.reason, "a join code is needed here; it is on the teacher's screen");
    }
}

#[test]
fn behind_an_open_door_nobody_needs_a_code() {
    let (led, ann) = led();
    let bob = Join { token: Token(Uuid::from_u128(3)), ..ann.clone() };
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann };
    assert_eq!(led.room.admits(&says(None, None), true), Ok(Admitted::ToHear));
    assert_eq!(led.room.admits(&says(None, Some(elsewhere)), true), Ok(Admitted::ToHear));
    assert_eq!(led.room.admits(&says(Some("2222-2222"), Some(bob.clone())), true), Ok(Admitted::ToJoin(bob)));
}

#[test]
fn a_new_code_shuts_out_the_one_before_and_nobody_who_is_seated() {
    let (mut led, ann) = led();
    let bob = Join { token: Token(Uuid::from_u128(3)), name: "Bob".into(), ..ann.clone() };
    led.teacher(Teacher::JoinCode("9999-9999".parse().unwrap()), 5).unwrap();
    assert_eq!(led.room.admits(&says(Some(CODE), Some(bob.clone())), false), Err(NotAdmitted::WrongCode));
    assert_eq!(
        led.room.admits(&says(Some("9999-9999"), Some(bob.clone())), false),
        Ok(Admitted::ToJoin(bob))
    );
    assert_eq!(led.room.admits(&says(Some(CODE), Some(ann.clone())), false), Ok(Admitted::ToJoin(ann)));
}

#[test]
fn a_ledger_without_a_code_lets_no_new_seat_in_by_any() {
    let (led, ann) = led();
    let mut old = led.room.clone();
    old.join_code = None;
    let bob = Join { token: Token(Uuid::from_u128(3)), ..ann };
    assert_eq!(old.admits(&says(Some(CODE), Some(bob)), false), Err(NotAdmitted::WrongCode));
}

#[test]
fn a_seat_of_another_protocol_is_told_which_side_is_older() {
    let (led, ann) = led();
    for (protocol, older) in [(2, "seat"), (4, "host")] {
        let hello = Hello { protocol, ..says(Some(CODE), Some(ann.clone())) };
        let Err(NotAdmitted::Because(refusal)) = led.room.admits(&hello, true) else { panic!("{protocol}") };
        assert_eq!(refusal.code, RefusalCode::ProtocolVersion);
        assert!(refusal.reason.ends_with(&format!("update the {older}'s program")), "{}", refusal.reason);
    }
}

//! Whom the door lets in: a seat that knows its token, everybody else by the join code, and strangers learn nothing.

use super::*;
use protocol::wire::{Hello, PROOFS, PROTOCOL};
use protocol::{Certificate, Challenge, Nonce, Proved};

const CODE: &str = "KX7M-QR4T";
/// What is proved over on the connection.
const OVER: Challenge = Challenge { nonce: Nonce([7; 16]), certificate: None };
/// Ann's token.
const ANNS: Token = Token(Uuid::from_u128(2));

/// A class with a join code in which Ann sits.
fn led() -> (Led, Join) {
    let mut led = Led::two_ways();
    led.teacher(Teacher::JoinCode(CODE.parse().unwrap()), 0).unwrap();
    led.join("Ann", Some(ANNS), None).unwrap();
    let class_id = led.room.class_id;
    let ann = Join { proofs: vec![ANNS.proved(OVER, class_id)], token: None, ..new("Ann", class_id) };
    (led, ann)
}

/// Somebody new, with a token of their own.
fn new(name: &str, class_id: Uuid) -> Join {
    Join::new(class_id, name, Token(Uuid::from_u128(3)))
}

fn comes(join: &Join) -> Result<Admitted, NotAdmitted> {
    Ok(Admitted::ToJoin(join.clone(), Comer::Says(join.token.unwrap())))
}

impl Led {
    fn admits(&self, hello: &Hello, open_door: bool) -> Result<Admitted, NotAdmitted> {
        self.room.admits(hello, OVER, open_door)
    }

    fn is_back(&self, join: &Join) -> Result<Admitted, NotAdmitted> {
        Ok(Admitted::ToJoin(join.clone(), Comer::Proved(self.room.seats[0].id)))
    }
}

fn says(code: Option<&str>, join: Option<Join>) -> Hello {
    Hello::new(code.map(|code| code.parse().unwrap()), join)
}

#[test]
fn a_new_seat_needs_the_code_and_one_that_is_seated_its_token_alone() {
    let (led, ann) = led();
    let bob = new("Bob", ann.class_id);
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann.clone() };
    let (right, wrong) = (Some(CODE), Some("2222-2222"));
    for (case, code, join, comes_to) in [
        ("a seat without a code", None, Some(&ann), led.is_back(&ann)),
        ("a seat with a code of before", wrong, Some(&ann), led.is_back(&ann)),
        ("a new one with the code", right, Some(&bob), comes(&bob)),
        ("who knows only the code", right, None, Ok(Admitted::ToHear)),
        ("who names another class", right, Some(&elsewhere), Ok(Admitted::ToHear)),
        ("a new one with a wrong code", wrong, Some(&bob), Err(NotAdmitted::WrongCode)),
        ("a seat of another class with its code", wrong, Some(&elsewhere), Err(NotAdmitted::WrongCode)),
        ("who knows a wrong code", wrong, None, Err(NotAdmitted::WrongCode)),
    ] {
        assert_eq!(led.admits(&says(code, join.cloned()), false), comes_to, "{case}");
    }
}

#[test]
fn who_says_no_code_hears_the_same_whatever_class_they_name() {
    let (led, ann) = led();
    let bob = new("Bob", ann.class_id);
    let unknown = Join { proofs: vec![Token(Uuid::from_u128(4)).proved(OVER, ann.class_id)], ..ann.clone() };
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann };
    let heard =
        [None, Some(bob), Some(unknown), Some(elsewhere)].map(|join| led.admits(&says(None, join), false));
    for refused in heard {
        let Err(NotAdmitted::Because(refusal)) = refused else { panic!("{refused:?}") };
        assert_eq!(refusal.code, RefusalCode::JoinCodeWanted);
        assert_eq!(refusal.reason, "a join code is needed here; it is on the teacher's screen");
    }
}

#[test]
fn behind_an_open_door_nobody_needs_a_code() {
    let (led, ann) = led();
    let bob = new("Bob", ann.class_id);
    let elsewhere = Join { class_id: Uuid::from_u128(99), ..ann };
    assert_eq!(led.admits(&says(None, None), true), Ok(Admitted::ToHear));
    assert_eq!(led.admits(&says(None, Some(elsewhere)), true), Ok(Admitted::ToHear));
    assert_eq!(led.admits(&says(Some("2222-2222"), Some(bob.clone())), true), comes(&bob));
}

#[test]
fn a_new_code_shuts_out_the_one_before_and_nobody_who_is_seated() {
    let (mut led, ann) = led();
    let bob = new("Bob", ann.class_id);
    led.teacher(Teacher::JoinCode("9999-9999".parse().unwrap()), 5).unwrap();
    assert_eq!(led.admits(&says(Some(CODE), Some(bob.clone())), false), Err(NotAdmitted::WrongCode));
    assert_eq!(led.admits(&says(Some("9999-9999"), Some(bob.clone())), false), comes(&bob));
    assert_eq!(led.admits(&says(Some(CODE), Some(ann.clone())), false), led.is_back(&ann));
}

#[test]
fn a_ledger_without_a_code_lets_no_new_seat_in_by_any() {
    let (led, ann) = led();
    let mut old = led.room.clone();
    old.join_code = None;
    let bob = new("Bob", ann.class_id);
    assert_eq!(old.admits(&says(Some(CODE), Some(bob)), OVER, false), Err(NotAdmitted::WrongCode));
}

#[test]
fn a_seat_of_another_protocol_is_told_which_side_is_older() {
    let (led, ann) = led();
    for (protocol, older) in [(2, "seat"), (4, "seat"), (PROTOCOL + 1, "host")] {
        let hello = Hello { protocol, ..says(Some(CODE), Some(ann.clone())) };
        let Err(NotAdmitted::Because(refusal)) = led.admits(&hello, true) else { panic!("{protocol}") };
        assert_eq!(refusal.code, RefusalCode::ProtocolVersion);
        assert!(refusal.reason.ends_with(&format!("update the {older}'s program")), "{}", refusal.reason);
    }
}

#[test]
fn a_proof_leads_to_a_seat_only_if_it_is_one_of_its_token_for_this_class_and_this_connection() {
    let (mut led, ann) = led();
    led.join("Bob", Some(Token(Uuid::from_u128(3))), None).unwrap();
    let class_id = ann.class_id;
    let [anns, bobs] = [ANNS, Token(Uuid::from_u128(3))].map(|token| token.proved(OVER, class_id));
    let strange = |n: u128| Token(Uuid::from_u128(1_000 + n)).proved(OVER, class_id);
    let strangers = |count: usize| (0..count as u128).map(strange).collect::<Vec<_>>();
    for (case, proofs, seat) in [
        ("none", vec![], None),
        ("her own", vec![anns], Some(0)),
        ("her own name and another proof", vec![Proved { proof: bobs.proof, ..anns }], None),
        ("made for another connection", vec![ANNS.proved(Challenge::plain(Nonce([8; 16])), class_id)], None),
        (
            "made to whoever has another certificate",
            vec![ANNS.proved(Challenge { certificate: Some(Certificate::of(b"abc")), ..OVER }, class_id)],
            None,
        ),
        ("made for another class", vec![ANNS.proved(OVER, Uuid::from_u128(99))], None),
        (
            "what holds after what does not",
            vec![strange(0), Proved { proof: anns.proof, ..bobs }, anns],
            Some(0),
        ),
        ("two that hold: the older", vec![bobs, anns], Some(1)),
        ("the last that is looked at", [strangers(PROOFS - 1), vec![anns]].concat(), Some(0)),
        ("one more than is looked at", [strangers(PROOFS), vec![anns]].concat(), None),
    ] {
        let join = Join { proofs, ..ann.clone() };
        let is = seat.map_or(Admitted::ToHear, |seat: usize| {
            Admitted::ToJoin(join.clone(), Comer::Proved(led.room.seats[seat].id))
        });
        assert_eq!(led.admits(&says(Some(CODE), Some(join)), false), Ok(is), "{case}");
    }
}

#[test]
fn a_token_that_is_said_again_leads_to_its_seat_and_one_that_was_released_to_none() {
    let (mut led, ann) = led();
    let again = Join { proofs: vec![], token: Some(ANNS), ..ann.clone() };
    assert_eq!(led.admits(&says(None, Some(again.clone())), false), led.is_back(&again));
    led.teacher(Teacher::Release("Ann".into()), 1).unwrap();
    led.join("Ann", None, None).unwrap();
    assert_eq!(led.admits(&says(Some(CODE), Some(ann)), false), Ok(Admitted::ToHear));
}

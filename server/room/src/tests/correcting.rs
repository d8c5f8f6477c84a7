//! What is put right afterwards: names, seats of one person, cups. Nothing is erased.

use super::*;

/// Bob has sat down twice, the second time under a slip of the pen; the class is closed.
fn given() -> Led {
    let mut led = Led::two_ways();
    for name in ["Ann", "Bob", "Bobb"] {
        led.join(name, None, None).unwrap();
    }
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    led.score(1, 417, 1, 5, 3, 3000).unwrap();
    led.score(2, 417, 1, 1, 8, 3001).unwrap();
    led.score(2, 238, 1, 1, 7, 3002).unwrap();
    led.score(0, 417, 1, 1, 6, 3003).unwrap();
    led.teacher(Teacher::Close { last_call_s: 0 }, 4000).unwrap();
    led
}

fn join() -> Correction {
    Correction::Join { from: "Bobb".into(), into: "bob".into() }
}

fn void(seat: Option<&str>) -> Correction {
    let code = Code::new(417).unwrap();
    Correction::Void { code, steep: 1, seat: seat.map(String::from), reason: " spilled\u{1b} ".into() }
}

fn likings(led: &Led, name: &str) -> Vec<(u16, i32)> {
    let seat = led.room.seat_named(name).unwrap().id;
    let of = led.room.scores.of_seat(seat);
    let mut all: Vec<(u16, i32)> =
        of.map(|kept| (kept.score.code.to_string().parse().unwrap(), kept.score.values["liking"])).collect();
    all.sort();
    all
}

fn said(led: &Led) -> String {
    led.room.amendments.last().unwrap().to_string()
}

/// What is stored gives the same room.
fn replayed(led: &Led) {
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn two_seats_of_one_person_become_one_and_of_two_scores_of_a_cup_the_later_counts() {
    let mut led = given();
    let (bob, bobb) = (led.room.seats[1].clone(), led.room.seats[2].clone());
    assert_eq!(led.correct(join()), Ok(1));
    assert_eq!(likings(&led, "Bob"), [(238, 7), (417, 8)], "later in the ledger, whatever its revision");
    assert_eq!(led.room.scores.all().len(), 4, "nothing is erased");
    assert_eq!(led.room.counted().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["Ann", "Bob"]);
    assert_eq!(led.room.seat_named("Bobb").unwrap().id, bob.id, "the slip leads to the right seat");
    assert_eq!(led.room.seat_with(bobb.token).unwrap().id, bob.id);
    assert_eq!((led.room.place_of(bob.id), led.room.place_of(bobb.id)), (Some(1), Some(2)));
    assert_eq!(led.correct(join()), Ok(0), "they are one already");
    assert_eq!((led.room.seats.len(), led.room.persons()), (3, 2));
    assert_eq!(said(&led), "Bobb and Bob are one person: Bob");
    let back = led.room.scores.all()[1].score.clone();
    assert_eq!(led.room.enter(bob.id, back), Ok(vec![]), "what is sent again is known");
    replayed(&led);
}

#[test]
fn what_one_person_sends_from_either_seat_after_they_were_joined_counts() {
    let mut led = Led::two_ways();
    for name in ["Ann", "Bob", "Bobb"] {
        led.join(name, None, None).unwrap();
    }
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    led.score(1, 417, 1, 1, 3, 3000).unwrap();
    led.score(2, 417, 1, 5, 8, 3001).unwrap();
    assert_eq!(led.correct(join()), Ok(1));
    assert_eq!(likings(&led, "Bob"), [(417, 8)]);
    // The first machine knows of one revision of its own.
    led.score(1, 417, 1, 2, 9, 3002).unwrap();
    assert_eq!(likings(&led, "Bob"), [(417, 9)]);
    replayed(&led);
}

#[test]
fn two_seats_that_were_joined_by_mistake_are_two_persons_again() {
    let part = |seat: &str| Correction::Part { seat: seat.into() };
    let mut led = given();
    let before = led.room.clone();
    assert_eq!(led.correct(join()), Ok(1));
    assert_eq!(led.correct(part("bobb")), Ok(1));
    assert_eq!(said(&led), "Bobb and Bob are two persons again");
    assert_eq!((likings(&led, "Bob"), likings(&led, "Bobb")), (vec![(417, 3)], vec![(238, 7), (417, 8)]));
    assert_eq!((&led.room.seats, led.room.persons()), (&before.seats, 3));
    let bobb = &before.seats[2];
    assert_eq!(led.room.seat_with(bobb.token).unwrap().id, bobb.id);
    replayed(&led);
    let nothing = led.correct(part("Bobb")).unwrap_err().reason;
    assert_eq!(nothing, "Bobb is joined to no other seat");
    assert!(led.correct(part("Bop")).unwrap_err().reason.ends_with("did you mean Bob?"));
    // What was voided of the two stays voided of each.
    assert_eq!(led.correct(join()), Ok(1));
    assert_eq!(
        led.correct(part("Bob")).unwrap_err().reason,
        "Bob is joined to no other seat; joined to it: Bobb"
    );
    assert_eq!(led.correct(void(Some("Bob"))), Ok(1));
    assert_eq!(led.correct(part("Bobb")), Ok(1));
    assert_eq!((likings(&led, "Bob"), likings(&led, "Bobb")), (vec![], vec![(238, 7)]));
    replayed(&led);
    // A name that the other has got meanwhile.
    assert_eq!(led.correct(join()), Ok(1));
    assert_eq!(led.correct(Correction::Rename { seat: "Bob".into(), name: "Bobb".into() }), Ok(1));
    assert_eq!(
        led.correct(part("Bobb")).unwrap_err().reason,
        "both would be named Bobb; rename that one first"
    );
    assert_eq!(led.correct(Correction::Rename { seat: "Bobb".into(), name: "Bob".into() }), Ok(1));
    assert_eq!(led.correct(part("Bobb")), Ok(1));
    assert_eq!(led.room.seat_named("Bobb").map(|seat| seat.id), Some(bobb.id));
    replayed(&led);
}

#[test]
fn a_seat_gets_its_right_name_unless_another_one_has_it() {
    let mut led = given();
    let rename = |seat: &str, name: &str| Correction::Rename { seat: seat.into(), name: name.into() };
    assert_eq!(led.correct(rename("bobb", "Robert")), Ok(1));
    let bobb = led.room.seats[2].id;
    assert!(led.room.seat_named("Robert").is_some() && led.room.seat_named("Bobb").is_none());
    assert_eq!(
        led.room.seat_meant("bobb").map(|s| s.id),
        Some(bobb),
        "paper that was written before says so"
    );
    assert_eq!(said(&led), "Bobb is called Robert");
    let taken = led.correct(rename("Robert", "ANN")).unwrap_err();
    assert_eq!(taken.code, RefusalCode::NameTaken);
    assert!(taken.reason.contains("or join the two"), "{}", taken.reason);
    assert_eq!(code(led.correct(rename("Robert", "\u{1b}[2J"))), RefusalCode::BadName);
    assert_eq!(led.correct(rename("Robert", "robert")), Ok(1), "another spelling of its own name");
    assert_eq!(led.correct(rename("Robert", "robert")), Ok(0));
    replayed(&led);
}

#[test]
fn a_seat_is_found_by_the_name_it_had_until_somebody_else_has_that_name() {
    let mut led = given();
    let (bob, bobb) = (led.room.seats[1].id, led.room.seats[2].id);
    let rename = |seat: &str, name: &str| Correction::Rename { seat: seat.into(), name: name.into() };
    led.correct(rename("Bob", "Bert")).unwrap();
    assert_eq!(led.correct(rename("bob", "Bert")), Ok(0), "so it is already");
    assert_eq!(
        led.room.no_such_seat("Bop"),
        "no seat is named Bop; did you mean Bob, who is called Bert now?"
    );
    assert_eq!(led.correct(join()), Ok(1), "Bobb to the one who was Bob");
    let of = |name: &str| led.room.seat_meant(name).map(|seat| seat.id);
    assert_eq!(["BOB", "Bert", "Bobb"].map(of), [Some(bob); 3]);
    assert_eq!(led.room.former_names().collect::<Vec<_>>(), ["Bob"]);
    led.correct(rename("Ann", "Bob")).unwrap();
    let ann = led.room.seats[0].id;
    assert_eq!(led.room.seat_meant("Bob").map(|seat| seat.id), Some(ann));
    assert_ne!(bob, bobb);
    replayed(&led);
}

#[test]
fn a_cup_that_was_spilled_counts_for_nobody_and_nobody_owes_it() {
    let mut led = given();
    let cups = led.room.cups(led.room.last_at).len();
    assert_eq!(led.correct(void(None)), Ok(1));
    assert_eq!(led.correct(void(None)), Ok(0));
    assert_eq!(led.room.scores.counting().count(), 1);
    assert_eq!(led.room.cups(led.room.last_at).len(), cups - 1);
    assert_eq!(said(&led), "417 steep 1 does not count (3 scores): spilled");
    let bob = led.room.seats[1].id;
    let later = led.room.enter(bob, score(Uuid::from_u128(9), 417, 1, 9, 4)).unwrap_err();
    assert_eq!(later.code, RefusalCode::Voided);
    replayed(&led);
}

#[test]
fn a_score_that_was_mixed_up_does_not_count_and_a_later_one_does_whatever_its_revision() {
    let mut led = given();
    assert_eq!(led.correct(void(Some("BOB"))), Ok(1));
    assert_eq!(likings(&led, "Bob"), []);
    assert_eq!(likings(&led, "Ann"), [(417, 6)], "the others' stay");
    assert!(
        led.correct(void(Some("Bob"))).unwrap_err().reason.starts_with("Bob has no score of 417 steep 1")
    );
    let bob = led.room.seats[1].id;
    let again = led.room.enter(bob, score(Uuid::from_u128(9), 417, 1, 1, 4)).unwrap();
    again.into_iter().for_each(|event| led.happens(led.room.last_at, event));
    assert_eq!(likings(&led, "Bob"), [(417, 4)]);
    replayed(&led);
}

#[test]
fn what_was_voided_by_mistake_counts_again_and_both_stand_in_the_ledger() {
    let restore = |seat: Option<&str>| Correction::Restore {
        code: Code::new(417).unwrap(),
        steep: 1,
        seat: seat.map(String::from),
        reason: "the wrong cup".into(),
    };
    let mut led = given();
    let (before, owed) = (likings(&led, "Bob"), led.room.cups(led.room.last_at).len());
    let nothing = led.correct(restore(None)).unwrap_err().reason;
    assert_eq!(nothing, "417 steep 1 is not voided; there is nothing to restore");
    assert_eq!(led.correct(void(Some("Bob"))), Ok(1));
    assert_eq!(led.correct(restore(Some("Bob"))), Ok(1));
    assert_eq!(likings(&led, "Bob"), before);
    assert_eq!(led.correct(void(None)), Ok(1));
    assert_eq!(led.correct(restore(None)), Ok(1));
    assert_eq!((likings(&led, "Bob"), led.room.cups(led.room.last_at).len()), (before, owed));
    assert!(said(&led).ends_with("417 steep 1 counts again (3 scores): the wrong cup"), "{}", said(&led));
    replayed(&led);
    // What came after the mistake stays what counts.
    assert_eq!(led.correct(void(Some("Bob"))), Ok(1));
    let bob = led.room.seats[1].id;
    let again = led.room.enter(bob, score(Uuid::from_u128(9), 417, 1, 1, 4)).unwrap();
    again.into_iter().for_each(|event| led.happens(led.room.last_at, event));
    assert!(led.correct(restore(Some("Bob"))).is_err());
    assert_eq!(likings(&led, "Bob"), [(417, 4)]);
    replayed(&led);
}

#[test]
fn what_can_t_be_put_right_is_refused_in_words() {
    let mut led = given();
    let mut refused = |wish| led.correct(wish).unwrap_err().reason;
    let (code, reason) = (Code::new(417).unwrap(), String::from(" \u{202e} "));
    assert!(
        refused(Correction::Void { code, steep: 1, seat: None, reason: String::new() }).contains("say why")
    );
    assert!(refused(Correction::Void { code, steep: 9, seat: None, reason }).contains("no 417 steep 9"));
    assert!(refused(void(Some("Bop"))).ends_with("did you mean Bob?"));
    let nobody = Correction::Join { from: "Zachary".into(), into: "Bob".into() };
    assert_eq!(refused(nobody), "no seat is named Zachary");
}

//! How many may sit, and under which names.

use super::*;

#[test]
fn a_class_has_twice_the_places_it_expects_unless_the_teacher_says_so_and_who_was_sent_away_takes_none() {
    let mut led = Led { letting: Letting::default(), ..Led::two_ways() };
    let most = (2 * led.room.class.seats).max(8);
    for n in 0..most {
        led.join(&format!("Seat {n}"), None, None).unwrap();
    }
    let full = led.join("Ann", None, None).unwrap_err();
    assert_eq!(full.code, RefusalCode::ClassFull);
    assert_eq!(
        full.reason,
        format!(
            "all {most} places are taken; ask the teacher, who can type `places` and a greater number, or `away` and the name of somebody who does not belong here"
        )
    );
    let who = Who::Named("Seat 3".into());
    led.teacher(Teacher::Away { who, without_scores: false, reason: String::new() }, 1).unwrap();
    led.join("Ann", None, None).unwrap();
    let token = Token(led.fresh());
    let join = Join::new(led.room.class_id, "Bob", token);
    let (comer, fresh_seat) = (Comer::Says(token), SeatId(led.fresh()));
    led.command(
        &Command::Join {
            join,
            comer,
            fresh_seat,
            letting: Letting { places: Some(most + 1), by_name: false, on_paper: false },
        },
        2,
    )
    .unwrap();
}

#[test]
fn a_name_that_reads_like_anothers_in_other_letters_is_refused() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    for (name, code) in [
        ("A n n", RefusalCode::NameTaken),
        ("A.nn", RefusalCode::NameTaken),
        ("\u{410}nn", RefusalCode::BadName),
        ("E\u{432}a", RefusalCode::BadName),
    ] {
        let refused = led.join(name, None, None).unwrap_err();
        assert_eq!(refused.code, code, "{name}");
        assert!(
            !refused.reason.contains("Ann"),
            "whoever is not in yet does not hear who is: {}",
            refused.reason
        );
    }
    led.join("Anna", None, None).unwrap();
}

#[test]
fn who_is_let_in_by_name_takes_the_name_once_and_everything_else_that_is_asked_of_a_newcomer_is_asked_before()
{
    let mut led = Led::two_ways();
    led.join("Ann", Some(Token(Uuid::from_u128(2))), None).unwrap();
    led.letting.by_name = true;
    let code = |joined: Result<usize, Refusal>| joined.unwrap_err().code;
    for (name, refused) in [
        ("Bob", RefusalCode::NotAdmitted),
        ("ANN", RefusalCode::NameTaken),
        ("\u{410}nn", RefusalCode::BadName),
        ("A n n", RefusalCode::NotAdmitted),
        ("all", RefusalCode::BadName),
        ("\u{1b}", RefusalCode::BadName),
    ] {
        assert_eq!(code(led.join(name, None, None)), refused, "{name}");
    }
    assert_eq!(code(led.join("Bob", None, Some(9))), RefusalCode::BadPourer);
    assert_eq!(led.join("whoever", Some(Token(Uuid::from_u128(2))), None), Ok(0), "a seat needs nobody");
    assert_eq!(led.command(&Command::Admit("Bob".into()), 1), Ok(1));
    assert_eq!(led.command(&Command::Admit("BOB".into()), 1), Ok(0), "it is so already");
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room, "and still so after a restart");
    assert_eq!(led.join("bob", None, None), Ok(1));
    let who = Who::Named("bob".into());
    led.teacher(Teacher::Away { who, without_scores: false, reason: String::new() }, 2).unwrap();
    assert_eq!(code(led.join("Bob", None, None)), RefusalCode::NotAdmitted, "for the next of that name");
    led.letting.places = Some(1);
    assert_eq!(
        code(led.join("Cy", None, None)),
        RefusalCode::NotAdmitted,
        "there may be more places by then"
    );
    assert_eq!(led.command(&Command::Admit("Cy".into()), 3), Ok(1));
    assert_eq!(code(led.join("Cy", None, None)), RefusalCode::ClassFull);
}

//! How many may sit, and under which names.

use super::*;

#[test]
fn a_class_has_twice_the_places_it_expects_unless_the_teacher_says_so_and_who_was_sent_away_takes_none() {
    let mut led = Led { places: None, ..Led::two_ways() };
    let most = (2 * led.room.class.seats).max(8);
    for n in 0..most {
        led.join(&format!("Seat {n}"), None, None).unwrap();
    }
    let full = led.join("Ann", None, None).unwrap_err();
    assert_eq!(full.code, RefusalCode::ClassFull);
    assert_eq!(
        full.reason,
        format!(
            "all {most} places are taken; the teacher can type `away` and the name of somebody who does not belong here, or open the class again with --places and a greater number"
        )
    );
    let who = Who::Named("Seat 3".into());
    led.teacher(Teacher::Away { who, without_scores: false, reason: String::new() }, 1).unwrap();
    led.join("Ann", None, None).unwrap();
    let token = Token(led.fresh());
    let join = Join::new(led.room.class_id, "Bob", token);
    let (comer, fresh_seat) = (Comer::Says(token), SeatId(led.fresh()));
    led.command(&Command::Join { join, comer, fresh_seat, places: Some(most + 1) }, 2).unwrap();
}

#[test]
fn a_name_that_reads_like_anothers_in_other_letters_is_refused() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    let refused = led.join("\u{410}nn", None, None).unwrap_err();
    assert_eq!(refused.code, RefusalCode::NameTaken);
    assert_eq!(
        refused.reason,
        "that name looks like Ann's, in other letters; choose one that can be told apart"
    );
    led.join("Anna", None, None).unwrap();
}

//! What stands on a seat's page, and what never does.

use super::*;
use fixtures::{At, Filled, class_file, evening, room};
use proptest::prelude::*;
use protocol::{Code, Score};
use room::Event;
use summary::summarise;
use uuid::Uuid;

fn page(room: &Room, seat: &str) -> String {
    html(&summarise(room, room.last_at), room, seat).unwrap()
}

#[test]
fn the_page_is_as_it_was_read_last() {
    insta::assert_snapshot!("seat", page(&evening(&[0, 1, 2, 3]), "Edda").replace("><", ">\n<"));
}

/// The class with one more note of Ann's.
fn noted(revealed: &[usize]) -> Room {
    let mut room = evening(revealed);
    let seat = room.seat_named("Ann").unwrap().id;
    let kept = room.scores.of(seat, (Code::new(211).unwrap(), 1)).unwrap().score.clone();
    let score = Score { id: Uuid::from_u128(9), revision: 2, note: "warm <b>bread</b>".into(), ..kept };
    for event in room.enter(seat, score).unwrap() {
        room.fold(room.seq + 1, room.last_at, event);
    }
    room
}

#[test]
fn every_own_score_stands_beside_the_others_mean_and_nobody_else_is_named() {
    let room = noted(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    let page = page(&room, "Ann");
    let found = summary.findings.figures.seats.iter().find(|seat| seat.seat == "Ann").unwrap();
    assert_eq!(page.matches("class=\"strip\"").count(), found.scores.len() + 1, "each score and the key");
    for score in &found.scores {
        let beside = format!("{}<small> ({})</small>", score.own, signed(score.others_mean.unwrap()));
        assert!(page.contains(&beside), "{beside}");
    }
    for seat in summary.seats.iter().filter(|seat| seat.name != "Ann") {
        assert!(!page.contains(&seat.name), "{}", seat.name);
    }
    assert!(page.contains("“warm &lt;b&gt;bread&lt;/b&gt;”"), "the own note, and inert");
    assert!(
        page.contains("Tea 1 (211)")
            && page.contains("3 g leaf in 100 ml water at 95 °C. Steeps: 30 s, 40 s, 50 s.")
    );
    for alive in ["<script", "http", "url(", "src=", "@import", "<link"] {
        assert!(!page.contains(alive), "{alive}");
    }
}

#[test]
fn what_one_liked_best_and_wished_otherwise_comes_first() {
    let room = noted(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    let mine = |seat: &str| {
        let found = summary.findings.figures.seats.iter().find(|page| page.seat == seat).unwrap();
        liked_and_wished(&summary, found, &Own::of(&room, &summary, seat)).join("\n")
    };
    let all: Vec<String> = ["Ann", "Edda"].map(|seat| format!("{seat}:\n{}", mine(seat))).into();
    insta::assert_snapshot!("mine", all.join("\n"));
}

#[test]
fn the_mean_of_one_or_two_others_is_not_told() {
    for (seats, told) in [(2, false), (3, false), (4, true)] {
        let room = room(
            &class_file(2, 2, "[sheet]\nattributes = [\"liking\"]"),
            seats,
            &[],
            |At { seat, tea, .. }| {
                Some(Filled { values: vec![Some((seat + tea) as i32 + 2)], ..Filled::default() })
            },
        );
        let page = page(&room, &room.seats[0].name);
        assert_eq!(page.contains("<small> ("), told, "{seats}");
        assert_eq!(page.contains("it would tell what each of them gave"), !told, "{seats}");
        assert_eq!(page.contains("Too few others to set you beside them."), !told, "{seats}");
        assert_eq!(page.contains("<td class=\"number\">−"), told, "{seats}: how far below the class");
    }
}

#[test]
fn blind_teas_stay_blind() {
    let page = page(&noted(&[1]), "Ann");
    assert!(page.contains("211</b> is still blind") && page.contains("Tea 2 (224)"), "{page}");
    for hidden in ["Tea 1", "Tea 3", "Leaf 2", "3 g"] {
        assert!(!page.contains(hidden), "{hidden}");
    }
}

#[test]
fn whoever_has_scored_nothing_gets_the_recipes() {
    let room = room(&class_file(2, 1, ""), 2, &[0, 1], |At { seat, .. }| {
        (seat == 0).then(|| Filled { values: vec![Some(5)], ..Filled::default() })
    });
    let page = page(&room, "Bob");
    assert!(page.contains("You have scored nothing") && page.contains("Tea 2 (224)"), "{page}");
    assert!(!page.contains("Your cups"));
}

#[test]
fn the_text_says_the_same_votes_notes_and_recipes() {
    let room = noted(&[0, 1, 2, 3]);
    let text = crate::text::seat_page(&summarise(&room, room.last_at), &room, "Ann", 80).unwrap();
    for part in ["211/1  ", "“warm <b>bread</b>”", "TO BREW THEM AGAIN", "Steeps: 30"] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let renamed = {
        let mut room = noted(&[]);
        let seat = room.seats[0].id;
        room.fold(room.seq + 1, room.last_at, Event::Renamed { seat, name: "Anna".into() });
        room
    };
    assert!(page(&renamed, "Anna").contains("<h1>Anna and the class</h1>"));
}

#[test]
fn who_scores_every_tea_alike_or_few_teas_has_no_correlation() {
    let habits = |teas: usize, same: bool| {
        let class = class_file(teas, 3, "[sheet]\nattributes = [\"liking\"]");
        let room = room(&class, 4, &[], |At { seat, tea, steep }| {
            // Ann's steeps come to the same mean in every order; one of the others left one out.
            let own = if same { [6, 6, 7][(steep as usize + tea) % 3] } else { 3 + tea as i32 };
            let value = if seat == 0 { own } else { 2 + ((seat * 5 + tea * 3) % 6) as i32 };
            ((seat, tea, steep) != (1, 0, 2))
                .then(|| Filled { values: vec![Some(value)], ..Filled::default() })
        });
        let page = page(&room, "Ann");
        page.split("<details>").nth(1).unwrap().to_string()
    };
    let cell = |text: &str| format!("<td class=\"number\">{text}</td></tr>");
    assert!(habits(4, false).contains(&cell("too few teas to say")));
    assert!(habits(6, true).contains(&cell("–")), "{}", habits(6, true));
    assert!(!habits(6, false).contains("too few teas") && !habits(6, false).contains(&cell("–")));
}

#[test]
fn the_names_of_files_are_plain_and_never_the_same() {
    let names = file_names(&["Ann", "../../etc", "a/b", "a b", "CON", "王小明", "\u{1F375}", "."]);
    assert_eq!(names, ["01-Ann", "02-etc", "03-a-b", "04-a-b", "05-CON", "06-王小明", "07", "08"]);
}

proptest! {
    #[test]
    fn whatever_seats_are_called_their_files_differ_and_stay_in_the_folder(seats in prop::collection::vec("\\PC{0,12}", 1..120)) {
        let seats: Vec<&str> = seats.iter().map(String::as_str).collect();
        let names = file_names(&seats);
        let lower: std::collections::BTreeSet<String> = names.iter().map(|name| name.to_lowercase()).collect();
        prop_assert_eq!(lower.len(), seats.len());
        let plain = |c: char| c.is_alphanumeric() || c == '-';
        prop_assert!(names.iter().all(|name| name.chars().all(plain) && name.len() < 200));
    }
}

//! What stands on a card, and what never does.

use super::*;
use fixtures::{At, Filled, class_file, evening, room};
use room::Room;
use summary::summarise;

fn page(room: &Room) -> String {
    html(&summarise(room, room.last_at))
}

const SHEET: &str =
    "[sheet]\nattributes = [{ name = \"Liking\", min = 1, max = 9 }]\nwords = [\"floral\", \"warm bread\"]";

/// Twelve tasters of two teas, of whom all find the second too thin at each steep and most the first just right.
fn twelve(revealed: &[usize]) -> Room {
    room(&class_file(2, 2, SHEET), 12, revealed, |At { seat, tea, .. }| {
        let words = if seat < 5 { vec!["warm bread".into()] } else { vec!["floral".into()] };
        let strength = if tea == 1 { Some(-1 - (seat % 2) as i8) } else { Some([1, 0, -1, 0][seat % 4]) };
        Some(Filled { values: vec![Some(4 + tea as i32)], strength, words })
    })
}

fn of<'a>(page: &'a str, code: &str) -> &'a str {
    page.split("<article").find(|card| card.contains(&format!("<p>{code} · "))).unwrap()
}

#[test]
fn the_cards_are_as_they_were_read_last() {
    insta::assert_snapshot!("cards", page(&evening(&[0, 1, 2, 3])).replace("><", ">\n<"));
}

#[test]
fn a_card_has_name_leaf_dose_ladder_liking_words_day_and_cautions() {
    let page = page(&twelve(&[0, 1]));
    assert_eq!(page.matches("<article").count(), 2);
    let card = of(&page, "224");
    for part in [
        "<h2>Tea 2</h2>",
        "Leaf: Leaf 1",
        "5 g leaf in 100 ml water",
        "95 °C",
        "steep 1</small><b>30\u{a0}s",
        "steep 2</small><b>40\u{a0}s",
        "5.0 on a scale from 1 to 9, mean of 12 tasters",
        "floral 7 of 12, warm bread 5 of 12",
        "2026-11-28",
        "Hot water scalds",
        "Caffeine",
        "Allergies",
    ] {
        assert!(card.contains(part), "{part}: {card}");
    }
}

#[test]
fn only_what_the_votes_show_would_be_changed() {
    let page = page(&twelve(&[0, 1]));
    let longer = "Longer: 12 of 12 tasters found it rather too thin.";
    assert!(of(&page, "224").contains(longer), "{page}");
    assert_eq!(of(&page, "224").matches("<span class=\"try\">try <b>").count(), 2, "a time under each steep");
    assert!(
        of(&page, "224").contains("a rough guess") && !of(&page, "211").contains("class=\"try\""),
        "{page}"
    );
    let next = |code: &str| {
        let card = of(&page, code).split("<dt>Next time</dt><dd>").nth(1).unwrap().to_string();
        card.split("</dd>").next().unwrap().to_string()
    };
    assert_eq!(next("211"), "The votes on steeps 1 and 2 are divided.");
    let few = room(&class_file(2, 2, SHEET), 3, &[0, 1], |_| {
        Some(Filled { values: vec![Some(5)], strength: Some(-1), words: Vec::new() })
    });
    let page = self::page(&few);
    let said = "All 3 found it too thin (6 of 6 votes). With 3 tasters that can't be shown: ask 7.";
    assert_eq!(page.matches(said).count(), 2, "{page}");
    assert!(page.contains("none ticked"));
}

#[test]
fn a_blind_tea_has_a_card_by_its_code_alone() {
    let page = page(&twelve(&[0]));
    let card = of(&page, "224");
    assert!(
        card.contains("<h2>224</h2>") && card.contains("Still blind") && card.contains("mean of 12 tasters"),
        "{card}"
    );
    for hidden in ["Tea 2", "5 g", "95 °C", "40\u{a0}s"] {
        assert!(!card.contains(hidden), "{hidden}");
    }
    assert!(!page.contains("Tea 2"));
}

#[test]
fn what_people_write_is_shown_and_never_runs() {
    let class = class_file(1, 1, SHEET).replace("\"Tea 1\"", "'<script>alert(1)</script>'");
    let page = page(&room(&class, 1, &[0], |_| None));
    assert!(page.contains("&lt;script&gt;alert(1)") && !page.contains("<script"), "{page}");
    assert!(!page.contains("on a scale"), "nobody scored it");
    for fetched in ["http", "url(", "src=", "@import", "<link"] {
        assert!(!page.contains(fetched), "{fetched}");
    }
}

#[test]
fn a_steep_that_was_done_again_is_on_the_card_once_as_it_was_the_last_time() {
    let mut room = twelve(&[0, 1]);
    let code = room.class.coded().nth(1).unwrap().0;
    let act = class::course::Act::Added { code, round: 3, steep: 1, steep_s: 33, temp_c: 95.0 };
    let steered = room::Event::Steered { act, suggested: Vec::new(), timetable: None };
    room.fold(room.seq + 1, room.last_at, steered);
    let mut score = room.scores.all()[0].score.clone();
    (score.id, score.code, score.steep) = (uuid::Uuid::from_u128(77), code, 3);
    let seat = room.seats[0].id;
    room.fold(room.seq + 1, room.last_at, room::Event::Scored { seat, score, on_paper: false });
    let page = page(&room);
    let card = of(&page, "224");
    let ladder: Vec<&str> =
        card.split("<small>steep ").skip(1).map(|rung| &rung[..rung.find("</b>").unwrap()]).collect();
    assert_eq!(ladder, ["1</small><b>33\u{a0}s", "2</small><b>40\u{a0}s"], "{card}");
    assert!(card.contains("Steep 1 was done again; the last one stands here."), "{card}");
    assert!(!of(&page, "211").contains("again"), "{page}");
    let summary = summarise(&room, room.last_at);
    let words = Recipe::of(summary.teas.iter().find(|tea| tea.code == code).unwrap()).unwrap().words();
    assert!(
        words.ends_with("Steeps: 33 s, 40 s. Steep 1 was done again; the last one stands here."),
        "{words}"
    );
}

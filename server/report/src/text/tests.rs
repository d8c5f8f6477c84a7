//! The page as a person sees it.

use crate::text::{seat_page, text, within};
use fixtures::evening;
use summary::summarise;

#[test]
fn a_revealed_class_reads_from_what_was_found_to_how() {
    let room = evening(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    insta::assert_snapshot!("page-80", text(&summary));
    insta::assert_snapshot!("page-60", within(&summary, 60));
    insta::assert_snapshot!("seat-80", seat_page(&summary, &room, "Edda", 80).unwrap());
}

#[test]
fn steeps_that_followed_the_votes_have_a_part_of_their_own_in_every_form() {
    let mut room = evening(&[0, 1, 2, 3]);
    let (code, tea) = room.class.coded().next().unwrap();
    let (planned_s, taken_s) = (tea.steep_s[1], tea.steep_s[1] + 12);
    let adapted = room::Adapted {
        code,
        round: 2,
        steep: 2,
        votes: plan::ladder::Votes([0, 5, 2, 0, 0]),
        could_vote: 8,
        planned_s,
        suggested_s: Some(taken_s),
        taken_s,
        followed: true,
    };
    let steeps = vec![class::course::Timed { code, round: 2, steep_s: taken_s }];
    let act = class::course::Act::Timed { steeps };
    let event = room::Event::Steered { act, suggested: vec![adapted], timetable: None };
    room.fold(room.seq + 1, room.last_at, event);
    let summary = summarise(&room, room.last_at);
    let said = &summary.adapted[0].text;
    assert!(said.contains(&format!(
        "sat {taken_s} s as the votes suggested, planned {planned_s} s. Votes on the steep before: 5 too thin"
    )));
    let page = text(&summary);
    let squeezed = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(squeezed.contains(&format!("STEEPS CHANGED BY THE VOTES {said}")), "{page}");
    let html = crate::page::html(&summary);
    assert!(html.contains("<h2>Steeps changed by the votes</h2>"));
    let none = summarise(&evening(&[0, 1, 2, 3]), room.last_at);
    assert!(!text(&none).contains("STEEPS CHANGED") && !crate::page::html(&none).contains("Steeps changed"));
}

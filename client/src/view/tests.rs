//! Whole screens.

mod tables;

use super::draw;
use crate::fixture::{
    Desk, again, any_key, any_sheet, code, cue, duo_trio, score, timetable, triangle, welcome, with_words,
};
use proptest::prelude::*;
use protocol::wire::{HostMessage, Saying, Welcome};
use protocol::{Action, Cue, Phase, Strength, TeaCard, Timetable};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use seat::app::{Event, Key, LinkEvent};

fn screen(desk: &Desk, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| draw(frame, &desk.app, desk.now)).unwrap();
    terminal.backend().to_string()
}

macro_rules! both_sizes {
    ($name:literal, $desk:expr) => {
        insta::assert_snapshot!(concat!($name, "_80x24"), screen($desk, 80, 24));
        insta::assert_snapshot!(concat!($name, "_60x20"), screen($desk, 60, 20));
    };
}

fn at(second: i64) -> Desk {
    let mut desk = Desk::seated(welcome(Phase::Running));
    desk.go_to(second);
    desk
}

/// A sheet half filled, after the first cup was scored.
fn scoring() -> Desk {
    let mut desk = at(116);
    desk.keys("7658");
    desk.key(Key::Enter);
    desk.go_to(118);
    desk.keys("64");
    desk
}

#[test]
fn the_first_screen_looks_for_the_class() {
    let mut desk = Desk::new();
    desk.link(LinkEvent::Dialling(1));
    insta::assert_snapshot!("looking_80x24", screen(&desk, 80, 24));
}

#[test]
fn a_host_that_asks_for_the_join_code_gets_it_typed_in() {
    let mut desk = Desk::new();
    let reason = "a join code is needed here; it is on the teacher's screen".into();
    desk.link(LinkEvent::CodeAsked { reason });
    both_sizes!("code", &desk);
    desk.keys("kx7");
    assert!(screen(&desk, 30, 5).contains("join code: KX7_"));
    desk.keys("m-q");
    desk.key(Key::Enter);
    insta::assert_snapshot!("code_too_short_80x24", screen(&desk, 80, 24));
}

#[test]
fn the_lobby_has_the_cautions() {
    both_sizes!("lobby", &Desk::seated(welcome(Phase::Lobby)));
}

#[test]
fn while_the_work_lasts_it_stands_in_large_letters() {
    both_sizes!("pouring", &at(37));
}

#[test]
fn between_cues_the_large_figures_count_down() {
    both_sizes!("steeping", &at(67));
    both_sizes!("countdown", &at(78));
}

#[test]
fn the_sheet_is_filled_below_the_teas() {
    both_sizes!("scoring", &scoring());
}

#[test]
fn words_unfold_when_the_keys_are_on_them() {
    let mut desk = Desk::seated(with_words(Phase::Running));
    desk.go_to(118);
    desk.keys("76580");
    both_sizes!("words_folded", &desk);
    desk.key(Key::Down);
    desk.keys(" oc w ");
    both_sizes!("words_unfolded", &desk);
    desk.key(Key::Down);
    desk.keys("like a wet wall");
    both_sizes!("words_ticked", &desk);
    insta::assert_snapshot!("words_40x12", screen(&desk, 40, 12));
    desk.key(Key::Up);
    desk.keys("p");
    insta::assert_snapshot!("words_unfolded_40x12", screen(&desk, 40, 12));
    desk.key(Key::Help);
    insta::assert_snapshot!("keys_with_words_60x20", screen(&desk, 60, 20));
}

#[test]
fn a_test_stands_in_the_place_of_the_sheet() {
    let mut desk = at(120);
    desk.host(HostMessage::Test { seq: 20, card: triangle() });
    desk.go_to(121);
    both_sizes!("triangle", &desk);
    desk.keys("2");
    insta::assert_snapshot!("triangle_chosen_60x20", screen(&desk, 60, 20));
    desk.key(Key::Enter);
    desk.host(HostMessage::Test { seq: 21, card: duo_trio() });
    desk.key(Key::Right);
    desk.go_to(140);
    both_sizes!("duo_trio", &desk);
    insta::assert_snapshot!("duo_trio_40x12", screen(&desk, 40, 12));
    desk.key(Key::Help);
    insta::assert_snapshot!("keys_with_a_test_60x20", screen(&desk, 60, 20));
}

#[test]
fn what_the_teacher_says_stays_beside_what_is_kept_and_a_key_shows_all_of_it() {
    let mut desk = scoring();
    let spill = "the pot of 238 was spilled: leave its cup, it does not count, and taste the others again while they are warm";
    for (seq, words) in
        [(21, "breathe out through the nose"), (23, spill), (25, "water is on the side table")]
    {
        desk.host(HostMessage::Said(Saying { seq, words: words.into(), to_you: seq == 25 }));
    }
    desk.go_to(119);
    both_sizes!("said", &desk);
    desk.key(Key::Enter);
    both_sizes!("said_and_sent", &desk);
    desk.go_to(145);
    both_sizes!("said_at_length", &desk);
    desk.key(Key::Char('/'));
    insta::assert_snapshot!("said_at_length_while_asked_60x20", screen(&desk, 60, 20));
    desk.key(Key::Esc);
    desk.key(Key::Char('!'));
    both_sizes!("said_page", &desk);
    desk.key(Key::Esc);
    desk.key(Key::Help);
    insta::assert_snapshot!("keys_with_something_said_60x20", screen(&desk, 60, 20));
}

#[test]
fn a_steep_that_is_done_again_is_called_the_same_in_every_row() {
    let mut desk = Desk::seated(again(Phase::Running));
    desk.go_to(352);
    insta::assert_snapshot!("again_pouring_60x20", screen(&desk, 60, 20));
    desk.go_to(420);
    desk.keys("7");
    both_sizes!("again", &desk);
    let mut taster = Desk::seated(Welcome { hands: None, ..again(Phase::Running) });
    taster.go_to(380);
    insta::assert_snapshot!("again_next_cup_60x20", screen(&taster, 60, 20));
    taster.go_to(412);
    insta::assert_snapshot!("again_ready_60x20", screen(&taster, 60, 20));
}

#[test]
fn what_has_no_room_after_the_class_stands_on_another_page() {
    let numbers = [265, 391, 496, 709, 771];
    let card = &welcome(Phase::Closed).teas[0];
    let teas = numbers.map(|number| TeaCard { code: code(number), steeps: 3, ..card.clone() }).into();
    let scores = numbers.iter().flat_map(|number| (1..=3).map(|steep| score(3, *number, steep))).collect();
    let mut desk = Desk::seated(Welcome { teas, scores, ..welcome(Phase::Closed) });
    desk.go_to(400);
    let mut both = screen(&desk, 60, 20);
    desk.key(Key::Down);
    both += &screen(&desk, 60, 20);
    for number in numbers {
        assert!(both.contains(&format!(" {number} · still blind")), "{both}");
    }
    assert_eq!(both.matches("aroma 7, liking 8").count(), 15, "{both}");
    assert!(both.contains(" ↑↓ page "), "{both}");
}

#[test]
fn what_is_said_takes_two_rows_where_one_has_no_room() {
    let mut desk = at(100);
    desk.keys("76582");
    desk.key(Key::Enter);
    let id = desk.app.outbox()[0].id;
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let shown = screen(&desk, 60, 20);
    let last: Vec<&str> = shown.lines().skip(18).map(|row| row.trim_matches(['"', ' '])).collect();
    let words = ["417 steep 1 is kept: aroma 7, taste 6, aftertaste 5,", "liking 8, much too strong"];
    assert_eq!(last, words, "{shown}");
}

#[test]
fn a_closed_class_shows_what_was_answered() {
    let mut desk = at(120);
    desk.host(HostMessage::Test { seq: 20, card: triangle() });
    desk.go_to(121);
    desk.keys("2");
    desk.key(Key::Enter);
    desk.lose_link();
    let id = desk.app.answers_waiting()[0].id;
    desk.host(HostMessage::Course { seq: 41, phase: Phase::Closed, timetable: timetable(2) });
    desk.go_to(400);
    insta::assert_snapshot!("closed_with_an_answer_waiting_60x20", screen(&desk, 60, 20));
    desk.host(HostMessage::Accepted { seq: 42, id, link: String::new() });
    desk.go_to(420);
    insta::assert_snapshot!("closed_with_an_answer_60x20", screen(&desk, 60, 20));
}

#[test]
fn forty_long_words_keep_the_one_in_hand_in_sight() {
    let mut welcome = with_words(Phase::Running);
    welcome.sheet.words = (0..40).map(|n| format!("a rather long word, number {n}")).collect();
    let mut desk = Desk::seated(welcome);
    desk.go_to(118);
    for _ in 0..5 {
        desk.key(Key::Down);
    }
    for n in 0..40 {
        for (width, height) in [(80, 24), (60, 20), (40, 12)] {
            let shown = screen(&desk, width, height);
            assert!(shown.contains("› a rather long word"), "word {n} at {width}×{height}: {shown}");
        }
        desk.key(Key::Right);
    }
}

#[test]
fn a_class_that_holds_says_so() {
    let mut desk = at(120);
    let wet = timetable(2).cues.into_iter().take(7).collect();
    let timetable = protocol::Timetable::new(2, wet);
    desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable });
    both_sizes!("held", &desk);
}

#[test]
fn a_lost_link_is_told_and_the_cues_go_on() {
    let mut desk = at(100);
    desk.lose_link();
    desk.go_to(101);
    desk.keys("7658");
    desk.key(Key::Enter);
    desk.go_to(112);
    desk.lose_link();
    both_sizes!("disconnected", &desk);
}

#[test]
fn a_closed_class_shows_what_this_seat_found() {
    let mut second = score(4, 417, 2);
    second.strength = Some(Strength::TooThin);
    second.note = "warm bread, then something like wet slate after rain".into();
    let scores = vec![score(3, 417, 1), second, score(5, 238, 1)];
    let mut desk = Desk::seated(Welcome { scores, ..welcome(Phase::Closed) });
    let name = Some("Lantern Slope".to_string());
    let card = TeaCard { code: code(417), steeps: 2, name, leaf: Some("lantern".into()), recipe: None };
    desk.host(HostMessage::Revealed { seq: 40, teas: vec![card] });
    both_sizes!("closed", &desk);
}

#[test]
fn a_closed_class_says_which_sheets_were_not_sent() {
    let mut desk = scoring();
    desk.host(HostMessage::Course { seq: 41, phase: Phase::Closed, timetable: timetable(2) });
    desk.go_to(400);
    both_sizes!("closed_with_a_draft", &desk);
}

#[test]
fn a_warning_stays_until_a_key_is_pressed() {
    let mut desk = at(60);
    let words = "can't write the seat's file `/tea/seat-ann.json`: No space left on device; give another place with \
                 --keep; scores are only in memory now";
    desk.event(Event::Warn(words.into()));
    desk.go_to(100);
    both_sizes!("warning", &desk);
    desk.keys("7");
    assert!(!screen(&desk, 80, 24).contains("WARNING"));
    assert!(screen(&desk, 80, 24).contains("[7]"), "the key does its work all the same");
}

#[test]
fn the_keys_are_explained() {
    let mut desk = at(67);
    desk.key(Key::Char('?'));
    insta::assert_snapshot!("keys_60x20", screen(&desk, 60, 20));
}

#[test]
fn a_small_window_still_shows_what_to_do() {
    insta::assert_snapshot!("small_40x12", screen(&scoring(), 40, 12));
    insta::assert_snapshot!("tiny_30x5", screen(&at(37), 30, 5));
}

#[test]
fn long_scales_and_many_teas_are_cut_with_a_mark() {
    let mut crowded = welcome(Phase::Running);
    crowded.sheet.attributes[0].max = 100;
    let more = (500..512).map(|n| TeaCard { code: code(n), steeps: 9, name: None, leaf: None, recipe: None });
    crowded.teas.extend(more);
    let mut cues = crowded.timetable.cues.clone();
    cues.extend((500..512).map(|n| Cue { hands: 2, ..cue(112, Action::Decant, Some(n), 1, 1) }));
    crowded.timetable = Timetable::new(crowded.timetable.revision, cues);
    let mut desk = Desk::seated(crowded);
    desk.go_to(90);
    insta::assert_snapshot!("crowded_80x24", screen(&desk, 80, 24));
}

#[test]
fn no_window_is_too_small_to_draw() {
    for desk in [at(37), scoring(), Desk::new(), Desk::seated(welcome(Phase::Closed))] {
        for (width, height) in (1..90).flat_map(|w| (1..26).map(move |h| (w, h))).step_by(7) {
            screen(&desk, width, height);
        }
    }
}

#[test]
fn no_colour_is_used() {
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let desk = scoring();
    terminal.draw(|frame| draw(frame, &desk.app, desk.now)).unwrap();
    let reset = ratatui::style::Color::Reset;
    assert!(terminal.backend().buffer().content().iter().all(|cell| cell.fg == reset && cell.bg == reset));
}

proptest! {
    #[test]
    fn whatever_is_pressed_can_be_drawn(
        sheet in any_sheet(),
        keys in prop::collection::vec((any_key(), 0i64..8), 0..60),
    ) {
        let welcome = Welcome { sheet, timetable: timetable(1), ..welcome(Phase::Running) };
        let mut desk = Desk::seated(welcome);
        let mut second = 30;
        for (key, wait_s) in keys {
            second += wait_s;
            desk.go_to(second);
            desk.key(key);
            screen(&desk, 60, 20);
        }
    }
}

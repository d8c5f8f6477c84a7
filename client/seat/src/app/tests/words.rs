//! The words of a sheet: how they are ticked.

use super::*;
use crate::fixture::WORDS;

fn on_the_words() -> Desk {
    let mut desk = Desk::seated(crate::fixture::with_words(Phase::Running));
    desk.go_to(96);
    desk.keys("7658");
    desk.keys("3");
    desk.key(Key::Down);
    desk.take();
    desk
}

fn sheet() -> Vec<&'static str> {
    WORDS.to_vec()
}

#[test]
fn words_are_found_by_arrow_or_first_letter_and_ticked_with_space() {
    let mut desk = on_the_words();
    desk.key(Key::Right);
    desk.keys(" ");
    // The next word with this letter, and round again.
    desk.keys("s s f ");
    desk.key(Key::Left);
    assert_eq!(WORDS[desk.app.desk.word], *WORDS.last().unwrap(), "before the first comes the last");
    desk.key(Key::Enter);
    let score = sent(&desk.take()).remove(0);
    let in_order: Vec<_> = sheet().into_iter().filter(|w| score.words.iter().any(|s| s == w)).collect();
    assert_eq!(score.words, in_order, "as they stand on the sheet");
    assert_eq!(score.words, ["floral", "fruity", "smoky", "sweet"]);
    assert_eq!(score.note, "", "a letter there is no beginning of a note");
}

#[test]
fn a_second_space_and_a_backspace_take_a_word_off() {
    let mut desk = on_the_words();
    desk.keys(" f  ");
    desk.key(Key::Left);
    desk.key(Key::Backspace);
    desk.key(Key::Backspace);
    assert_eq!(desk.app.shown(Cup { code: fixture::code(417), steep: 1 }).words, Vec::<String>::new());
    desk.keys("x");
    assert_eq!(desk.app.notice(desk.now), Some("no word begins with x; Space ticks, ↑↓ another line"));
}

#[test]
fn ticked_words_come_back_with_the_seat() {
    let mut desk = on_the_words();
    desk.keys(" f ");
    desk.key(Key::Down);
    let kept = desk.app.kept().clone();
    let mut again = Desk::new();
    again.app = App::new("Ann", kept);
    again.now = desk.now;
    again.link_up(crate::fixture::with_words(Phase::Running));
    assert_eq!(again.app.shown(Cup { code: fixture::code(417), steep: 1 }).words, ["floral", "fruity"]);
}

#[test]
fn typed_words_are_taken_in_whatever_capitals_and_order_and_a_strange_one_is_not() {
    let mut desk = on_the_words();
    let fill = |words: &[&str]| Fill {
        words: words.iter().map(ToString::to_string).collect(),
        ..Fill::of(fixture::code(417))
    };
    desk.event(Event::Fill(fill(&["SMOKY", "floral", "smoky"])));
    assert_eq!(sent(&desk.take())[0].words, ["floral", "smoky"], "only words make a score, too");
    desk.event(Event::Fill(fill(&["floral", "minty"])));
    let said = desk.said();
    let Happening::NotTaken { reason, .. } = &said[0] else { panic!("{said:?}") };
    assert_eq!(*reason, format!("the sheet has no word `minty`; it has {}", WORDS.join(", ")));
    let mut plain = running();
    plain.go_to(96);
    plain.take();
    plain.event(Event::Fill(fill(&["floral"])));
    assert!(
        matches!(&plain.said()[..], [Happening::NotTaken { reason, .. }] if reason.ends_with("does not ask for words"))
    );
}

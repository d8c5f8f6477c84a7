//! What a seat does, from events to effects.

use super::*;
use crate::fixture::{self, Desk, any_key, any_sheet, cue, score, timetable, welcome};
use proptest::prelude::*;
use protocol::wire::{HostMessage, RefusalCode, SeatMessage, Welcome};
use protocol::{Action, Attribute, HostTime, Sheet, TeaCard, Timetable};

mod back;
mod closing;
mod cues;
mod difference;
mod door;
mod fingers;
mod hand;
mod reopened;
mod roles;
mod said;
mod voids;
mod words;

fn running() -> Desk {
    Desk::seated(welcome(Phase::Running))
}

fn sent(effects: &[Effect]) -> Vec<Score> {
    let score = |e: &Effect| if let Effect::Send(SeatMessage::Score(s)) = e { Some(s.clone()) } else { None };
    effects.iter().filter_map(score).collect()
}

#[test]
fn a_score_is_kept_before_it_is_sent_and_leaves_the_outbox_only_when_acknowledged() {
    let mut desk = running();
    desk.go_to(96);
    desk.take();
    desk.keys("76");
    desk.key(Key::Enter);
    let effects = desk.take();
    assert_eq!(effects[0], Effect::Keep);
    let score = sent(&effects).remove(0);
    assert_eq!((score.code, score.steep, score.revision), (fixture::code(417), 1, 1));
    assert_eq!(desk.app.outbox(), std::slice::from_ref(&score));
    assert_eq!(desk.app.cup_state(Cup::of(&score)), CupState::Sent);
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: String::new() });
    assert!(desk.app.outbox().is_empty());
    assert_eq!(desk.app.cup_state(Cup::of(&score)), CupState::Kept);
    desk.take();
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: String::new() });
    assert!(desk.take().is_empty(), "a repeated acknowledgement changes nothing");
}

#[test]
fn after_every_welcome_the_outbox_is_sent_again_in_order() {
    let mut desk = running();
    desk.go_to(115);
    desk.lose_link();
    for code in [417, 238] {
        desk.event(Event::Fill(Fill { values: vec![Some(5)], ..Fill::of(fixture::code(code)) }));
    }
    assert!(sent(&desk.take()).is_empty(), "there is no link to send by");
    desk.link_up(welcome(Phase::Running));
    let again = sent(&desk.take());
    assert_eq!(again.iter().map(|s| s.code.to_string()).collect::<Vec<_>>(), ["417", "238"]);
    assert_eq!(again, desk.app.outbox());
}

#[test]
fn an_outbox_from_an_earlier_run_is_sent_on_joining() {
    let mut kept = Kept::new(Uuid::from_u128(77));
    let w = welcome(Phase::Running);
    kept.seated(fixture::CLASS, w.seat, "Ann");
    kept.put_in(fixture::CLASS, score(3, 417, 1));
    let mut desk = Desk::new();
    desk.app = App::new("Ann", kept);
    desk.link_up(w);
    assert_eq!(sent(&desk.take()), [score(3, 417, 1)]);
}

#[test]
fn a_declined_sheet_comes_back_as_a_draft_with_the_reason() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    let score = sent(&desk.take()).remove(0);
    let reason = "the class holds its breath".to_string();
    desk.host(HostMessage::Declined { id: score.id, code: RefusalCode::NotPoured, reason: reason.clone() });
    assert!(desk.app.outbox().is_empty());
    assert_eq!(desk.app.desk.drafts[&Cup::of(&score)], Filled::from(&score));
    assert!(desk.app.notice(desk.now).unwrap().contains(&reason));
    desk.key(Key::Enter);
    let again = sent(&desk.take()).remove(0);
    assert_ne!(again.id, score.id);
}

#[test]
fn a_declined_sheet_does_not_come_back_over_a_newer_one() {
    let mut desk = running();
    desk.go_to(96);
    for value in [3, 8] {
        desk.event(Event::Fill(Fill { values: vec![Some(value)], ..Fill::of(fixture::code(417)) }));
    }
    let ids: Vec<_> = desk.app.outbox().iter().map(|score| score.id).collect();
    let (code, reason) = (RefusalCode::NotPoured, "too early".to_string());
    desk.host(HostMessage::Declined { id: ids[0], code, reason });
    desk.host(HostMessage::Accepted { seq: 20, id: ids[1], link: String::new() });
    desk.take();
    desk.go_to(175);
    assert_eq!(sent(&desk.take()), [], "nothing stands on the sheet when it closes");
}

#[test]
fn revisions_go_on_from_the_highest_known_after_joining_again() {
    let known = Score { revision: 4, ..score(3, 417, 1) };
    let mut desk = Desk::seated(Welcome { scores: vec![known], ..welcome(Phase::Running) });
    desk.go_to(96);
    let fill = Fill { values: vec![Some(5); 4], ..Fill::of(fixture::code(417)) };
    desk.event(Event::Fill(fill.clone()));
    desk.event(Event::Fill(fill));
    let revisions: Vec<_> = sent(&desk.take()).iter().map(|s| s.revision).collect();
    assert_eq!(revisions, [5, 6]);
}

/// A seat whose sheet of 417 is taken: aroma 7, liking 8, too thin, with a note.
fn kept_with_a_note() -> Desk {
    let strength = Some(protocol::Strength::TooThin);
    let known = Score { strength, note: "warm bread".into(), ..score(3, 417, 1) };
    let mut desk = Desk::seated(Welcome { scores: vec![known], ..welcome(Phase::Running) });
    desk.go_to(96);
    desk.take();
    desk
}

#[test]
fn a_line_shorter_than_what_was_sent_is_asked_about_and_drops_nothing() {
    let mut desk = kept_with_a_note();
    let line = |values: &[Option<i32>]| Fill { values: values.to_vec(), ..Fill::of(fixture::code(417)) };
    desk.event(Event::Fill(line(&[Some(6)])));
    let reason = "417 steep 1 has aroma 7, liking 8, too thin, “warm bread”; type all 4 values to replace them, \
                  - for a blank, or `417/1 aroma 6` to change one";
    let reason = reason.to_string();
    assert_eq!(desk.take(), [Effect::Say(Happening::NotTaken { id: None, reason })]);
    desk.event(Event::Fill(line(&[Some(6), None, None, None])));
    let score = sent(&desk.take()).remove(0);
    assert_eq!(score.values, [("aroma".to_string(), 6)].into(), "blanks that are typed are meant");
    assert_eq!((score.strength, score.note.as_str()), (Some(protocol::Strength::TooThin), "warm bread"));
}

#[test]
fn a_line_with_names_changes_what_it_names_alone() {
    let mut desk = kept_with_a_note();
    let named = vec![("Liking".to_string(), Some(2)), ("taste".to_string(), Some(5))];
    let cleared = vec![Cleared::Strength];
    desk.event(Event::Fill(Fill { named, cleared, ..Fill::of(fixture::code(417)) }));
    let score = sent(&desk.take()).remove(0);
    let values = [("aroma", 7), ("liking", 2), ("taste", 5)].map(|(name, value)| (name.to_string(), value));
    assert_eq!((score.values, score.strength), (values.into(), None));
    assert_eq!(score.note, "warm bread");
    let named = vec![("arma".to_string(), Some(2))];
    desk.event(Event::Fill(Fill { named, ..Fill::of(fixture::code(417)) }));
    let reason = "the sheet has no line `arma`; it has aroma, taste, aftertaste, liking".to_string();
    assert_eq!(desk.take(), [Effect::Say(Happening::NotTaken { id: None, reason })]);
}

#[test]
fn another_class_at_the_same_address_starts_from_a_clean_desk() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    let other = Welcome { class_id: Uuid::from_u128(77), title: "Other".into(), ..welcome(Phase::Running) };
    desk.host(HostMessage::Welcome(Box::new(other)));
    assert!(desk.app.desk.drafts.is_empty());
    assert_eq!(desk.app.title(), Some("Other"));
    assert_eq!(desk.app.host_now(desk.now), None, "its clock is another clock");
}

#[test]
fn a_class_that_begins_in_place_of_one_that_was_not_closed_is_said_with_the_scores_that_were_kept() {
    for (closed, kept, said) in [(false, 1, true), (false, 0, false), (true, 1, false)] {
        let mut desk = running();
        desk.go_to(96);
        for _ in 0..kept {
            desk.keys("7658");
            desk.key(Key::Enter);
            let score = sent(&desk.take()).remove(0);
            desk.host(HostMessage::Accepted { seq: 13, id: score.id, link: "00".into() });
        }
        if closed {
            desk.host(HostMessage::Course { seq: 14, phase: Phase::Closed, timetable: Default::default() });
        }
        desk.take();
        let other = Welcome { class_id: Uuid::from_u128(77), title: "Other".into(), ..welcome(Phase::Lobby) };
        desk.host(HostMessage::Welcome(Box::new(other)));
        let words = crate::words::another_class(1);
        let warned = desk.take().contains(&Effect::Say(Happening::Warning(words)));
        assert_eq!(warned, said, "closed {closed}, {kept} kept");
    }
}

#[test]
fn digits_fill_the_lines_and_enter_sends_from_anywhere() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7658");
    desk.keys("-1");
    desk.key(Key::Down);
    desk.keys("warm ");
    desk.key(Key::Paste("bread\n\u{1b}[2J".into()));
    desk.key(Key::Enter);
    let score = sent(&desk.take()).remove(0);
    let values: Vec<_> = score.values.iter().map(|(name, v)| format!("{name} {v}")).collect();
    assert_eq!(values, ["aftertaste 5", "aroma 7", "liking 8", "taste 6"]);
    assert_eq!(score.strength, Some(protocol::Strength::TooThin));
    assert_eq!(score.note, "warm bread  [2J");
}

#[test]
fn on_scales_to_ten_and_from_nought_a_second_digit_joins_the_first_if_it_can() {
    let attribute = |name: &str| Attribute { name: name.into(), min: 0, max: 10, low: None, high: None };
    let sheet = Sheet {
        attributes: vec![attribute("a"), attribute("b"), attribute("c")],
        strength: false,
        note: false,
        words: Vec::new(),
    };
    for (keys, wanted) in
        [("1027", [10, 2, 7]), ("150", [1, 5, 0]), ("001", [0, 0, 1]), ("101010", [10, 10, 10])]
    {
        let mut desk = Desk::seated(Welcome { sheet: sheet.clone(), ..welcome(Phase::Running) });
        desk.go_to(96);
        desk.keys(keys);
        desk.key(Key::Enter);
        let score = sent(&desk.take()).remove(0);
        assert_eq!(score.values.values().copied().collect::<Vec<_>>(), wanted, "{keys}");
    }
}

#[test]
fn the_words_for_a_kept_sheet_count_its_blank_lines() {
    let all = vec![Some(7), Some(6), Some(5), Some(8)];
    let right = Some(protocol::Strength::JustRight);
    for (values, strength, words) in [
        (all.clone(), right, "417 steep 1 is kept: aroma 7, taste 6, aftertaste 5, liking 8, just right"),
        (all, None, "417 steep 1 is kept: aroma 7, taste 6, aftertaste 5, liking 8 · 1 line blank"),
        (vec![Some(7), None], right, "417 steep 1 is kept: aroma 7, just right · 3 lines blank"),
    ] {
        let mut desk = running();
        desk.go_to(96);
        desk.event(Event::Fill(Fill { values, strength, ..Fill::of(fixture::code(417)) }));
        let id = desk.app.outbox()[0].id;
        desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
        assert_eq!(desk.app.notice(desk.now), Some(words));
    }
}

#[test]
fn a_seat_that_was_killed_finds_its_drafts_again() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("76");
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    again.now = desk.now;
    again.link_up(welcome(Phase::Running));
    assert_eq!(again.app.desk.drafts, desk.app.desk.drafts);
    assert_eq!(again.app.notice(again.now), Some("begun and not sent: 417 steep 1"));
    again.go_to(97);
    again.take();
    again.key(Key::Enter);
    assert_eq!(sent(&again.take())[0].values.len(), 2);
    assert!(again.app.kept().class(fixture::CLASS).unwrap().drafts.is_empty(), "what is sent is no draft");
}

#[test]
fn a_sheet_that_was_begun_goes_on_at_its_first_empty_line() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("36");
    desk.key(Key::Down);
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    again.now = desk.now;
    again.link_up(welcome(Phase::Running));
    again.go_to(116);
    again.keys("7");
    let points = |desk: &Desk| {
        let values = desk.app.shown(desk.app.cup_in_hand().unwrap()).values;
        values.into_iter().map(|(name, value)| format!("{name} {value}")).collect::<Vec<_>>().join(", ")
    };
    assert_eq!(points(&again), "aftertaste 7, aroma 3, taste 6");
    again.key(Key::Tab);
    again.keys("2");
    again.key(Key::Tab);
    again.keys("8");
    assert_eq!(points(&again), "aftertaste 7, aroma 3, liking 8, taste 6", "also after a look at another");
}

#[test]
fn a_draft_is_kept_when_its_line_is_left_and_not_with_every_letter() {
    let mut desk = running();
    desk.go_to(96);
    let mut keeps = |key| {
        desk.take();
        desk.key(key);
        desk.take().contains(&Effect::Keep)
    };
    assert!(keeps(Key::Char('7')), "a digit that fills its line leaves it");
    assert!(keeps(Key::Char('h')), "a letter goes to the note");
    assert!(!keeps(Key::Char('a')) && !keeps(Key::Char('y')));
    assert!(keeps(Key::Up));
    assert!(!keeps(Key::Up), "nothing has changed");
    assert!(!keeps(Key::Left) && !keeps(Key::Interrupt));
    assert!(keeps(Key::Interrupt), "leaving leaves the line");
}

fn fill_417(desk: &mut Desk) -> Vec<Effect> {
    desk.take();
    desk.event(Event::Fill(Fill { values: vec![Some(7)], ..Fill::of(fixture::code(417)) }));
    desk.take()
}

#[test]
fn a_late_answer_given_while_the_next_steep_is_poured_belongs_to_the_cup_on_the_table() {
    let mut desk = running();
    for (second, steep) in [(95, 1), (205, 1), (255, 1), (259, 1), (280, 2)] {
        desk.go_to(second);
        let scores = sent(&fill_417(&mut desk));
        assert_eq!(scores[0].steep, steep, "at {second} s");
    }
}

#[test]
fn what_is_not_in_the_cup_yet_is_not_scored_and_the_seat_says_when_it_can_be() {
    let mut desk = running();
    for (second, steep, words) in [
        (20, None, "417 steep 1 is not in the cup yet; score it in 1:15"),
        (94, None, "417 steep 1 is not in the cup yet; score it in 0:01"),
        (95, Some(2), "417 steep 2 is not in the cup yet; score it in 2:45"),
        (95, Some(3), "417 has no steep 3; it has 2"),
    ] {
        desk.go_to(second);
        desk.take();
        desk.event(Event::Fill(Fill { values: vec![Some(7)], steep, ..Fill::of(fixture::code(417)) }));
        let reason = words.to_string();
        assert_eq!(desk.take(), [Effect::Say(Happening::NotTaken { id: None, reason })]);
    }
    // A hold has taken the second steep off the timetable.
    let first = timetable(2).cues.into_iter().filter(|c| c.steep == 1).collect();
    desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable: Timetable::new(2, first) });
    desk.take();
    desk.event(Event::Fill(Fill { values: vec![Some(7)], steep: Some(2), ..Fill::of(fixture::code(417)) }));
    let reason = "417 steep 2 is not in the cup yet; score it, once it is decanted".to_string();
    assert_eq!(desk.take(), [Effect::Say(Happening::NotTaken { id: None, reason })]);
}

#[test]
fn a_typed_note_that_does_not_fit_is_not_cut_but_sent_back() {
    let mut desk = running();
    desk.go_to(96);
    desk.take();
    let fill = |chars| Fill { note: "é".repeat(chars), ..Fill::of(fixture::code(417)) };
    desk.event(Event::Fill(fill(403)));
    let reason = "the note is 3 characters too long: 400 fit".to_string();
    assert_eq!(desk.take(), [Effect::Say(Happening::NotTaken { id: None, reason })]);
    desk.event(Event::Fill(fill(400)));
    assert_eq!(sent(&desk.take())[0].note.chars().count(), 400);
}

/// A sheet on which nothing but a slip of the fingers stands, and that is asked about.
fn asked_about_a_note() -> Desk {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("asdf");
    desk.take();
    desk.key(Key::Enter);
    assert!(sent(&desk.take()).is_empty());
    let asked = "nothing but the note “asdf”: send it? Enter or y sends, n does not";
    assert_eq!(desk.app.question().as_deref(), Some(asked));
    desk
}

#[test]
fn a_sheet_with_nothing_but_a_note_is_asked_about_until_that_is_answered() {
    for yes in [Key::Enter, Key::Char('y')] {
        let mut desk = asked_about_a_note();
        desk.go_to(170);
        assert!(desk.app.question().is_some(), "a question stays");
        desk.key(yes);
        assert_eq!(sent(&desk.take())[0].note, "asdf");
        assert_eq!(desk.app.question(), None);
    }
    for no in [Key::Char('n'), Key::Esc] {
        let mut desk = asked_about_a_note();
        desk.key(no);
        assert_eq!((desk.app.question(), desk.app.notice(desk.now)), (None, Some("not sent")));
        let draft = desk.app.desk.drafts.values().next().unwrap();
        assert_eq!(draft.note, "asdf", "an answer is no part of the note");
        assert!(sent(&desk.take()).is_empty());
    }
}

#[test]
fn a_question_goes_with_anything_else_that_is_typed_and_comes_again() {
    for key in [Key::Up, Key::Char('g'), Key::Tab] {
        let mut desk = asked_about_a_note();
        desk.key(key.clone());
        assert_eq!(desk.app.question(), None, "after {key:?}");
        desk.key(Key::Enter);
        assert!(sent(&desk.take()).is_empty());
        assert!(desk.app.question().is_some(), "and it is asked again");
    }
}

#[test]
fn nothing_but_a_note_is_not_sent_by_itself_at_a_closing() {
    let mut desk = asked_about_a_note();
    desk.key(Key::Char('n'));
    desk.go_to(175);
    assert!(sent(&desk.take()).is_empty(), "at the end of the round");
    let words = "417 steep 1 holds nothing but a note and is not sent: Enter sends it";
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.host(HostMessage::LastCall { seq: 30, until: HostTime(215_000_000) });
    let words = "last call: 0:40 · 417/1 holds only a note: Enter sends it";
    assert_eq!(desk.app.last_call_words(desk.now).as_deref(), Some(words));
    desk.go_to(215);
    assert!(sent(&desk.take()).is_empty(), "at the end of the last call");
    assert_eq!(desk.app.desk.drafts.len(), 1, "and it is not lost");
}

#[test]
fn what_was_said_stands_ten_seconds() {
    let mut desk = running();
    desk.go_to(20);
    desk.key(Key::Enter);
    desk.go_to(29);
    assert!(desk.app.notice(desk.now).is_some());
    desk.go_to(30);
    assert_eq!(desk.app.notice(desk.now), None);
}

#[test]
fn enter_with_nothing_filled_says_so_and_sends_nothing() {
    let mut desk = running();
    desk.go_to(96);
    desk.take();
    desk.key(Key::Enter);
    assert!(desk.take().is_empty());
    assert!(desk.app.notice(desk.now).unwrap().contains("nothing to send"));
}

#[test]
fn leaving_is_asked_once() {
    let mut desk = running();
    desk.take();
    desk.key(Key::Interrupt);
    desk.key(Key::Up);
    assert_eq!(desk.app.question(), None);
    desk.key(Key::Interrupt);
    assert!(desk.take().is_empty());
    assert!(desk.app.question().is_some_and(|asked| asked.starts_with("Ctrl-C again")));
    desk.key(Key::Interrupt);
    assert_eq!(desk.take(), [Effect::Quit(End::Left)]);
}

#[test]
fn a_refusal_ends_the_seat_and_a_closed_class_ended_well() {
    for (phase, end) in [(Phase::Running, End::Refused("no".into())), (Phase::Closed, End::Closed)] {
        let mut desk = Desk::seated(welcome(phase));
        desk.link(LinkEvent::Refused { code: RefusalCode::Replaced, reason: "no".into() });
        assert_eq!(desk.take().last(), Some(&Effect::Quit(end)));
    }
}

#[test]
fn revealed_teas_have_names() {
    let mut desk = running();
    let card = TeaCard {
        code: fixture::code(417),
        steeps: 2,
        name: Some("Lantern Slope".into()),
        leaf: None,
        recipe: None,
    };
    desk.host(HostMessage::Revealed { seq: 30, teas: vec![card] });
    assert_eq!(desk.app.class.as_ref().unwrap().teas[0].name.as_deref(), Some("Lantern Slope"));
}

proptest! {
    #[test]
    fn no_keys_make_it_panic_or_send_a_score_that_does_not_fit(
        sheet in any_sheet(),
        keys in prop::collection::vec((any_key(), 0i64..8), 0..120),
        closed in any::<bool>(),
    ) {
        let phase = if closed { Phase::Closed } else { Phase::Running };
        let mut desk = Desk::seated(Welcome { sheet: sheet.clone(), timetable: timetable(1), ..welcome(phase) });
        let mut second = 30;
        for (key, wait_s) in keys {
            second += wait_s;
            desk.go_to(second);
            desk.key(key);
        }
        for score in sent(&desk.take()) {
            prop_assert_eq!(score.check(&sheet), Ok(()));
            prop_assert!(!closed);
        }
    }
}

#[test]
fn letters_go_to_the_note_from_any_line() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7hay");
    desk.key(Key::Enter);
    let score = sent(&desk.take()).remove(0);
    assert_eq!((score.values["aroma"], score.note.as_str()), (7, "hay"));
}

#[test]
fn cups_stand_round_by_round_and_in_the_serving_order_or_else_as_in_the_table() {
    let desk = running();
    let class = desk.app.class.as_ref().unwrap();
    let cup = |n, steep| Cup { code: fixture::code(n), steep };
    // Decanted in another order than they stand.
    let ordered = class.in_order(vec![cup(238, 1), cup(417, 2), cup(417, 1), cup(238, 2)]);
    assert_eq!(ordered, [cup(417, 1), cup(238, 1), cup(417, 2), cup(238, 2)]);
}

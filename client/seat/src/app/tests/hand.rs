//! The sheet never changes under the fingers.

use super::*;
use crate::app::hand::LOOKED_US;
use crate::host_clock::OwnTime;

fn hand(desk: &Desk) -> Option<String> {
    desk.app.cup_in_hand().map(|cup| cup.short())
}

fn offer(desk: &Desk) -> Option<String> {
    desk.app.offer_words(desk.now)
}

/// Whoever has sent a sheet looks at the next one.
fn look(desk: &mut Desk) {
    desk.now = OwnTime(desk.now.0 + LOOKED_US);
}

/// Five teas that are decanted one after the other from 60 to 100 and tasted in the order of their codes.
fn five() -> Desk {
    use protocol::Action::{Decant, Pour, SheetCloses, Taste};
    let numbers = [101, 102, 103, 104, 105];
    let pours = numbers.iter().zip(1..).map(|(n, i)| fixture::cue(10 * i, Pour, Some(*n), 1, 10));
    let decants = numbers.iter().zip(6..).map(|(n, i)| fixture::cue(10 * i, Decant, Some(*n), 1, 10));
    let tasting = [fixture::cue(110, Taste, None, 1, 90), fixture::cue(200, SheetCloses, None, 1, 0)];
    let cues = pours.chain(decants).chain(tasting).collect();
    let card = welcome(Phase::Running).teas.remove(0);
    let teas = numbers.map(|n| TeaCard { code: fixture::code(n), ..card.clone() }).into();
    Desk::seated(Welcome { teas, timetable: Timetable::new(1, cues), ..welcome(Phase::Running) })
}

/// A seat that tastes 238 before 417.
pub(super) fn other_way_round() -> Desk {
    let order = vec![fixture::code(238), fixture::code(417)];
    Desk::seated(Welcome { order, ..welcome(Phase::Running) })
}

#[test]
fn a_cup_is_there_from_the_end_of_its_decant() {
    let mut desk = running();
    desk.go_to(94);
    assert_eq!(hand(&desk), None);
    desk.key(Key::Tab);
    assert_eq!((hand(&desk), desk.app.notice(desk.now)), (None, Some("no cup is ready yet")));
    desk.go_to(95);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"));
}

#[test]
fn a_cup_that_was_chosen_or_touched_stays_and_the_next_one_is_offered() {
    for key in [Key::Tab, Key::Char('7'), Key::Down] {
        let mut desk = other_way_round();
        desk.go_to(96);
        desk.key(key.clone());
        desk.go_to(174);
        assert_eq!(hand(&desk).as_deref(), Some("417/1"), "after {key:?}");
        assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
        desk.key(Key::Tab);
        assert_eq!(hand(&desk).as_deref(), Some("238/1"));
        let left = if key == Key::Char('7') { "417 is begun: Tab" } else { "417 is ready: Tab" };
        assert_eq!(offer(&desk).as_deref(), Some(left), "a look at it is no score");
        desk.key(Key::Tab);
        assert_eq!(hand(&desk).as_deref(), Some("417/1"), "and round again");
    }
}

#[test]
fn a_cup_that_is_not_scored_stays_in_hand_whatever_else_gets_ready_in_its_round() {
    let mut desk = other_way_round();
    for second in [96, 116, 160, 250, 259] {
        desk.go_to(second);
        assert_eq!(
            hand(&desk).as_deref(),
            Some("417/1"),
            "at {second}: whoever drinks from it looks up to score it"
        );
    }
    assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
}

#[test]
fn a_sheet_that_nobody_is_at_gives_way_to_the_next_round_and_what_was_meant_for_it_is_left_out() {
    let mut desk = running();
    desk.go_to(257);
    desk.key(Key::Enter);
    desk.go_to(261);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "a key was pressed four seconds ago");
    desk.go_to(262);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
    desk.keys("76");
    assert!(desk.app.desk.drafts.is_empty());
    let words = "left out: the sheet is now 417 steep 2. Wait 3 s or press ↓, then type it";
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.now = OwnTime(desk.now.0 + 400_000);
    desk.keys("5");
    desk.now = OwnTime(desk.now.0 + 400_000);
    desk.keys("8");
    assert!(desk.app.desk.drafts.is_empty(), "whoever goes on writing has not looked");
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.now = OwnTime(desk.now.0 + 2_400_000);
    desk.keys("9");
    assert!(desk.app.desk.drafts.is_empty(), "the rest of a sheet would stand on the wrong lines");
    desk.now = OwnTime(desk.now.0 + 2_500_000);
    desk.keys("4");
    assert_eq!(desk.app.desk.drafts.len(), 1);
    assert_eq!(desk.app.notice(desk.now), Some("the sheet is now 417 steep 2 and takes what you type"));
}

#[test]
fn a_sheet_that_gives_way_says_so_and_a_score_taken_just_then_does_not_hide_it() {
    let mut desk = other_way_round();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    let id = desk.app.outbox()[0].id;
    desk.go_to(115);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("the sheet is now 238 steep 1"));
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let words = "the sheet is now 238 steep 1 · 417 steep 1 is kept";
    assert_eq!(desk.app.notice(desk.now), Some(words));
}

#[test]
fn a_tab_pressed_as_the_sheet_gives_way_leads_where_the_screen_led_before() {
    let mut desk = other_way_round();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.go_to(112);
    desk.key(Key::Up);
    desk.go_to(116);
    assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
    desk.go_to(117);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"), "the sheet of 417 was sent");
    desk.now = OwnTime(desk.now.0 + 1_900_000);
    desk.key(Key::Tab);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("the sheet is now 238 steep 1 already"));
    desk.keys("7");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["238/1"]);
}

#[test]
fn a_sent_sheet_opens_only_by_an_enter_of_its_own_and_shuts_again_when_nothing_is_changed() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    let cup = desk.app.cup_in_hand().unwrap();
    desk.now = OwnTime(desk.now.0 + 350_000);
    desk.key(Key::Enter);
    assert!(!desk.app.is_opened(cup), "pressed twice by a slip");
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent: Enter opens it for a change"));
    look(&mut desk);
    desk.key(Key::Enter);
    assert!(desk.app.is_opened(cup));
    desk.now = OwnTime(desk.now.0 + 9_900_000);
    desk.event(Event::Tick);
    assert!(desk.app.is_opened(cup));
    desk.now = OwnTime(desk.now.0 + 100_000);
    desk.event(Event::Tick);
    assert!(!desk.app.is_opened(cup) && desk.app.is_shut(cup));
    desk.keys("3");
    assert!(desk.app.desk.drafts.is_empty(), "whoever has looked away types for another cup");
    desk.key(Key::Enter);
    desk.keys("3");
    desk.go_to(113);
    assert!(desk.app.is_opened(cup), "what is changed stays open");
    assert_eq!(desk.app.shown(cup).values["aroma"], 3);
}

#[test]
fn an_opened_sheet_stays_in_hand_and_shut_again_takes_nothing_that_was_meant_for_another_cup() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.go_to(109);
    desk.key(Key::Enter);
    desk.go_to(125);
    assert_eq!((hand(&desk).as_deref(), offer(&desk).as_deref()), (Some("417/1"), Some("238 is ready: Tab")));
    desk.keys("345");
    assert!(desk.app.desk.drafts.is_empty());
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent: Enter opens it for a change"));
}

#[test]
fn a_tab_meant_for_another_cup_than_the_sheet_went_to_still_leads_there() {
    let mut desk = five();
    desk.go_to(112);
    for _ in 0..3 {
        desk.key(Key::Tab);
    }
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    desk.key(Key::GoTo);
    desk.keys("104");
    desk.key(Key::Enter);
    // Its sheet was sent as it stood, so that it may give way.
    desk.app.let_idle(desk.app.cup_in_hand().unwrap(), desk.now);
    assert_eq!(offer(&desk).as_deref(), Some("105 and 3 more are ready: Tab"));
    desk.go_to(118);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    desk.key(Key::Tab);
    assert_eq!(hand(&desk).as_deref(), Some("105/1"));
    assert_eq!(desk.app.notice(desk.now), None, "no sentence names the cup that was left");
}

#[test]
fn every_open_cup_of_the_round_is_counted_and_tab_leads_to_each_and_to_none_that_was_sent() {
    let mut desk = five();
    desk.go_to(130);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    assert_eq!(offer(&desk).as_deref(), Some("102 and 3 more are ready: Tab"));
    desk.key(Key::Tab);
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"), "the first that is open");
    assert_eq!(offer(&desk).as_deref(), Some("103 and 2 more are ready: Tab"));
    let mut been = Vec::new();
    for _ in 0..4 {
        desk.key(Key::Tab);
        been.extend(hand(&desk));
    }
    assert_eq!(been, ["103/1", "104/1", "105/1", "101/1"]);
}

#[test]
fn no_sheet_gives_way_while_the_keys_are_being_explained() {
    let mut desk = other_way_round();
    desk.go_to(110);
    desk.key(Key::Help);
    desk.go_to(160);
    desk.keys("x7");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["417/1"]);
}

#[test]
fn a_sent_sheet_leads_to_the_next_one_at_once_and_what_is_typed_just_then_lands_nowhere() {
    let mut desk = running();
    desk.go_to(116);
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent · now 238 steep 1"));
    let id = desk.app.outbox()[0].id;
    desk.now = OwnTime(desk.now.0 + 50_000);
    desk.keys("9");
    let left_out = "left out: the sheet is now 238 steep 1. Wait 3 s or press ↓, then type it";
    assert_eq!((desk.app.desk.drafts.len(), desk.app.notice(desk.now)), (0, Some(left_out)));
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let words = format!("{left_out} · 417 steep 1 is kept");
    assert_eq!(desk.app.notice(desk.now), Some(words.as_str()));
    look(&mut desk);
    desk.keys("6");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["238/1"]);
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"), "there is no other yet");
    desk.go_to(259);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    desk.go_to(260);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
}

#[test]
fn however_quickly_a_sheet_is_typed_after_enter_no_figure_stands_on_the_line_of_another() {
    for gap_us in (50_000..2_400_000).step_by(50_000) {
        let mut desk = running();
        desk.go_to(116);
        desk.keys("7");
        desk.key(Key::Enter);
        let cup = desk.app.cup_in_hand().unwrap();
        for figure in ["4", "5"] {
            desk.now = OwnTime(desk.now.0 + gap_us);
            desk.keys(figure);
        }
        let values = desk.app.desk.drafts.get(&cup).map(|filled| filled.values.clone()).unwrap_or_default();
        let typed: Vec<_> = ["aroma", "taste"].iter().filter_map(|line| values.get(*line).copied()).collect();
        assert!(typed.is_empty() || typed == [4, 5], "every {gap_us} us: {values:?}");
    }
    // Enter does not let the next row in either; an arrow does, and a pause, and both say so.
    for looks in [true, false] {
        let mut desk = running();
        desk.go_to(116);
        desk.keys("7");
        desk.key(Key::Enter);
        for key in [Key::Char('4'), Key::Char('5'), Key::Enter, Key::Char('6'), Key::Enter, Key::Char('8')] {
            desk.now = OwnTime(desk.now.0 + 1_000_000);
            desk.key(key);
        }
        assert!(desk.app.desk.drafts.is_empty());
        if looks {
            desk.now = OwnTime(desk.now.0 + 600_000);
            desk.key(Key::Down);
        } else {
            desk.now = desk.app.next_wake(desk.now).unwrap();
            desk.event(Event::Tick);
        }
        let words = "the sheet is now 238 steep 1 and takes what you type";
        assert_eq!(desk.app.notice(desk.now), Some(words));
        desk.keys("4");
        assert_eq!(desk.app.desk.drafts.values().next().unwrap().values, [("aroma".to_string(), 4)].into());
    }
}

#[test]
fn a_sent_sheet_that_was_opened_and_shut_again_stays_for_its_round_and_goes_on_with_the_next() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.go_to(100);
    desk.key(Key::Enter);
    assert!(desk.app.is_opened(desk.app.cup_in_hand().unwrap()));
    desk.go_to(259);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "238 has long been ready");
    desk.go_to(275);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
}

#[test]
fn whoever_goes_to_a_cup_by_its_code_has_looked_and_is_not_kept_waiting() {
    let mut desk = running();
    desk.go_to(116);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.keys("45");
    assert!(desk.app.desk.drafts.is_empty());
    desk.key(Key::Char('/'));
    desk.keys("238/1");
    desk.key(Key::Enter);
    desk.keys("6");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["238/1"]);
}

#[test]
fn what_is_typed_before_there_is_a_cup_is_said_to_be_left_out() {
    let mut desk = running();
    desk.keys("6");
    assert_eq!(desk.app.notice(desk.now), Some("left out: no cup is in hand yet"));
}

#[test]
fn what_is_typed_after_the_last_sheet_was_sent_changes_nothing_until_enter_opens_it() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("218");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "there is no other cup yet");
    let cup = desk.app.cup_in_hand().unwrap();
    let before = desk.app.shown(cup);
    for key in [Key::Char('1'), Key::Char('a'), Key::Left, Key::Backspace, Key::Paste("x".into())] {
        desk.key(key);
        let words = "417 steep 1 is sent: Enter opens it for a change";
        assert_eq!((desk.app.notice(desk.now), desk.app.shown(cup)), (Some(words), before.clone()));
    }
    desk.take();
    look(&mut desk);
    desk.key(Key::Enter);
    assert!(sent(&desk.take()).is_empty());
    let words = "417 steep 1 is open for a change: Enter sends it again";
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.keys("5");
    desk.key(Key::Enter);
    let again = sent(&desk.take()).remove(0);
    assert_eq!((again.revision, again.values["aroma"]), (2, 5));
    desk.keys("6");
    assert!(desk.app.is_shut(cup), "it is sent again");
}

#[test]
fn a_key_at_a_sent_sheet_does_not_keep_it_from_giving_way() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.keys("3");
    desk.go_to(115);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
}

#[test]
fn a_cup_of_any_round_is_reached_by_its_code_and_steep() {
    let mut desk = running();
    desk.go_to(265);
    desk.key(Key::Char('/'));
    desk.keys("238/1");
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "not before Enter");
    assert!(desk.app.desk.drafts.is_empty(), "digits of a code are no points");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    desk.keys("7a/");
    assert_eq!(desk.app.shown(desk.app.cup_in_hand().unwrap()).note, "a/", "in the note it is a stroke");
    for (typed, words) in [
        ("555", "no tea is served as 555; there are 417, 238"),
        ("238 2", "238 steep 2 is not in the cup yet; score it in 0:15"),
        ("417/9", "417 has no steep 9; it has 2"),
        ("12", "a code is three digits from 100 to 999"),
        ("", "type a code and a steep, such as 417/2"),
    ] {
        desk.key(Key::GoTo);
        desk.keys(typed);
        desk.key(Key::Enter);
        assert_eq!(desk.app.notice(desk.now), Some(words));
        assert_eq!(desk.app.desk.going.as_deref(), Some(typed), "to be corrected");
        desk.key(Key::Esc);
    }
    desk.key(Key::GoTo);
    desk.keys("417");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "without a steep the last one");
}

#[test]
fn a_key_pressed_as_the_class_closes_does_not_leave_it() {
    let mut desk = running();
    desk.go_to(96);
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Closed, timetable: timetable(2) });
    desk.take();
    desk.keys("7quiet");
    desk.key(Key::Enter);
    assert!(!desk.take().iter().any(|e| matches!(e, Effect::Quit(_))));
    desk.now = OwnTime(desk.now.0 + 500_000);
    desk.keys("q");
    assert!(desk.take().contains(&Effect::Quit(End::Closed)));
}

#[test]
fn who_scored_nothing_in_a_round_is_not_led_to_score_the_next_one_into_it() {
    let mut desk = running();
    desk.go_to(116);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "nobody touches it");
    desk.go_to(300);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "two of round 1 are open, and round 2 is in the cups");
    for next in ["238/2", "238/2"] {
        look(&mut desk);
        desk.keys("7");
        desk.key(Key::Enter);
        assert_eq!(hand(&desk).as_deref(), Some(next), "never back to round 1 by itself");
    }
    assert!(desk.app.class.as_ref().is_some_and(|class| class.taken.is_empty()));
    assert_eq!(desk.app.outbox().iter().map(|score| score.steep).collect::<Vec<_>>(), [2, 2]);
}

#[test]
fn a_sheet_that_moves_on_by_itself_to_a_new_round_says_so() {
    let mut desk = running();
    desk.go_to(116);
    for _ in 0..2 {
        desk.keys("7");
        desk.key(Key::Enter);
        look(&mut desk);
    }
    desk.go_to(259);
    assert_eq!((hand(&desk).as_deref(), desk.app.notice(desk.now)), (Some("238/1"), None));
    desk.go_to(260);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
    assert_eq!(desk.app.notice(desk.now), Some("round 2: the sheet is now 417 steep 2"));
}

#[test]
fn what_has_no_room_in_the_note_is_counted_however_it_comes() {
    let mut desk = running();
    desk.go_to(96);
    desk.key(Key::Paste("a".repeat(403)));
    assert_eq!(desk.app.notice(desk.now), Some("3 characters no longer fit: the note holds 400"));
    desk.keys("bc");
    assert_eq!(desk.app.notice(desk.now), Some("5 characters no longer fit: the note holds 400"));
    desk.key(Key::Backspace);
    desk.keys("de");
    assert_eq!(desk.app.notice(desk.now), Some("1 character no longer fits: the note holds 400"));
}

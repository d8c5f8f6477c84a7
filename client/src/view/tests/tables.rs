//! Whole screens of four and eight teas, for whoever pours and for whoever only tastes.

use super::*;
use crate::fixture::cue;
use protocol::{Action, Code, Cue, Role, Timetable};

/// Teas by their codes, in the order in which this seat tastes them.
const SERVED: [u16; 12] = [334, 268, 436, 929, 611, 705, 182, 553, 817, 248, 391, 670];

/// A class of two rounds from two kettles. The teas are poured in another order than this seat tastes them.
fn class_of(teas: usize) -> Welcome {
    let order: Vec<Code> = SERVED[..teas].iter().map(|number| code(*number)).collect();
    let cards = order.iter().rev().map(|code| TeaCard {
        code: *code,
        steeps: 2,
        ..welcome(Phase::Running).teas[0].clone()
    });
    let poured: Vec<u16> = SERVED[..teas].iter().rev().copied().collect();
    let n = teas as i64;
    let mut cues =
        vec![Cue { temp_c: Some(95.0), kettle: Some(1), ..cue(10, Action::Set, Some(poured[0]), 1, 10) }];
    for (round, begin) in [(1, 0), (2, 40 * n + 200)] {
        for (i, number) in poured.iter().enumerate() {
            let pour = begin + 30 + 20 * i as i64;
            let decant = begin + 30 + 20 * n + 15 * i as i64;
            let water = Cue {
                kettle: Some(1 + (i % 2) as u8),
                water_ml: Some(110.0),
                vessels: Some(2),
                steep_s: Some(60),
                ..cue(pour, Action::Pour, Some(*number), round, 10)
            };
            cues.extend([
                water,
                cue(pour + 10, Action::Lid, Some(*number), round, 0),
                cue(decant, Action::Decant, Some(*number), round, 10),
            ]);
        }
        let taste = begin + 30 + 35 * n;
        cues.extend([
            cue(taste, Action::Taste, None, round, 90),
            cue(taste + 90, Action::SheetCloses, None, round, 0),
        ]);
    }
    let kettles = vec!["steel".to_string(), "copper".to_string()];
    let timetable = Timetable::new(1, cues);
    Welcome { teas: cards.collect(), order, kettles, timetable, ..welcome(Phase::Running) }
}

fn pourer(teas: usize) -> Desk {
    Desk::seated(class_of(teas))
}

fn taster(teas: usize) -> Desk {
    let all = class_of(teas);
    let timetable = all.timetable.for_tasters();
    Desk::seated(Welcome { hands: None, kettles: Vec::new(), timetable, ..all })
}

/// When the tasting of the first round begins.
fn tasting(teas: usize) -> i64 {
    30 + 35 * teas as i64
}

fn three_sizes(desk: &Desk) -> String {
    [(80, 24), (60, 20), (100, 30)].map(|(width, height)| screen(desk, width, height)).join("\n")
}

macro_rules! tables {
    ($name:literal, $desk:expr) => {
        insta::assert_snapshot!($name, three_sizes(&$desk));
    };
}

#[test]
fn whoever_pours_reads_the_large_cue_at_every_size() {
    for teas in [4, 8] {
        let mut desk = pourer(teas);
        desk.go_to(12);
        let setting = three_sizes(&desk);
        desk.go_to(52);
        let pouring = three_sizes(&desk);
        desk.go_to(57);
        let lid = three_sizes(&desk);
        let shown = [setting, pouring, lid].join("\n");
        match teas {
            4 => insta::assert_snapshot!("tables_pouring_4", shown),
            _ => insta::assert_snapshot!("tables_pouring_8", shown),
        }
    }
}

#[test]
fn while_a_round_is_tasted_the_time_left_is_large_and_the_sheet_whole_for_whoever_only_tastes() {
    for teas in [4, 8] {
        for (who, mut desk) in [("pourer", pourer(teas)), ("taster", taster(teas))] {
            desk.go_to(tasting(teas) + 4);
            desk.keys("7658");
            desk.key(Key::Enter);
            desk.go_to(tasting(teas) + 6);
            desk.keys("64");
            desk.go_to(tasting(teas) + 44);
            let shown = three_sizes(&desk);
            match (teas, who) {
                (4, "pourer") => insta::assert_snapshot!("tables_tasting_4_pourer", shown),
                (4, _) => insta::assert_snapshot!("tables_tasting_4_taster", shown),
                (_, "pourer") => insta::assert_snapshot!("tables_tasting_8_pourer", shown),
                _ => insta::assert_snapshot!("tables_tasting_8_taster", shown),
            }
        }
    }
}

#[test]
fn a_cup_that_becomes_ready_is_offered_beside_the_sheet() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) - 18);
    desk.keys("76");
    desk.go_to(tasting(4));
    tables!("tables_offer", desk);
}

#[test]
fn cups_that_were_left_behind_are_named_in_the_next_round() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) + 100);
    tables!("tables_missing", desk);
    desk.key(Key::Char('/'));
    desk.keys("611/1");
    insta::assert_snapshot!("tables_going_60x20", screen(&desk, 60, 20));
    desk.key(Key::Enter);
    insta::assert_snapshot!("tables_wrong_cup_80x24", screen(&desk, 80, 24));
    desk.key(Key::Esc);
    desk.go_to(tasting(4) + 120);
    assert!(screen(&desk, 80, 24).contains("/ goes there"));
    desk.keys("w");
    assert!(screen(&desk, 80, 24).contains("F2 goes there"), "in the note / is a stroke");
}

#[test]
fn a_last_call_counts_down_in_large_letters() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) + 10);
    desk.keys("76");
    let until = protocol::HostTime((tasting(4) + 40) * 1_000_000);
    desk.host(HostMessage::LastCall { seq: 20, until });
    desk.go_to(tasting(4) + 24);
    tables!("tables_last_call", desk);
}

#[test]
fn whoever_only_pours_has_the_whole_screen_for_the_cues() {
    let mut desk = Desk::seated(Welcome { role: Role::PoursOnly, ..class_of(8) });
    desk.go_to(52);
    tables!("tables_pours_only", desk);
}

#[test]
fn who_is_there_and_the_sheet_to_come_stand_in_the_lobby() {
    let before = "before you start: fill kettle steel, switch it on, set 95 °C, 4 min 7 s ahead; \
                  fill kettle copper, switch it on, set 95 °C, 3 min 40 s ahead";
    let before_start = Some(before.to_string());
    let (phase, timetable) = (Phase::Lobby, Timetable::default());
    let mut desk = Desk::seated(Welcome { phase, before_start, timetable, ..class_of(8) });
    let names = ["Ann", "Ben", "Chen", "Dora"].map(String::from).into();
    desk.host(HostMessage::Here { names, seats: 20 });
    tables!("tables_lobby", desk);
}

#[test]
fn a_note_near_its_end_says_how_much_room_it_has() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) + 6);
    desk.key(Key::Paste("warm bread and wet slate, ".repeat(14)));
    insta::assert_snapshot!("tables_note_80x24", screen(&desk, 80, 24));
}

#[test]
fn scales_without_words_show_their_numbers() {
    let mut bare = class_of(4);
    for attribute in &mut bare.sheet.attributes {
        (attribute.low, attribute.high) = (None, None);
    }
    bare.sheet.attributes[1].max = 15;
    let mut desk = Desk::seated(bare);
    desk.go_to(tasting(4) + 6);
    insta::assert_snapshot!("tables_bare_scales_80x24", screen(&desk, 80, 24));
}

#[test]
fn a_class_that_holds_says_so_in_large_letters_to_whoever_tastes_too() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) + 6);
    let begun = class_of(4).timetable.for_tasters().cues.into_iter();
    let begun = begun.filter(|cue| cue.at.0 <= (tasting(4) + 6) * 1_000_000);
    let timetable = Timetable::new(2, begun.collect());
    desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable });
    for (width, height) in [(80, 24), (100, 30)] {
        let shown = screen(&desk, width, height);
        let letters = crate::view::large::rows("HOLD");
        assert!(letters.iter().all(|row| shown.contains(row.trim_end())), "{shown}");
    }
}

#[test]
fn a_board_has_the_large_clock_of_each_of_ten_teas_and_of_twelve_where_there_is_more_room() {
    for (teas, width, height) in [(10, 80, 24), (12, 100, 30)] {
        let mut desk = Desk::seated(Welcome { role: Role::Watches, hands: None, ..class_of(teas) });
        desk.go_to(96);
        let shown = board(&desk, width, height);
        for code in &SERVED[..teas] {
            let letters = crate::view::large::rows(&code.to_string());
            assert!(letters.iter().all(|row| shown.contains(row.trim())), "{code}: {shown}");
        }
    }
}

/// The row of the screen that begins so.
fn row(desk: &Desk, begins: &str) -> String {
    let shown = screen(desk, 80, 24);
    let row = shown.lines().find(|row| row.contains(begins)).unwrap();
    row.trim_matches(['"', ' ']).to_string()
}

fn board(desk: &Desk, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| crate::view::board::draw(frame, &desk.app, desk.now)).unwrap();
    terminal.backend().to_string()
}

#[test]
fn a_board_has_large_clocks_for_eight_teas_too() {
    let looks_on = || Desk::seated(Welcome { role: Role::Watches, hands: None, ..class_of(8) });
    for (name, second) in [("pouring", 96), ("decanting", 226), ("tasting", 330)] {
        let mut desk = looks_on();
        desk.go_to(second);
        insta::assert_snapshot!(format!("board_of_eight_{name}_80x24"), board(&desk, 80, 24));
        insta::assert_snapshot!(format!("board_of_eight_{name}_100x30"), board(&desk, 100, 30));
    }
    let mut desk = looks_on();
    desk.go_to(0);
    insta::assert_snapshot!("board_of_eight_long_waits_80x24", {
        let later = |cue: Cue| Cue { at: protocol::HostTime(cue.at.0 + 700_000_000), ..cue };
        let cues = class_of(8).timetable.cues.into_iter().map(later).collect();
        desk.host(HostMessage::Course { seq: 20, phase: Phase::Running, timetable: Timetable::new(2, cues) });
        board(&desk, 80, 24)
    });
}

#[test]
fn in_a_hold_no_cup_is_named_that_may_never_come() {
    // While a class holds the host tells only what is poured.
    let held = |of: fn(&Cue) -> bool| {
        let cues = class_of(4).timetable.for_tasters().cues.into_iter().filter(of);
        let timetable = Timetable::new(2, cues.collect());
        let mut desk = Desk::seated(Welcome { phase: Phase::Held, hands: None, timetable, ..class_of(4) });
        desk.go_to(125);
        row(&desk, " DRINK ")
    };
    let first = |cue: &Cue| cue.round() == 1;
    assert_eq!(held(first), "DRINK [929] then  334  268  436  · steep 1", "wet, so they come");
    assert_eq!(held(|cue| cue.code == Some(code(929)) && cue.round() == 1), "DRINK [929] · steep 1");
    assert_eq!(held(|_| false), "DRINK  the order comes when the class goes on");
}

#[test]
fn a_last_call_that_is_over_says_that_the_class_closes_now() {
    let mut desk = taster(4);
    desk.go_to(tasting(4) + 10);
    let until = protocol::HostTime((tasting(4) + 40) * 1_000_000);
    desk.host(HostMessage::LastCall { seq: 20, until });
    desk.go_to(tasting(4) + 42);
    let shown = screen(&desk, 80, 24);
    let letters = super::super::large::rows("CLOSES NOW");
    assert!(letters.iter().all(|row| shown.contains(row.trim_end())), "{shown}");
    assert!(shown.contains("the class closes now") && !shown.contains("0:00"), "{shown}");
}

#[test]
fn what_is_in_the_cup_comes_first_in_the_order_to_drink_in() {
    let mut desk = taster(4);
    desk.go_to(119);
    assert_eq!(row(&desk, " DRINK "), "DRINK  334  268  436  929  · steep 1", "nothing is there yet");
    desk.go_to(121);
    assert_eq!(row(&desk, " NOW "), "NOW   929 steep 1 is ready: taste it");
    assert_eq!(row(&desk, " DRINK "), "DRINK [929] then  334  268  436  · steep 1");
    desk.keys("7");
    desk.go_to(136);
    assert_eq!(
        row(&desk, " NOW "),
        "NOW   929 steep 1 is ready: taste it",
        "as long as it is the one in hand"
    );
    assert_eq!(row(&desk, " DRINK "), "DRINK  436 [929] then  334  268  · steep 1");
    desk.go_to(tasting(4) + 20);
    assert_eq!(row(&desk, " DRINK "), "DRINK  334  268  436 [929] · steep 1");
}

/// The same class, with work that is only a moment: a rinse to pour off, lids, and kettles to refill and to set.
fn with_kettles(role: Role) -> Desk {
    let kettle = |at, action, temp_c| Cue { temp_c, kettle: Some(1), ..cue(at, action, Some(611), 1, 0) };
    let cues = vec![
        cue(30, Action::Rinse, Some(496), 1, 10),
        cue(40, Action::PourOff, Some(496), 1, 0),
        cue(60, Action::Pour, Some(611), 1, 8),
        kettle(68, Action::Set, Some(85.0)),
        cue(68, Action::Lid, Some(611), 1, 0),
        kettle(90, Action::Refill, None),
        cue(110, Action::Decant, Some(611), 1, 10),
        cue(120, Action::Taste, None, 1, 60),
        kettle(150, Action::Fill, Some(95.0)),
    ];
    Desk::seated(Welcome { role, timetable: Timetable::new(1, cues), ..welcome(Phase::Running) })
}

/// What stands in large letters, and the two lines below them.
fn now_and_next(desk: &mut Desk, seconds: &[i64]) -> String {
    let each = seconds.iter().map(|second| {
        desk.go_to(*second);
        let shown = screen(desk, 60, 20);
        let rows: Vec<&str> = shown.lines().skip(1).collect();
        let now = rows.iter().position(|row| row.contains(" NOW ")).unwrap();
        format!("at {second}\n{}", rows[now - 4..now + 2].join("\n"))
    });
    each.collect::<Vec<_>>().join("\n")
}

#[test]
fn the_work_in_hand_keeps_the_large_letters_and_a_lid_and_a_kettle_at_one_instant_are_both_seen() {
    let mut desk = with_kettles(Role::Scores);
    insta::assert_snapshot!("tables_in_hand", now_and_next(&mut desk, &[60, 64, 67, 68, 69, 70, 77, 78]));
}

#[test]
fn the_large_countdown_always_says_what_is_to_be_done() {
    let mut desk = with_kettles(Role::PoursOnly);
    let seconds = [30, 35, 39, 40, 50, 55, 80, 85, 90, 140, 145, 150];
    insta::assert_snapshot!("tables_countdown", now_and_next(&mut desk, &seconds));
}

#[test]
fn a_last_call_is_larger_than_a_hold_and_says_when_the_class_closes() {
    for role in [Role::Scores, Role::PoursOnly] {
        let mut desk = Desk::seated(Welcome { role, ..class_of(4) });
        desk.go_to(tasting(4) + 60);
        let wet = class_of(4)
            .timetable
            .cues
            .into_iter()
            .filter(|cue| cue.at <= desk.app.host_now(desk.now).unwrap());
        let timetable = Timetable::new(2, wet.filter(|cue| cue.action != Action::Taste).collect());
        desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable });
        let until = protocol::HostTime((tasting(4) + 90) * 1_000_000);
        desk.host(HostMessage::LastCall { seq: 21, until });
        let shown = now_and_next(&mut desk, &[tasting(4) + 66]);
        assert!(!screen(&desk, 80, 24).contains("HELD"), "the last call alone is told");
        match role {
            Role::Scores => insta::assert_snapshot!("tables_last_call_held", shown),
            _ => insta::assert_snapshot!("tables_last_call_held_pours_only", shown),
        }
    }
}

/// Whether these words stand in large letters; how they are centred does not matter.
fn is_large(desk: &Desk, words: &str) -> bool {
    let shown = screen(desk, 80, 24);
    crate::view::large::rows(words).iter().all(|row| shown.contains(row.trim()))
}

#[test]
fn after_a_kettle_is_set_the_last_seconds_before_the_pour_are_counted_down() {
    let set = Cue { temp_c: Some(85.0), ..cue(60, Action::Set, Some(611), 1, 0) };
    let cues = vec![set, cue(69, Action::Pour, Some(611), 1, 8), cue(110, Action::Decant, Some(611), 1, 10)];
    let mut desk = Desk::seated(Welcome { timetable: Timetable::new(1, cues), ..welcome(Phase::Running) });
    for (second, words) in
        [(60, "SET KETTLE 85 °C"), (63, "SET KETTLE 85 °C"), (64, "IN 5 · POUR 611"), (66, "IN 3 · POUR 611")]
    {
        desk.go_to(second);
        assert!(is_large(&desk, words), "at {second}: {}", screen(&desk, 80, 24));
    }
}

#[test]
fn a_lid_that_has_been_read_lets_the_next_pour_be_counted_down() {
    let lid = cue(60, Action::Lid, Some(496), 1, 0);
    let cues = vec![lid, cue(64, Action::Pour, Some(611), 1, 8), cue(110, Action::Decant, Some(611), 1, 10)];
    let mut desk = Desk::seated(Welcome { timetable: Timetable::new(1, cues), ..welcome(Phase::Running) });
    for (second, words) in [(60, "LID ON 496"), (61, "LID ON 496"), (62, "IN 2 · POUR 611"), (64, "POUR 611")]
    {
        desk.go_to(second);
        assert!(is_large(&desk, words), "at {second}: {}", screen(&desk, 80, 24));
    }
}

#[test]
fn the_time_left_to_taste_stays_in_sight_while_a_kettle_is_filled() {
    let mut desk = with_kettles(Role::Scores);
    desk.go_to(153);
    let shown = screen(&desk, 60, 20);
    assert!(
        shown.contains(" NOW   empty the kettle") && shown.contains(" NEXT  0:27 left to taste"),
        "{shown}"
    );
    desk.go_to(161);
    assert!(screen(&desk, 60, 20).contains(" NOW   taste round 1 · 0:19 left"));
    let mut pours = with_kettles(Role::PoursOnly);
    pours.go_to(153);
    assert!(!screen(&pours, 60, 20).contains("left to taste"));
}

#[test]
fn while_the_class_holds_no_end_of_a_tasting_is_shown_and_a_last_call_gives_its_own() {
    let held = |desk: &mut Desk| {
        let timetable = desk.app.class.as_ref().unwrap().timetable.clone();
        let timetable = Timetable::new(2, timetable.cues);
        desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable });
    };
    let call = |desk: &mut Desk, second: i64| {
        let until = protocol::HostTime(second * 1_000_000);
        desk.host(HostMessage::LastCall { seq: 21, until });
    };
    let mut desk = with_kettles(Role::Scores);
    desk.go_to(130);
    assert!(screen(&desk, 80, 24).contains(" NOW   taste round 1 · 0:50 left"));
    held(&mut desk);
    assert!(screen(&desk, 80, 24).contains(" NOW   taste round 1 · no end is set while the class holds"));
    assert!(is_large(&desk, "HOLD"));
    call(&mut desk, 145);
    assert!(screen(&desk, 80, 24).contains(" NOW   taste round 1 · 0:15 left"));
    let mut pours = with_kettles(Role::PoursOnly);
    pours.go_to(130);
    assert!(screen(&pours, 80, 24).contains("everybody tastes round 1 · 0:50 left"));
    held(&mut pours);
    let shown = screen(&pours, 80, 24);
    assert!(shown.contains("everybody tastes round 1 ") && !shown.contains("0:50"), "{shown}");
}

#[test]
fn hold_gives_way_to_the_work_at_a_kettle_only_when_it_is_due_and_the_title_says_it_still() {
    let long = |role| {
        let fill = Cue { kettle: Some(1), ..cue(60, Action::Refill, Some(611), 1, 30) };
        let decant = cue(110, Action::Decant, Some(611), 1, 10);
        let timetable = Timetable::new(1, vec![fill, decant]);
        Desk::seated(Welcome { role, timetable, ..welcome(Phase::Held) })
    };
    let mut desk = long(Role::PoursOnly);
    for (second, words) in
        [(55, "HOLD"), (60, "REFILL KETTLE"), (69, "REFILL KETTLE"), (70, "HOLD"), (106, "IN 4 · DECANT 611")]
    {
        desk.go_to(second);
        let shown = screen(&desk, 80, 24);
        assert!(is_large(&desk, words) && shown.contains("HELD · linked"), "at {second}: {shown}");
        assert_eq!(shown.contains(" NOW   refill the kettle"), (60..90).contains(&second));
    }
}

#[test]
fn a_seat_that_only_pours_is_offered_no_enter() {
    let mut desk = Desk::seated(Welcome { role: Role::PoursOnly, ..class_of(4) });
    desk.go_to(52);
    assert!(!screen(&desk, 60, 20).contains("Enter"));
    desk.go_to(tasting(4));
    desk.key(Key::Tab);
    let told = screen(&desk, 80, 24);
    assert!(told.contains("no sheet is asked of you: you came to pour only; to score, leave"), "{told}");
    desk.key(Key::Help);
    let keys = screen(&desk, 60, 20);
    assert!(keys.contains("Ctrl-C") && !keys.contains("Enter") && !keys.contains("send the"), "{keys}");
}

#[test]
fn between_cups_whoever_tastes_reads_what_the_time_leads_to() {
    let mut desk = taster(4);
    // The first cup is there ten seconds after its decant at 110.
    let seconds = [100, 119, 120, 124, tasting(4) - 4];
    insta::assert_snapshot!("tables_between_cups", now_and_next(&mut desk, &seconds));
}

#[test]
fn the_keys_are_explained_in_whole_words_on_a_narrow_screen() {
    let mut desk = taster(4);
    desk.key(Key::Help);
    insta::assert_snapshot!("tables_keys_40x20", screen(&desk, 40, 20));
}

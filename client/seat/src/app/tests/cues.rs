//! Which cues are fired, when, and with a bell for whom.

use super::*;
use protocol::Cue;

fn fired(desk: &mut Desk) -> Vec<(i64, String, bool)> {
    let said = desk.said().into_iter();
    said.filter_map(|what| match what {
        Happening::Cue { cue, bell, .. } => Some((cue.at.0 / 1_000_000, cue.to_string(), bell)),
        _ => None,
    })
    .collect()
}

#[test]
fn every_cue_is_fired_once_in_order_with_a_bell_for_the_own_hands() {
    let mut desk = running();
    desk.go_to(190);
    desk.go_to(195);
    let all = fired(&mut desk);
    let words: Vec<_> = all.iter().map(|(at, words, bell)| format!("{at} {words} {bell}")).collect();
    assert_eq!(
        words,
        [
            "15 warm 417 true",
            "35 pour 417 true",
            "55 pour 238 true",
            "85 decant 417 true",
            "105 decant 238 true",
            "115 taste round 1 true",
            "175 sheet of round 1 closes false",
        ]
    );
}

#[test]
fn cues_are_fired_without_a_link() {
    let mut desk = running();
    desk.lose_link();
    desk.go_to(90);
    assert_eq!(fired(&mut desk).len(), 4);
}

#[test]
fn a_cue_for_other_hands_is_fired_without_a_bell() {
    let mut desk = Desk::seated(Welcome { pourers: Some(2), hands: Some(2), ..welcome(Phase::Running) });
    desk.go_to(120);
    let bells: Vec<_> = fired(&mut desk).into_iter().map(|(_, words, bell)| (words, bell)).collect();
    assert_eq!(bells[0], ("warm 417".to_string(), false));
    assert_eq!(bells[5], ("taste round 1".to_string(), true), "tasting is everybody's");
}

#[test]
fn a_seat_that_joins_late_is_not_cued_for_what_has_passed() {
    let mut desk = Desk::new();
    desk.now = crate::host_clock::OwnTime(60_000_000);
    desk.link_up(welcome(Phase::Running));
    desk.go_to(90);
    assert_eq!(fired(&mut desk), [(85, "decant 417".to_string(), true)]);
}

#[test]
fn a_cue_missed_while_the_machine_slept_is_told_without_a_bell() {
    let mut desk = running();
    desk.now = crate::host_clock::OwnTime(110_000_000);
    desk.event(Event::Tick);
    let said = desk.said();
    let missed: Vec<_> = said
        .iter()
        .filter_map(|what| match what {
            Happening::Cue { cue, missed, bell, .. } => Some((cue.to_string(), *missed, *bell)),
            _ => None,
        })
        .collect();
    assert_eq!(missed[0], ("warm 417".to_string(), true, false));
    assert_eq!(missed.last().unwrap(), &("decant 238".to_string(), false, true), "its work still lasts");
}

#[test]
fn what_is_wet_is_never_moved() {
    let mut desk = running();
    desk.go_to(40);
    desk.said();
    let moved = timetable(2).cues.into_iter().map(|c| protocol::Cue { at: c.at + 30_000_000, ..c }).collect();
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Held, timetable: Timetable::new(2, moved) });
    desk.go_to(90);
    let all = fired(&mut desk);
    let words: Vec<_> = all.iter().map(|(at, words, _)| format!("{at} {words}")).collect();
    assert_eq!(words, ["85 decant 417", "85 pour 238"], "417 keeps its decant, 238 is still dry");
}

/// The class's timetable in which the teacher has moved the decant of 417 to this second.
fn decant_moved_to(at_s: i64) -> Timetable {
    let mut cues = timetable(2).cues;
    let decant = cues.iter_mut().find(|c| c.to_string() == "decant 417" && c.round() == 1).unwrap();
    (decant.at, decant.moved_in) = (HostTime(at_s * 1_000_000), Some(2));
    Timetable::new(2, cues)
}

#[test]
fn a_wet_steep_that_the_teacher_moved_is_decanted_at_its_new_instant() {
    let mut desk = running();
    desk.go_to(50);
    desk.said();
    let timetable = decant_moved_to(97);
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable });
    desk.go_to(100);
    let decant = fired(&mut desk).into_iter().filter(|(_, words, _)| words == "decant 417");
    assert_eq!(decant.collect::<Vec<_>>(), [(97, "decant 417".to_string(), true)]);
}

#[test]
fn a_seat_that_hears_too_late_of_a_decant_is_cued_at_once_and_told_by_how_much() {
    // Within its work and after it.
    for (moved_s, late_s) in [(55, 6), (45, 16)] {
        let mut desk = running();
        desk.go_to(61);
        desk.said();
        let timetable = decant_moved_to(moved_s);
        desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable });
        let said = desk.said();
        let decant = said.iter().find_map(|what| match what {
            Happening::Cue { cue, words, bell: true, missed: false, .. } => Some((cue.at.0, words.clone())),
            _ => None,
        });
        let words = format!("decant 417 now, {late_s} s late: the link was away");
        assert_eq!(decant, Some((moved_s * 1_000_000, words)));
        desk.go_to(90);
        assert!(fired(&mut desk).iter().all(|(_, words, _)| words != "decant 417"), "once");
    }
}

#[test]
fn a_cue_that_is_moved_after_it_was_fired_is_not_fired_again() {
    let mut desk = running();
    desk.go_to(16);
    desk.said();
    let later = vec![cue(40, Action::Warm, Some(417), 1, 10), cue(60, Action::Pour, Some(417), 1, 10)];
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable: Timetable::new(2, later) });
    desk.go_to(70);
    assert_eq!(fired(&mut desk), [(60, "pour 417".to_string(), true)]);
    assert_eq!(desk.app.host_now(desk.now), Some(HostTime(70_000_000)));
}

#[test]
fn after_the_class_only_what_is_under_water_is_cued() {
    let mut desk = running();
    desk.go_to(40);
    desk.said();
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Closed, timetable: timetable(2) });
    desk.go_to(90);
    assert_eq!(fired(&mut desk), [(85, "decant 417".to_string(), true)]);
}

#[test]
fn news_that_come_at_the_instant_of_a_cue_do_not_swallow_it() {
    let mut desk = running();
    desk.now = crate::host_clock::OwnTime(15_000_001);
    let later = vec![cue(40, Action::Warm, Some(417), 1, 10)];
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable: Timetable::new(2, later) });
    assert_eq!(fired(&mut desk), [(15, "warm 417".to_string(), true)]);
}

#[test]
fn a_lid_and_a_rinse_to_pour_off_ring_for_the_hands_unannounced_and_stand_long_enough_to_be_read() {
    let mut desk = running();
    let cues = vec![
        cue(12, Action::Rinse, Some(417), 1, 12),
        cue(20, Action::PourOff, Some(417), 1, 0),
        cue(40, Action::Pour, Some(417), 1, 10),
        cue(50, Action::Lid, Some(417), 1, 0),
        cue(52, Action::Pour, Some(238), 1, 10),
    ];
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable: Timetable::new(2, cues) });
    let mut shown = Vec::new();
    for second in 12..56 {
        desk.go_to(second);
        let class = desk.app.class.as_ref().unwrap();
        let now = class.current(HostTime(second * 1_000_000)).map(|cue| cue.action);
        if shown.last().is_none_or(|(_, last)| *last != now) {
            shown.push((second, now));
        }
    }
    use Action::*;
    let wanted = [
        (12, Some(Rinse)),
        (20, Some(PourOff)),
        (24, None),
        (40, Some(Pour)),
        (50, Some(Lid)),
        (52, Some(Pour)),
    ];
    assert_eq!(shown, wanted);
    let said = desk.said();
    let soon = said.iter().filter(|what| matches!(what, Happening::Soon { .. })).count();
    assert_eq!(soon, 3, "only what is work of its own is announced");
    let rang = said
        .iter()
        .filter(|what| matches!(what, Happening::Cue { bell: true, cue, .. } if cue.action.is_within()));
    assert_eq!(rang.count(), 2);
}

#[test]
fn a_tasting_that_a_hold_has_put_off_lasts_until_its_sheet_closes() {
    let mut desk = running();
    desk.go_to(160);
    let longer = timetable(2).cues.into_iter().map(|c| match c.action {
        Action::SheetCloses => protocol::Cue { at: c.at + 40_000_000, ..c },
        _ => c,
    });
    let timetable = Timetable::new(2, longer.collect());
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable });
    desk.said();
    desk.go_to(206);
    let class = desk.app.class.as_ref().unwrap();
    assert_eq!(class.current(HostTime(190_000_000)).map(|cue| cue.action), Some(Action::Taste));
    let left: Vec<_> =
        desk.said().into_iter().filter(|what| matches!(what, Happening::TasteLeft { .. })).collect();
    let left_s = |left_s| Happening::TasteLeft { round: 1, left_s };
    assert_eq!(left, [left_s(30), left_s(10)], "told again for the new end");
}

/// A lid at 40 and a kettle to set in the same instant; a pour at `next`.
fn lid_and_kettle(next: i64) -> Desk {
    let set = Cue { temp_c: Some(85.0), ..cue(40, Action::Set, Some(238), 1, 0) };
    let cues = vec![
        cue(30, Action::Pour, Some(417), 1, 10),
        set,
        cue(40, Action::Lid, Some(417), 1, 0),
        cue(next, Action::Pour, Some(238), 1, 10),
    ];
    Desk::seated(Welcome { timetable: Timetable::new(1, cues), ..welcome(Phase::Running) })
}

fn now_at(desk: &mut Desk, second: i64) -> String {
    desk.go_to(second);
    let (class, at) = (desk.app.class.as_ref().unwrap(), desk.app.host_now(desk.now).unwrap());
    class.current(at).map_or("nothing".into(), |cue| crate::deeds::deed(cue, &class.kettles))
}

#[test]
fn a_lid_goes_before_the_kettle_s_deed_of_the_same_instant_and_both_are_seen() {
    for (next, shown) in [
        (60, [(39, "pour 417"), (40, "lid on 417"), (41, "lid on 417"), (42, "set the kettle to 85 °C")]),
        (
            60,
            [
                (43, "set the kettle to 85 °C"),
                (49, "set the kettle to 85 °C"),
                (50, "nothing"),
                (60, "pour 238"),
            ],
        ),
        (
            45,
            [
                (42, "set the kettle to 85 °C"),
                (44, "set the kettle to 85 °C"),
                (45, "pour 238"),
                (56, "nothing"),
            ],
        ),
    ] {
        let mut desk = lid_and_kettle(next);
        for (second, words) in shown {
            assert_eq!(now_at(&mut desk, second), words, "at {second} with a pour at {next}");
        }
    }
    let mut desk = lid_and_kettle(60);
    desk.go_to(40);
    let words: Vec<_> = fired(&mut desk).into_iter().map(|(_, words, _)| words).collect();
    assert_eq!(words, ["pour 417", "lid on 417", "set the kettle for 238"]);
}

#[test]
fn the_work_that_begins_next_takes_the_screen_at_its_instant() {
    let mut desk = lid_and_kettle(41);
    assert_eq!(now_at(&mut desk, 40), "lid on 417");
    assert_eq!(now_at(&mut desk, 41), "pour 238");
}

#[test]
fn a_steep_that_is_done_again_is_called_by_its_steep_and_its_round_wherever_it_is_spoken_of() {
    let mut desk = Desk::seated(fixture::again(Phase::Running));
    desk.go_to(349);
    desk.take();
    desk.go_to(412);
    let said = desk.said().into_iter().filter_map(|what| match what {
        Happening::Cue { words, .. } => Some(words),
        Happening::Ready(cup) => Some(format!("ready: {cup}, typed {}", cup.short())),
        _ => None,
    });
    let words = [
        "pour 417 (steep 2 in round 3, 95 °C, steeps 40 s)",
        "decant 417 (steep 2 in round 3)",
        "ready: 417 steep 2 in round 3, typed 417/3",
    ];
    assert_eq!(said.collect::<Vec<_>>(), words);
    desk.keys("7");
    desk.key(Key::Enter);
    let said = desk.said();
    assert!(
        matches!(&said[..], [Happening::Sent { score, cup, .. }] if score.steep == 3 && cup.steep == 2),
        "the score goes by its round: {said:?}"
    );
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 2 in round 3 is sent"));
    let teas = crate::answer::lines(&desk.app, crate::app::Question::Teas, desk.now);
    assert_eq!(teas[0], "417: steep 2 of 2 in round 3, resting");
    assert!(crate::notes::text(&desk.app).contains("  steep 2 in round 3: aroma 7"));
}

#[test]
fn cups_of_a_round_that_are_of_different_steeps_are_called_by_the_round() {
    let mut mixed = fixture::again(Phase::Running);
    mixed.timetable.cues.push(fixture::cue(405, Action::Decant, Some(238), 1, 5).in_round(3));
    let desk = Desk::seated(mixed);
    let class = desk.app.class.as_ref().unwrap();
    let said = [1, 2, 3, 4].map(|round| class.steep_of_round(round));
    assert_eq!(said, ["steep 1", "steep 2", "round 3", "steep 4"]);
}

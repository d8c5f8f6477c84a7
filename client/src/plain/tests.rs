//! The lines of a whole class.

use super::*;
use crate::fixture::{Desk, code, cue, duo_trio, score, triangle, welcome, with_words};
use crate::plain::typed::Typed;
use protocol::wire::{HostMessage, RefusalCode, Welcome};
use protocol::{Strength, TeaCard};
use seat::app::{Event, Fill, LinkEvent, Question, SeatInput};

#[test]
fn whoever_pours_reads_what_to_do_at_the_kettles_before_the_class_begins() {
    let before = "before you start: fill the kettle, switch it on, set 95 °C, 4 min 7 s ahead";
    let before_start = Some(before.to_string());
    let mut desk = Desk::new();
    desk.link_up(protocol::wire::Welcome { before_start, ..welcome(Phase::Lobby) });
    let lines: Vec<_> = desk.said().iter().flat_map(lines_of).collect();
    assert_eq!(lines[2], before);
}

#[test]
fn a_join_code_is_asked_for_in_a_line_and_what_is_typed_then_is_one() {
    let mut desk = Desk::new();
    let reason = "a join code is needed here; it is on the teacher's screen".into();
    desk.link(LinkEvent::CodeAsked { reason });
    let lines: Vec<_> = desk.said().iter().flat_map(lines_of).collect();
    assert_eq!(
        lines,
        ["a join code is needed here; it is on the teacher's screen; type it here, then Enter"]
    );
    let code = SeatInput::JoinCode("KX7M-QR4T".parse().unwrap());
    assert_eq!(typed::read_at_door(" kx7mqr4t"), Ok(Typed::Input(code)));
    assert_eq!(typed::read_at_door("leave"), Ok(Typed::Input(SeatInput::Leave)));
    assert_eq!(typed::read_at_door(""), Ok(Typed::Nothing));
    for line in ["KX7M", "417 7 8", "everything"] {
        assert!(typed::read_at_door(line).unwrap_err().contains("KX7M-QR4T"), "{line}");
    }
}

#[test]
fn a_class_reads_as_lines() {
    let mut desk = Desk::new();
    let lost = LinkEvent::Lost {
        reason: "can't reach the host: refused".into(),
        again_at: seat::host_clock::OwnTime(1_000_000),
    };
    desk.link(lost.clone());
    desk.link(lost);
    desk.link_up(welcome(Phase::Running));
    desk.go_to(115);
    let fill = Fill {
        strength: Some(Strength::JustRight),
        values: vec![Some(7), None, None, Some(8)],
        ..Fill::of(code(417))
    };
    desk.event(Event::Fill(fill));
    let kept = desk.app.outbox()[0].clone();
    desk.host(HostMessage::Accepted { seq: 20, id: kept.id, link: String::new() });
    desk.event(Event::Fill(Fill { values: vec![Some(12)], ..Fill::of(code(417)) }));
    desk.event(Event::Fill(Fill { values: vec![Some(1)], ..Fill::of(code(555)) }));
    desk.lose_link();
    desk.event(Event::Fill(Fill { values: vec![Some(3)], ..Fill::of(code(238)) }));
    desk.go_to(176);
    desk.link_up(Welcome { scores: vec![kept], ..welcome(Phase::Held) });
    let id = desk.app.outbox()[0].id;
    desk.host(HostMessage::Declined { id, code: RefusalCode::NotPoured, reason: "not poured".into() });
    let card = TeaCard {
        code: code(417),
        steeps: 2,
        name: Some("Lantern Slope".into()),
        leaf: Some("lantern".into()),
        recipe: None,
    };
    desk.host(HostMessage::Revealed { seq: 30, teas: vec![card] });
    desk.host(HostMessage::Course { seq: 31, phase: Phase::Closed, timetable: Default::default() });
    let lines: Vec<_> = desk.said().iter().flat_map(lines_of).collect();
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn words_are_asked_and_answered_in_lines() {
    let mut desk = Desk::seated(with_words(Phase::Running));
    desk.go_to(115);
    for line in ["417 7 6 - 8 strength 0 words nutty, Floral note like a wall", "238 words plum"] {
        let Ok(Typed::Input(SeatInput::Fill(fill))) = typed::read(line) else { panic!("{line}") };
        desk.event(Event::Fill(fill));
    }
    let id = desk.app.outbox()[0].id;
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let mut lines: Vec<_> = desk.said().iter().flat_map(lines_of).collect();
    lines.retain(|line| line.starts_with("kept"));
    lines.extend(
        [Question::Mine, Question::Sheet].iter().flat_map(|q| seat::answer::lines(&desk.app, *q, desk.now)),
    );
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn a_test_is_asked_and_answered_in_lines() {
    let mut desk = Desk::seated(welcome(Phase::Running));
    desk.go_to(115);
    desk.said();
    desk.host(HostMessage::Test { seq: 20, card: triangle() });
    desk.host(HostMessage::Test { seq: 21, card: duo_trio() });
    for line in ["test 1 512", "test 2 705", "test 2 512"] {
        let Ok(Typed::Input(SeatInput::Answer { test, pick })) = typed::read(line) else { panic!("{line}") };
        desk.event(Event::Answer { test, pick });
    }
    let id = desk.app.answers_waiting()[0].id;
    desk.host(HostMessage::Accepted { seq: 22, id, link: String::new() });
    let mut lines: Vec<_> = desk.said().iter().flat_map(lines_of).collect();
    lines.extend(
        [Question::Tests, Question::Mine].iter().flat_map(|q| seat::answer::lines(&desk.app, *q, desk.now)),
    );
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn a_cue_for_this_seat_rings_on_a_terminal_and_never_in_a_pipe() {
    let rings = |bell, cue_bell| {
        let what = Happening::Cue {
            cue: cue(35, Action::Pour, Some(417), 1, 10),
            words: "pour 417".into(),
            mine: true,
            bell: cue_bell,
            missed: false,
        };
        Manner { stamp: true, bell, quiet: false }.print(&Happened { at: Some(HostTime(0)), what })[0]
            .starts_with('\u{7}')
    };
    assert!(rings(true, true));
    assert!(!rings(true, false) && !rings(false, true));
}

#[test]
fn the_stamp_is_host_time_in_seconds() {
    let mut pour = cue(35, Action::Pour, Some(417), 1, 10);
    pour.temp_c = Some(92.5);
    let words = seat::deeds::with_brackets(&pour, &[]);
    let what = Happening::Cue { cue: pour, words, mine: true, bell: true, missed: false };
    let happened = Happened { at: Some(HostTime(35_001_600)), what };
    assert_eq!(lines(&happened, true), ["[  35.002] now: pour 417 (steep 1, 92.5 °C, steeps 40 s)"]);
    assert_eq!(lines(&happened, false), ["now: pour 417 (steep 1, 92.5 °C, steeps 40 s)"]);
    let early = Happened { at: None, ..happened };
    assert!(lines(&early, true)[0].starts_with("[       -] now"));
}

#[test]
fn questions_are_answered_from_what_the_seat_knows() {
    let mut desk = Desk::seated(welcome(Phase::Running));
    desk.go_to(96);
    desk.event(Event::Fill(Fill { values: vec![Some(7)], ..Fill::of(code(417)) }));
    desk.app.class.as_mut().unwrap().take(score(8, 238, 1));
    let all = [Question::Teas, Question::Next, Question::Mine, Question::Sheet];
    let lines: Vec<_> = all.iter().flat_map(|q| seat::answer::lines(&desk.app, *q, desk.now)).collect();
    insta::assert_snapshot!(lines.join("\n"));
}

#[test]
fn a_quiet_seat_hears_of_its_own_cues_and_cups_alone() {
    let mut desk = Desk::seated(protocol::wire::Welcome { hands: None, ..welcome(Phase::Running) });
    desk.host(HostMessage::Here { names: vec!["Ann".into()], seats: 1 });
    desk.go_to(120);
    let quiet = Manner { quiet: true, ..Manner::default() };
    let lines: Vec<_> =
        desk.said().into_iter().flat_map(|what| quiet.print(&Happened { at: None, what })).collect();
    assert_eq!(
        lines,
        [
            "ready: 417 steep 1",
            "soon: taste round 1 in 10 s",
            "ready: 238 steep 1",
            "now: taste round 1 (60 s)",
            "drink 417 238",
        ]
    );
}

//! What a seat has come for, and what it owes.

use super::*;
use protocol::Role;

fn as_a(role: Role) -> Desk {
    Desk::seated(Welcome { role, ..welcome(Phase::Running) })
}

fn short(cups: Vec<Cup>) -> Vec<String> {
    cups.iter().map(Cup::short).collect()
}

#[test]
fn whoever_does_not_score_owes_nothing_and_is_offered_nothing_unless_asked() {
    for role in [Role::PoursOnly, Role::Watches] {
        let mut desk = as_a(role);
        desk.go_to(180);
        let at = desk.app.host_now(desk.now).unwrap();
        assert_eq!((desk.app.cup_in_hand(), desk.app.missing(at)), (None, vec![]));
        let said = desk.said();
        let asks = |what: &Happening| {
            matches!(
                what,
                Happening::Ready(_)
                    | Happening::Drink(_)
                    | Happening::Missing(_)
                    | Happening::TasteLeft { .. }
            )
        };
        assert!(!said.iter().any(asks), "{said:?}");
        let reason = crate::words::not_asked(role).unwrap();
        for key in
            [Key::Tab, Key::GoTo, Key::Char('7'), Key::Char('/'), Key::Enter, Key::Paste("sweet".into())]
        {
            desk.go_to(200);
            desk.key(key);
            assert_eq!(desk.app.notice(desk.now), Some(reason.as_str()));
            assert_eq!((desk.app.cup_in_hand(), desk.app.desk.begun()), (None, 0));
        }
        desk.take();
        let code = fixture::code(417);
        desk.event(Event::Fill(Fill { steep: Some(1), values: vec![Some(7)], ..Fill::of(code) }));
        desk.event(Event::Answer { test: 1, pick: code });
        let said = desk.said();
        assert!(
            matches!(&said[0], Happening::NotTaken { id: None, reason: told } if *told == reason),
            "{said:?}"
        );
        assert!(desk.app.outbox().is_empty() && desk.app.answers_waiting().is_empty());
    }
    let watch = crate::words::not_asked(Role::Watches).unwrap();
    assert!(watch.ends_with("to score, leave and join again without --watch"), "{watch}");
}

#[test]
fn sheets_begun_before_somebody_came_to_pour_only_are_neither_sent_nor_told_of_and_stay() {
    let mut before = running();
    before.go_to(120);
    before.keys("76");
    let kept = before.app.kept().clone();
    let mut desk = Desk::new();
    desk.app = App::new("Ann", kept);
    desk.now = crate::host_clock::OwnTime(121_000_000);
    let until = Some(HostTime(130_000_000));
    desk.link_up(Welcome { role: Role::PoursOnly, last_call_us: until, ..welcome(Phase::Running) });
    desk.go_to(131);
    let sends = |e: &Effect| matches!(e, Effect::Send(SeatMessage::Score(_) | SeatMessage::Writing { .. }));
    assert!(!desk.take().iter().any(sends));
    assert_eq!(desk.app.desk.begun(), 1);
}

#[test]
fn a_late_comer_owes_what_is_in_the_cup_after_they_sat_down() {
    let mut desk = Desk::seated(Welcome { owes_from_us: HostTime(95_000_000), ..welcome(Phase::Running) });
    desk.go_to(120);
    let at = desk.app.host_now(desk.now).unwrap();
    assert_eq!(short(desk.app.missing(at)), ["238/1"]);
    assert!(desk.app.left_behind(at).is_empty(), "the round is still being tasted");
}

#[test]
fn cups_without_a_score_are_named_when_their_round_is_over() {
    let order = vec![fixture::code(238), fixture::code(417)];
    let mut desk = Desk::seated(Welcome { order, ..welcome(Phase::Running) });
    desk.go_to(174);
    assert!(!desk.said().iter().any(|what| matches!(what, Happening::Missing(_))));
    desk.go_to(175);
    let said = desk.said();
    let Some(Happening::Missing(cups)) = said.last() else { panic!("{said:?}") };
    assert_eq!(crate::words::missing(cups), "you have 2 cups without a score: 238/1, 417/1");
    desk.event(Event::Fill(Fill { values: vec![Some(7)], ..Fill::of(fixture::code(238)) }));
    let at = desk.app.host_now(desk.now).unwrap();
    assert_eq!(short(desk.app.left_behind(at)), ["417/1"], "a sent sheet is none that is missing");
}

#[test]
fn the_order_to_drink_in_is_said_with_the_tasting_and_leaves_out_what_is_not_served() {
    let order = vec![fixture::code(238), fixture::code(417)];
    let mut short = welcome(Phase::Running);
    short.teas[1].steeps = 1;
    short.timetable.cues.retain(|cue| cue.round() == 1 || cue.code != Some(fixture::code(238)));
    let mut desk = Desk::seated(Welcome { order, ..short });
    desk.go_to(115);
    assert!(desk.said().contains(&Happening::Drink(vec![fixture::code(238), fixture::code(417)])));
    let class = desk.app.class.as_ref().unwrap();
    assert_eq!(class.to_drink(2), [fixture::code(417)]);
}

#[test]
fn who_is_there_is_told_when_it_changes() {
    let mut desk = Desk::seated(welcome(Phase::Lobby));
    let here = |names: &[&str], seats| HostMessage::Here {
        names: names.iter().map(ToString::to_string).collect(),
        seats,
    };
    desk.host(here(&["Ann", "Ben"], 20));
    let [Happening::Here { names, seats }] = &desk.said()[..] else { panic!() };
    assert_eq!(crate::words::here(names, *seats), "here: Ann, Ben and 18 more");
    desk.host(here(&["Ann", "Ben"], 20));
    assert!(desk.said().is_empty());
}

/// Fills a sheet of 417, of the steep that is said or of none; why it was not taken.
fn type_417(desk: &mut Desk, steep: Option<u32>, note: &str) -> Option<String> {
    desk.take();
    let fill = Fill { steep, values: vec![Some(7)], note: note.into(), ..Fill::of(fixture::code(417)) };
    desk.event(Event::Fill(fill));
    desk.said().into_iter().find_map(|what| match what {
        Happening::NotTaken { reason, .. } => Some(reason),
        _ => None,
    })
}

fn outbox(desk: &Desk) -> Vec<String> {
    desk.app.outbox().iter().map(|score| Cup::of(score).short()).collect()
}

#[test]
fn a_line_without_a_steep_never_lands_on_a_cup_that_was_decanted_while_it_was_typed() {
    // Begun when steep 1 was in the cup, ended after steep 2 is, at 260 seconds.
    let mut desk = running();
    desk.go_to(262);
    let asked = type_417(&mut desk, None, "");
    assert_eq!(asked.as_deref(), Some("417 steep 1 has no score either; say which is meant: 417/1 or 417/2"));
    // Steep 1 has a score, and the line may be another one of it.
    assert_eq!(type_417(&mut desk, Some(1), ""), None);
    let asked = type_417(&mut desk, None, "");
    assert_eq!(
        asked.as_deref(),
        Some("417 steep 2 was decanted 2 s ago, perhaps while you typed; say which is meant: 417/1 or 417/2")
    );
    assert_eq!(outbox(&desk), ["417/1"], "nothing is sent that was asked about");
    assert_eq!(type_417(&mut desk, Some(2), ""), None);
    assert_eq!(type_417(&mut desk, None, ""), None, "whoever has scored the newest cup means it");
    assert_eq!(outbox(&desk), ["417/1", "417/2", "417/2"]);
}

#[test]
fn a_line_without_a_steep_is_for_the_newest_cup_once_it_can_t_have_been_begun_before_its_decant() {
    let note = "like the wall of an old cellar after a long rain in spring";
    for (note, second, is_plain) in [("", 279, false), ("", 280, true), (note, 290, false), (note, 302, true)]
    {
        let mut desk = running();
        desk.go_to(120);
        assert_eq!(type_417(&mut desk, None, ""), None, "there is one cup");
        desk.go_to(second);
        assert_eq!(type_417(&mut desk, None, note).is_none(), is_plain, "{note} at {second} s");
        assert_eq!(outbox(&desk).contains(&"417/2".into()), is_plain);
    }
}

#[test]
fn while_the_sheet_of_the_steep_before_is_open_a_line_without_a_steep_is_asked_about() {
    let mut desk = running();
    desk.go_to(120);
    assert_eq!(type_417(&mut desk, None, ""), None);
    let later = timetable(2).cues.into_iter().map(|cue| match cue.action {
        Action::SheetCloses => protocol::Cue { at: HostTime(330_000_000), ..cue },
        _ => cue,
    });
    let timetable = Timetable::new(2, later.collect());
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Running, timetable });
    desk.go_to(320);
    let asked = type_417(&mut desk, None, "");
    assert_eq!(
        asked.as_deref(),
        Some("the sheet of 417 steep 1 is still open; say which is meant: 417/1 or 417/2")
    );
    desk.go_to(331);
    assert_eq!(type_417(&mut desk, None, ""), None);
}

#[test]
fn the_sheet_of_a_cup_that_was_voided_does_not_come_back() {
    for (refusal, comes_back) in [(RefusalCode::BadScore, true), (RefusalCode::Voided, false)] {
        let mut desk = running();
        desk.go_to(120);
        desk.event(Event::Fill(Fill { values: vec![Some(7)], ..Fill::of(fixture::code(417)) }));
        let id = desk.app.outbox()[0].id;
        desk.host(HostMessage::Declined { id, code: refusal, reason: "no".into() });
        assert_eq!(desk.app.desk.drafts.len(), usize::from(comes_back), "{refusal:?}");
        assert!(desk.app.outbox().is_empty());
    }
}

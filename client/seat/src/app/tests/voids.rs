//! Cups that the teacher voids, and lets count again.

use super::*;
use crate::fixture::code;
use protocol::wire::VoidCup;

fn void(only_yours: bool) -> VoidCup {
    VoidCup { code: code(417), steep: 1, reason: "spilled".into(), only_yours }
}

fn counts(desk: &mut Desk) -> Vec<String> {
    let words = |what| if let Happening::Counts(words) = what { Some(words) } else { None };
    desk.said().into_iter().filter_map(words).collect()
}

fn cup() -> Cup {
    Cup { code: code(417), steep: 1 }
}

#[test]
fn nobody_owes_a_voided_cup_and_a_sheet_of_it_is_not_sent() {
    let mut desk = running();
    desk.go_to(180);
    assert!(desk.app.missing(HostTime(180_000_000)).contains(&cup()));
    desk.take();
    desk.host(HostMessage::Cups { seq: 20, voided: vec![void(false)], scores: vec![] });
    assert_eq!(counts(&mut desk), ["417 steep 1 does not count: spilled"]);
    assert_eq!(desk.app.cup_state(cup()), CupState::Void);
    assert!(!desk.app.missing(HostTime(180_000_000)).contains(&cup()));
    desk.event(Event::Fill(Fill { values: vec![Some(5)], steep: Some(1), ..Fill::of(code(417)) }));
    assert!(sent(&desk.take()).is_empty());
    desk.host(HostMessage::Cups { seq: 21, voided: vec![], scores: vec![] });
    assert_eq!(counts(&mut desk), ["417 steep 1 counts again"]);
    assert!(desk.app.missing(HostTime(180_000_000)).contains(&cup()));
}

#[test]
fn a_score_of_one_s_own_that_is_voided_is_owed_again_and_never_sent_again_by_itself() {
    let mut desk = running();
    desk.go_to(96);
    desk.event(Event::Fill(Fill { values: vec![Some(5)], ..Fill::of(code(417)) }));
    let score = sent(&desk.take()).remove(0);
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: "0123456789abcdef".into() });
    desk.host(HostMessage::Cups { seq: 21, voided: vec![void(true)], scores: vec![] });
    assert_eq!(
        counts(&mut desk),
        ["your score of 417 steep 1 does not count: spilled; you may score it again"]
    );
    assert_eq!(desk.app.cup_state(cup()), CupState::Open);
    desk.event(Event::Fill(Fill { values: vec![Some(6)], ..Fill::of(code(417)) }));
    assert_eq!(sent(&desk.take()).len(), 1);
}

#[test]
fn who_was_away_hears_it_by_the_welcome_and_sends_nothing_of_the_voided_cup() {
    let mut desk = running();
    desk.go_to(96);
    desk.event(Event::Fill(Fill { values: vec![Some(5)], ..Fill::of(code(417)) }));
    let score = sent(&desk.take()).remove(0);
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: "0123456789abcdef".into() });
    desk.lose_link();
    desk.take();
    let back = Welcome { seq: 25, voided: vec![void(false)], ..welcome(Phase::Running) };
    desk.link_up(back.clone());
    let effects = desk.take();
    assert!(sent(&effects).is_empty());
    let said = Effect::Say(Happening::Counts("417 steep 1 does not count: spilled".into()));
    assert_eq!(effects.iter().filter(|effect| **effect == said).count(), 1);
    desk.link_up(back);
    assert!(counts(&mut desk).is_empty(), "it knows already");
}

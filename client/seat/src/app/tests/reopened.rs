//! Sheets that the teacher opens again.

use super::*;
use crate::fixture::code;
use protocol::wire::OpenSheet;

fn cup() -> Cup {
    Cup { code: code(417), steep: 1 }
}

fn open(until_s: i64) -> OpenSheet {
    OpenSheet { code: code(417), steep: 1, until_us: HostTime(until_s * 1_000_000) }
}

/// A seat that has scored the first cup, and the host has it.
fn scored() -> (Desk, Score) {
    let mut desk = running();
    desk.go_to(96);
    desk.event(Event::Fill(Fill { values: vec![Some(5)], ..Fill::of(code(417)) }));
    let score = sent(&desk.take()).remove(0);
    desk.host(HostMessage::Accepted { seq: 20, id: score.id, link: "0123456789abcdef".into() });
    desk.take();
    (desk, score)
}

#[test]
fn a_sheet_that_is_open_again_is_owed_counts_down_and_is_filled_once_more() {
    let (mut desk, _) = scored();
    let owed = |desk: &Desk| desk.app.missing(HostTime(100_000_000)).contains(&cup());
    assert!(!owed(&desk));
    desk.host(HostMessage::Reopened { seq: 21, reopened: vec![open(160)] });
    let said = desk.said();
    assert_eq!(
        said,
        [Happening::Counts(
            "the sheet of 417 steep 1 is open again for 1:04: taste and score it once more".into()
        )]
    );
    assert_eq!((desk.app.cup_state(cup()), owed(&desk)), (CupState::Open, true));
    assert_eq!(desk.app.reopened_left(desk.now), Some((cup(), 64)));
    desk.go_to(131);
    let left = |what: &Happening| matches!(what, Happening::TasteLeft { round: 1, left_s: 30 });
    assert!(desk.said().iter().any(left));
    desk.event(Event::Fill(Fill { values: vec![Some(7)], steep: Some(1), ..Fill::of(code(417)) }));
    let again = sent(&desk.take()).remove(0);
    assert_eq!((again.revision, again.values.values().next()), (2, Some(&7)));
    assert_eq!((desk.app.is_reopened(cup()), desk.app.reopened_left(desk.now)), (false, None));
    assert!(!owed(&desk) && desk.app.cup_state(cup()) == CupState::Sent);
    // A welcome that was written before the host had it does not ask for it again.
    desk.host(HostMessage::Welcome(Box::new(Welcome {
        reopened: vec![open(160)],
        ..welcome(Phase::Running)
    })));
    assert!(!desk.app.is_reopened(cup()));
}

#[test]
fn when_its_time_is_over_what_is_on_it_is_sent_as_it_stands_and_else_it_is_still_owed() {
    for begun in [true, false] {
        let (mut desk, _) = scored();
        desk.host(HostMessage::Reopened { seq: 21, reopened: vec![open(140)] });
        desk.go_to(120);
        if begun {
            desk.app
                .desk
                .drafts
                .insert(cup(), Filled { values: [("liking".into(), 3)].into(), ..Filled::default() });
        }
        desk.take();
        desk.go_to(141);
        let effects = desk.take();
        assert_eq!(sent(&effects).len(), usize::from(begun));
        assert_eq!(desk.app.is_reopened(cup()), !begun);
        let missing =
            effects.iter().any(|e| matches!(e, Effect::Say(Happening::Missing(cups)) if *cups == [cup()]));
        assert_eq!(missing, !begun);
    }
}

#[test]
fn it_is_taken_back_and_who_was_away_hears_of_it_by_the_welcome() {
    let (mut desk, score) = scored();
    desk.host(HostMessage::Reopened { seq: 21, reopened: vec![open(160)] });
    desk.take();
    desk.host(HostMessage::Reopened { seq: 22, reopened: vec![] });
    assert_eq!(desk.said(), [Happening::Counts("the sheet of 417 steep 1 stays as it was".into())]);
    assert_eq!(desk.app.cup_state(cup()), CupState::Kept);
    let (reopened, scores) = (vec![open(160)], vec![score]);
    desk.host(HostMessage::Welcome(Box::new(Welcome { reopened, scores, ..welcome(Phase::Running) })));
    assert!(desk.app.is_reopened(cup()));
    assert!(
        desk.said()
            .iter()
            .any(|what| matches!(what, Happening::Counts(words) if words.contains("open again")))
    );
}

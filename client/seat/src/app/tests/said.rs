//! What the teacher says is shown once.

use super::*;
use protocol::wire::Saying;

fn saying(seq: u64, words: &str) -> Saying {
    Saying { seq, words: words.into(), to_you: seq.is_multiple_of(2) }
}

fn said(effects: &[Effect]) -> Vec<&str> {
    let words = |effect| match effect {
        &Effect::Say(Happening::Said { ref words, .. }) => Some(words.as_str()),
        _ => None,
    };
    effects.iter().filter_map(words).collect()
}

#[test]
fn what_the_teacher_says_is_on_the_screen_and_comes_once_however_often_it_is_told() {
    let mut desk = running();
    desk.host(HostMessage::Said(saying(20, "the lid")));
    let effects = desk.take();
    assert_eq!(said(&effects), ["the lid"]);
    assert!(effects.contains(&Effect::Keep), "so that it is not shown again after a restart");
    assert_eq!(desk.app.notice(desk.now), Some("the teacher to you: the lid"));
    // The program is started again on what it kept, and is told all there is.
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    let all = vec![saying(20, "the lid"), saying(23, "slowly")];
    again.link_up(Welcome { seq: 24, said: all, ..welcome(Phase::Running) });
    assert_eq!(said(&again.take()), ["slowly"]);
    assert_eq!(again.app.notice(again.now), Some("the teacher: slowly"));
    again.host(HostMessage::Said(saying(23, "slowly")));
    assert_eq!(again.take(), []);
}

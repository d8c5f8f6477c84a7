//! The join code is typed in while the host asks for one, and kept with the class.

use super::*;
use crate::app::LinkEvent;
use protocol::JoinCode;

fn asked() -> Desk {
    let mut desk = Desk::new();
    desk.link(LinkEvent::CodeAsked { reason: "a join code is needed here".into() });
    desk.take();
    desk
}

fn code() -> JoinCode {
    "KX7M-QR4T".parse().unwrap()
}

#[test]
fn a_code_is_typed_corrected_or_pasted_and_enter_says_it() {
    let mut desk = asked();
    desk.key(Key::Enter);
    assert_eq!(desk.take(), [], "nothing typed is nothing said");
    desk.keys("kx7m-qr4x");
    desk.key(Key::Backspace);
    desk.keys("t");
    assert_eq!(desk.app.code_asked(), Some(("a join code is needed here", "KX7M-QR4T")));
    desk.key(Key::Enter);
    assert_eq!(desk.take(), [Effect::Knock(code())]);
    assert_eq!(desk.app.code_asked(), None, "until the host asks again");
    desk.link(LinkEvent::CodeAsked { reason: "not that one".into() });
    assert_eq!(desk.app.code_asked(), Some(("not that one", "")));
    desk.key(Key::Paste("\u{1b} kx7m qr4t\n".into()));
    desk.key(Key::Enter);
    assert!(desk.take().contains(&Effect::Knock(code())));
}

#[test]
fn what_is_no_code_is_not_said_and_the_person_reads_what_one_looks_like() {
    let mut desk = asked();
    desk.keys("whatever it may be, it ends");
    desk.key(Key::Enter);
    assert_eq!(desk.take(), []);
    let (said, typed) = desk.app.code_asked().unwrap();
    assert!(said.ends_with("on the teacher's screen") && typed.is_empty(), "{said}");
}

#[test]
fn the_code_that_led_in_is_kept_with_the_class_for_the_address_where_it_was_typed() {
    let mut desk = asked();
    desk.app.comes_by("tea:4177", None, None);
    desk.event(Event::JoinCode(code()));
    desk.link_up(welcome(Phase::Lobby));
    let at = |app: &App, address| app.kept().at(address).map(|class| (class.class_id, class.join_code));
    assert_eq!(at(&desk.app, "tea:4177"), Some((fixture::CLASS, Some(code()))));
    let mut again = Desk::new();
    again.app = App::new("Ann", desk.app.kept().clone());
    again.app.comes_by("192.0.2.7:4177", None, None);
    again.link_up(welcome(Phase::Lobby));
    assert_eq!(
        at(&again.app, "192.0.2.7:4177"),
        Some((fixture::CLASS, None)),
        "it was typed for another address"
    );
}

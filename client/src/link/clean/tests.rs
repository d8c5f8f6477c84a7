//! What a hostile host may send, all the way to the screen.

use super::*;
use crate::fixture::{self, Desk};
use crate::{plain, view};
use proptest::prelude::*;
use protocol::clock::Exchange;
use protocol::{Action, Attribute, Cue, Phase, Score, TestKind};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use seat::app::{Event, Fill, Happened, Key, LinkEvent, Question};
use seat::host_clock::OwnTime;

fn any_us() -> impl Strategy<Value = i64> {
    let edges = vec![i64::MIN, i64::MIN + 1, -LONGEST_US, -1, 0, 1, LONGEST_US, i64::MAX - 1, i64::MAX];
    prop_oneof![prop::sample::select(edges), 0i64..300_000_000, any::<i64>()]
}

fn any_point() -> impl Strategy<Value = i32> {
    let edges = vec![i32::MIN, i32::MIN + 1, -1, 0, 1, 9, i32::MAX - 1, i32::MAX];
    prop_oneof![prop::sample::select(edges), any::<i32>()]
}

fn any_code() -> impl Strategy<Value = Code> {
    prop_oneof![3 => Just(417), 1 => 100u16..=999].prop_map(fixture::code)
}

fn any_count() -> impl Strategy<Value = u32> {
    prop_oneof![0u32..4, Just(u32::MAX)]
}

fn any_phase() -> impl Strategy<Value = Phase> {
    prop::sample::select(vec![Phase::Lobby, Phase::Running, Phase::Running, Phase::Held, Phase::Closed])
}

fn any_cue() -> impl Strategy<Value = Cue> {
    use Action::*;
    let action = prop::sample::select(vec![Warm, Rinse, Pour, Lid, Decant, Taste, SheetCloses, Refill]);
    let code = prop::option::weighted(0.8, any_code());
    let temp_c = prop::option::of(prop::sample::select(vec![f64::MAX, -0.0, 95.0, f64::NAN, 1e-300]));
    let numbers = (any_count(), any_count(), prop::option::of(any_count()), 0u8..3);
    (any_us(), action, code, temp_c, numbers).prop_map(|(at, action, code, temp_c, numbers)| {
        let (steep, length_s, steep_s, hands) = numbers;
        let cue = Cue::new(HostTime(at), action, code, steep, hands, length_s);
        Cue { steep_s, temp_c, ..cue }
    })
}

fn any_timetable() -> impl Strategy<Value = Timetable> {
    (any_count(), prop::collection::vec(any_cue(), 0..12))
        .prop_map(|(revision, cues)| Timetable { revision, cues })
}

fn any_sheet() -> impl Strategy<Value = Sheet> {
    let words = || prop::option::of("\\PC{0,60}");
    let scale = ("[ab\u{1b}]{0,2}", any_point(), any_point(), words(), words())
        .prop_map(|(name, min, max, low, high)| Attribute { name, min, max, low, high });
    let words = prop::collection::vec("[ab\u{1b}]{0,2}|\\PC{0,60}", 0..60);
    (prop::collection::vec(scale, 0..5), any::<bool>(), any::<bool>(), words)
        .prop_map(|(attributes, strength, note, words)| Sheet { attributes, strength, note, words })
}

fn any_scores() -> impl Strategy<Value = Vec<Score>> {
    let values = prop::collection::btree_map("[ab]{0,2}", any_point(), 0..3);
    let score = (any_code(), any_count(), any_count(), values).prop_map(|(code, steep, revision, values)| {
        let usual = fixture::score(1, 417, 1);
        Score { code, steep, revision, values, ..usual }
    });
    prop::collection::vec(score, 0..4)
}

fn any_welcome() -> impl Strategy<Value = HostMessage> {
    let card = |(code, steeps)| TeaCard {
        code,
        steeps,
        name: Some("\u{202e}x".repeat(40)),
        leaf: None,
        recipe: None,
    };
    let teas = prop::collection::vec((any_code(), any_count()).prop_map(card), 0..4);
    let paces = vec![f64::NAN, 0.0, -1.0, 1e-300, 0.001, 1.0, 60.0, 100_000.0, 1e300, f64::INFINITY];
    let hands = (prop::option::of(any::<u8>()), prop::option::of(0u8..3));
    let times = (prop::sample::select(paces), any_timetable());
    (any_phase(), any_sheet(), teas, times, hands, any_scores()).prop_map(
        |(phase, sheet, teas, (pace, timetable), (pourers, hands), scores)| {
            let usual = fixture::welcome(phase);
            let welcome = Welcome { sheet, teas, pace, pourers, hands, timetable, scores, ..usual };
            HostMessage::Welcome(Box::new(welcome))
        },
    )
}

fn any_message() -> impl Strategy<Value = HostMessage> {
    let course = (any_phase(), any_timetable()).prop_map(|(phase, timetable)| HostMessage::Course {
        seq: u64::MAX,
        phase,
        timetable,
    });
    let pong = (any_us(), any_us(), any_us()).prop_map(|(t1_us, t2_us, t3_us)| HostMessage::Pong {
        t1_us,
        t2_us,
        t3_us,
    });
    let codes = prop::collection::vec(any_code(), 0..12);
    let test = (any_count(), "\\PC{0,60}", prop::option::of(any_code()), codes).prop_map(
        |(test, question, reference, codes)| HostMessage::Test {
            seq: u64::MAX,
            card: TestCard { test, kind: TestKind::Other, question, reference, codes },
        },
    );
    prop_oneof![1 => any_welcome(), 2 => course, 3 => pong, 2 => test]
}

/// As the link passes it on: cleaned, and a pong as an exchange.
fn pass_on(desk: &mut Desk, heard: HostMessage) {
    match message(heard) {
        HostMessage::Pong { t1_us, t2_us, t3_us } => {
            let t4_us = desk.now.at_pace(desk.app.clock.pace());
            let exchange = Exchange { t1_us, t2_us, t3_us, t4_us };
            desk.link(LinkEvent::Exchange { exchange, slept_us: t1_us % 2 });
        }
        other => desk.host(other),
    }
}

/// Whatever can be seen of a seat.
fn look(desk: &mut Desk) {
    for (width, height) in [(80, 24), (38, 10)] {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| view::draw(frame, &desk.app, desk.now)).unwrap();
    }
    for question in [Question::Teas, Question::Next, Question::Mine, Question::Sheet] {
        seat::answer::lines(&desk.app, question, desk.now);
    }
    let at = desk.app.host_now(desk.now);
    for what in desk.said() {
        plain::lines(&Happened { at, what }, true);
    }
    desk.app.next_wake(desk.now);
}

proptest! {
    #[test]
    fn nothing_a_host_sends_makes_a_seat_panic(
        welcome in any_welcome(),
        steps in prop::collection::vec((any_message(), 0i64..100_000_000), 1..12),
    ) {
        use Key::*;
        let mut desk = Desk::new();
        pass_on(&mut desk, welcome);
        for (heard, wait_us) in steps {
            pass_on(&mut desk, heard);
            desk.now = OwnTime(desk.now.0 + wait_us);
            desk.event(Event::Tick);
            for key in [Tab, Char('-'), Char('9'), Left, Right, Char(' '), Down, Left, Char('1'), Enter] {
                desk.key(key);
            }
            let values = vec![Some(i32::MAX), Some(i32::MIN)];
            desk.event(Event::Fill(Fill { values, ..Fill::of(fixture::code(417)) }));
            look(&mut desk);
        }
    }
}

#[test]
fn ten_thousand_teas_are_no_more_than_there_are_codes() {
    let mut welcome = fixture::welcome(Phase::Running);
    let card = |n: u16| TeaCard {
        code: fixture::code(100 + n % 900),
        steeps: 9,
        name: None,
        leaf: None,
        recipe: None,
    };
    welcome.teas = (0..10_000).map(card).collect();
    let mut desk = Desk::new();
    pass_on(&mut desk, HostMessage::Welcome(Box::new(welcome)));
    pass_on(&mut desk, HostMessage::Pong { t1_us: 0, t2_us: 0, t3_us: 0 });
    assert_eq!(desk.app.class.as_ref().unwrap().teas.len(), 900);
    desk.go_to(90);
    look(&mut desk);
}

#[test]
fn what_cannot_be_is_left_out_and_the_rest_is_kept() {
    let mut welcome = fixture::welcome(Phase::Running);
    let twice = welcome.sheet.attributes[0].clone();
    let upside_down = Attribute { name: "x".into(), min: 9, max: 1, ..twice.clone() };
    welcome.sheet.attributes.extend([twice, upside_down]);
    welcome.timetable.cues[0].at = HostTime(i64::MAX);
    welcome.timetable.cues[1].temp_c = Some(f64::MAX);
    welcome.pace = f64::NAN;
    let HostMessage::Welcome(clean) = message(HostMessage::Welcome(Box::new(welcome))) else {
        panic!("a welcome stays one")
    };
    let usual = fixture::welcome(Phase::Running);
    assert_eq!((clean.sheet, clean.pace), (usual.sheet, 1.0));
    assert_eq!(clean.timetable.cues[0].temp_c, None);
    assert_eq!(clean.timetable.cues[1..], usual.timetable.cues[2..]);
    let pong = |t2_us| message(HostMessage::Pong { t1_us: 0, t2_us, t3_us: 0 });
    assert_eq!(pong(i64::MIN), HostMessage::Unknown);
    assert!(matches!(pong(5), HostMessage::Pong { t2_us: 5, .. }));
}

#[test]
fn a_notice_is_made_inert_and_a_link_is_one_or_none() {
    let HostMessage::Notice { words } =
        message(HostMessage::Notice { words: "look\u{1b}[2J out\u{9b}1m".into() })
    else {
        panic!("a notice stays one");
    };
    assert!(words.starts_with("look") && !words.contains(['\u{1b}', '\u{9b}']), "{words:?}");
    let heard = |link: &str| match message(HostMessage::Accepted {
        seq: 1,
        id: Default::default(),
        link: link.into(),
    }) {
        HostMessage::Accepted { link, .. } => link,
        other => panic!("{other:?}"),
    };
    assert_eq!(heard("0123456789abcdef"), "0123456789abcdef");
    for none in ["", "0123456789abcde\u{1b}", "0123456789abcdef0", "0123456789abcdeg"] {
        assert_eq!(heard(none), "");
    }
}

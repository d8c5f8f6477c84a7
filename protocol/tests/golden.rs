//! Golden files pin every message on the wire: a change of shape shows up here before it reaches a class.
//! To rewrite them after an agreed change: `KETTLECALL_BLESS=1 cargo test -p protocol --test golden`.

#![expect(clippy::disallowed_methods, reason = "golden files are read, and written on demand")]
#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use proptest::prelude::*;
use protocol::wire::*;
use protocol::*;
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::LazyLock;
use uuid::Uuid;

/// The beginning of a link.
const LINK: &str = "0123456789abcdef";
/// The nonce of a connection.
const NONCE: Nonce = Nonce([0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 7]);

fn cue(at: i64, action: Action, code: Option<u16>) -> Cue {
    let pour = action == Action::Pour;
    Cue {
        at: HostTime(at),
        action,
        code: code.and_then(Code::new),
        steep: 1,
        hands: u8::from(code.is_some()),
        length_s: if action == Action::SheetCloses { 0 } else { 10 },
        steep_s: pour.then_some(40),
        temp_c: pour.then_some(92.5),
        kettle: pour.then_some(1),
        water_ml: pour.then_some(110.0),
        vessels: pour.then_some(2),
        other_round: None,
        moved_in: None,
    }
}

/// The teacher had the first steep last longer, and has it done again in a fourth round.
fn steered() -> Timetable {
    let mut cues = timetable().cues;
    let decant = cues.iter_mut().find(|c| c.action == Action::Decant).unwrap();
    (decant.at, decant.moved_in) = (HostTime(90_000_000), Some(3));
    cues.push(cue(200_000_000, Action::Pour, Some(417)).in_round(4));
    cues.push(cue(250_000_000, Action::Decant, Some(417)).in_round(4));
    Timetable::new(3, cues)
}

fn timetable() -> Timetable {
    Timetable::new(
        2,
        vec![
            cue(10_000_000, Action::Warm, Some(417)),
            cue(20_000_000, Action::Rinse, Some(417)),
            cue(29_000_000, Action::Refill, Some(417)),
            cue(35_000_000, Action::Pour, Some(417)),
            cue(45_000_000, Action::Lid, Some(417)),
            cue(85_000_000, Action::Decant, Some(417)),
            cue(95_000_000, Action::Taste, None),
            cue(105_000_000, Action::SheetCloses, None),
        ],
    )
}

fn score() -> Score {
    Score {
        id: Uuid::from_u128(3),
        code: Code::new(417).unwrap(),
        steep: 1,
        revision: 2,
        values: [("aroma".to_string(), 7), ("liking".to_string(), 8)].into(),
        strength: Some(Strength::TooThin),
        note: "warm bread".into(),
        words: vec![],
    }
}

fn score_with_words() -> Score {
    Score { words: vec!["floral".into(), "warm bread".into()], ..score() }
}

fn test_cards() -> [TestCard; 3] {
    let codes = |codes: &[u16]| codes.iter().filter_map(|&n| Code::new(n)).collect();
    let card = |test, kind, question: &str, reference, cups| TestCard {
        test,
        kind,
        question: question.into(),
        reference,
        codes: codes(cups),
    };
    [
        card(1, TestKind::Triangle, "Which is the odd one?", None, &[384, 512, 617]),
        card(2, TestKind::DuoTrio, "Which is the same as 705?", Code::new(705), &[384, 512]),
        card(3, TestKind::Paired, "Which is stronger?", None, &[384, 512]),
    ]
}

fn answer(revision: u32) -> Answer {
    Answer { id: Uuid::from_u128(4), test: 1, pick: Code::new(512).unwrap(), revision }
}

fn host_messages() -> Vec<(&'static str, HostMessage)> {
    let tea = TeaCard { code: Code::new(417).unwrap(), steeps: 3, name: None, leaf: None, recipe: None };
    let recipe = Recipe {
        leaf_g: 5.0,
        water_ml: 110.0,
        temp_c: vec![92.5],
        steep_s: vec![40, 40, 60],
        rinse_s: Some(5),
    };
    let open = TeaCard {
        name: Some("Lantern Slope".into()),
        leaf: Some("lantern".into()),
        recipe: Some(recipe),
        ..tea.clone()
    };
    let welcome = Welcome {
        class_id: Uuid::from_u128(9),
        title: "Two ways".into(),
        seat: SeatId(Uuid::from_u128(1)),
        name: "Ann".into(),
        seq: 12,
        link: LINK.into(),
        pace: 1.0,
        clock: Some(2),
        phase: Phase::Running,
        sheet: Sheet::default(),
        teas: vec![tea],
        pourers: Some(2),
        hands: Some(1),
        role: Role::Scores,
        owes_from_us: HostTime(9_000_000),
        order: vec![Code::new(417).unwrap()],
        kettles: vec!["kettle".into()],
        before_start: None,
        last_call_us: None,
        timetable: timetable(),
        scores: vec![score()],
        tests: vec![],
        answers: vec![],
        voided: vec![],
        reopened: Vec::new(),
        said: vec![],
    };
    let code = |number| Code::new(number).unwrap();
    let void =
        |number, only_yours| VoidCup { code: code(number), steep: 1, reason: "spilled".into(), only_yours };
    let voided = vec![void(238, false), void(417, true)];
    let welcome_voided = Welcome { voided: voided.clone(), scores: vec![], ..welcome.clone() };
    let saying = Saying { seq: 19, words: "please refill the pitchers".into(), to_you: false };
    let to_you = Saying { seq: 20, words: "your kettle is still off".into(), to_you: true };
    let welcome_tests = Welcome { tests: test_cards().into(), answers: vec![answer(2)], ..welcome.clone() };
    let welcome_said = Welcome { said: vec![saying.clone(), to_you.clone()], ..welcome.clone() };
    let again = OpenSheet { code: Code::new(417).unwrap(), steep: 2, until_us: HostTime(300_000_000) };
    let welcome_open = Welcome { reopened: vec![again], ..welcome.clone() };
    let welcome_words = Welcome {
        sheet: Sheet {
            words: vec!["floral".into(), "nutty".into(), "warm bread".into()],
            ..Sheet::default()
        },
        scores: vec![score_with_words()],
        ..welcome.clone()
    };
    let before = "before you start: fill the kettle, switch it on, set 95 °C, 4 min 7 s ahead";
    let welcome_lobby = Welcome {
        phase: Phase::Lobby,
        before_start: Some(before.into()),
        timetable: Timetable::default(),
        scores: vec![],
        ..welcome.clone()
    };
    let back = Back {
        seq: 15,
        link: LINK.into(),
        pace: 1.0,
        clock: Some(2),
        phase: Phase::Held,
        last_call_us: Some(HostTime(900_000_000)),
        timetable: Some(timetable()),
        teas: vec![open.clone()],
        scores: vec![score()],
        tests: vec![],
        answers: vec![],
        owes_from_us: None,
        reopened: None,
        said: vec![],
    };
    let [triangle, duo_trio, _] = test_cards();
    let back_tests = Back { tests: vec![triangle.clone()], answers: vec![answer(1)], ..back.clone() };
    let nothing_missed = Back { timetable: None, teas: vec![], scores: vec![], ..back.clone() };
    let back_reopened = Back {
        owes_from_us: Some(HostTime(240_000_000)),
        reopened: Some(vec![again]),
        ..nothing_missed.clone()
    };
    let back_said = Back { said: vec![to_you.clone()], ..nothing_missed.clone() };
    vec![
        ("host-greeting", HostMessage::greeting(NONCE)),
        ("host-class", HostMessage::Class { class_id: Uuid::from_u128(9), title: "Two ways".into() }),
        ("host-welcome", HostMessage::Welcome(Box::new(welcome))),
        ("host-welcome-lobby", HostMessage::Welcome(Box::new(welcome_lobby))),
        ("host-welcome-words", HostMessage::Welcome(Box::new(welcome_words))),
        ("host-back", HostMessage::Back(Box::new(back))),
        ("host-back-nothing-missed", HostMessage::Back(Box::new(nothing_missed))),
        ("host-welcome-tests", HostMessage::Welcome(Box::new(welcome_tests))),
        ("host-back-tests", HostMessage::Back(Box::new(back_tests))),
        ("host-test", HostMessage::Test { seq: 16, card: triangle }),
        ("host-test-reference", HostMessage::Test { seq: 17, card: duo_trio }),
        ("host-course", HostMessage::Course { seq: 13, phase: Phase::Held, timetable: timetable() }),
        ("host-course-steered", HostMessage::Course { seq: 14, phase: Phase::Running, timetable: steered() }),
        ("host-accepted", HostMessage::Accepted { seq: 14, id: Uuid::from_u128(3), link: LINK.into() }),
        (
            "host-declined",
            HostMessage::Declined {
                id: Uuid::from_u128(3),
                code: RefusalCode::NotPoured,
                reason: "417 has not been poured".into(),
            },
        ),
        ("host-revealed", HostMessage::Revealed { seq: 15, teas: vec![open] }),
        ("host-last-call", HostMessage::LastCall { seq: 18, until: HostTime(900_000_000) }),
        ("host-cups", HostMessage::Cups { seq: 21, voided, scores: vec![score()] }),
        ("host-welcome-voided", HostMessage::Welcome(Box::new(welcome_voided))),
        ("host-reopened", HostMessage::Reopened { seq: 24, reopened: vec![again] }),
        ("host-welcome-reopened", HostMessage::Welcome(Box::new(welcome_open))),
        ("host-back-reopened", HostMessage::Back(Box::new(back_reopened))),
        ("host-said", HostMessage::Said(saying)),
        ("host-said-to-you", HostMessage::Said(to_you)),
        ("host-welcome-said", HostMessage::Welcome(Box::new(welcome_said))),
        ("host-back-said", HostMessage::Back(Box::new(back_said))),
        ("host-notice", HostMessage::Notice { words: "the host's file was taken away".into() }),
        ("host-here", HostMessage::Here { names: vec!["Ann".into(), "Ben".into()], seats: 2 }),
        ("host-pong", HostMessage::Pong { t1_us: 1, t2_us: 2, t3_us: 3 }),
        ("host-led", HostMessage::Led { name: "Ann".into(), acts: true }),
        ("host-line", HostMessage::Line { text: "held: nothing dry is started".into() }),
        ("host-refusal", HostMessage::refusal(RefusalCode::NameTaken, "another seat is named Ann")),
    ]
}

fn seat_messages() -> Vec<(&'static str, SeatMessage)> {
    let (class_id, token) = (Uuid::from_u128(9), Token(Uuid::from_u128(2)));
    let new = Join { pourer: Some(1), ..Join::new(class_id, "Ann", token) };
    let join =
        Join { token: None, proofs: vec![token.proved(Challenge::plain(NONCE), class_id)], ..new.clone() };
    let heard = Some(Heard { seq: 12, link: LINK.into() });
    let code = Some("KX7M-QR4T".parse().unwrap());
    let hello = |code, join| SeatMessage::Hello(Hello::new(code, Some(join)));
    let proved = Proved::of(Purpose::Teacher, &[7; 16], Challenge::plain(NONCE), Uuid::nil());
    let lead = Lead { protocol: PROTOCOL, name: "Ann".into(), proved };
    vec![
        ("seat-hello-code", SeatMessage::Hello(Hello::new(code, None))),
        ("seat-hello", hello(None, Join { pourer: None, ..join.clone() })),
        ("seat-hello-new", hello(code, Join { pourer: None, ..new.clone() })),
        ("seat-hello-since", hello(None, Join { since: Some(12), heard, ..join.clone() })),
        ("seat-hello-pours-only", hello(code, Join { role: Role::PoursOnly, ..new.clone() })),
        ("seat-hello-pourer", hello(code, new)),
        ("seat-score", SeatMessage::Score(score())),
        ("seat-score-words", SeatMessage::Score(score_with_words())),
        ("seat-answer", SeatMessage::Answer(answer(1))),
        ("seat-answer-again", SeatMessage::Answer(answer(2))),
        ("seat-writing", SeatMessage::Writing { sheets: 2 }),
        ("seat-lead", SeatMessage::Lead(lead)),
        ("seat-typed", SeatMessage::Typed { line: "hold".into() }),
        ("seat-ping", SeatMessage::Ping { t1_us: 123_456 }),
    ]
}

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden")
}

fn pin<M>(name: &str, message: &M)
where
    M: serde::Serialize + for<'a> serde::Deserialize<'a> + PartialEq + std::fmt::Debug,
{
    let path = folder().join(format!("{name}.json"));
    let pretty = serde_json::to_string_pretty(message).unwrap() + "\n";
    if std::env::var_os("KETTLECALL_BLESS").is_some() {
        std::fs::write(&path, &pretty).unwrap();
    }
    let golden = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    assert_eq!(pretty, golden, "{name} changed on the wire");
    assert_eq!(from_json::<M>(&golden).as_ref(), Ok(message), "{name} is not read back as it was");
}

#[test]
fn every_message_is_written_and_read_as_its_golden_file() {
    for (name, message) in host_messages() {
        pin(name, &message);
    }
    for (name, message) in seat_messages() {
        pin(name, &message);
    }
}

#[test]
fn no_golden_file_is_left_over() {
    let named: BTreeSet<_> = host_messages()
        .iter()
        .map(|m| m.0)
        .chain(seat_messages().iter().map(|m| m.0))
        .map(|n| format!("{n}.json"))
        .collect();
    let there: BTreeSet<_> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(named, there);
}

#[test]
fn the_documentation_shows_every_message_and_every_refusal_code() {
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    for kind in [
        "greeting",
        "welcome",
        "back",
        "course",
        "accepted",
        "said",
        "cups",
        "declined",
        "revealed",
        "pong",
        "refusal",
        "last_call",
        "here",
        "led",
        "line",
        "lead",
        "typed",
        "test",
        "writing",
        "hello",
        "score",
        "answer",
        "ping",
    ] {
        assert!(readme.contains(&format!("\"{kind}\"")), "README.md has no example of `{kind}`");
    }
    let source = include_str!("../src/wire.rs");
    let codes = source.split("pub enum RefusalCode {").nth(1).unwrap().split("\n}").next().unwrap();
    for variant in codes.lines().map(str::trim).filter(|l| l.ends_with(',') && !l.starts_with("///")) {
        let name = variant.trim_end_matches(',');
        let spelt: RefusalCode = match serde_json::from_str(&format!("\"{}\"", snake(name))) {
            Ok(code) => code,
            Err(e) => panic!("{name}: {e}"),
        };
        if spelt != RefusalCode::Other {
            assert!(
                readme.contains(&format!("`{}`", snake(name))),
                "README.md does not explain `{}`",
                snake(name)
            );
        }
    }
}

fn snake(camel: &str) -> String {
    let mut out = String::new();
    for c in camel.chars() {
        if c.is_uppercase() && !out.is_empty() {
            out.push('_');
        }
        out.extend(c.to_lowercase());
    }
    out
}

#[test]
fn a_message_of_a_later_protocol_is_unknown_and_an_unknown_field_is_ignored() {
    assert_eq!(from_json::<HostMessage>(r#"{"type":"fanfare","loud":true}"#), Ok(HostMessage::Unknown));
    assert_eq!(from_json::<SeatMessage>(r#"{"type":"sing"}"#), Ok(SeatMessage::Unknown));
    let extra = r#"{"type":"ping","t1_us":5,"mood":"calm"}"#;
    assert_eq!(from_json::<SeatMessage>(extra), Ok(SeatMessage::Ping { t1_us: 5 }));
    let tetrad = r#"{"type":"test","seq":3,"test":1,"kind":"tetrad","question":"Which?","codes":["384"]}"#;
    let Ok(HostMessage::Test { card, .. }) = from_json(tetrad) else { panic!("{tetrad}") };
    assert_eq!(card.kind, TestKind::Other, "question and codes say enough");
}

#[test]
fn a_broken_message_says_where() {
    for (text, place) in [
        ("{", "line 1"),
        (r#"{"type":"ping"}"#, "t1_us"),
        (r#"{"type":"ping","t1_us":"x"}"#, "expected i64"),
        ("[]", "line 1"),
    ] {
        let words = from_json::<SeatMessage>(text).unwrap_err();
        assert!(words.contains("protocol 5") && words.contains(place), "{text}: {words}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]
    #[test]
    fn no_damage_to_a_message_makes_its_reader_panic_and_what_is_read_is_written_as_what_reads_the_same(
        which: prop::sample::Index, at: prop::sample::Index, cut in 0usize..20, put in "[\\[\\]{}\",:0-9a-z_e.-]{0,6}",
    ) {
        let (name, good) = which.get(&GOLDEN);
        let at = at.index(good.len());
        let damaged: String = good.chars().take(at).chain(put.chars()).chain(good.chars().skip(at + cut)).collect();
        if let Ok(message) = from_json::<SeatMessage>(&damaged) {
            prop_assert_eq!(from_json(&message.to_json()), Ok(message), "{}", name);
        }
        if let Ok(message) = from_json::<HostMessage>(&damaged) {
            prop_assert_eq!(from_json(&message.to_json()), Ok(message), "{}", name);
        }
    }
}

/// The golden files by their names, on one line each.
static GOLDEN: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
    let files = std::fs::read_dir(folder()).unwrap().map(|file| file.unwrap().path());
    let mut golden: Vec<(String, String)> = files
        .map(|path| {
            let value: serde_json::Value =
                serde_json::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
            (path.file_name().unwrap().to_string_lossy().into_owned(), value.to_string())
        })
        .collect();
    golden.sort();
    golden
});

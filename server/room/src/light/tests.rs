//! The light way into a ledger gives what the room has, whatever happened.

use super::*;
use crate::event::Kind;
use crate::{Entry, Event};
use class::course::Act;
use class::read;
use proptest::prelude::*;
use protocol::{Answer, HostTime, Role, Score, SeatId, Timetable, Token};

/// Three teas of two steeps; the names of the attributes want escapes in JSON.
const CLASS: &str = "title = \"Light\"\ndate = 2026-11-28\nseats = 6\npourers = \"each seat\"\npour_s = 5\ndecant_s = 4\ntaste_s = 60\n[sheet]\nattributes = [\"liking\", \"mouth \\\"feel\\\"\", \"aroma ü\"]\n";

fn class(blind: bool) -> Class {
    let tea = |code: u32| {
        format!(
            "[[tea]]\nname = \"Tea {code}\"\nleaf = \"Leaf\"\ncode = \"{code}\"\nleaf_g = 3\nwater_ml = 100\ntemp_c = 95\nsteep_s = [45, 60]\n"
        )
    };
    let teas: String = (100..103).map(tea).collect();
    let (head, sheet) = CLASS.split_once("[sheet]").unwrap();
    read::class(&format!("{head}blind = {blind}\n[sheet]{sheet}{teas}")).unwrap()
}

fn entries(class: Class, events: Vec<Event>) -> Vec<Entry> {
    let first = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class: Box::new(class) };
    let all = std::iter::once(first).chain(events).zip(1..);
    all.map(|(event, seq)| Entry::new(seq, HostTime(seq as i64), event)).collect()
}

fn light(entries: &[Entry]) -> Result<ClassScores, String> {
    let mut reader = Reader::default();
    for entry in entries {
        reader.take(entry.seq, entry.event.kind().name(), &entry.event.to_json()?)?;
    }
    reader.finish()
}

fn seat(n: u8) -> SeatId {
    SeatId(Uuid::from_u128(u128::from(n) + 1))
}

fn a_code() -> impl Strategy<Value = Code> {
    prop_oneof![Just(100u16), Just(101), Just(102), Just(555)].prop_map(|n| Code::new(n).unwrap())
}

fn a_score() -> impl Strategy<Value = Score> {
    (0u128..30, a_code(), 0u32..4, 0u32..4, -2i32..12, prop::option::of(-2i8..=2)).prop_map(
        |(id, code, steep, revision, liking, strength)| {
            let mut values: std::collections::BTreeMap<String, i32> =
                [("liking".into(), liking), ("mouth \"feel\"".into(), 10 - liking)].into();
            if liking == 3 {
                values.insert("not on the sheet".into(), 1);
                values.remove("liking");
            }
            let strength = strength.map(|s| s.try_into().unwrap());
            let (id, note) = (Uuid::from_u128(id), "a \"note\"".into());
            Score { id, code, steep, revision, values, strength, note, words: Vec::new() }
        },
    )
}

fn seated(seat: SeatId, name: String) -> Event {
    Event::Seated { seat, name, token: Token(Uuid::nil()), pourer: None, role: Role::Scores }
}

fn a_reason() -> impl Strategy<Value = String> {
    prop_oneof![Just(String::new()), Just("broken\u{1b}[2J pot".to_string())]
}

fn an_act() -> impl Strategy<Value = Act> {
    prop_oneof![
        (a_code(), 0u32..5, 0u32..90).prop_map(|(code, round, steep_s)| {
            Act::Added { code, round, steep: 1, steep_s, temp_c: 90.0 }
        }),
        (a_code(), 0u32..5, 0u32..90).prop_map(|(code, round, steep_s)| Act::Sat { code, round, steep_s }),
        (a_code(), 0u32..5, 0u32..90).prop_map(|(code, round, steep_s)| Act::Kept { code, round, steep_s }),
        (a_code(), 0u32..5, a_reason()).prop_map(|(code, round, reason)| Act::Skipped {
            code,
            round,
            reason
        }),
        (a_code(), 0u32..5, a_reason()).prop_map(|(code, from, reason)| Act::Dropped { code, from, reason }),
        (a_code(), 0u32..5).prop_map(|(code, from)| Act::TakenBack { code, from }),
        (0u32..5, 0u32..90).prop_map(|(round, taste_s)| Act::Tasted { round, taste_s }),
        (a_code(), prop::option::of(0u8..9)).prop_map(|(code, hands)| Act::Handed { code, hands }),
        (0u8..9).prop_map(|hands| Act::PourerLeft { hands }),
        (0u8..9).prop_map(|hands| Act::PourerBack { hands }),
        Just(Act::Undone),
    ]
}

/// An event of any kind but the first.
fn an_event() -> impl Strategy<Value = Event> {
    let timetable = Timetable::default;
    let answer = |(n, pick, id)| {
        let answer = Answer { id: Uuid::from_u128(id), test: 1, pick, revision: 1 };
        Event::Answered { seat: seat(n), answer }
    };
    prop_oneof![
        10 => (0u8..4, a_score(), any::<bool>())
            .prop_map(|(n, score, on_paper)| Event::Scored { seat: seat(n), score, on_paper }),
        3 => (0u8..3, "[a-c\u{202e}\"]{1,3}")
            .prop_map(|(n, name)| seated(seat(n), name)),
        1 => (0u8..3).prop_map(|n| Event::Released { seat: seat(n) }),
        1 => Just(Event::Started { timetable: timetable() }),
        1 => Just(Event::Held { timetable: timetable(), tasting_left_s: None }),
        1 => Just(Event::Resumed { timetable: timetable() }),
        1 => prop_oneof![Just(1.0), Just(60.0)].prop_map(|pace| Event::Opened { unix_us: 5, pace, boot: None, door: Default::default() }),
        1 => Just(Event::LastCall { until: HostTime(9) }),
        2 => (0u8..4, any::<bool>()).prop_map(|(n, counts)| Event::SeatCounts { seat: seat(n), counts, undone: false }),
        2 => (0u8..4, "[a-c\u{202e}]{1,3}").prop_map(|(n, name)| Event::Renamed { seat: seat(n), name }),
        2 => (0u8..4, 0u8..4).prop_map(|(a, b)| Event::SeatsJoined { from: seat(a), into: seat(b) }),
        2 => (0u8..4).prop_map(|n| Event::SeatsParted { seat: seat(n) }),
        2 => (a_code(), 0u32..4, prop::option::of(0u8..4)).prop_map(|(code, steep, n)| {
            Event::Voided { code, steep, seat: n.map(seat), reason: "spilled".into() }
        }),
        2 => (a_code(), 0u32..4, prop::option::of(0u8..4)).prop_map(|(code, steep, n)| {
            Event::Restored { code, steep, seat: n.map(seat), reason: "a slip".into() }
        }),
        2 => an_act().prop_map(|act| Event::Steered { act, suggested: vec![], timetable: None }),
        1 => a_code().prop_map(|code| Event::Revealed { codes: vec![code] }),
        1 => (0u8..4, a_code(), 0u32..4).prop_map(|(n, code, round)| {
            Event::SheetsReopened { seats: vec![seat(n)], code, round, until: HostTime(9) }
        }),
        1 => (0u8..4, a_code(), 0u32..4).prop_map(|(n, code, round)| {
            Event::SheetsShut { seats: vec![seat(n)], code, round }
        }),
        1 => Just(Event::TestOpened { test: 1 }),
        1 => (0u8..3, a_code(), 77u128..80).prop_map(answer),
        2 => (prop::collection::vec(0u8..4, 0..3), any::<bool>()).prop_map(|(seats, without_scores)| {
            let seats = seats.into_iter().map(seat).collect();
            Event::SentAway { seats, without_scores, reason: "a \u{202e}\"stranger\"".into() }
        }),
        2 => (prop::collection::vec(0u8..4, 0..3), any::<bool>()).prop_map(|(seats, undone)| {
            Event::LetBack { seats: seats.into_iter().map(seat).collect(), undone }
        }),
        1 => prop::option::of(0u8..4).prop_map(|n| Event::Said { seat: n.map(seat), words: "slowly".into() }),
        1 => Just(Event::Closed),
        1 => any::<bool>().prop_map(|at_end| Event::Lost { why: "it could not be read".into(), at_end }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn the_light_way_into_a_ledger_gives_what_the_room_has(
        events in prop::collection::vec(an_event(), 0..60),
        blind: bool,
    ) {
        let entries = entries(class(blind), events);
        // What is stored is made inert as it is read.
        let stored = entries.iter().map(|e| Entry { event: e.event.clone().inert(), ..e.clone() });
        let room = Room::replay(stored).unwrap();
        prop_assert_eq!(light(&entries).unwrap(), ClassScores::of(&room));
    }
}

#[test]
fn a_seat_that_is_left_out_by_its_name_is_left_out_as_in_the_room() {
    let scored = |n: u8| {
        let (id, values) = (Uuid::from_u128(n.into()), [("liking".to_string(), 5)].into());
        let (code, note, words) = (Code::new(100).unwrap(), String::new(), Vec::new());
        let score = Score { id, code, steep: 1, revision: 1, values, strength: None, note, words };
        Event::Scored { seat: seat(n), score, on_paper: false }
    };
    let mut events: Vec<Event> =
        [(0, "Ann"), (1, "Bob"), (2, "Zoë")].map(|(n, name)| seated(seat(n), name.into())).into();
    events.extend((0..3).map(scored));
    let entries = entries(class(true), events);
    let mut room = Room::replay(entries.clone()).unwrap();
    room.set_aside(seat(2));
    let mut reader = Reader::without(&["ZOË".to_string()]);
    for entry in &entries {
        reader.take(entry.seq, entry.event.kind().name(), &entry.event.to_json().unwrap()).unwrap();
    }
    let light = reader.finish().unwrap();
    assert_eq!(
        (light.seats.join(" "), light.left_out.join(" "), light.sheets()),
        ("Ann Bob".into(), "Zoë".into(), 2)
    );
    assert_eq!(light, ClassScores::of(&room));
}

#[test]
fn a_person_is_left_out_by_either_name_of_joined_seats() {
    let joined = Event::SeatsJoined { from: seat(0), into: seat(1) };
    let seats = [seated(seat(0), "Bobb".into()), seated(seat(1), "Bob".into()), joined];
    for name in ["bobb", "BOB"] {
        let mut reader = Reader::without(&[name.to_string()]);
        for entry in &entries(class(true), seats.to_vec()) {
            reader.take(entry.seq, entry.event.kind().name(), &entry.event.to_json().unwrap()).unwrap();
        }
        let light = reader.finish().unwrap();
        assert_eq!((light.left_out, light.joined), (vec!["Bob".to_string()], vec!["Bobb".to_string()]));
    }
}

#[test]
fn a_seat_is_left_out_by_the_name_it_had_and_by_that_of_the_seat_joined_to_it() {
    let mut events: Vec<Event> =
        [(0, "Ann"), (1, "Bob"), (2, "Bobb"), (3, "Cy")].map(|(n, name)| seated(seat(n), name.into())).into();
    events.push(Event::Renamed { seat: seat(1), name: "Bert".into() });
    events.push(Event::SeatsJoined { from: seat(2), into: seat(3) });
    let entries = entries(class(true), events);
    for (without, left_out) in [("bob", "Bert"), ("BOBB", "Cy"), ("Bert", "Bert")] {
        let mut reader = Reader::without(&[without.to_string()]);
        for entry in &entries {
            reader.take(entry.seq, entry.event.kind().name(), &entry.event.to_json().unwrap()).unwrap();
        }
        let mut room = Room::replay(entries.clone()).unwrap();
        room.set_aside(room.seat_meant(without).unwrap().id);
        let light = reader.finish().unwrap();
        assert_eq!((light.left_out.join(" ").as_str(), &light), (left_out, &ClassScores::of(&room)));
    }
}

#[test]
fn a_ledger_that_is_none_is_refused_in_the_words_of_the_room() {
    let whole = entries(class(true), vec![Event::Closed, Event::Closed]);
    let gap = [whole[0].clone(), whole[2].clone()];
    for broken in [&[][..], &whole[1..], &gap] {
        assert_eq!(light(broken).unwrap_err(), Room::replay(broken.to_vec()).unwrap_err());
    }
    assert!(Reader::default().take(1, "class", "{").is_err());
}

#[test]
fn an_entry_of_a_kind_that_nobody_knows_is_no_silence() {
    let first = &entries(class(true), vec![])[0];
    let mut reader = Reader::default();
    reader.take(1, Kind::Class.name(), &first.event.to_json().unwrap()).unwrap();
    let refusal = reader.take(2, "spilled", r#"{"kind":"spilled"}"#).unwrap_err();
    assert!(refusal.contains("knows no event of the kind `spilled`"), "{refusal}");
}

//! `server/docs/json.md` and the JSON say the same.

use crate::json;
use class::difference::{Asking, Side};
use fixtures::{At, Filled, class_file, evening, room};
use protocol::{Code, HostTime, SeatId};
use room::difference_test::{SeatAnswer, TestAnswers, TestTea};
use room::light::ClassScores;
use room::{Entry, Event, Room};
use serde::Serialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use summary::find::difference_tests::evaluate;
use summary::several::digest::Digest;
use summary::several::pool;
use summary::summarise;
use uuid::Uuid;

/// What the document says: for every shape its keys with their types.
type Shapes = BTreeMap<String, BTreeMap<String, String>>;

fn shapes() -> Shapes {
    let mut shapes = Shapes::new();
    let mut shape = None;
    for line in include_str!("../../docs/json.md").lines() {
        if let Some(name) = line.strip_prefix("### `") {
            shape = name.strip_suffix('`').map(String::from);
        }
        let key = line.strip_prefix("- `").and_then(|rest| rest.split_once("` ("));
        let (Some(name), Some((key, rest))) = (&shape, key) else { continue };
        let (of, _) = rest.split_once("):").unwrap_or_else(|| panic!("{line}"));
        let before = shapes.entry(name.clone()).or_default().insert(key.into(), of.into());
        assert_eq!(before, None, "{name} has {key} twice");
    }
    shapes
}

/// Holds a value to what is said of it, and notes the keys that are met.
struct Check {
    shapes: Shapes,
    met: BTreeSet<(String, String)>,
}

impl Check {
    fn document(&mut self, shape: &str, document: &impl Serialize) {
        self.value(shape, shape, &serde_json::from_str(&json(document)).unwrap());
    }

    fn value(&mut self, at: &str, of: &str, value: &Value) {
        let mut ways = of.split(" or ");
        let of = ways.next().unwrap();
        let others: Vec<&str> = ways.collect();
        let why =
            value.as_object().is_some_and(|o| o.len() == 1 && o.get("why").is_some_and(Value::is_string));
        if value.is_null() || why {
            let said = if why { "why" } else { "null" };
            return assert!(others.contains(&said), "{at}: {value} is not said to be possible");
        }
        if let Some(each) = of.strip_prefix("list of ") {
            let list = value.as_array().unwrap_or_else(|| panic!("{at}: {value} is no list"));
            return list.iter().for_each(|one| self.value(at, each, one));
        }
        let fits = match of {
            "text" => value.is_string(),
            "whole" => value.is_i64() || value.is_u64(),
            "number" => value.is_number(),
            "yes/no" => value.is_boolean(),
            shape => return self.object(at, shape, value),
        };
        assert!(fits, "{at}: {value} is no {of}");
    }

    fn object(&mut self, at: &str, shape: &str, value: &Value) {
        let said = self.shapes.get(shape).unwrap_or_else(|| panic!("{at}: no shape {shape}")).clone();
        let object = value.as_object().unwrap_or_else(|| panic!("{at}: {value} is no {shape}"));
        let (there, listed): (BTreeSet<&String>, BTreeSet<&String>) =
            (object.keys().collect(), said.keys().collect());
        assert_eq!(there, listed, "{at}: {shape} in the JSON, and in the document");
        for (key, value) in object {
            self.met.insert((shape.into(), key.clone()));
            self.value(&format!("{at}.{key}"), &said[key], value);
        }
    }
}

/// The class with a rinse and vessels of this mass.
fn rinsed(class: &str, vessel_g: u32) -> String {
    let more = format!("water_ml = 100\nrinse_s = 5\nvessel = \"glass\"\nvessel_g = {vessel_g}");
    class.replace("water_ml = 100", &more)
}

/// A class in which each leaf is served twice the same way; `gaps` leaves many sheets out.
fn served_twice(gaps: bool) -> Room {
    let sheet = "[sheet]\nattributes = [\"liking\", \"body\"]\nwords = [\"floral\", \"nutty\"]";
    let class = class_file(4, 2, sheet).replace("leaf_g = 5", "leaf_g = 3");
    let class = rinsed(&class, 200);
    room(&class, 8, &[0, 1, 2, 3], |At { seat, tea, steep }| {
        let scattered =
            |k: usize| (((seat * 41 + tea * 97 + steep as usize * 173 + k * 59) * 2_654_435_761) >> 16) % 7;
        let liking = 1 + scattered(1) as i32 + tea as i32 / 2;
        let words = if scattered(2) < 3 { vec!["floral".to_string()] } else { Vec::new() };
        let filled =
            Filled { values: vec![Some(liking), Some(5)], strength: Some(scattered(3) as i8 % 3 - 1), words };
        (!gaps || scattered(4) > 1).then_some(filled)
    })
}

/// A class as an earlier program has stored it.
fn stored(ledger: &str) -> Vec<Entry> {
    let entry = |line: &str| {
        let value: Value = serde_json::from_str(line).unwrap();
        let event: Event = serde_json::from_value(value["event"].clone()).unwrap();
        Entry { seq: value["seq"].as_u64().unwrap(), at: HostTime(value["at_us"].as_i64().unwrap()), event }
    };
    ledger.lines().map(entry).collect()
}

/// The same with a note on every sheet.
fn noted(ledger: &str) -> Room {
    let entries = stored(ledger).into_iter().map(|mut entry| {
        if let Event::Scored { score, .. } = &mut entry.event {
            score.note = "warm bread".into();
        }
        entry
    });
    Room::replay(entries).unwrap()
}

/// Twelve answers to a triangle.
fn triangle() -> TestAnswers {
    let tea = |n| TestTea { code: Code::new(n), name: None };
    let answer =
        |n: u128| SeatAnswer { seat: SeatId(Uuid::from_u128(n)), picked: Side::First, correct: Some(n < 8) };
    TestAnswers {
        number: 1,
        asking: Asking::Triangle,
        teas: [tea(417), tea(862)],
        steep: 1,
        open: true,
        seats: 12,
        answers: (0..12).map(answer).collect(),
    }
}

#[test]
fn every_key_of_the_json_is_in_the_document_with_its_type_and_every_key_there_is_in_the_json() {
    let mut check = Check { shapes: shapes(), met: BTreeSet::new() };
    let nobody =
        room(&rinsed(&class_file(2, 2, "[sheet]\nattributes = [\"liking\"]"), 150), 0, &[0, 1], |_| None);
    let rooms = [
        evening(&[0, 1, 2, 3]),
        evening(&[0]),
        served_twice(false),
        served_twice(true),
        noted(include_str!("../../tests/stored/class-1.jsonl")),
        nobody,
    ];
    for room in &rooms {
        let summary = summarise(room, room.last_at);
        check.document("Summary", &summary);
        summary.findings.figures.seats.iter().for_each(|page| check.document("SeatPage", page));
    }
    check.document("TestFound", &evaluate(&triangle()));
    let worked_up = |room: &Room| {
        let record = ClassScores::of(room);
        let digest = Digest::of(&record);
        (record, digest)
    };
    check.document("Pool", &pool(&rooms.each_ref().map(worked_up)));
    check.document("Pool", &pool(&[]));
    let listed =
        check.shapes.iter().flat_map(|(shape, keys)| keys.keys().map(|key| (shape.clone(), key.clone())));
    let never: Vec<_> = listed.filter(|key| !check.met.contains(key)).collect();
    assert!(never.is_empty(), "in the document, but not in the JSON: {never:?}");
}

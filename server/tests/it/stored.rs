//! A ledger's entries as an earlier program stored them: what they say is pinned, so that an upgrade can't change it.
//!
//! The files in `stored/` are never edited. A later program that stores something new gets a file of its own.

use protocol::HostTime;
use report::{csv, json};
use room::{Entry, Kind, Room};
use serde_json::Value;
use std::collections::BTreeSet;
use summary::findings::difference_tests;
use summary::summarise;

const LEDGERS: [&str; 16] = [
    include_str!("../stored/class-1.jsonl"),
    include_str!("../stored/class-2.jsonl"),
    include_str!("../stored/class-3.jsonl"),
    include_str!("../stored/class-4.jsonl"),
    include_str!("../stored/class-5.jsonl"),
    include_str!("../stored/class-6.jsonl"),
    include_str!("../stored/class-7.jsonl"),
    include_str!("../stored/class-8.jsonl"),
    include_str!("../stored/class-9.jsonl"),
    include_str!("../stored/class-10.jsonl"),
    include_str!("../stored/class-11.jsonl"),
    include_str!("../stored/class-12.jsonl"),
    include_str!("../stored/class-13.jsonl"),
    include_str!("../stored/class-14.jsonl"),
    include_str!("../stored/class-15.jsonl"),
    include_str!("../stored/class-16.jsonl"),
];

fn stored(text: &str) -> Vec<Entry> {
    let entry = |line: &str| {
        let value: Value = serde_json::from_str(line).unwrap();
        let at = HostTime(value["at_us"].as_i64().unwrap());
        let kind = value["event"]["kind"].as_str().unwrap();
        Entry::read(value["seq"].as_u64().unwrap(), at, kind, &value["event"].to_string()).unwrap()
    };
    text.lines().map(entry).collect()
}

#[test]
fn an_earlier_ledger_gives_the_same_timetable_summary_and_scores() {
    let room = Room::replay(stored(include_str!("../stored/class-1.jsonl"))).unwrap();
    let cues: Vec<String> = room
        .timetable
        .cues
        .iter()
        .map(|c| format!("{} {c} steep {} hands {} {} s", c.at.0, c.steep, c.hands, c.length_s))
        .collect();
    insta::assert_snapshot!("timetable", cues.join("\n"));
    insta::assert_snapshot!("summary", json(&summarise(&room, room.last_at)));
    insta::assert_snapshot!("scores", csv::long_form([&room], true).replace("\r\n", "\n"));
}

#[test]
fn an_earlier_ledger_gives_the_same_words_cups_and_answers() {
    let room = Room::replay(stored(LEDGERS[1])).unwrap();
    insta::assert_snapshot!("words", csv::long_form([&room], true).replace("\r\n", "\n"));
    insta::assert_snapshot!(
        "cards",
        json(&room.welcome(&room.seats[0], &plan::plan_rounds(&room.class), 1.0).tests)
    );
    let found: Vec<_> = difference_tests(&room.test_answers()).into_iter().map(|test| test.words).collect();
    insta::assert_snapshot!("tests", json(&found));
}

#[test]
fn an_earlier_ledger_gives_the_same_roles_and_what_was_put_right() {
    let room = Room::replay(stored(LEDGERS[2])).unwrap();
    let summary = summarise(&room, room.last_at);
    let page = report::text::text(&summary);
    insta::assert_snapshot!("put right", page.lines().take(10).collect::<Vec<_>>().join("\n"));
    insta::assert_snapshot!("put right sheets", json(&(&summary.aside, &summary.seats)));
    insta::assert_snapshot!("put right scores", csv::long_form([&room], true).replace("\r\n", "\n"));
}

#[test]
fn an_earlier_ledger_gives_the_same_seats_parted() {
    let room = Room::replay(stored(LEDGERS[3])).unwrap();
    let summary = summarise(&room, room.last_at);
    insta::assert_snapshot!("parted", json(&(&summary.aside, &summary.seats)));
}

#[test]
fn an_earlier_ledger_says_which_of_its_entries_are_lost() {
    let room = Room::replay(stored(LEDGERS[4])).unwrap();
    let said: Vec<String> =
        summarise(&room, room.last_at).aside.into_iter().map(|aside| aside.text).collect();
    assert_eq!(said[0], "Entries 2 to 3 were damaged and are lost.");
    assert!(said[1].starts_with("entries are missing: the ledger ended with entry 3"), "{said:?}");
}

#[test]
fn an_earlier_ledger_gives_the_same_course() {
    let room = Room::replay(stored(LEDGERS[5])).unwrap();
    let summary = summarise(&room, room.last_at);
    let course: Vec<_> = summary.teas.iter().map(|tea| (tea.code, &tea.recipe, &tea.course)).collect();
    insta::assert_snapshot!("course", json(&(&summary.aside, course)));
    let cups: Vec<Vec<u32>> =
        summary.teas.iter().map(|tea| tea.steeps.iter().map(|cup| cup.steep).collect()).collect();
    assert_eq!(
        cups,
        [vec![1, 2], vec![1, 2, 3], vec![1, 2, 3, 4], vec![1, 2, 3, 5]],
        "the cups as they were served"
    );
}

#[test]
fn an_earlier_ledger_gives_the_same_join_code_and_no_review_has_one() {
    let room = Room::replay(stored(LEDGERS[6])).unwrap();
    assert_eq!(room.join_code.map(|code| code.to_string()).as_deref(), Some("9GH2-WY53"));
    let summary = summarise(&room, room.last_at);
    let written = [json(&summary), report::text::text(&summary), csv::long_form([&room], true)];
    for (written, code) in written.iter().flat_map(|text| [(text, "KX7M-QR4T"), (text, "9GH2-WY53")]) {
        assert!(!written.contains(code) && !written.contains("join_code"));
    }
}

#[test]
fn an_earlier_ledger_gives_the_same_steeps_that_followed_the_votes() {
    let room = Room::replay(stored(LEDGERS[7])).unwrap();
    let found = summarise(&room, room.last_at).adapted;
    assert_eq!(room.adapted.len(), 1, "what was left and undone is one change");
    insta::assert_snapshot!("followed", json(&found));
}

#[test]
fn an_earlier_ledger_says_the_same_to_its_seats() {
    let room = Room::replay(stored(LEDGERS[8])).unwrap();
    let heard = |name: &str| -> Vec<(u64, String, bool)> {
        let said = room.said_to(room.seat_named(name).unwrap(), 0);
        said.into_iter().map(|saying| (saying.seq, saying.words, saying.to_you)).collect()
    };
    let to_all = (8, "please refill the pitchers".to_string(), false);
    assert_eq!(heard("Ann"), std::slice::from_ref(&to_all));
    assert_eq!(heard("Bob"), [to_all, (9, "your kettle is still off".into(), true)]);
}

#[test]
fn an_earlier_ledger_tastes_its_rounds_as_long() {
    let room = Room::replay(stored(LEDGERS[9])).unwrap();
    assert_eq!([1, 2].map(|round| room.course.taste_s(&room.class, round)), [30, 50]);
}

#[test]
fn an_earlier_ledger_has_the_same_seats_away() {
    let room = Room::replay(stored(LEDGERS[10])).unwrap();
    let names = |away: bool| -> Vec<&str> {
        let seats = room.seats.iter().filter(|seat| seat.away.is_some() == away);
        seats.map(|seat| seat.name.as_str()).collect()
    };
    assert_eq!((names(false), names(true)), (vec!["Ann", "stranger-1", "Cy"], vec!["Bob", "Cy (away)"]));
    let said: Vec<String> =
        summarise(&room, room.last_at).aside.into_iter().map(|aside| aside.text).collect();
    assert_eq!(
        said,
        [
            "Cy and stranger-1 were sent away; what they scored counts.",
            "Cy is called Cy (away).",
            "stranger-1 was let back.",
            "Bob was sent away (he went home); what was scored there does not count.",
            "Bob was let back.",
            "Bob was sent away (he went home); what was scored there counts.",
        ]
    );
}

#[test]
fn an_earlier_ledger_has_its_teas_poured_by_the_same() {
    let room = Room::replay(stored(LEDGERS[11])).unwrap();
    let codes: Vec<_> = room.class.coded().map(|(code, _)| code).collect();
    let given = codes.iter().map(|&code| (code.to_string(), room.course.hands_for(&room.class, code)));
    let given: Vec<_> = given.filter_map(|(code, by)| Some((code, by?))).collect();
    assert_eq!((given, room.course.has_left(1)), (vec![("417".to_string(), 2)], false));
}

#[test]
fn an_earlier_ledger_has_the_same_sheets_open_again() {
    let room = Room::replay(stored(LEDGERS[12])).unwrap();
    let open = |name: &str| room.open_sheets(room.seat_named(name).unwrap()).len();
    assert_eq!((open("Ann"), open("Bob")), (1, 0));
}

#[test]
fn an_earlier_ledger_has_let_in_the_same_people_who_have_not_sat_down() {
    let room = Room::replay(stored(LEDGERS[13])).unwrap();
    assert_eq!((room.is_admitted("Ann"), room.is_admitted("cy")), (false, true));
}

#[test]
fn an_earlier_ledger_has_taken_back_who_was_let_in_and_never_came() {
    let room = Room::replay(stored(LEDGERS[15])).unwrap();
    assert!(!room.is_admitted("cy"));
}

#[test]
fn an_earlier_ledger_names_the_same_consoles_and_keys() {
    let entries = stored(LEDGERS[14]);
    let by: Vec<_> = entries.iter().filter_map(|e| Some((e.seq, e.by.as_ref()?.to_string()))).collect();
    let (host, ann) = ("the host's console".to_string(), "Ann's console".to_string());
    assert_eq!(by, [(4, host.clone()), (7, host.clone()), (8, ann.clone()), (9, host), (10, ann)]);
    let room = Room::replay(entries).unwrap();
    let (teacher, observer) = room.keys.unwrap();
    assert_eq!([teacher, observer].map(|hash| hash.to_string()), ["c4".repeat(32), "1d".repeat(32)]);
}

#[test]
fn the_stored_ledgers_hold_every_kind_of_event_there_is() {
    let kinds: BTreeSet<Kind> =
        LEDGERS.iter().flat_map(|ledger| stored(ledger)).map(|e| e.event.kind()).collect();
    assert_eq!(kinds, Kind::ALL.iter().copied().collect());
}

#[test]
fn every_stored_field_is_read_and_written_again() {
    for line in LEDGERS.iter().flat_map(|ledger| ledger.lines()) {
        let stored: Value = serde_json::from_str(line).unwrap();
        let (kind, json) = (stored["event"]["kind"].as_str().unwrap(), stored["event"].to_string());
        let again = Entry::read(1, HostTime(0), kind, &json).unwrap().to_json().unwrap();
        assert_subset(&stored["event"], &serde_json::from_str(&again).unwrap());
    }
}

/// Everything in `old` is in `new`, which may have more.
fn assert_subset(old: &Value, new: &Value) {
    match (old, new) {
        (Value::Object(old), Value::Object(new)) => {
            old.iter().for_each(|(key, value)| assert_subset(value, new.get(key).unwrap_or(&Value::Null)));
        }
        (Value::Array(old), Value::Array(new)) => {
            assert_eq!(old.len(), new.len());
            old.iter().zip(new).for_each(|(old, new)| assert_subset(old, new));
        }
        _ => assert_eq!(old, new),
    }
}

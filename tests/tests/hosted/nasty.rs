//! Of a class whose every text is nasty nothing acts at any place where text leaves the programs.

use fixtures::nasty::nasty;
use ledger::{Ledger, Record, Sqlite};
use protocol::HostTime;
use protocol::text::acts;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;
use tests::model::ModelSeat;
use tests::program::{Running, path};
use tokio_tungstenite::tungstenite::Message;

/// The fields of entries that hold a person's words.
const TEXTS: [&str; 8] = ["title", "name", "leaf", "note", "reason", "low", "high", "by"];
/// How many marks in a row are a flood.
const FLOOD: &str = "\u{301}\u{316}\u{301}\u{316}\u{301}";

/// Puts another nasty text in place of every one that a person wrote.
fn spoil(value: &mut Value, count: &mut usize) {
    let nasty = nasty();
    match value {
        Value::Object(fields) => {
            for (field, value) in fields {
                match value {
                    Value::String(text) if TEXTS.contains(&field.as_str()) => {
                        *text = format!("{}{count}", nasty[*count % nasty.len()].1);
                        *count += 1;
                    }
                    // The lines of a sheet are known by their names.
                    _ if field == "attributes" => {}
                    other => spoil(other, count),
                }
            }
        }
        Value::Array(values) => values.iter_mut().for_each(|value| spoil(value, count)),
        _ => {}
    }
}

/// The ledger of such a class, as another program may have written it: nothing was made inert before.
fn class() -> &'static Path {
    static CLASS: OnceLock<TempDir> = OnceLock::new();
    CLASS
        .get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            let mut events: Vec<(i64, Value)> = include_str!("../../pinned/evening.jsonl")
                .lines()
                .map(|line| serde_json::from_str::<Value>(line).unwrap())
                .filter(|line| line["event"]["kind"] != "closed")
                .map(|line| (line["at_us"].as_i64().unwrap(), line["event"].clone()))
                .collect();
            let mut count = 0;
            events.iter_mut().for_each(|(_, event)| spoil(event, &mut count));
            let (last, seat) = (events.last().unwrap().0, events[2].1["seat"].clone());
            for (_, text) in nasty() {
                events.push((last, json!({"kind": "said", "words": text, "by": text})));
                events.push((last, json!({"kind": "voided", "code": "305", "steep": 1, "seat": seat, "reason": text, "by": text})));
            }
            events.push((last, json!({"kind": "sent_away", "seats": [seat], "reason": nasty()[0].1})));
            events.push((last, json!({"kind": "let_back", "seats": [seat]})));
            let records: Vec<Record> = (1..)
                .zip(&events)
                .map(|(seq, (at_us, event))| Record {
                    seq,
                    at: HostTime(*at_us),
                    kind: event["kind"].as_str().unwrap().to_string().into(),
                    json: event.to_string().into(),
                    once: None,
                })
                .collect();
            assert!(count >= nasty().len(), "{count} texts were spoilt");
            Sqlite::open(&folder.path().join("class.ledger")).unwrap().append(0, &records).unwrap();
            folder
        })
        .path()
}

/// What the teacher's program writes on standard output and standard error.
fn says(args: &[&str]) -> (String, String) {
    let out = Command::new(path("kettlecall")).current_dir(class()).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let (said, errors) = (text(out.stdout), text(out.stderr));
    assert!(out.status.success(), "{args:?}: {errors}");
    (said, errors)
}

/// Sees to it that nothing in a text acts. Lines may end.
#[track_caller]
fn is_inert(whence: &str, text: &str) {
    let plain = text.replace("\r\n", "\n");
    let line = plain.lines().find(|line| line.chars().any(acts));
    assert_eq!(line, None, "{whence}: a line that acts");
    assert!(!plain.contains(FLOOD), "{whence}: marks pile up");
}

/// And none of it goes on without end.
#[track_caller]
fn is_inert_and_ends(whence: &str, text: &str) {
    is_inert(whence, text);
    assert!(!text.contains(&"x".repeat(500)), "{whence}: a text never ends");
}

/// And nothing of it runs as a page.
#[track_caller]
fn is_inert_page(whence: &str, page: &str) {
    is_inert_and_ends(whence, page);
    for runs in ["<script>alert", "<img src=x", "<svg onload", "</style></title>"] {
        assert!(!page.contains(runs), "{whence}: {runs}");
    }
}

/// And no cell of it is a formula.
#[track_caller]
fn is_inert_table(whence: &str, table: &str) {
    is_inert_and_ends(whence, table);
    for row in
        csv::ReaderBuilder::new().flexible(true).has_headers(false).from_reader(table.as_bytes()).records()
    {
        for cell in &row.unwrap() {
            let opens = cell.trim_start().starts_with(['=', '+', '-', '@']);
            assert!(!opens || cell.parse::<f64>().is_ok(), "{whence}: {cell}");
        }
    }
}

#[test]
fn what_is_read_of_a_nasty_class_on_a_terminal_is_inert() {
    for args in [
        &["review", "class.ledger"][..],
        &["review", "class.ledger", "--full"],
        &["review", "class.ledger", "--for", "class"],
        &["review", "class.ledger", "--format", "json"],
        &["plan", "class.ledger", "--full"],
        &["plan", "class.ledger", "--format", "json"],
        &["check", "class.ledger"],
    ] {
        let (said, errors) = says(args);
        assert!(said.len() > 200, "{args:?}: {said}");
        is_inert_and_ends(&format!("{args:?}"), &said);
        is_inert_and_ends(&format!("{args:?}, on standard error"), &errors);
    }
}

#[test]
fn the_pages_of_a_nasty_class_are_inert() {
    for args in [
        &["review", "class.ledger", "--format", "html"][..],
        &["review", "class.ledger", "--cards", "-"],
        &["plan", "class.ledger", "--format", "html"],
    ] {
        is_inert_page(&format!("{args:?}"), &says(args).0);
    }
    let folder = tempfile::tempdir().unwrap();
    let seats = folder.path().join("seats");
    says(&["review", "class.ledger", "--seats", seats.to_str().unwrap()]);
    let pages: Vec<_> = std::fs::read_dir(&seats).unwrap().map(|file| file.unwrap().path()).collect();
    assert!(pages.len() >= 16, "{pages:?}");
    for page in pages {
        let name = page.file_name().unwrap().to_str().unwrap();
        is_inert("the name of a seat's page", name);
        let text = std::fs::read_to_string(&page).unwrap();
        if name.ends_with(".html") { is_inert_page(name, &text) } else { is_inert_and_ends(name, &text) }
    }
}

#[test]
fn the_tables_of_a_nasty_class_are_inert() {
    is_inert_table("csv", &says(&["review", "class.ledger", "--format", "csv", "--revisions"]).0);
    is_inert_table("the form for paper", &says(&["enter", "class.ledger", "--template"]).0);
    let folder = tempfile::tempdir().unwrap();
    let tables = folder.path().join("tables");
    says(&["review", "class.ledger", "--format", "tables", "--output", tables.to_str().unwrap()]);
    for file in std::fs::read_dir(&tables).unwrap() {
        let file = file.unwrap().path();
        is_inert_table(&file.display().to_string(), &std::fs::read_to_string(&file).unwrap());
    }
}

#[test]
fn a_record_of_a_nasty_class_keeps_it_to_the_byte_and_what_is_read_of_it_is_inert() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("class.record");
    let record = record.to_str().unwrap();
    says(&["record", "class.ledger", "--output", record]);
    let (of_record, of_ledger) =
        (says(&["review", record, "--full"]).0, says(&["review", "class.ledger", "--full"]).0);
    is_inert("the review of a record", &of_record);
    assert_eq!(of_record, of_ledger);
    is_inert("the check of a record", &says(&["check", record]).0);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_consoles_and_the_seats_of_a_nasty_class_show_it_inert() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = folder.path().join("class.ledger");
    std::fs::copy(class().join("class.ledger"), &ledger).unwrap();
    let (mut host, address) = Running::host(&ledger, &ledger, "127.0.0.1:0", 1);
    let code = host.code();
    host.wait_for("caution: Local codes");
    let keys = folder.path().join("class.ledger-keys");
    let lead = ["lead", &address, "--key", keys.to_str().unwrap(), "--name", "Ann"];
    let mut lead = Running::start("kettlecall", &lead);
    lead.wait_for("caution: Local codes");
    let keep = folder.path().join("seat");
    let seat = [&address, "--code", &code, "--name", "Zoe", "--plain", "--keep", keep.to_str().unwrap()];
    let seat = Running::start("kettleseat", &seat);
    seat.wait_for("seated as Zoe");
    for word in ["who", "key", "summary", "why", "code"] {
        host.type_in(word);
        lead.type_in(word);
    }
    for (_, text) in nasty() {
        // Of a text of several lines each is one that is typed.
        host.type_in(&format!("say {}", text.replace(['\r', '\n'], " ")));
        host.type_in(&text.replace(['\r', '\n'], " "));
    }
    host.type_in("say the end");
    for shown in [&host, &lead, &seat] {
        shown.wait_for("the end");
        let lines = shown.lines();
        assert!(lines.len() > nasty().len(), "{lines:?}");
        is_inert_and_ends("a line", &lines.join("\n"));
    }
    // What comes over the wire and is no name or no text at all is refused in words that do not act.
    for name in nasty()
        .into_iter()
        .map(|(_, text)| json!(text).to_string())
        .chain(["\"\\ud800\"".into(), "\"a\\udc00\\ud800\"".into()])
    {
        let mut stranger = ModelSeat::dial(&address).await;
        let lead = format!(
            "{{\"type\":\"lead\",\"protocol\":{},\"name\":{name},\"key\":{name},\"proof\":{name}}}",
            protocol::wire::PROTOCOL
        );
        stranger.send(Message::text(lead)).await;
        stranger.until_ended().await;
        let (_, words) = stranger.refusal.unwrap();
        is_inert_and_ends("a refusal", &words);
    }
}

/// What a program says that is asked for something nasty.
fn answers(program: &str, args: &[&str]) -> String {
    let out = Command::new(path(program)).args(args).output().unwrap();
    let said = String::from_utf8(out.stderr).unwrap() + &String::from_utf8(out.stdout).unwrap();
    assert!(!said.is_empty(), "{program} {args:?}");
    said
}

#[test]
fn what_is_said_of_nasty_files_is_inert() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    let file = file.to_str().unwrap();
    for (tries, text) in nasty() {
        let class = format!("title = \"{text}\"\n{text} = 1\n[[tea]]\nname = \"{text}\"\n# {text}\n");
        std::fs::write(file, class).unwrap();
        is_inert(tries, &answers("kettlecall", &["plan", file]));
    }
    let all: Vec<String> = nasty().into_iter().map(|(_, text)| text).collect();
    let all = all.join("\n");
    for content in [
        format!("teacher: {all}"),
        format!("{{\"kettlecall_record\":2,\"{all}\":1}}\n{all}"),
        format!("{{\"form\":1,\"name\":\"{all}\"}}"),
        all,
        "{\"form\":1,\"name\":\"\\ud800\"}".into(),
    ] {
        std::fs::write(file, content).unwrap();
        for args in [&["check", file][..], &["review", file], &["lead", "127.0.0.1:1", "--key", file]] {
            is_inert(&format!("{args:?}"), &answers("kettlecall", args));
        }
        is_inert("a seat's file", &answers("kettleseat", &["127.0.0.1:x", "--name", "Ann", "--keep", file]));
    }
}

#[test]
fn what_is_said_of_nasty_arguments_is_inert() {
    // No system passes a NUL on.
    for (tries, text) in nasty().into_iter().filter(|(_, text)| !text.contains('\0')) {
        for (program, args) in [
            ("kettlecall", &["plan", &text][..]),
            ("kettlecall", &["lead", "h", "--key", "none", "--name", &text]),
            ("kettleseat", &["h:x", "--name", &text, "--pin", &text]),
        ] {
            is_inert(&format!("{tries}: {args:?}"), &answers(program, args));
        }
    }
}

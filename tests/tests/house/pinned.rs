//! What users hold or see is pinned byte by byte: events as stored, reviews in every form, next classes and plans. Work on
//! the inside of the programs must not change any of it.
//!
//! The program under test is the one in the target folder, so build it first. To accept an agreed change:
//! `cargo build --workspace && KETTLECALL_BLESS=1 cargo test -p tests --test house pinned`. What goes in, `events.jsonl` and the two
//! classes `evening.jsonl` and `again.jsonl`, is never written anew: users have such ledgers. A new kind of event gets a line.
//!
//! Spreadsheets are left out: a ZIP archive may differ in its bytes and be the same; `tables` has what is in them.

use host::stored;
use ledger::{Record, Sqlite};
use protocol::HostTime;
use room::{Entry, Event};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tests::program::path;

/// The classes that are reviewed: one of eight seats and one that comes late, and one of the same teas and another.
const CLASSES: [&str; 2] = ["evening", "again"];
/// Makes the list of kinds and a `match` of the same words, so that a new kind of event does not compile before it is here.
macro_rules! kinds {
    ($($kind:ident)*) => {
        const KINDS: &[&str] = &[$(stringify!($kind)),*];
        fn kind(event: &Event) -> &'static str {
            match event { $(Event::$kind { .. } => stringify!($kind),)* }
        }
    };
}
kinds!(Class Opened Seated Released Started Held Resumed Scored Revealed TestOpened Answered LastCall Closed SeatCounts Renamed
    SeatsJoined SeatsParted Voided Restored FellShort Lost Steered
    JoinCodeDrawn Admitted AdmittedNoMore Said SentAway LetBack
    SheetsReopened SheetsShut
    KeysDrawn DoorSet);

/// What the program is told, and the pinned file or folder that says what it gives. It stands in a folder with both ledgers
/// and the demo's class files.
const PINS: &[(&str, &[&str])] = &[
    ("evening.json", &["review", "evening.ledger", "--format", "json"]),
    ("evening.txt", &["review", "evening.ledger"]),
    ("evening.html", &["review", "evening.ledger", "--format", "html"]),
    ("evening.csv", &["review", "evening.ledger", "--format", "csv"]),
    ("evening-tables", &["review", "evening.ledger", "--format", "tables", "--output", OUT]),
    ("evening-next.toml", &["review", "evening.ledger", "--next", OUT]),
    ("evening-ada.json", &["review", "evening.ledger", "--seat", "Ada", "--format", "json"]),
    ("evening-ada.txt", &["review", "evening.ledger", "--seat", "ada"]),
    ("evening-zoe.json", &["review", "evening.ledger", "--seat", "Zoë", "--format", "json"]),
    ("evening-zoe.txt", &["review", "evening.ledger", "--seat", "Zoë"]),
    ("evening-plan.json", &["plan", "evening.ledger", "--format", "json"]),
    ("again.txt", &["review", "again.ledger"]),
    ("again-plan.txt", &["plan", "again.ledger"]),
    ("both.json", &["review", "friday.ledger", "evening.ledger", "--format", "json"]),
    ("both.txt", &["review", "friday.ledger", "evening.ledger"]),
    ("both.html", &["review", "friday.ledger", "evening.ledger", "--format", "html"]),
    ("both.csv", &["review", "again.ledger", "evening.ledger", "--format", "csv", "--revisions"]),
    (
        "both-tables",
        &["review", "again.ledger", "evening.ledger", "--format", "tables", "--revisions", "--output", OUT],
    ),
    ("both-next.toml", &["review", "friday.ledger", "evening.ledger", "--next", OUT]),
    ("six-teas-plan.json", &["plan", "six-teas.toml", "--format", "json"]),
    ("six-teas-plan.txt", &["plan", "six-teas.toml"]),
    ("six-teas-plan.html", &["plan", "six-teas.toml", "--format", "html"]),
    ("demo-evening-plan.json", &["plan", "demo-evening.toml", "--format", "json"]),
    ("demo-evening-plan.txt", &["plan", "demo-evening.toml"]),
    ("demo-evening-plan.html", &["plan", "demo-evening.toml", "--format", "html"]),
];
/// Where the program writes what does not go to standard output.
const OUT: &str = "out";

fn pinned() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("pinned")
}

/// An entry as a line of `CLASSES`; `event` is its JSON.
fn line(seq: u64, at: HostTime, event: &str) -> String {
    format!("{{\"seq\":{seq},\"at_us\":{},\"event\":{event}}}", at.0)
}

fn entry(line: &str) -> Entry {
    let value: Value = serde_json::from_str(line).unwrap();
    let at = HostTime(value["at_us"].as_i64().unwrap());
    let kind = value["event"]["kind"].as_str().unwrap();
    Entry::read(value["seq"].as_u64().unwrap(), at, kind, &value["event"].to_string()).unwrap()
}

/// A folder with the ledgers and the class files.
pub(crate) fn place() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in CLASSES {
        let text = fs::read_to_string(pinned().join(format!("{name}.jsonl"))).unwrap();
        let entries: Vec<Entry> = text.lines().map(entry).collect();
        let path = folder.path().join(format!("{name}.ledger"));
        stored::append(&mut Sqlite::open(&path).unwrap(), &entries).unwrap();
    }
    // A rehearsal beside a class is left out; with this one there are two classes.
    let held =
        fs::read_to_string(pinned().join("again.jsonl")).unwrap().replace("\"pace\":60.0", "\"pace\":1.0");
    let entries: Vec<Entry> = held.lines().map(entry).collect();
    stored::append(&mut Sqlite::open(&folder.path().join("friday.ledger")).unwrap(), &entries).unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo");
    for (from, to) in [("six-teas.toml", "six-teas.toml"), ("evening.toml", "demo-evening.toml")] {
        fs::copy(demo.join(from), folder.path().join(to)).unwrap();
    }
    folder
}

/// The ledgers in that folder.
pub(crate) fn ledgers(folder: &Path) -> Vec<PathBuf> {
    CLASSES.iter().map(|name| folder.join(format!("{name}.ledger"))).collect()
}

/// The files that the program gives, by their names below `pinned/`.
fn given(folder: &Path, name: &str, args: &[&str]) -> Vec<(String, Vec<u8>)> {
    let out = Command::new(path("kettlecall")).current_dir(folder).args(args).output().unwrap();
    assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
    let written = folder.join(OUT);
    if written.is_dir() {
        let files: Vec<_> = fs::read_dir(&written).unwrap().map(|file| file.unwrap()).collect();
        let read = |file: &fs::DirEntry| {
            let pinned = match file.file_name().to_str().unwrap() {
                // The table of every score is the long form itself; it is pinned once.
                "scores.csv" => name.replace("-tables", ".csv"),
                file => format!("{name}/{file}"),
            };
            (pinned, fs::read(file.path()).unwrap())
        };
        let files = files.iter().map(read).collect();
        fs::remove_dir_all(written).unwrap();
        return files;
    }
    if !written.exists() {
        return vec![(name.into(), out.stdout)];
    }
    let text = fs::read_to_string(&written).unwrap();
    fs::remove_file(written).unwrap();
    // A next class has the day on which it is written.
    let dated =
        |line: &str| if line.starts_with("date = ") { "date = TODAY\n".into() } else { line.to_string() };
    vec![(name.into(), text.split_inclusive('\n').map(dated).collect::<String>().into())]
}

/// Where two texts part: the line, and both from a little before that place on.
pub(crate) fn difference(old: &[u8], new: &[u8]) -> String {
    let same = old.iter().zip(new).take_while(|(old, new)| old == new).count();
    let start = old[..same].iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
    let from = start.max(same.saturating_sub(60));
    let shown = |text: &[u8]| {
        let rest = text[from..].split_inclusive(|&byte| byte == b'\n').next().unwrap_or_default();
        String::from_utf8_lossy(&rest[..rest.len().min(200)]).into_owned()
    };
    let number = 1 + old[..start].iter().filter(|&&byte| byte == b'\n').count();
    format!("line {number}, byte {}:\n  was {:?}\n  is  {:?}", same - start + 1, shown(old), shown(new))
}

/// Holds what the programs give against the pinned files, or writes these.
fn hold(names: impl Fn(&str) -> bool) {
    let folder = place();
    let mut changes = Vec::new();
    for (name, args) in PINS.iter().filter(|(name, _)| names(name)) {
        let files = given(folder.path(), name, args);
        if std::env::var_os("KETTLECALL_BLESS").is_some() {
            let _ = fs::remove_dir_all(pinned().join(name));
            for (name, bytes) in &files {
                let path = pinned().join(name);
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(path, bytes).unwrap();
            }
        }
        for (name, new) in &files {
            match fs::read(pinned().join(name)) {
                Ok(old) if old == *new => {}
                Ok(old) => changes.push(format!("tests/pinned/{name}, {}", difference(&old, new))),
                Err(_) => {
                    changes.push(format!("tests/pinned/{name} is not there, but the program writes it"))
                }
            }
        }
        for old in fs::read_dir(pinned().join(name)).into_iter().flatten() {
            let old = format!("{name}/{}", old.unwrap().file_name().to_str().unwrap());
            if !files.iter().any(|(new, _)| *new == old) {
                changes.push(format!("tests/pinned/{old} is no longer written by the program"));
            }
        }
    }
    assert!(
        changes.is_empty(),
        "{}\n\nIf that was agreed: cargo build --workspace && KETTLECALL_BLESS=1 cargo test -p tests --test house pinned",
        changes.join("\n")
    );
}

#[test]
fn every_kind_of_event_is_read_and_written_to_the_byte() {
    let text = fs::read_to_string(pinned().join("events.jsonl")).unwrap();
    let mut seen = BTreeSet::new();
    for (number, line) in (1..).zip(text.lines()) {
        let event: Event =
            serde_json::from_str(line).unwrap_or_else(|e| panic!("events.jsonl {number}: {e}"));
        let again = serde_json::to_string(&event).unwrap();
        assert!(
            again == line,
            "tests/pinned/events.jsonl {number}: {}",
            difference(line.as_bytes(), again.as_bytes())
        );
        seen.insert(kind(&event));
    }
    assert_eq!(seen, KINDS.iter().copied().collect(), "a line of each kind");
}

#[test]
fn a_ledger_stores_every_entry_to_the_byte() {
    let folder = place();
    for name in CLASSES {
        let path = folder.path().join(format!("{name}.ledger"));
        let mut text = String::new();
        let each = |record: Record<'_>| {
            text += &(line(record.seq, record.at, &record.json) + "\n");
            Ok(())
        };
        ledger::visit(&path, each).unwrap();
        let old = fs::read(pinned().join(format!("{name}.jsonl"))).unwrap();
        assert!(old == text.as_bytes(), "tests/pinned/{name}.jsonl, {}", difference(&old, text.as_bytes()));
    }
}

#[test]
fn a_review_of_one_class_is_the_same_to_the_byte_in_every_form() {
    hold(|name| (name.starts_with("evening") || name.starts_with("again")) && !name.contains("-plan"));
}

#[test]
fn several_classes_together_are_the_same_to_the_byte() {
    hold(|name| name.starts_with("both"));
}

#[test]
fn plans_are_the_same_to_the_byte() {
    hold(|name| name.contains("-plan"));
}

#[test]
fn no_pinned_file_is_left_over() {
    let there = fs::read_dir(pinned()).unwrap().map(|file| file.unwrap().file_name().into_string().unwrap());
    let inputs = [".gitattributes", "events.jsonl", "evening.jsonl", "again.jsonl"];
    let named: BTreeSet<&str> = PINS.iter().map(|(name, _)| *name).chain(inputs).collect();
    let over: Vec<String> = there.filter(|name| !named.contains(name.as_str())).collect();
    assert!(over.is_empty(), "{over:?}");
}

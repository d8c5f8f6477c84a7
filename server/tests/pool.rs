//! `kettlecall review` of several ledgers as a program.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use protocol::HostTime;
use serde_json::Value;
use server::class::read;
use server::ledger::Ledger;
use server::room::{Entry, Event};
use std::path::{Path, PathBuf};
use std::process::Command;
use uuid::Uuid;

/// Runs `kettlecall` in a folder: exit code, standard output, standard error.
fn kettlecall(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output =
        Command::new(env!("CARGO_BIN_EXE_kettlecall")).current_dir(folder).args(args).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code().unwrap(), text(&output.stdout), text(&output.stderr))
}

/// A ledger of an open class in which three seats have scored two teas on paper.
fn ledger(folder: &Path, name: &str, id: u128, date: &str) -> PathBuf {
    let text = include_str!("classes/two-ways.toml").replace("2026-11-28", date) + "\n";
    let text = text.replacen("pause_s = 15", "pause_s = 15\nblind = false", 1);
    let class = Box::new(read::class(&text).unwrap());
    let event = Event::Class { class_id: Uuid::from_u128(id), seed: 7, class };
    let path = folder.join(name);
    Ledger::open(&path).unwrap().append(&[Entry { seq: 1, at: HostTime(0), event }]).unwrap();
    let mut scores = String::from("seat;code;steep;attribute;value\n");
    for (seat, long, short) in [("Ann", 7, 5), ("Bob", 6, 5), ("Cy", 8, 5)] {
        scores +=
            &format!("{seat};238;1;liking;{long}\n{seat};417;1;liking;{short}\n{seat};417;1;strength;-1\n");
    }
    std::fs::write(folder.join("scores.csv"), scores).unwrap();
    let (code, _, words) = kettlecall(folder, &["enter", name, "scores.csv"]);
    assert_eq!(code, 0, "{words}");
    path
}

#[test]
fn several_ledgers_are_reviewed_together_in_every_format() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "b.ledger", 2, "2026-12-05");
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    let review = |more: &[&str]| {
        let (code, out, words) =
            kettlecall(folder.path(), &[&["review", "b.ledger", "a.ledger"], more].concat());
        assert_eq!(code, 0, "{words}");
        out
    };
    let text = review(&[]);
    assert!(
        text.contains("2 classes · 6 seats · 12 sheets") && text.contains("TWO WAYS OF ONE LEAF"),
        "{text}"
    );
    let json: Value = serde_json::from_str(&review(&["--format", "json"])).unwrap();
    assert_eq!(json["format"], 1);
    assert_eq!(json["classes"][0]["date"], "2026-11-28", "in the order of the days");
    assert_eq!(json["pairs"][0]["all"]["n"], 6);
    let csv = review(&["--format", "csv"]);
    assert_eq!(csv.lines().count(), 1 + 2 * 9, "one header, then all rows of both: {csv}");
}

#[test]
fn a_next_class_is_written_once_and_can_be_planned() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    let args = ["review", "a.ledger", "--next", "next.toml"];
    let (code, out, words) = kettlecall(folder.path(), &args);
    assert!(code == 0 && words.contains("written: next.toml") && out.contains("TEA 417"), "{words}");
    let (code, plan, words) = kettlecall(folder.path(), &["plan", "next.toml"]);
    assert!(code == 0 && plan.contains("Next: Two ways with one leaf"), "{words}");
    let (code, _, words) = kettlecall(folder.path(), &args);
    assert!(code == 1 && words.contains("name another file"), "{words}");
}

#[test]
fn what_can_not_be_pooled_is_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let one = ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    std::fs::copy(&one, folder.path().join("copy.ledger")).unwrap();
    for (other, words) in [
        ("copy.ledger", "a.ledger and copy.ledger are ledgers of one and the same class"),
        ("none.ledger", "there is no ledger none.ledger"),
        ("scores.csv", "is not a Kettlecall ledger"),
    ] {
        let (code, out, said) = kettlecall(folder.path(), &["review", "a.ledger", other]);
        assert!(code == 4 && out.is_empty() && said.contains(words), "{other}: {said}");
    }
}

//! `kettlecall enter` as a program: what it says, what it leaves behind, and how it ends.

use class::read;
use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use room::{Entry, Event};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use uuid::Uuid;

const SCORES: &str = "seat,code,steep,attribute,value\nAnn,417,1,aroma,5\nAnn,238,1,aroma,6\n";

fn kettlecall(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_kettlecall")).args(args).output().unwrap()
}

fn said(output: &Output) -> String {
    [&output.stdout[..], &output.stderr[..]].iter().map(|b| String::from_utf8_lossy(b)).collect()
}

/// A folder with a ledger of a closed class and a file of scores.
fn folder(scores: &str) -> (tempfile::TempDir, PathBuf, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let (ledger, file) = (folder.path().join("class.ledger"), folder.path().join("scores.csv"));
    let class = Box::new(read::class(include_str!("../classes/two-ways.toml")).unwrap());
    let events = [Event::Class { class_id: Uuid::from_u128(1), seed: 7, class }, Event::Closed];
    let entries: Vec<Entry> =
        events.into_iter().zip(1..).map(|(event, seq)| Entry::new(seq, HostTime(0), event)).collect();
    stored::append(&mut Sqlite::open(&ledger).unwrap(), &entries).unwrap();
    std::fs::write(&file, scores).unwrap();
    (folder, ledger, file)
}

fn enter(ledger: &Path, file: &Path, more: &[&str]) -> (i32, String) {
    let args = [&["enter", ledger.to_str().unwrap(), file.to_str().unwrap()], more].concat();
    let output = kettlecall(&args);
    (output.status.code().unwrap(), said(&output))
}

#[test]
fn a_good_file_is_entered_once_and_a_check_enters_nothing() {
    let (_folder, ledger, file) = folder(SCORES);
    let (code, words) = enter(&ledger, &file, &["--check"]);
    assert_eq!((code, stored::read(&ledger).unwrap().len()), (0, 2), "{words}");
    assert_eq!(words, "checked, nothing entered: 2 new scores, 0 there already; seats added: Ann\n");
    let (code, words) = enter(&ledger, &file, &[]);
    assert_eq!((code, words.as_str()), (0, "entered: 2 new scores, 0 there already; seats added: Ann\n"));
    assert_eq!(stored::read(&ledger).unwrap().len(), 5);
    let (code, words) = enter(&ledger, &file, &[]);
    assert_eq!((code, words.as_str()), (0, "entered: 0 new scores, 2 there already\n"));
    assert_eq!(stored::read(&ledger).unwrap().len(), 5);
}

#[test]
fn one_bad_line_keeps_the_whole_file_out() {
    let (_folder, ledger, file) = folder(&format!("{SCORES}Bob,417,1,aroma,99\nBob,417,1,taste,x\n"));
    let (code, words) = enter(&ledger, &file, &[]);
    assert_eq!(code, 3, "{words}");
    assert!(
        words.contains("line 4, value (column 5)") && words.contains("line 5, value (column 5)"),
        "{words}"
    );
    assert!(words.contains("2 faults: nothing was entered"), "{words}");
    assert_eq!(stored::read(&ledger).unwrap().len(), 2);
}

#[test]
fn a_ledger_that_a_host_has_open_is_refused_in_words_but_can_be_checked_against() {
    let (_folder, ledger, file) = folder(SCORES);
    let open = Sqlite::open(&ledger).unwrap();
    let (code, words) = enter(&ledger, &file, &[]);
    assert_eq!(code, 4, "{words}");
    assert!(words.contains("is open in another host; close that one first"), "{words}");
    assert_eq!(enter(&ledger, &file, &["--check"]).0, 0);
    drop(open);
    assert_eq!(enter(&ledger, &file, &[]).0, 0);
}

#[test]
fn what_is_not_there_is_said_and_not_made() {
    let (_folder, ledger, file) = folder(SCORES);
    let missing = ledger.with_file_name("other.ledger");
    let (code, words) = enter(&missing, &file, &[]);
    assert_eq!(code, 4, "{words}");
    assert!(!missing.exists() && words.contains("there is no ledger"), "{words}");
    let (code, words) = enter(&ledger, &file.with_file_name("no.csv"), &[]);
    assert_eq!(code, 3, "{words}");
    assert!(words.contains("can't be read"), "{words}");
}

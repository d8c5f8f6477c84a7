//! `kettlecall review` as a program: several ledgers, and what goes into files.

use calamine::{Data, Reader, Xlsx, open_workbook};
use class::read;
use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use room::{Entry, Event};
use serde_json::Value;
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
    let text = include_str!("../classes/two-ways.toml").replace("2026-11-28", date) + "\n";
    let text = text.replacen("pause_s = 15", "pause_s = 15\nblind = false", 1);
    let class = Box::new(read::class(&text).unwrap());
    let event = Event::Class { class_id: Uuid::from_u128(id), seed: 7, class };
    let path = folder.join(name);
    stored::append(&mut Sqlite::open(&path).unwrap(), &[Entry::new(1, HostTime(0), event)]).unwrap();
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
    assert_eq!(json["format"], 2);
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

#[test]
fn a_review_goes_into_a_file_that_is_overwritten_only_when_that_is_said() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    let review = |args: &[&str]| kettlecall(folder.path(), &[&["review", "a.ledger"], args].concat());
    let (_, text, _) = review(&[]);
    let (code, out, words) = review(&["--output", "page.txt"]);
    assert_eq!((code, out.as_str(), words.as_str()), (0, "", "written: page.txt\n"));
    let page = || std::fs::read_to_string(folder.path().join("page.txt")).unwrap();
    assert_eq!(page(), text);
    let (code, _, words) = review(&["-o", "page.txt", "--format", "json"]);
    assert!(code == 1 && words.contains("page.txt is there already") && words.contains("--force"), "{words}");
    assert_eq!(page(), text, "it is left alone");
    assert_eq!(review(&["-o", "page.txt", "--format", "json", "--force"]).0, 0);
    assert!(serde_json::from_str::<Value>(&page()).is_ok());
    assert_eq!(review(&["-o", "-"]).1, text, "- is standard output");
    let before = std::fs::read(folder.path().join("a.ledger")).unwrap();
    let (code, _, words) = review(&["-o", "./a.ledger", "--force"]);
    assert!(code == 1 && words.contains("is read here and never overwritten"), "{words}");
    assert_eq!(std::fs::read(folder.path().join("a.ledger")).unwrap(), before);
    let (code, _, words) = review(&["-o", "page.pdf"]);
    assert!(
        code == 2 && words.contains("ends in .pdf") && words.contains(".txt, .csv, .json, .html, .xlsx"),
        "{words}"
    );
    assert!(!folder.path().join("page.pdf").exists(), "nothing is written");
    assert_eq!(
        review(&["-o", "page.pdf", "--format", "json"]).0,
        0,
        "who names the form is taken at the word"
    );
    assert_eq!(review(&["-o", "page"]).0, 0);
    assert_eq!(std::fs::read_to_string(folder.path().join("page")).unwrap(), text);
    let (code, _, words) = review(&["-o", "no/such/folder.txt"]);
    assert!(code == 1 && words.contains("can't be written"), "{words}");
}

#[test]
fn a_spreadsheet_is_written_to_a_file_or_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    let args = ["review", "a.ledger", "--format", "xlsx"];
    let (code, _, words) = kettlecall(folder.path(), &[&args[..], &["-o", "a.xlsx"]].concat());
    assert_eq!(code, 0, "{words}");
    let mut file: Xlsx<_> = open_workbook(folder.path().join("a.xlsx")).unwrap();
    let names = file.sheet_names();
    assert_eq!(names[..3], ["found", "scores", "teas"]);
    let scores = file.worksheet_range("scores").unwrap();
    assert_eq!(scores.rows().count(), 1 + 9, "heads, and what three seats scored");
    assert_eq!(scores.get((1, 9)), Some(&Data::Float(7.0)), "numbers are numbers");
    let program =
        Command::new(env!("CARGO_BIN_EXE_kettlecall")).current_dir(folder.path()).args(args).output();
    assert_eq!(program.unwrap().stdout, std::fs::read(folder.path().join("a.xlsx")).unwrap());
}

#[test]
fn tables_are_a_folder_of_files_that_can_be_entered_and_read() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    let args = ["review", "a.ledger", "--format", "tables"];
    let (code, _, words) = kettlecall(folder.path(), &args);
    assert!(code == 2 && words.contains("name a folder"), "{words}");
    let with_folder = [&args[..], &["-o", "tables"]].concat();
    assert_eq!(kettlecall(folder.path(), &with_folder).0, 0);
    let read = |name: &str| std::fs::read_to_string(folder.path().join("tables").join(name)).unwrap();
    let (_, csv, _) = kettlecall(folder.path(), &["review", "a.ledger", "--format", "csv"]);
    assert_eq!(read("scores.csv"), csv);
    let listed: Vec<String> =
        read("tables.csv").lines().skip(1).map(|l| l.split(',').next().unwrap().into()).collect();
    let mut there: Vec<String> = std::fs::read_dir(folder.path().join("tables"))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap().replace(".csv", ""))
        .filter(|name| name != "tables")
        .collect();
    there.sort();
    let mut sorted = listed.clone();
    sorted.sort();
    assert_eq!(sorted, there, "the list names every file");
    assert!(read("liking by tea.csv").starts_with("of,tea,name,steep,tasters,scores,mean (points),"));
    let (code, _, words) = kettlecall(folder.path(), &with_folder);
    assert!(code == 1 && words.contains("is there already"), "{words}");
    let (code, _, words) = kettlecall(folder.path(), &["enter", "a.ledger", "tables/scores.csv", "--check"]);
    assert_eq!(code, 0, "{words}");
}

#[test]
fn several_classes_make_one_spreadsheet_and_one_folder_of_tables() {
    let folder = tempfile::tempdir().unwrap();
    ledger(folder.path(), "a.ledger", 1, "2026-11-28");
    ledger(folder.path(), "b.ledger", 2, "2026-12-05");
    let review = |args: &[&str]| {
        let (code, _, words) =
            kettlecall(folder.path(), &[&["review", "a.ledger", "b.ledger"], args].concat());
        assert_eq!(code, 0, "{words}");
    };
    review(&["--format", "xlsx", "-o", "both.xlsx"]);
    let mut file: Xlsx<_> = open_workbook(folder.path().join("both.xlsx")).unwrap();
    let names = file.sheet_names();
    assert_eq!(names[..4], ["classes", "scores", "ways", "figures"]);
    assert_eq!(file.worksheet_range("scores").unwrap().rows().count(), 1 + 2 * 9, "all scores of both");
    review(&["--format", "tables", "-o", "both"]);
    let pairs = std::fs::read_to_string(folder.path().join("both/pairs.csv")).unwrap();
    assert!(
        pairs.starts_with("attribute,first,first called,second,second called,one leaf,tasters,"),
        "{pairs}"
    );
    assert!(pairs.contains("\",yes,6,-2.00,"), "two ways of one leaf, six tasters: {pairs}");
}

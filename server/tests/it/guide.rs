//! The guide, through the program.

use fixtures::several::{held, plain};
use host::stored;
use ledger::Sqlite;
use std::path::Path;
use std::process::{Command, Output};

fn guide(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_kettlecall"))
        .current_dir(folder)
        .arg("guide")
        .args(args)
        .output()
        .unwrap()
}

#[test]
fn two_classes_make_one_page_that_names_what_was_tasted_and_no_taster() {
    let folder = tempfile::tempdir().unwrap();
    for (name, date, first) in [("a.ledger", "2026-11-20", 100), ("b.ledger", "2026-11-27", 200)] {
        let entries = held(date, false, first, 8, plain);
        stored::append(&mut Sqlite::open(&folder.path().join(name)).unwrap(), &entries).unwrap();
    }
    let leaf = "Lantern Slope, form=ball-rolled, oxidation=half, roasted";
    let made = guide(folder.path(), &["a.ledger", "b.ledger", "--leaf", leaf, "-o", "guide.html"]);
    assert!(made.status.success(), "{made:?}");
    let page = std::fs::read_to_string(folder.path().join("guide.html")).unwrap();
    for words in [
        "From 2 classes, 2026-11-20 to 2026-11-27",
        "Ball-rolled, half oxidised, roasted",
        "Lantern Slope",
        "tasted in 2 classes, 16 seats: shown to be liked better than another way",
        "Copper Pier",
        "common practice only",
        "Hot water scalds",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    // Nothing runs and nothing is fetched, and nobody who tasted is named.
    for never in ["<script", "http", "Ann", "seat 1"] {
        assert!(!page.contains(never), "{never}");
    }
    let stranger = guide(folder.path(), &["a.ledger", "--leaf", "Snow Gully"]);
    assert_eq!(stranger.status.code(), Some(2));
    let said = String::from_utf8_lossy(&stranger.stderr).into_owned();
    assert!(said.contains("no tea of these classes is of the leaf `Snow Gully`"), "{said}");
}

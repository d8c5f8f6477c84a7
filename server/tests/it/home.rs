//! What is taken home, what everybody may see, and the form to fill in, as the program writes them.

use class::read;
use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use room::{Entry, Event};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use uuid::Uuid;

const SCORES: &str = "seat;code;steep;aroma;liking;strength;note\n\
    Chen;417;1;5;6;too thin;as Ann said\nAnn;417;1;6;7;1;\nAnn;238;1;4,0;3;0;\na/b;862;1;5;5;;\na b;305;1;5;5;;\nChen;305;1;;;;\n";

/// What the program says and how it ends.
fn run(folder: &Path, args: &[&str]) -> (i32, String) {
    let out = Command::new(env!("CARGO_BIN_EXE_kettlecall")).current_dir(folder).args(args).output().unwrap();
    let said = [&out.stdout[..], &out.stderr[..]].concat();
    (out.status.code().unwrap(), String::from_utf8(said).unwrap())
}

/// A folder with the ledger of a closed class into which some scores were entered; the codes are revealed.
fn folder(revealed: &[u16]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let class = Box::new(read::class(include_str!("../classes/two-ways.toml")).unwrap());
    let codes = revealed.iter().map(|&code| protocol::Code::new(code).unwrap()).collect();
    let events = [
        Event::Class { class_id: Uuid::from_u128(1), seed: 7, class },
        Event::Revealed { codes },
        Event::Closed,
    ];
    let entries: Vec<Entry> =
        events.into_iter().zip(1..).map(|(event, seq)| Entry::new(seq, HostTime(0), event)).collect();
    let path = folder.path().to_path_buf();
    stored::append(&mut Sqlite::open(&path.join("class.ledger")).unwrap(), &entries).unwrap();
    fs::write(path.join("scores.csv"), SCORES).unwrap();
    let (code, said) = run(&path, &["enter", "class.ledger", "scores.csv", "--new-seat", "a b"]);
    assert_eq!(
        said,
        "entered: 5 new scores, 0 there already, 1 row left empty; seats added: Chen, Ann, a/b, a b\n"
    );
    assert_eq!(code, 0);
    (folder, path)
}

#[test]
fn the_form_is_written_filled_in_and_entered() {
    let (_folder, path) = folder(&[]);
    let (code, form) = run(&path, &["enter", "--template", "class.ledger"]);
    assert!(
        code == 0
            && form.starts_with("seat,code,steep,aroma,taste,aftertaste,liking,strength,note\n".trim_end()),
        "{form}"
    );
    assert_eq!(form.lines().count(), 1 + 6 * 12);
    assert_eq!(
        run(&path, &["enter", "--template", "class.ledger", "-o", "form.xlsx"]),
        (0, "written: form.xlsx\n".into())
    );
    let said = "entered: 0 new scores, 5 there already, 67 rows left empty\n";
    assert_eq!(run(&path, &["enter", "class.ledger", "form.xlsx"]), (0, said.into()));
    assert_eq!(
        run(&path, &["enter", "--template", "class.ledger", "-o", "form.ods"]).0,
        2,
        "another form is refused"
    );
    assert_eq!(
        run(&path, &["enter", "--template", "class.ledger", "-o", "form.xlsx"]).0,
        1,
        "what is there stays"
    );
    assert_eq!(run(&path, &["enter", "class.ledger"]).0, 2, "without scores there is nothing to enter");
    fs::write(path.join("class.xls"), b"\xd0\xcf\x11\xe0 old").unwrap();
    let (code, said) = run(&path, &["enter", "class.ledger", "class.xls"]);
    assert!(
        code == 3 && said.contains("class.xls, row 1: the file is a spreadsheet of an older form"),
        "{said}"
    );
}

#[test]
fn cards_and_pages_are_written_at_once_and_nothing_that_is_there_is_lost() {
    let (_folder, path) = folder(&[417]);
    let args = ["review", "class.ledger", "--cards", "cards.html", "--seats", "pages"];
    assert_eq!(
        run(&path, &args),
        (0, "written: cards.html\nwritten: pages\n".into()),
        "and no review beside them"
    );
    let mut names: Vec<String> = fs::read_dir(path.join("pages"))
        .unwrap()
        .map(|file| file.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let wanted =
        ["01-Chen", "02-Ann", "03-a-b", "04-a-b"].map(|name| [format!("{name}.html"), format!("{name}.txt")]);
    assert_eq!(names, wanted.concat());
    let cards = fs::read_to_string(path.join("cards.html")).unwrap();
    assert_eq!(cards.matches("<article").count(), 4);
    assert!(
        cards.contains("Lantern Slope, short")
            && !cards.contains("Lantern Slope, long")
            && !cards.contains("Copper")
    );
    for (file, own, other) in [("01-Chen", "as Ann said", "a/b"), ("02-Ann", "too strong", "Chen")] {
        for ending in ["html", "txt"] {
            let page = fs::read_to_string(path.join("pages").join(format!("{file}.{ending}"))).unwrap();
            assert!(page.contains(own) && !page.contains(other), "{file}.{ending}: {page}");
            assert!(!page.contains("Snow Gully"), "blind teas stay blind");
        }
    }
    assert_eq!(run(&path, &args).0, 1, "what is there stays");
    assert_eq!(run(&path, &[&args[..], &["--force"]].concat()).0, 0);
    let (_, said) = run(&path, &["review", "class.ledger", "--cards", "more.html", "--format", "csv"]);
    assert!(
        said.starts_with("class_id,") && said.ends_with("written: more.html\n"),
        "a review that is asked for comes too"
    );
    assert_eq!(run(&path, &["review", "class.ledger", "--seat", "ann", "-o", "ann.html"]).0, 0);
    assert_eq!(fs::read(path.join("ann.html")).unwrap(), fs::read(path.join("pages/02-Ann.html")).unwrap());
    assert_eq!(run(&path, &["review", "class.ledger", "class.ledger", "--cards", "x.html"]).0, 2);
}

#[test]
fn a_review_for_the_class_names_no_taster_in_any_form() {
    let (_folder, path) = folder(&[417, 238]);
    let (code, said) = run(&path, &["correct", "class.ledger", "rename", "Chen", "Cheng"]);
    assert_eq!(code, 0, "{said}");
    run(&path, &["correct", "class.ledger", "void", "862/1", "--reason", "ANN mixed it up with Chen"]);
    for format in ["text", "csv", "json", "html"] {
        let (code, page) = run(&path, &["review", "class.ledger", "--for", "class", "--format", format]);
        assert_eq!(code, 0, "{page}");
        for name in ["Ann", "ANN", "Chen", "a/b", "a b"] {
            // Where it is no part of other words.
            let apart = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
            let stands = page.match_indices(name).any(|(at, _)| {
                apart(page[..at].chars().next_back()) && apart(page[at + name.len()..].chars().next())
            });
            assert!(!stands, "{format}: {name}");
        }
        assert!(
            ["Taster 1", "Taster 2", "Taster 3", "Taster 4"]
                .iter()
                .filter(|name| page.contains(**name))
                .count()
                >= 3,
            "{format}: {page}"
        );
    }
    let (_, mine) =
        run(&path, &["review", "class.ledger", "--for", "class", "--without", "Ann", "--format", "csv"]);
    let (_, all) = run(&path, &["review", "class.ledger", "--for", "class", "--format", "csv"]);
    assert!(mine.lines().count() < all.lines().count(), "a seat is still left out by its name");
    assert_eq!(run(&path, &["review", "class.ledger", "class.ledger", "--for", "class"]).0, 2);
    assert_eq!(run(&path, &["review", "class.ledger", "--for", "class", "--seat", "Ann"]).0, 2);
}

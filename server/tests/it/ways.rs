//! People's ways, through the program.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

const FIVE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../demo/ways.toml");

fn kettlecall(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_kettlecall")).current_dir(folder).args(args).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn ways_come_as_text_as_json_and_as_a_page_and_faults_end_with_three() {
    let folder = tempfile::tempdir().unwrap();
    let shown = kettlecall(folder.path(), &["ways", FIVE]);
    assert!(shown.status.success() && text(&shown.stdout).contains("The middle way"), "{shown:?}");
    let json = kettlecall(folder.path(), &["ways", FIVE, "--format", "json"]);
    let json: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!((&json["format"], &json["groups"][0]["ways"][3]["who"]), (&1.into(), &"Dag".into()));
    assert_eq!(json["groups"][0]["ways"][3]["apart"][0]["factor"], "leaf");
    assert_eq!(json["groups"][0]["middle"]["steep_s"], serde_json::json!([25, 20, 25, 30]));
    assert!(kettlecall(folder.path(), &["ways", FIVE, "-o", "w.html"]).status.success());
    let page = std::fs::read_to_string(folder.path().join("w.html")).unwrap();
    assert!(page.contains("<svg") && page.contains("Dag 70 °C"));
    let again = kettlecall(folder.path(), &["ways", FIVE, "-o", "w.html"]);
    assert_eq!(again.status.code(), Some(1), "what is there is not overwritten");
    std::fs::write(folder.path().join("bad.toml"), "[[way]]\nwho = \"Ann\"\n").unwrap();
    let bad = kettlecall(folder.path(), &["ways", "bad.toml"]);
    let said = text(&bad.stderr);
    assert_eq!(bad.status.code(), Some(3));
    assert!(
        said.contains("4 faults; nothing was compared") || said.contains("3 faults; nothing was compared"),
        "{said}"
    );
}

#[test]
fn a_class_of_peoples_ways_can_be_planned_and_says_what_it_tastes() {
    let folder = tempfile::tempdir().unwrap();
    let new =
        |args: &[&str]| kettlecall(folder.path(), &[&["new"], args, &["--date", "2026-11-28"]].concat());
    let made = new(&["all.toml", "--from", FIVE]);
    let said = text(&made.stderr);
    assert!(made.status.success(), "{said}");
    assert!(said.contains("tastes the middle way beside all 5 ways: Ann, Bao, Cleo, Dag and Esi"), "{said}");
    assert!(said.ends_with("look at it with: kettlecall plan all.toml\n"), "{said}");
    let class = std::fs::read_to_string(folder.path().join("all.toml")).unwrap();
    insta::assert_snapshot!("class-of-five-ways", class);
    let class = class::read::class(&class).unwrap();
    assert_eq!(class.teas.len(), 6);
    assert!(class.teas.iter().all(|tea| tea.leaf == class.teas[0].leaf && tea.steep_s.len() == 3));
    assert!(kettlecall(folder.path(), &["plan", "all.toml"]).status.success());

    let four = new(&["four.toml", "--from", FIVE, "--teas", "4"]);
    let class =
        class::read::class(&std::fs::read_to_string(folder.path().join("four.toml")).unwrap()).unwrap();
    let names: Vec<&str> = class.teas.iter().map(|tea| tea.name.as_str()).collect();
    assert_eq!(names, ["middle way", "Bao", "Cleo", "Dag"], "{}", text(&four.stderr));

    let two = new(&["two.toml", "--from", FIVE, "--who", "dag", "--who", "Ann"]);
    assert!(text(&two.stderr).contains("beside 2 of 5 ways: Ann and Dag"), "{two:?}");
    let nobody = new(&["no.toml", "--from", FIVE, "--who", "Zoe"]);
    assert_eq!(nobody.status.code(), Some(2));
    assert!(
        text(&nobody.stderr).contains("has no way of `Zoe`; it has those of Ann, Bao, Cleo, Dag and Esi"),
        "{nobody:?}"
    );
    assert_eq!(new(&["no.toml", "--from", FIVE, "--tea", "x"]).status.code(), Some(2), "one or the other");
    assert!(!folder.path().join("no.toml").exists());
}

#[test]
fn a_way_that_one_kettle_can_not_serve_is_left_out_and_it_is_said_why() {
    let folder = tempfile::tempdir().unwrap();
    let args =
        ["new", "kettle.toml", "--from", FIVE, "--date", "2026-11-28", "--pourers", "1", "--seats", "6"];
    let kettle = ["--kettle", "only one, 1200 ml, 1000 W"];
    let made = kettlecall(folder.path(), &[&args[..], &kettle[..]].concat());
    let said = text(&made.stderr);
    insta::assert_snapshot!("left-out", said);
    assert!(made.status.success() && said.contains("can't be served well"), "{said}");
    let class =
        class::read::class(&std::fs::read_to_string(folder.path().join("kettle.toml")).unwrap()).unwrap();
    assert!((4..6).contains(&class.teas.len()), "{} teas", class.teas.len());
}

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

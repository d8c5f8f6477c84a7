//! The documents keep what they say: commands do what is shown, links lead somewhere, short pages stay short.
//!
//! `tests/README.md` says how a page is written so that it can be held to this.

mod page;
mod run;

use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use room::Entry;
use std::fs;
use std::path::{Path, PathBuf};

/// Folders without pages of ours.
const PASSED_OVER: [&str; 2] = ["target", ".git"];
/// The pages that must stay short, in bytes.
const SIZES: [(&str, usize); 2] = [("README.md", 8192), ("DEVELOPERS.md", 10240)];
/// What a fence may be called. `text` is shown only; `toml` and `csv` with a name are files for the commands after them.
const LANGUAGES: [&str; 5] = ["console", "text", "toml", "csv", "json"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").canonicalize().unwrap()
}

/// Every page of the repository: its name from the root, and what is in it.
fn pages() -> Vec<(String, String)> {
    fn look(folder: &Path, root: &Path, found: &mut Vec<(String, String)>) {
        for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
            let (path, name) = (entry.path(), entry.file_name().into_string().unwrap());
            if path.is_dir() && !PASSED_OVER.contains(&name.as_str()) {
                look(&path, root, found);
            } else if name.ends_with(".md") {
                let name = path.strip_prefix(root).unwrap().to_str().unwrap().replace('\\', "/");
                found.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    let mut found = Vec::new();
    look(&root(), &root(), &mut found);
    found.sort();
    assert!(found.iter().any(|(name, _)| name == "README.md"), "{:?}", root());
    found
}

/// A folder with what the documents talk about: the demo's class files, and the ledgers of two classes.
fn place() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("demo")).unwrap();
    for name in ["demo/evening.toml", "demo/six-teas.toml", "demo/ways.toml"] {
        fs::copy(root().join(name), folder.path().join(name)).unwrap();
    }
    for (pinned, ledger) in [("evening", "monday.ledger"), ("again", "friday.ledger")] {
        let text = fs::read_to_string(root().join(format!("tests/pinned/{pinned}.jsonl"))).unwrap();
        // In the pages neither is a rehearsal.
        let text = text.replace("\"pace\":60.0", "\"pace\":1.0");
        let entry = |line: &str| {
            let value: serde_json::Value = serde_json::from_str(line).unwrap();
            let event = serde_json::from_value(value["event"].clone()).unwrap();
            Entry::new(value["seq"].as_u64().unwrap(), HostTime(value["at_us"].as_i64().unwrap()), event)
        };
        let entries: Vec<Entry> = text.lines().map(entry).collect();
        stored::append(&mut Sqlite::open(&folder.path().join(ledger)).unwrap(), &entries).unwrap();
    }
    folder
}

/// Puts a file of a page where the commands after it find it; one that the repository has must be the same there.
fn write(folder: &Path, block: &page::Block, name: &str) {
    let text = block.lines.join("\n") + "\n";
    let path = folder.join(name);
    match fs::read_to_string(&path) {
        Ok(there) => assert!(there == text, "{}: {name} has other contents in the repository", block.place),
        Err(_) => fs::write(path, text).unwrap(),
    }
}

/// Runs what a page shows, in a folder of its own.
fn run(name: &str, text: &str) {
    let folder = place();
    let mut session = run::Session::new(folder.path());
    for block in page::blocks(name, text) {
        let language = block.info.first().map_or("", String::as_str);
        assert!(LANGUAGES.contains(&language), "{}: a fence says what it holds: {LANGUAGES:?}", block.place);
        match (language, block.info.get(1), &block.not_run) {
            ("console", _, None) => session.run(&block),
            ("console", _, Some(reason)) => {
                assert!(reason.len() > 10, "{}: say why it is not run", block.place);
            }
            ("toml" | "csv", Some(name), _) => write(folder.path(), &block, name),
            _ => {}
        }
    }
}

#[test]
fn every_console_block_does_what_it_shows() {
    let pages = pages();
    std::thread::scope(|scope| {
        for (name, text) in &pages {
            scope.spawn(|| run(name, text));
        }
    });
}

/// A path with the steps back taken out, from the root.
fn from_root(folder: &Path, file: &str) -> String {
    let mut steps: Vec<&str> = Vec::new();
    for step in folder.to_str().unwrap().split('/').chain(file.split('/')) {
        match step {
            "" | "." => {}
            ".." => drop(steps.pop()),
            step => steps.push(step),
        }
    }
    steps.join("/")
}

#[test]
fn every_relative_link_leads_to_a_file_and_a_heading_that_are_there() {
    let mut wrong = Vec::new();
    for (name, text) in &pages() {
        for (number, target) in page::links(text).into_iter().filter(|(_, target)| !target.contains("://")) {
            let (file, anchor) = target.split_once('#').unwrap_or((&target, ""));
            let file = if file.is_empty() {
                name.clone()
            } else {
                from_root(Path::new(name).parent().unwrap(), file)
            };
            let path = root().join(&file);
            if !path.exists() {
                wrong.push(format!("{name}:{number}: {target} is not there"));
            } else if !anchor.is_empty()
                && !page::anchors(&fs::read_to_string(path).unwrap()).contains(&anchor.into())
            {
                wrong.push(format!("{name}:{number}: {target} has no such heading"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_file_that_the_map_names_is_there() {
    let map = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let named =
        map.split('`').skip(1).step_by(2).filter(|words| words.contains('/') && words.ends_with(".rs"));
    let gone: Vec<&str> = named.filter(|file| !root().join(file).is_file()).collect();
    assert!(gone.is_empty(), "DEVELOPERS.md names {gone:?}; name the file that it is now");
}

#[test]
fn the_first_pages_stay_short() {
    for (name, most) in SIZES {
        let bytes = fs::read(root().join(name)).unwrap().len();
        assert!(
            bytes <= most,
            "{name} has {bytes} bytes, {most} at most: move something to a page of its subject"
        );
    }
}

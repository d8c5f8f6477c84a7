//! Where text leaves the programs. Each such place passes it through `protocol::text`, or is named here with the reason why not.

use std::fs;
use std::path::{Path, PathBuf};

/// What writes for people.
const WRITES: [&str; 6] = ["println!(", "eprintln!(", "print!(", "eprint!(", "writeln!(", "write!("];
/// What makes text inert.
const INERT: [&str; 2] = ["message(", "inert("];
/// The places that need not: a part of the file's path, a part of the line, and why.
const OTHERWISE: &[(&str, &str, &str)] = &[
    (
        "server/src/commands/new/ask.rs",
        "self.questions, \"{question} [{usual}]: \"",
        "questions and usual answers of our own",
    ),
    ("server/src/commands/new/ask.rs", "Enter takes what stands in brackets", "words of our own"),
    ("server/src/commands/new/ask.rs", "writeln!(self.questions)?", "a line's end"),
    ("server/src/commands/new/ask.rs", "this is the first question", "words of our own"),
    ("client/src/ask.rs", "write!(print, \"{question}: \")", "questions of our own"),
    ("client/src/ask.rs", "writeln!(print)?", "a line's end"),
    ("client/src/main.rs", "it needs the host's address and your name", "words of our own"),
];

/// The files of production code below a folder.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        match path.is_dir() {
            true if name != "tests" => files(&path, found),
            false if name.ends_with(".rs") && name != "tests.rs" => found.push(path),
            _ => {}
        }
    }
}

/// The lines that write something, with the one behind them where the call goes on there.
fn writing(text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.split("#[cfg(test)]\nmod tests {").next().unwrap().lines().collect();
    let writes =
        |line: &str| WRITES.iter().any(|call| line.contains(call)) && !line.trim_start().starts_with("//");
    let whole =
        |at: usize| lines[at..lines.len().min(at + 4)].iter().map(|line| line.trim()).collect::<String>();
    let of_a_type = |line: &str| {
        line.contains("write!(f,") || line.contains("writeln!(f,") || line.contains("write!(out,")
    };
    (0..lines.len())
        .filter(|&at| writes(lines[at]) && !of_a_type(lines[at]))
        .map(|at| if lines[at].trim_end().ends_with('(') { whole(at) } else { lines[at].trim().to_string() })
        .collect()
}

#[test]
fn every_place_where_text_leaves_makes_it_inert_or_says_why_not() {
    let above = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut found = Vec::new();
    ["server/src", "client/src"].iter().for_each(|folder| files(&above.join(folder), &mut found));
    let (mut wrong, mut used) = (Vec::new(), vec![false; OTHERWISE.len()]);
    for file in &found {
        let shown = file.to_str().unwrap().replace('\\', "/");
        for line in writing(&fs::read_to_string(file).unwrap()) {
            let why =
                OTHERWISE.iter().position(|(place, part, _)| shown.ends_with(place) && line.contains(part));
            match why {
                Some(n) => used[n] = true,
                None if INERT.iter().any(|made| line.contains(made)) => {}
                None => wrong.push(format!("{shown}: {line}")),
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "text leaves here as it came; pass it through protocol::text::message:\n{}",
        wrong.join("\n")
    );
    let unused: Vec<_> =
        OTHERWISE.iter().zip(used).filter(|(_, used)| !used).map(|(place, _)| place).collect();
    assert!(unused.is_empty(), "no longer there: {unused:?}");
}

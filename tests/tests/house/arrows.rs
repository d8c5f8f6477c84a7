//! Which crate may use which. The compiler refuses what a Cargo.toml does not list; this says what it may list.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Our crates, the lowest first, each with those of ours that it may use.
const MAY_USE: [(&str, &[&str]); 16] = [
    ("protocol", &[]),
    ("stats", &[]),
    ("class", &["protocol", "stats"]),
    ("plan", &["protocol", "stats", "class"]),
    ("room", &["protocol", "class", "plan"]),
    ("ledger", &["protocol"]),
    ("summary", &["protocol", "stats", "class", "plan", "room"]),
    ("report", &["protocol", "stats", "class", "plan", "room", "summary"]),
    ("host", &["protocol", "class", "plan", "room", "ledger"]),
    ("writer", &[]),
    ("dial", &["protocol"]),
    (
        "server",
        &[
            "protocol", "stats", "class", "plan", "room", "ledger", "summary", "report", "host", "writer",
            "dial",
        ],
    ),
    ("seat", &["protocol"]),
    ("client", &["protocol", "seat", "writer", "dial"]),
    // Test support: unit tests of the crates above may build their classes with it.
    ("fixtures", &["protocol", "class", "room"]),
    (
        "demo",
        &[
            "protocol", "class", "plan", "room", "ledger", "summary", "report", "host", "server", "seat",
            "client", "writer",
        ],
    ),
];
/// Crates that do no I/O, read no clock and draw no ids.
const PURE: [&str; 8] = ["protocol", "stats", "class", "plan", "room", "summary", "report", "seat"];
/// What reaches the outside: a pure crate lists none of these but for its tests.
const OUTSIDE: [&str; 12] = [
    "hyper",
    "rcgen",
    "tokio-rustls",
    "tokio",
    "tokio-tungstenite",
    "rusqlite",
    "crossterm",
    "ratatui",
    "futures-util",
    "rustix",
    "tempfile",
    "tracing",
];
/// The package that tests them all, from above.
const ABOVE: &str = "tests";

/// Each of our packages, with what it lists: the name and whether it is for tests only.
fn listed() -> BTreeMap<String, BTreeSet<(String, bool)>> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml");
    let args = ["metadata", "--no-deps", "--format-version", "1", "--offline", "--manifest-path", manifest];
    let output = Command::new(cargo).args(args).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let name = |value: &Value| value["name"].as_str().unwrap().to_string();
    let uses = |package: &Value| {
        let all = package["dependencies"].as_array().unwrap().iter();
        all.map(|one| (name(one), one["kind"] == "dev")).collect::<BTreeSet<_>>()
    };
    metadata["packages"].as_array().unwrap().iter().map(|package| (name(package), uses(package))).collect()
}

/// What is wrong with these arrows, in words.
fn wrong(listed: &BTreeMap<String, BTreeSet<(String, bool)>>) -> Vec<String> {
    let may: BTreeMap<&str, &[&str]> = MAY_USE.into_iter().collect();
    let mut faults = Vec::new();
    for (name, uses) in listed.iter().filter(|(name, _)| *name != ABOVE) {
        let Some(allowed) = may.get(name.as_str()) else {
            faults.push(format!("{name} is a new crate: say in MAY_USE what it may use"));
            continue;
        };
        for (used, for_tests) in uses.iter().filter(|(used, _)| listed.contains_key(used)) {
            let support = *for_tests && used == "fixtures";
            if !support && !allowed.contains(&used.as_str()) {
                let allowed = if allowed.is_empty() { "nothing of ours".into() } else { allowed.join(", ") };
                faults.push(format!("{name} uses {used}, but may use {allowed}"));
            }
        }
        for (used, _) in
            uses.iter().filter(|(used, for_tests)| !for_tests && OUTSIDE.contains(&used.as_str()))
        {
            if PURE.contains(&name.as_str()) {
                faults.push(format!("{name} is pure, but lists {used}, which reaches the outside"));
            }
        }
    }
    faults
}

#[test]
fn every_arrow_between_our_crates_is_one_that_may_be() {
    let faults = wrong(&listed());
    assert!(faults.is_empty(), "\n{}\n", faults.join("\n"));
}

#[test]
fn the_crates_stand_in_an_order_in_which_none_uses_a_later_one() {
    for (place, (name, uses)) in MAY_USE.iter().enumerate() {
        let before: Vec<&str> = MAY_USE[..place].iter().map(|(name, _)| *name).collect();
        assert!(uses.iter().all(|used| before.contains(used)), "{name} uses one that stands below it");
    }
}

#[test]
fn a_wrong_arrow_is_told_in_words() {
    let listed = |name: &str, uses: &[(&str, bool)]| {
        let uses = uses.iter().map(|(used, for_tests)| ((*used).to_string(), *for_tests)).collect();
        (name.to_string(), uses)
    };
    let mut all: BTreeMap<_, _> =
        ["protocol", "class", "room", "summary", "fixtures"].map(|name| listed(name, &[])).into();
    all.extend([
        listed("host", &[("summary", false), ("room", false), ("tokio", false)]),
        listed("stats", &[("protocol", true), ("tokio", true), ("tokio", false)]),
        listed("plan", &[("fixtures", true), ("serde", false)]),
        listed("cellar", &[]),
    ]);
    assert_eq!(
        wrong(&all),
        [
            "cellar is a new crate: say in MAY_USE what it may use",
            "host uses summary, but may use protocol, class, plan, room, ledger",
            "stats uses protocol, but may use nothing of ours",
            "stats is pure, but lists tokio, which reaches the outside",
        ]
    );
}

/// A pure crate has the strict lint file, which bans the file system, the network and the environment besides clocks and
/// ids; clippy takes the nearest one.
#[test]
fn every_pure_crate_has_the_strict_lints() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let strict = std::fs::read_to_string(format!("{root}/.clippy-pure.toml")).unwrap();
    let general = std::fs::read_to_string(format!("{root}/.clippy.toml")).unwrap();
    for ban in general.lines().filter(|line| line.contains("path = ")) {
        assert!(strict.contains(ban), "the strict lints leave out {ban}");
    }
    for (name, folder) in PURE.map(|name| {
        (
            name,
            if name == "protocol" {
                "protocol".into()
            } else if name == "seat" {
                "client/seat".into()
            } else {
                format!("server/{name}")
            },
        )
    }) {
        let own = std::fs::read_to_string(format!("{root}/{folder}/.clippy.toml")).unwrap();
        assert!(own == strict, "{name}: {folder}/.clippy.toml is not .clippy-pure.toml");
    }
}

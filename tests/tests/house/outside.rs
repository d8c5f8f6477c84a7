//! What the crates from outside may be: `deny.toml` says it, in the form of the usual checker; this holds the lock file to it
//! without a network.

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;
use toml::Table;

fn read(name: &str) -> Table {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(name);
    std::fs::read_to_string(path).unwrap().parse().unwrap()
}

fn texts(table: &Table, part: &str, key: &str) -> Vec<String> {
    let all = table[part].as_table().unwrap()[key].as_array().unwrap();
    all.iter().map(|text| text.as_str().unwrap().to_string()).collect()
}

/// The packages of the lock file that come from outside: name, version, source.
fn locked() -> Vec<(String, String, String)> {
    let lock = read("Cargo.lock");
    let text = |package: &toml::Value, key: &str| package.get(key)?.as_str().map(str::to_string);
    let all = lock["package"].as_array().unwrap().iter();
    all.filter_map(|package| {
        Some((text(package, "name")?, text(package, "version")?, text(package, "source")?))
    })
    .collect()
}

#[test]
fn every_crate_comes_from_a_registry_that_may_be_used() {
    let allowed = texts(&read("deny.toml"), "sources", "allow-registry");
    let known = |source: &str| allowed.iter().any(|registry| source == format!("registry+{registry}"));
    let other: Vec<_> = locked().into_iter().filter(|(.., source)| !known(source)).collect();
    assert!(other.is_empty(), "from elsewhere than deny.toml allows: {other:#?}");
}

#[test]
fn no_crate_is_there_twice_but_for_those_with_a_reason_and_no_reason_is_left_over() {
    let deny = read("deny.toml");
    let skipped: Vec<(String, String)> = deny["bans"]["skip"]
        .as_array()
        .unwrap()
        .iter()
        .map(|skip| {
            (skip["name"].as_str().unwrap().to_string(), skip["version"].as_str().unwrap().to_string())
        })
        .collect();
    let is = |version: &str, begins: &str| version == begins || version.starts_with(&format!("{begins}."));
    let mut versions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (name, version, _) in locked() {
        versions.entry(name).or_default().push(version);
    }
    versions.retain(|_, versions| versions.len() > 1);
    for (name, begins) in &skipped {
        let there = versions.get(name).is_some_and(|all| all.iter().any(|version| is(version, begins)));
        assert!(
            there,
            "{name} {begins} is not there beside another version any more; take it out of deny.toml"
        );
    }
    for (name, all) in &mut versions {
        all.retain(|version| !skipped.iter().any(|(skipped, begins)| skipped == name && is(version, begins)));
    }
    versions.retain(|_, all| all.len() > 1);
    assert!(versions.is_empty(), "there twice without a reason in deny.toml: {versions:#?}");
}

#[test]
fn every_licence_is_one_that_may_be_used() {
    let allowed = texts(&read("deny.toml"), "licenses", "allow");
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/../Cargo.toml");
    // Of crates that other machines alone need nothing is fetched here.
    let version = Command::new("rustc").arg("-vV").output().unwrap().stdout;
    let version = String::from_utf8(version).unwrap();
    let machine = version.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let args = ["metadata", "--format-version", "1", "--offline", "--locked", "--filter-platform", machine];
    let output = Command::new(cargo).args(args).args(["--manifest-path", manifest]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    let fits = |licence: &str| {
        let parsed = spdx::Expression::parse_mode(licence, spdx::ParseMode::LAX).unwrap();
        parsed.evaluate(|wanted| allowed.contains(&wanted.license.to_string()))
    };
    let other: Vec<_> = packages
        .iter()
        .filter(|package| !package["license"].as_str().is_some_and(fits))
        .map(|package| format!("{} {}", package["name"], package["license"]))
        .collect();
    assert!(packages.len() > 100 && other.is_empty(), "not allowed by deny.toml: {other:#?}");
}

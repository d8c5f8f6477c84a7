//! How long `kettlecall review --format json` takes on a hundred ledgers, start-up included, beside general data-frame
//! libraries that work out the same grouped figures from one table of the same points: `cargo bench --bench pool`.
//!
//! The libraries run as processes of `python3`, or of what `POOL_PYTHON` names. Which are missing is said. All figures
//! are held against one another; the last line is one JSON object.

#![expect(clippy::unwrap_used, reason = "a benchmark that fails has to stop")]

#[path = "pool/classes.rs"]
#[expect(dead_code, reason = "the other benchmark holds one class that goes on")]
mod classes;

use classes::{CLASSES, VALUES, Ways, made};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tests::bench::whole::{kettlecall, time};

const SEED: u64 = 20_261_128;
const RUNS: usize = 7;
const NEAR: f64 = 1e-9;
const LIBRARIES: [&str; 3] = ["polars", "pandas", "duckdb"];

/// Figures by class (0 for all), way, steep and attribute: n, mean, sd, median, lower and upper quartile.
type Table = BTreeMap<(u64, String, u64, String), [f64; 6]>;

/// What is timed.
struct Runner {
    name: String,
    command: Box<dyn Fn() -> Command>,
    out: PathBuf,
    seconds: Vec<f64>,
}

fn python() -> String {
    std::env::var("POOL_PYTHON").unwrap_or_else(|_| "python3".into())
}

fn script(library: &str) -> Command {
    let mut command = Command::new(python());
    command.arg(concat!(env!("CARGO_MANIFEST_DIR"), "/benches/pool.py")).arg(library);
    command
}

fn version(library: &str) -> Option<String> {
    let output = script(library).arg("--version").stderr(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_string())
}

fn ours(path: &Path) -> Table {
    let pool: Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let list = |value: &Value, key: &str| value[key].as_array().unwrap().clone();
    let figures = |f: &Value| {
        ["n", "mean", "sd", "median", "lower_quartile", "upper_quartile"].map(|key| f[key].as_f64().unwrap())
    };
    let mut table = Table::new();
    for way in list(&pool, "ways") {
        let name = way["known"]["names"][0].as_str().unwrap();
        for attribute in list(&way, "attributes") {
            for steep in list(&attribute, "steeps") {
                let of = attribute["name"].as_str().unwrap();
                let key =
                    |class: u64| (class, name.to_string(), steep["steep"].as_u64().unwrap(), of.to_string());
                table.insert(key(0), figures(&steep));
                for class in list(&steep, "classes") {
                    table.insert(key(class["class"].as_u64().unwrap()), figures(&class));
                }
            }
        }
    }
    table
}

fn theirs(path: &Path) -> Table {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let row = |row: Result<csv::StringRecord, csv::Error>| {
        let row = row.unwrap();
        let number = |at: usize| row[at].parse::<f64>().unwrap();
        let key = (row[0].parse().unwrap(), row[1].to_string(), row[2].parse().unwrap(), row[3].to_string());
        (key, [4, 5, 6, 7, 8, 9].map(number))
    };
    reader.records().map(row).collect()
}

fn agree(ours: &Table, theirs: &Table, library: &str) -> f64 {
    assert!(ours.keys().eq(theirs.keys()), "{library} has other groups than we have");
    let apart = ours.values().flatten().zip(theirs.values().flatten()).map(|(a, b)| (a - b).abs());
    let most = apart.fold(0.0, f64::max);
    assert!(most <= NEAR, "{library} differs by {most}");
    most
}

fn main() {
    // Run as a test, it only shows that it builds.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    let program = kettlecall();
    let (ledgers, table) = made(Path::new(env!("CARGO_TARGET_TMPDIR")), SEED, Ways::Same);
    let folder = table.parent().unwrap().to_path_buf();
    let out = folder.join("kettlecall.json");
    let own_out = out.clone();
    let own = move || {
        let mut command = Command::new(&program);
        command.arg("review").args(&ledgers).args(["--format", "json"]);
        command.stdout(File::create(&own_out).unwrap());
        command
    };
    let mut runners =
        vec![Runner { name: "kettlecall".into(), command: Box::new(own), out, seconds: Vec::new() }];
    let (mut versions, mut missing) = (json!({}), Vec::new());
    for library in LIBRARIES {
        let Some(version) = version(library) else {
            println!("{library} is not installed for {}; left out", python());
            missing.push(library);
            continue;
        };
        versions[library] = version.into();
        let parquet = folder.join(format!("{library}.parquet"));
        let made = script(library).arg("--parquet").args([&table, &parquet]).stderr(Stdio::null()).status();
        let mut inputs = vec![("csv", table.clone())];
        match made {
            Ok(status) if status.success() => inputs.push(("parquet", parquet)),
            _ => println!("{library} can't write Parquet here; it reads comma-separated text only"),
        }
        for (form, input) in inputs {
            let out = folder.join(format!("{library}-{form}.csv"));
            let to = out.clone();
            let command = move || {
                let mut command = script(library);
                command.args([&input, &to]);
                command
            };
            let name = format!("{library}_{form}");
            runners.push(Runner { name, command: Box::new(command), out, seconds: Vec::new() });
        }
    }
    // One run of each to warm up, then in turns, so that a busy moment of the machine falls on all.
    for run in 0..=RUNS {
        for runner in &mut runners {
            let seconds = time(&mut (runner.command)());
            if run > 0 {
                runner.seconds.push(seconds);
            }
        }
    }
    let figures = ours(&runners[0].out);
    let (mut seconds, mut fastest) = (json!({}), (f64::INFINITY, String::new()));
    let mut median_of_ours = 0.0;
    let mut furthest: f64 = 0.0;
    for (place, runner) in runners.iter_mut().enumerate() {
        runner.seconds.sort_by(f64::total_cmp);
        let median = runner.seconds[RUNS / 2];
        println!("{:<16} median {median:.3} s, least {:.3} s", runner.name, runner.seconds[0]);
        seconds[&runner.name] = ((median * 1e4).round() / 1e4).into();
        if place == 0 {
            median_of_ours = median;
            continue;
        }
        furthest = furthest.max(agree(&figures, &theirs(&runner.out), &runner.name));
        if median < fastest.0 {
            fastest = (median, runner.name.clone());
        }
    }
    let ratio = fastest.0.is_finite().then(|| (fastest.0 / median_of_ours * 1e3).round() / 1e3);
    println!(
        "{}",
        json!({"bench": "pool", "classes": CLASSES, "values": VALUES, "groups": figures.len(), "seconds": seconds,
            "fastest_library": fastest.1, "times_as_fast_as_it": ratio, "figures_furthest_apart": furthest,
            "versions": versions, "missing": missing})
    );
}

//! How long `kettlecall spot` takes on a hundred ledgers beside `kettlecall review` of the same, start-up included, and beside a plain
//! least-squares fit of one table of the same points by a data-frame library: `cargo bench --bench spot`.
//!
//! The library runs as a process of `python3`, or of what `POOL_PYTHON` names; if it is missing, that is said. The last line is one JSON
//! object.

#![expect(clippy::unwrap_used, reason = "a benchmark that fails has to stop")]

#[path = "pool/classes.rs"]
#[expect(dead_code, reason = "the other benchmark holds one class that goes on")]
mod classes;

use classes::{CLASSES, VALUES, Ways, made};
use serde_json::json;
use std::fs::File;
use std::path::Path;
use std::process::{Command, Stdio};
use tests::bench::whole::{kettlecall, time};

/// The same ledgers as of the benchmark of many classes.
const SEED: u64 = 20_261_128;
const RUNS: usize = 7;
/// `spot` may take so many times as long as `review`.
const GOAL: f64 = 1.5;

fn fit(arguments: &[&Path]) -> Command {
    let mut command = Command::new(std::env::var("POOL_PYTHON").unwrap_or_else(|_| "python3".into()));
    command.arg(concat!(env!("CARGO_MANIFEST_DIR"), "/benches/spot.py")).args(arguments);
    command
}

fn middle(mut seconds: Vec<f64>) -> f64 {
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}

fn main() {
    // Run as a test, it only shows that it builds.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    let (ledgers, table) = made(Path::new(env!("CARGO_TARGET_TMPDIR")), SEED, Ways::Many);
    let program = kettlecall();
    let folder = table.parent().unwrap().to_path_buf();
    let ours = |what: &str| {
        let mut command = Command::new(&program);
        command.arg(what).args(&ledgers).args(["--format", "json"]);
        command.stdout(File::create(folder.join(format!("{what}.json"))).unwrap());
        command
    };
    let has = fit(&[Path::new("--version")]).stdout(Stdio::null()).stderr(Stdio::null()).status();
    let has = has.is_ok_and(|status| status.success());
    let (mut review, mut spot, mut library) = (Vec::new(), Vec::new(), Vec::new());
    // One run of each to warm up, then in turns, so that a busy moment of the machine falls on all.
    for run in 0..=RUNS {
        let took = (time(&mut ours("review")), time(&mut ours("spot")));
        let fitted = has.then(|| time(fit(&[&table]).stdout(Stdio::null())));
        if run > 0 {
            review.push(took.0);
            spot.push(took.1);
            library.extend(fitted);
        }
    }
    let (review, spot) = (middle(review), middle(spot));
    let library = has.then(|| middle(library));
    println!("review           median {review:.3} s");
    println!("spot             median {spot:.3} s, {:.2} times as long (goal: {GOAL})", spot / review);
    match library {
        Some(library) => {
            println!("least squares    median {library:.3} s, spot takes {:.2} times that", spot / library)
        }
        None => println!("the data-frame library is not installed; left out"),
    }
    println!(
        "{}",
        json!({"bench": "spot", "classes": CLASSES, "values": VALUES, "review_s": review, "spot_s": spot,
            "times_as_long_as_review": spot / review, "goal": GOAL, "least_squares_s": library})
    );
}

//! Runs every benchmark several times and writes `tests/benches/RESULTS.md`, from the workspace's root:
//!
//! `cargo run --release -p tests --bin record -- 2026-11-28` (the day it is; then, if not five, how often, and, if
//! not all, which benchmarks)

use std::error::Error;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use tests::bench::machine::Machine;
use tests::bench::report::Report;
use tests::bench::results::{section, versions};

const BENCHES: [&str; 4] = ["cue", "ingest", "fanout", "cue_wireless"];
const PAGE: &str = "tests/benches/RESULTS.md";
const CRATES: [&str; 7] =
    ["client", "protocol", "rusqlite", "server", "tokio", "tokio-tungstenite", "tungstenite"];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let Some((date, rest)) = arguments.split_first() else {
        eprintln!("record: say which day it is, such as 2026-11-28");
        return ExitCode::from(2);
    };
    match record(date, rest) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("record: {error}");
            ExitCode::FAILURE
        }
    }
}

fn record(date: &str, rest: &[String]) -> Result<(), Box<dyn Error>> {
    if !Path::new(PAGE).parent().is_some_and(Path::is_dir) {
        return Err("run this from the workspace's root".into());
    }
    let times = rest.iter().find_map(|word| word.parse().ok()).unwrap_or(5);
    let named = |bench: &&str| rest.iter().any(|word| word == bench);
    let all = !BENCHES.iter().any(named);
    let mut sections = Vec::new();
    for bench in BENCHES.iter().filter(|bench| all || named(bench)) {
        let mut runs: Vec<Report> = Vec::new();
        for time in 1..=times {
            eprintln!("{bench}, run {time} of {times}");
            runs.push(run(bench)?);
        }
        sections.push(section(&runs));
        if let Some(run) = runs.first() {
            write(date, times, &run.machine, &sections)?;
        }
    }
    if sections.is_empty() { Err("nothing was run".into()) } else { Ok(()) }
}

/// Writes the page with the sections there are so far, so that a run that is broken off leaves what it has.
fn write(date: &str, times: usize, machine: &Machine, sections: &[String]) -> Result<(), Box<dyn Error>> {
    let (processor, cores, kernel) = (&machine.processor, machine.cores, &machine.kernel);
    let rustc = Command::new("rustc").arg("--version").output()?.stdout;
    let crates = versions(&std::fs::read_to_string("Cargo.lock")?, &CRATES);
    let head = format!(
        "# Benchmarks of the clock and the wire\n\n\
         Written on {date} by `cargo run --release -p tests --bin record`: the median of {times} runs of each, and how far \
         the runs lie apart. A ratio is the median of the runs' own ratios, so that it need not be that of the values \
         beside it. What each figure means stands in [tests/README.md](../README.md#benchmarks).\n\n\
         - Machine: {processor}, {cores} cores, {} GiB of memory, {kernel}\n\
         - {}\n- Crates: {crates}\n",
        machine.memory_gib,
        String::from_utf8_lossy(&rustc).trim(),
    );
    Ok(std::fs::write(PAGE, format!("{head}\n{}", sections.join("\n")))?)
}

/// Runs a benchmark once; its last line is the report.
fn run(bench: &str) -> Result<Report, Box<dyn Error>> {
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    let output = cargo.args(["bench", "--locked", "--bench", bench]).stderr(Stdio::inherit()).output()?;
    let text = String::from_utf8(output.stdout)?;
    print!("{text}");
    let last = text
        .lines()
        .last()
        .filter(|_| output.status.success())
        .ok_or_else(|| format!("{bench} has failed"))?;
    Ok(serde_json::from_str(last)?)
}

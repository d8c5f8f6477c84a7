//! Plans rounds given as JSON lines on standard input and prints one answer a line:
//! `cargo run --release --example stagger < instances.jsonl`.
//!
//! An answer has `id`, `starts`, `spread`, `makespan`, `proven`, `seconds` (the planner's own time for this round),
//! `spread_bound`, `makespan_bound`, `nodes`, `pour_hand`, `decant_hand` and, where there are kettles, `kettle`. Hands
//! and kettles count from 0.

#![expect(
    clippy::disallowed_methods,
    reason = "a program around the planner: it reads, prints and takes its time"
)]

#[path = "../tests/stagger/instance.rs"]
mod instance;

use instance::Instance;
use plan::exact::{NODE_BUDGET, Solution, Wish, solve};
use serde::Serialize;
use std::io::{BufRead, ErrorKind, Write};
use std::process::ExitCode;
use std::time::Instant;

#[derive(Serialize)]
struct Answer<'a> {
    id: &'a str,
    starts: &'a [u32],
    spread: u32,
    makespan: u32,
    proven: bool,
    seconds: f64,
    spread_bound: u32,
    makespan_bound: u32,
    nodes: u64,
    #[serde(skip_serializing_if = "<[u8]>::is_empty")]
    kettle: &'a [u8],
    pour_hand: &'a [u8],
    decant_hand: &'a [u8],
}

impl<'a> Answer<'a> {
    fn new(id: &'a str, found: &'a Solution, seconds: f64) -> Self {
        Self {
            id,
            starts: &found.starts_s,
            spread: found.spread_s,
            makespan: found.makespan_s,
            proven: found.proof.starts,
            seconds,
            spread_bound: found.proof.spread.bound_s,
            makespan_bound: found.proof.makespan.bound_s,
            nodes: found.nodes,
            kettle: &found.kettle,
            pour_hand: &found.pour_hands,
            decant_hand: &found.decant_hands,
        }
    }
}

fn answer(line: &str) -> Result<String, String> {
    let instance: Instance = serde_json::from_str(line).map_err(|e| e.to_string())?;
    let round = instance.round();
    let begin = Instant::now();
    let found =
        solve(&round, Wish::StrictSpread, NODE_BUDGET).map_err(|e| format!("{}: {e}", instance.id))?;
    let seconds = begin.elapsed().as_secs_f64();
    serde_json::to_string(&Answer::new(&instance.id, &found, seconds)).map_err(|e| e.to_string())
}

fn main() -> ExitCode {
    let (input, mut output) = (std::io::stdin().lock(), std::io::stdout().lock());
    let mut code = ExitCode::SUCCESS;
    for (number, line) in (1..).zip(input.lines()) {
        let answered = match line {
            Ok(line) if line.trim().is_empty() => continue,
            Ok(line) => answer(&line),
            // Bytes that are not text spoil their own line; anything else ends the input.
            Err(e) if e.kind() == ErrorKind::InvalidData => Err(e.to_string()),
            Err(e) => {
                eprintln!("line {number}: {e}");
                return ExitCode::from(2);
            }
        };
        match answered {
            // Whoever reads the answers has closed the pipe: nobody is left to answer.
            Ok(text) if writeln!(output, "{text}").is_err() => return code,
            Ok(_) => {}
            Err(fault) => {
                eprintln!("line {number}: {fault}");
                code = ExitCode::from(2);
            }
        }
    }
    code
}

//! Holds classes on simulated networks, one for each seed, and says which promises broke.

use clap::Parser;
use std::process::ExitCode;
use tests::sim::sweep::sweep;
use tests::sim::verdict::judge;
use tests::sim::world::World;
use tests::sim::{self, Held};

/// Holds whole classes on simulated networks with links, machines and programs that fail; the seed decides everything
#[derive(Debug, Parser)]
#[command(name = "simulate")]
struct Cli {
    /// The first seed
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// How many seeds, on all cores at once
    #[arg(long, value_name = "N", default_value_t = 1)]
    runs: u64,
    /// Hold each class twice and compare everything that happened to the letter
    #[arg(long)]
    twice: bool,
    /// Print everything that happened
    #[arg(long)]
    trace: bool,
}

fn main() -> ExitCode {
    let Cli { seed, runs, twice, trace } = Cli::parse();
    let held = sweep(seed..seed.saturating_add(runs), |seed| {
        let world = World::drawn(seed);
        let words = match sim::run(&world) {
            Err(words) => vec![words],
            Ok(held) => {
                if trace {
                    print!("{}", held.text());
                }
                let mut words: Vec<String> = judge(&held).iter().map(ToString::to_string).collect();
                words.extend(if twice { differs(&held, &world) } else { None });
                if words.is_empty() {
                    return Ok(held.took_us / 1_000_000);
                }
                words
            }
        };
        Err(format!("{} seats, faults: {:#?}\n{}", world.seats.len(), world.faults, words.join("\n")))
    });
    match held {
        Ok(seconds) => {
            let (runs, simulated_s) = (seconds.len(), seconds.iter().sum::<i64>());
            println!("{runs} classes given, {simulated_s} s of simulated time; every promise was kept");
            ExitCode::SUCCESS
        }
        Err((seed, words)) => {
            println!("seed {seed}: {words}");
            let twice = if twice { " --twice" } else { "" };
            println!("again: cargo run --release -p tests --bin simulate -- --seed {seed}{twice} --trace");
            ExitCode::FAILURE
        }
    }
}

/// The first thing that happens otherwise when the same class is held again.
fn differs(held: &Held, world: &World) -> Option<String> {
    let (once, twice) = (held.text(), sim::run(world).map_or_else(|words| words, |held| held.text()));
    let first = once.lines().zip(twice.lines()).find(|(once, twice)| once != twice);
    (once != twice).then(|| format!("broken: the same seed gives the same class\n  {first:#?}"))
}

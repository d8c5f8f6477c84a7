//! Kills hosts and lets their disks fail, many times, and says what was lost.

use clap::Parser;
use std::collections::BTreeMap;
use std::process::{Command, ExitCode};
use tests::trials::{End, Trials};

/// Kills hosts while scores come in and while they are opened, and lets writes and synchronisations fail
#[derive(Debug, Parser)]
#[command(name = "trials")]
struct Cli {
    /// How many kills; of start-ups and of failing disks as many as that by ten
    kills: u32,
    /// What decides when
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

#[tokio::main]
async fn main() -> ExitCode {
    let Cli { kills, seed } = Cli::parse();
    let mut dice = fastrand::Rng::with_seed(seed);
    let trials = Trials::new().await;
    let tenth = kills.div_ceil(10);
    let mut ends: Vec<(&str, End)> = Vec::new();
    for _ in 0..kills {
        ends.push(("killed", End::Kill { after: dice.u32(0..80), then_us: dice.u64(0..3000) }));
    }
    ends.extend((0..tenth).map(|n| ("a write failed", End::Write(8 + 12 * n))));
    if Command::new("strace").arg("-V").output().is_ok() {
        ends.extend((1..=tenth).map(|n| ("a synchronisation failed", End::Sync(n))));
    } else {
        println!("strace is not here: no synchronisation is made to fail");
    }
    let (mut kinds, mut broken) = (BTreeMap::new(), 0);
    for (kind, end) in ends {
        let (held, acknowledged) = kinds.entry(kind).or_insert((0, 0));
        *held += 1;
        match trials.hold(end).await {
            Ok(seen) => *acknowledged += seen.acknowledged,
            Err(words) => {
                broken += 1;
                println!("{words}");
            }
        }
    }
    for (kind, (held, acknowledged)) in kinds {
        println!("{held} hosts, {kind}: {acknowledged} scores were acknowledged");
    }
    let starts = (0..tenth).flat_map(|_| [false, true]).map(|earlier| (dice.u64(0..25_000), earlier));
    for words in starts.filter_map(|(after, earlier)| trials.start_up(after, earlier).err()) {
        broken += 1;
        println!("{words}");
    }
    println!(
        "{} hosts killed while they were opened, every other on a ledger of an earlier program",
        2 * tenth
    );
    println!("{broken} promises were broken");
    if broken == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

//! Draws classes, reviews them, and prints how often each kind of sentence is right and wrong.

use clap::Parser;
use std::collections::BTreeMap;
use std::process::ExitCode;
use tests::calibrate::kinds::Kind;
use tests::calibrate::table::{self, Row};
use tests::calibrate::{families, missed, reached, rows};

/// Draws classes with and without true differences and prints how often each kind of sentence is shown; the seed decides
/// everything
#[derive(Debug, Parser)]
#[command(name = "calibrate")]
struct Cli {
    /// How many classes for each row, without and with a true difference
    #[arg(default_value_t = 500)]
    classes: u64,
    /// What decides them
    #[arg(default_value_t = 1)]
    seed: u64,
    /// One family only: complete, gaps, twice, ways, votes, costs, words, tests, pools, first, missed
    family: Option<String>,
}

fn main() -> ExitCode {
    let Cli { classes, seed, family } = Cli::parse();
    let wanted = |name: &str| family.as_deref().is_none_or(|family| family == name);
    let mut all: BTreeMap<Kind, Vec<Row>> = BTreeMap::new();
    for (number, case) in (0..).zip(families::all()).filter(|(_, case)| wanted(case.family)) {
        for (kind, row) in rows(&case, classes, seed + 2_000 * number) {
            all.entry(kind).or_default().push(row);
        }
    }
    println!(
        "{classes} classes a row, seed {seed}; exact 95 % intervals of the shares; ! is more than 6 % for sure"
    );
    print!("{}", table::rates(&all));
    if wanted("missed") {
        let reach = |(number, reach): (u64, missed::Reach)| {
            let (points, rate) = reached(&reach, classes, seed + 1_000_000 + number);
            (reach.what, reach.null.shape, points, rate)
        };
        let rows: Vec<_> = (0..).zip(missed::all()).map(reach).collect();
        print!("{}", table::missed(&rows));
    }
    let too_many = table::too_many(&all);
    println!("\n{} rows have more false alarms than 6 %", too_many.len());
    too_many.iter().for_each(|row| println!("  {row}"));
    if too_many.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

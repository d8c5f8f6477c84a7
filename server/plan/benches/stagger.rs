//! How long the exact stagger takes: `cargo bench --bench stagger`.
//!
//! After the benchmark of all open cases come four lines of JSON, one for a set of rounds: the open cases, and
//! rounds of eight and of twelve teas drawn from a seed, with water without end and from kettles that may run out. Each says how many rounds are proven within the default
//! budget, and the planner's time per round (the least of a few runs) as median, 90th percentile and maximum, with
//! the name of the slowest.

#![expect(clippy::disallowed_methods, reason = "a benchmark reads the clock and its arguments")]

#[path = "../tests/stagger/instance.rs"]
mod instance;

use instance::Instance;
use plan::exact::{Kettle, NODE_BUDGET, Round, Solution, TeaJob, Wish, solve};
use plan::filling::Filling;
use plan::heat::Heat;
use std::time::Instant;

fn open_cases() -> Vec<(String, Round)> {
    let lines = include_str!("../tests/stagger/instances.jsonl").lines();
    lines
        .filter_map(|line| serde_json::from_str::<Instance>(line).ok())
        .map(|i| (i.id.clone(), i.round()))
        .collect()
}

/// Rounds with one or two pairs of hands and none to two kettles, in steps of the class that occur in practice.
fn drawn(teas: usize, rounds: usize, seed: u64) -> Vec<(String, Round)> {
    let mut rng = fastrand::Rng::with_seed(seed);
    let mut one_of = |values: &[f64]| values[rng.usize(..values.len())];
    let temps = [70.0, 75.0, 80.0, 85.0, 90.0, 95.0, 100.0];
    let lengths: Vec<f64> = (6u8..=15).map(f64::from).collect();
    let whole = |value: f64| value as u32;
    let mut round = |number| {
        let steeps: &[f64] = match whole(one_of(&[0.0, 0.0, 0.0, 1.0, 2.0, 3.0])) {
            0 => &[10.0, 15.0, 20.0, 25.0, 30.0, 45.0, 60.0, 90.0, 120.0],
            1 => &[0.0, 2.0, 4.0, 8.0, 10.0, 12.0],
            2 => &[15.0],
            _ => &[7.0, 8.0, 16.0, 24.0, 31.0, 32.0, 40.0, 48.0],
        };
        let teas = (0..teas).map(|_| TeaJob {
            pour_s: whole(one_of(&lengths)),
            steep_s: whole(one_of(steeps)),
            decant_s: whole(one_of(&lengths)),
            temp_c: one_of(&temps),
            ml: 0.0,
        });
        let teas = teas.collect();
        let kettles = (0..whole(one_of(&[0.0, 1.0, 2.0]))).map(|_| Kettle {
            heat: Heat {
                fill_kg: one_of(&[0.8, 1.0, 1.2, 1.5, 1.7]),
                watts: one_of(&[1000.0, 1200.0, 1500.0, 1800.0, 2000.0, 2200.0]),
                eta: 0.85,
                tau_s: 2400.0,
            },
            start_c: Some(one_of(&[20.0, 75.0, 95.0, 100.0])),
            water: None,
        });
        let kettles = kettles.collect();
        let hands = whole(one_of(&[1.0, 2.0])) as u8;
        let round = Round {
            teas,
            hands,
            by: Vec::new(),
            kettles,
            room_c: 20.0,
            tol_c: 1.0,
            order_fixed: false,
            gap_s: 0,
            lid_s: 0,
        };
        (format!("number {number}"), round)
    };
    (0..rounds).map(&mut round).collect()
}

/// The same, but every tea takes 100 to 300 ml, and every round has kettles, which may run out.
fn thirsty(teas: usize, rounds: usize, seed: u64) -> Vec<(String, Round)> {
    let mut rng = fastrand::Rng::with_seed(seed);
    let mut rounds = drawn(teas, rounds, seed);
    for (_, round) in &mut rounds {
        round.teas.iter_mut().for_each(|tea| tea.ml = f64::from(rng.u32(2..=6)) * 50.0);
        let kettle = Heat { fill_kg: 1.2, watts: 1800.0, eta: 0.85, tau_s: 2400.0 };
        if round.kettles.is_empty() {
            round.kettles.push(Kettle { heat: kettle, start_c: None, water: None });
        }
        for kettle in &mut round.kettles {
            let full_ml = kettle.heat.fill_kg * 1000.0;
            kettle.water = Some(Filling { full_ml, usable_ml: 0.9 * full_ml, fill_s: 20 });
        }
    }
    rounds
}

fn strict(round: &Round) -> Option<Solution> {
    solve(round, Wish::StrictSpread, NODE_BUDGET).ok()
}

#[divan::bench]
fn all_open_cases(bencher: divan::Bencher<'_, '_>) {
    let rounds = open_cases();
    bencher
        .bench(|| rounds.iter().filter_map(|(_, round)| strict(round)).map(|found| found.nodes).sum::<u64>());
}

fn measure(set: &str, rounds: &[(String, Round)], runs: usize) {
    let (mut proven, mut milliseconds) = (0, Vec::new());
    for (name, round) in rounds {
        let mut least = f64::INFINITY;
        for run in 0..runs {
            let begin = Instant::now();
            let found = divan::black_box(strict(divan::black_box(round)));
            least = least.min(begin.elapsed().as_secs_f64() * 1e3);
            proven += usize::from(run == 0 && found.is_some_and(|found| found.proof.starts));
        }
        milliseconds.push((least, name));
    }
    milliseconds.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |part: f64| milliseconds[((milliseconds.len() - 1) as f64 * part) as usize];
    println!(
        r#"{{"set":"{set}","rounds":{},"proven":{proven},"median_ms":{:.4},"p90_ms":{:.4},"max_ms":{:.3},"slowest":"{}"}}"#,
        rounds.len(),
        at(0.5).0,
        at(0.9).0,
        at(1.0).0,
        at(1.0).1
    );
}

fn main() {
    divan::main();
    // Run as a test, it only shows that it runs.
    if std::env::args().any(|argument| argument == "--bench") {
        measure("eight teas", &drawn(8, 200, 8), 1);
        measure("twelve teas", &drawn(12, 60, 12), 1);
        measure("eight teas from kettles that may run out", &thirsty(8, 100, 8), 1);
        measure("open", &open_cases(), 5);
    }
}

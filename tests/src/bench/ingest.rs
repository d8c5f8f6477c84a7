//! How many scores a second the host takes in, each on disk before it is acknowledged.

use super::Fallible;
use super::child::Player;
use super::cue::folder;
use super::host::{Opens, Order, Started};
use super::ingest_roles::{Go, Keeps, Rate, STEEPS, Scorers};
use super::instant::{now_ns, wait_until};
use super::report::{Figure, Report};
use super::stamps::median;

/// How often each side is measured, in turns.
const TURNS: usize = 5;
/// How long a turn warms up, and how long it is measured, in nanoseconds.
const WARM_NS: i64 = 500_000_000;
const MEASURED_NS: i64 = 2_000_000_000;
/// Host seconds per second, so that everything is poured at once.
const PACE: f64 = 1000.0;
const BARE: &str = "bare loop";
const TABLES: &str = "bare loop, ledger's tables";

/// Runs it.
///
/// # Errors
/// A process has failed.
pub fn bench(sizes: &[usize]) -> Fallible<Report> {
    let sizes = if sizes.is_empty() { &[1000] } else { sizes };
    let mut report = Report::new("ingest");
    for &seats in sizes {
        report.figures.extend(at(seats)?);
    }
    Ok(report)
}

/// Six teas of some steeps.
fn class(seats: usize) -> String {
    let steeps = ["45"; STEEPS as usize].join(", ");
    let tea = format!("leaf_g = 4\nwater_ml = 120\ntemp_c = 90\nsteep_s = [{steeps}]\n");
    let teas = (1..=6).map(|n| format!("[[tea]]\nname = \"Tea {n}\"\ncode = \"{n}00\"\n{tea}"));
    let head = "title = \"Scores\"\ndate = 2026-11-28\npourers = \"each seat\"\npour_s = 5\ndecant_s = 5\ntaste_s = 30\n";
    format!("{head}seats = {seats}\n{}", teas.collect::<String>())
}

fn at(seats: usize) -> Fallible<Vec<Figure>> {
    // Everything lies on one disk.
    let folder = folder()?;
    let opens = Opens { class: class(seats), folder: folder.path().into(), pace: PACE, bounded: false };
    let (mut host, address) = Player::with::<String>("host", &opens)?;
    let (mut room, _) = Player::with::<bool>("scorers", &Scorers { address, seats, hello: true })?;
    let started: Started = host.ask(&Order::Start)?;
    let bare = |as_ledger, name| -> Fallible<[Player; 2]> {
        let keeps = Keeps { path: folder.path().join(name), as_ledger };
        let (bare, address) = Player::with::<String>("commit host", &keeps)?;
        let (room, _) = Player::with::<bool>("scorers", &Scorers { address, seats, hello: false })?;
        Ok([bare, room])
    };
    let [_plain, mut plain_room] = bare(false, "plain.db")?;
    let [_tables, mut tables_room] = bare(true, "tables.db")?;
    wait_until(started.poured_ns);
    let mut figures = Vec::new();
    for in_flight in [1, 8] {
        let (mut ours, mut plain, mut tables) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..TURNS {
            let all =
                [(&mut room, &mut ours), (&mut plain_room, &mut plain), (&mut tables_room, &mut tables)];
            for (room, rates) in all {
                let from_ns = now_ns() + WARM_NS;
                let codes = started.codes.clone();
                let go = Go { codes, in_flight, from_ns, until_ns: from_ns + MEASURED_NS };
                rates.push(room.ask::<Rate>(&go)?);
            }
        }
        let at = format!("{seats} seats, {in_flight} in flight");
        let figure = |name: &str, unit: &str, of: fn(&Rate) -> f64| {
            let middle = |rates: &[Rate]| median(rates.iter().map(of));
            let figure = Figure::new(&at, name, unit, middle(&ours)?).beside(BARE, middle(&plain)?);
            Some(figure.beside(TABLES, middle(&tables)?))
        };
        let rate = figure("scores on disk and acknowledged", "1/s", |rate| rate.scores_per_s);
        figures.extend(rate.map(|figure| figure.at_least_times(0.7, BARE)));
        figures.extend(figure("acknowledgement, p50", "ms", |rate| rate.p50_ms));
        figures.extend(figure("acknowledgement, p99", "ms", |rate| rate.p99_ms));
    }
    Ok(figures)
}

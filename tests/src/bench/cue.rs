//! How exactly seats are cued: the bells of real seats against the true instants of the cues, as the host has them.

use super::air::Air;
use super::bare::{Acted, Cues};
use super::child::Player;
use super::host::{self, Opens, Started};
use super::instant::now_ns;
use super::report::{Figure, Report};
use super::seats::{self, Heard};
use super::stamps::{Errors, Stamps};
use super::{Fallible, floor};
use std::path::Path;
use tempfile::TempDir;

/// How many instants a baseline is tried at.
const CUES: usize = 9;
/// How far in front the first of some instants lies, and how far apart they are, in nanoseconds.
const LEAD_NS: i64 = 500_000_000;
const APART_NS: i64 = 400_000_000;

const FLOOR: &str = "timer floor";
const BARE: &str = "bare alarm";
const RUNTIME: &str = "runtime's sleep";
const PUSHED: &str = "pushed";
/// How exactly a person acts on a bell, very roughly; a tenth of it is the aim.
const PERSON: &str = "a person, about";
const PERSON_MS: f64 = 50.0;

/// Over loopback.
///
/// # Errors
/// A process has failed.
pub fn wired(sizes: &[usize]) -> Fallible<Report> {
    let sizes = if sizes.is_empty() { &[10, 200, 1000, 5000] } else { sizes };
    let mut report = Report::new("cue");
    for &seats in sizes {
        let measured = Measured::at(seats, None)?;
        report.figures.extend(measured.figures(|name, figure| match (name, seats) {
            ("ring, p99", 1000) => figure.at_most(0.6).at_most_times(2.0, BARE).at_most_times(0.02, PUSHED),
            ("ring, worst spread", 1000) => figure.at_most(1.5),
            _ => figure,
        }));
    }
    Ok(report)
}

/// Through a relay that delays, reorders nothing and stalls.
///
/// # Errors
/// A process has failed.
pub fn wireless(sizes: &[usize]) -> Fallible<Report> {
    let sizes = if sizes.is_empty() { &[200] } else { sizes };
    let air = Air { seed: 20, delay_ms: 20.0, jitter_ms: 15.0, stalled: 0.02, stall_ms: 300.0 };
    let mut report = Report::new("cue_wireless");
    for &seats in sizes {
        let measured = Measured::at(seats, Some(air))?;
        report.figures.extend(measured.figures(|name, figure| match name {
            "ring, p50" | "ring, max" => figure.beside(PERSON, PERSON_MS),
            "ring, p99" => figure.beside(PERSON, PERSON_MS).at_most(10.0).at_most_times(0.1, PERSON),
            _ => figure,
        }));
    }
    Ok(report)
}

/// What is looked at in the errors of one way of waiting: its name, and the value in milliseconds.
type Value = (&'static str, fn(&Errors) -> f64);

/// A room of one size, and everything it is compared with.
struct Measured {
    seats: usize,
    waiting_ms_per_s: Option<f64>,
    ring: Errors,
    said: Errors,
    floor: Errors,
    bare: Errors,
    runtime: Errors,
    pushed: Errors,
}

/// A folder on the disk that the programs are built on.
pub(super) fn folder() -> Fallible<TempDir> {
    let program = std::env::current_exe()?;
    let beside = program.parent().unwrap_or(Path::new("."));
    Ok(tempfile::tempdir_in(beside)?)
}

/// Four teas of one steep, each seat with its own set: nine cues that ring, one second apart.
pub(super) fn class(seats: usize) -> String {
    let tea = "leaf_g = 4\nwater_ml = 120\ntemp_c = 90\nsteep_s = [3]\n";
    let teas = (1..=4).map(|n| format!("[[tea]]\nname = \"Tea {n}\"\ncode = \"{n}00\"\n{tea}"));
    let head = "title = \"Cues\"\ndate = 2026-11-28\npourers = \"each seat\"\npour_s = 1\ndecant_s = 1\ntaste_s = 10\n";
    format!("{head}seats = {seats}\n{}", teas.collect::<String>())
}

fn ours(seats: usize, air: Option<Air>) -> Fallible<(Vec<i64>, Heard)> {
    let folder = folder()?;
    let opens = Opens { class: class(seats), folder: folder.path().into(), pace: 1.0, bounded: false };
    let (mut host, address) = Player::with::<String>("host", &opens)?;
    let (mut room, _) = Player::with::<bool>("seats", &seats::Order { address, seats, air })?;
    let started: Started = host.ask(&host::Order::Start)?;
    let heard = room.ask(&started.cues_ns)?;
    Ok((started.cues_ns, heard))
}

fn series(first_ns: i64) -> Vec<i64> {
    (0..CUES as i64).map(|i| first_ns + i * APART_NS).collect()
}

fn bare(seats: usize, air: Option<Air>) -> Fallible<(Cues, Acted)> {
    let (mut host, address) = Player::with::<String>("bare host", &seats)?;
    let (mut room, _) = Player::with::<bool>("bare seats", &seats::Order { address, seats, air })?;
    let begin_ns = now_ns() + LEAD_NS;
    let length_ns = APART_NS * CUES as i64;
    let cues = Cues {
        by_alarm_ns: series(begin_ns),
        by_runtime_ns: series(begin_ns + length_ns),
        pushed_ns: series(begin_ns + 2 * length_ns),
    };
    host.tell(&cues)?;
    let acted = room.ask(&cues)?;
    Ok((cues, acted))
}

/// The errors of one way of waiting, which is named if it did not come to its cues.
fn errors(cues_ns: &[i64], stamps: &Stamps, seats: usize, whose: &str) -> Fallible<Errors> {
    Errors::of(cues_ns, stamps, seats).map_err(|error| format!("{whose}: {error}").into())
}

impl Measured {
    fn at(seats: usize, air: Option<Air>) -> Fallible<Self> {
        let (cues_ns, heard) = ours(seats, air)?;
        let (cues, acted) = bare(seats, air)?;
        let order = floor::Order { seats, cues_ns: series(now_ns() + LEAD_NS) };
        let (_, at_once) = Player::with::<Stamps>("floor", &order)?;
        Ok(Self {
            seats,
            waiting_ms_per_s: heard.waiting_ms_per_s,
            ring: errors(&cues_ns, &heard.ring, seats, "ring")?,
            said: errors(&cues_ns, &heard.said, seats, "said")?,
            floor: errors(&order.cues_ns, &at_once, seats, FLOOR)?,
            bare: errors(&cues.by_alarm_ns, &acted.by_alarm, seats, BARE)?,
            runtime: errors(&cues.by_runtime_ns, &acted.by_runtime, seats, RUNTIME)?,
            pushed: errors(&cues.pushed_ns, &acted.pushed, seats, PUSHED)?,
        })
    }

    fn figures(&self, goals: impl Fn(&str, Figure) -> Figure) -> Vec<Figure> {
        let at = format!("{} seats", self.seats);
        let values: [Value; 5] = [
            ("p50", |e| e.p50_ms),
            ("p99", |e| e.p99_ms),
            ("max", |e| e.max_ms),
            ("spread", |e| e.spread_ms),
            ("worst spread", |e| e.worst_spread_ms),
        ];
        let figure = |who: &str, ours: &Errors, (name, of): Value| {
            let name = format!("{who}, {name}");
            let figure = Figure::new(&at, &name, "ms", of(ours)).beside(FLOOR, of(&self.floor));
            let figure = figure.beside(BARE, of(&self.bare)).beside(RUNTIME, of(&self.runtime));
            goals(&name, figure.beside(PUSHED, of(&self.pushed)))
        };
        let ring = values.map(|value| figure("ring", &self.ring, value));
        let said = values.map(|value| figure("said", &self.said, value));
        let wrong = (self.ring.wrong + self.said.wrong) as f64;
        let wrong = Figure::new(&at, "cues missed or given twice", "", wrong).at_most(0.0);
        let waiting = self.waiting_ms_per_s.map(|ms| {
            let each_us = ms * 1e3 / self.seats as f64;
            let all = Figure::new(&at, "processor time of all seats while they wait", "ms/s", ms);
            [all, Figure::new(&at, "the same for one seat", "µs/s", each_us)]
        });
        ring.into_iter().chain(said).chain([wrong]).chain(waiting.into_iter().flatten()).collect()
    }
}

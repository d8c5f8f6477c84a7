//! How fast a change of the timetable reaches a full room, and how much memory a seat costs the host.

use super::Fallible;
use super::child::Player;
use super::cue::folder;
use super::fanout_roles::{Came, Pass, Readers};
use super::host::{Opens, Order, Started};
use super::report::{Figure, Report};
use super::stamps::median;

/// How often the timetable is changed at each size.
const ROUNDS: usize = 9;
const BARE: &str = "bare loop";

/// Runs it.
///
/// # Errors
/// A process has failed.
pub fn bench(sizes: &[usize]) -> Fallible<Report> {
    let sizes = if sizes.is_empty() { &[1000, 5000, 10_000] } else { sizes };
    let mut report = Report::new("fanout");
    for &seats in sizes {
        report.figures.extend(at(seats)?);
    }
    Ok(report)
}

/// Eight teas of eight steeps: as long a timetable as a class is likely to have.
fn class(seats: usize) -> String {
    let steeps = "steep_s = [45, 30, 30, 40, 50, 60, 80, 100]";
    let tea = format!("leaf_g = 6\nwater_ml = 120\ntemp_c = 95\n{steeps}\n");
    let teas = (1..=8).map(|n| format!("[[tea]]\nname = \"Tea {n}\"\ncode = \"{n}00\"\n{tea}"));
    let head = "title = \"Eight by eight\"\ndate = 2026-11-28\npourers = \"each seat\"\npour_s = 10\ndecant_s = 8\ntaste_s = 60\n";
    format!("{head}seats = {seats}\n{}", teas.collect::<String>())
}

/// What was measured over the rounds, in milliseconds.
#[derive(Default)]
struct Times {
    bytes: usize,
    ours: Vec<f64>,
    bare: Vec<f64>,
}

impl Times {
    fn add(&mut self, ours_ns: i64, bare_ns: i64) {
        self.ours.push(ours_ns as f64 / 1e6);
        self.bare.push(bare_ns as f64 / 1e6);
    }

    fn figure(self, at: &str, name: &str) -> Option<Figure> {
        let name = format!("{name} ({} bytes)", self.bytes);
        Some(Figure::new(at, &name, "ms", median(self.ours)?).beside(BARE, median(self.bare)?))
    }
}

fn at(seats: usize) -> Fallible<Vec<Figure>> {
    let folder = folder()?;
    let opens = Opens { class: class(seats), folder: folder.path().into(), pace: 1.0, bounded: false };
    let (mut host, address) = Player::with::<String>("host", &opens)?;
    let before_kib: f64 = host.ask(&Order::Memory)?;
    let readers = Readers { address, clients: seats, hello: true };
    let (mut room, _) = Player::with::<bool>("readers", &readers)?;
    let joined_kib: f64 = host.ask(&Order::Memory)?;
    let (mut bare, (address, bare_before_kib)) = Player::with::<(String, f64)>("broadcast host", &seats)?;
    let readers = Readers { address, clients: seats, hello: false };
    let (mut bare_room, _) = Player::with::<bool>("readers", &readers)?;
    let bare_joined_kib: f64 = bare.hear()?;
    // The first timetable is a change like the others; it warms everything up.
    room.tell(&Pass::Course)?;
    let _: Started = host.ask(&Order::Start)?;
    let _: Came = room.hear()?;
    let (mut long, mut short) = (Times::default(), Times::default());
    for _ in 0..ROUNDS {
        // Seats ping, or their host takes them for gone.
        let _: bool = room.ask(&Pass::Ping)?;
        for (wish, times) in [(Order::Hold, &mut short), (Order::Resume, &mut long)] {
            room.tell(&Pass::Course)?;
            let began_ns: i64 = host.ask(&wish)?;
            let came: Came = room.hear()?;
            times.bytes = came.text.len();
            bare_room.tell(&Pass::Course)?;
            let bare_began_ns: i64 = bare.ask(&came.text)?;
            let bare_came: Came = bare_room.hear()?;
            times.add(came.last_ns - began_ns, bare_came.last_ns - bare_began_ns);
        }
    }
    let after_kib: f64 = host.ask(&Order::Memory)?;
    let at = format!("{seats} seats");
    let resumed = long.figure(&at, "all cues, wish to last seat");
    let held = short.figure(&at, "held, wish to last seat");
    let each = |kib: f64, before_kib: f64| (kib - before_kib) * 1.024 / seats as f64;
    let idle = Figure::new(&at, "host's memory for an idle seat", "kB", each(joined_kib, before_kib));
    let idle = idle.beside(BARE, each(bare_joined_kib, bare_before_kib));
    let after = Figure::new(&at, "the same after all changes", "kB", each(after_kib, before_kib));
    let idle = if seats >= 10_000 { idle.at_most(40.0) } else { idle };
    Ok(resumed.map(|f| f.at_most_times(1.3, BARE)).into_iter().chain(held).chain([idle, after]).collect())
}

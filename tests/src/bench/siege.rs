//! What a class of fifty hears of strangers who besiege its door, and how long somebody who is late waits to be let in.

use super::Fallible;
use super::child::Player;
use super::cue::{class, folder};
use super::host::{self, Opens, Started};
use super::report::{Figure, Report};
use super::seats::{self, Heard};
use super::siege_roles::{Assault, Besieged, Late};
use super::stamps::{Errors, percentile};

/// How many seats the class has.
const SEATS: usize = 50;
/// How many strangers come.
const STRANGERS: usize = 3_000;
/// How many people come late, one after the other.
const LATE: usize = 20;

const QUIET: &str = "no stranger";

/// Each assault for itself, beside a class that nobody besieges.
///
/// # Errors
/// A process has failed.
pub fn all(sizes: &[usize]) -> Fallible<Report> {
    let strangers = sizes.first().copied().unwrap_or(STRANGERS);
    let quiet = Turn::of(None, strangers)?;
    let mut report = Report::new("siege");
    report.figures.extend(quiet.figures(QUIET, None));
    for assault in Assault::ALL {
        let turn = Turn::of(Some(assault), strangers)?;
        report.figures.extend(turn.figures(assault.name(), Some(&quiet)));
    }
    Ok(report)
}

/// A class of fifty, from its first cue to its last.
struct Turn {
    ring: Errors,
    late: Late,
    besieged: Option<Besieged>,
}

impl Turn {
    fn of(assault: Option<Assault>, strangers: usize) -> Fallible<Self> {
        let folder = folder()?;
        let opens = Opens { class: class(SEATS), folder: folder.path().into(), pace: 1.0, bounded: true };
        let (mut host, address) = Player::with::<String>("host", &opens)?;
        let order = seats::Order { address: address.clone(), seats: SEATS, air: None };
        let (mut room, _) = Player::with::<bool>("seats", &order)?;
        let mut strangers = match assault {
            Some(assault) => {
                Some(Player::with::<bool>("strangers", &(address.clone(), assault, strangers))?.0)
            }
            None => None,
        };
        let mut people = Player::start("late")?;
        people.tell(&(address, LATE))?;
        let started: Started = host.ask(&host::Order::Start)?;
        let heard: Heard = room.ask(&started.cues_ns)?;
        let besieged = strangers.as_mut().map(|strangers| strangers.ask(&true)).transpose()?;
        let late = people.hear()?;
        let ring = Errors::of(&started.cues_ns, &heard.ring, SEATS)?;
        Ok(Self { ring, late, besieged })
    }

    fn figures(&self, at: &str, quiet: Option<&Turn>) -> Vec<Figure> {
        let mut came = self.late.came_ms.clone();
        came.sort_by(f64::total_cmp);
        let slowest = came.last().copied().unwrap_or(f64::NAN);
        let middle = percentile(&came, 0.5).unwrap_or(f64::NAN);
        let beside = |figure: Figure, of: fn(&Turn) -> f64| match quiet {
            Some(quiet) => figure.beside(QUIET, of(quiet)),
            None => figure,
        };
        let ring = Figure::new(at, "ring, p99", "ms", self.ring.p99_ms).at_most(5.0);
        let wrong = Figure::new(at, "cues missed or given twice", "", self.ring.wrong as f64).at_most(0.0);
        let refused = self.late.refused as f64;
        let refused = Figure::new(at, "late people refused or broken off", "", refused).at_most(0.0);
        let strangers = self.besieged.map(|besieged| {
            let connections = Figure::new(at, "connections of strangers", "", besieged.connections as f64);
            [connections, Figure::new(at, "what they sent", "MB", besieged.sent_bytes as f64 / 1e6)]
        });
        [
            beside(ring, |turn| turn.ring.p99_ms),
            wrong,
            Figure::new(at, "late people, dial to place, p50", "ms", middle),
            Figure::new(at, "late people, dial to place, slowest", "ms", slowest).at_most(1_000.0),
            refused,
        ]
        .into_iter()
        .chain(strangers.into_iter().flatten())
        .collect()
    }
}

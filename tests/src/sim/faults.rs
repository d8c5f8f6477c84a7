//! What goes wrong on the network and with the machines, and when.

use super::world::{HOST, Nap, START_MS, World};
use fastrand::Rng;
use turmoil::Sim;
use uuid::Uuid;

/// Something that goes wrong for a while, in true milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fault {
    /// From when.
    pub from_ms: u64,
    /// Until when; `None` for good.
    pub to_ms: Option<u64>,
    /// What.
    pub what: Trouble,
}

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// Nothing arrives, and then everything at once.
    Stall(Links),
    /// What is sent is lost, both ways.
    Cut(Links),
    /// What this seat sends is lost; what it is sent arrives.
    CutUp(usize),
    /// The host's program is killed and started again.
    HostDown(Restart),
    /// A seat's program is killed and started again.
    SeatDown(usize),
}

/// Which links.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Links {
    /// The one of a seat, by its place in the world.
    Seat(usize),
    /// All of them.
    All,
}

/// How a host comes back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Restart {
    /// On the same machine, which has been up all the time; meanwhile its wall clock was set by this many microseconds.
    SameBoot {
        /// Forward; less than nought: back.
        wall_stepped_us: i64,
    },
    /// On a machine that was restarted, without a word to the seats; its wall clock came up wrong by this many
    /// microseconds.
    NewBoot {
        /// Ahead; less than nought: behind.
        wall_wrong_us: i64,
    },
}

/// The machine that the host runs on.
#[derive(Clone, Copy, Debug)]
pub struct Machine {
    /// Which start of it.
    pub boot: Uuid,
    /// When it was started, in true microseconds.
    pub booted_us: i64,
    /// By how much its wall clock differs from true time, in microseconds.
    pub wall_us: i64,
}

impl Machine {
    /// A machine that has been up for an hour when the simulation begins.
    pub fn first() -> Self {
        Self { boot: Uuid::from_u128(1), booted_us: -3_600_000_000, wall_us: 1_795_900_000_000_000 }
    }

    /// The same machine, or its next start, after a restart at `at_us`.
    pub fn after(self, restart: Restart, at_us: i64) -> Self {
        match restart {
            Restart::SameBoot { wall_stepped_us } => Self { wall_us: self.wall_us + wall_stepped_us, ..self },
            Restart::NewBoot { wall_wrong_us } => Self {
                boot: Uuid::from_u128(self.boot.as_u128() + 1),
                booted_us: at_us - 1_000_000,
                wall_us: self.wall_us + wall_wrong_us,
            },
        }
    }
}

/// The simulated name of a seat's machine.
pub fn machine(seat: usize) -> String {
    format!("seat-{seat}")
}

fn names(links: Links, seats: usize) -> Vec<String> {
    match links {
        Links::Seat(n) => vec![machine(n)],
        Links::All => (0..seats).map(machine).collect(),
    }
}

impl Trouble {
    /// Lets it begin.
    pub fn begin(self, sim: &mut Sim<'_>, seats: usize) {
        match self {
            Trouble::Stall(links) => each(links, seats, |seat| sim.hold(HOST, seat)),
            Trouble::Cut(links) => each(links, seats, |seat| sim.partition(HOST, seat)),
            Trouble::CutUp(n) => sim.partition_oneway(machine(n).as_str(), HOST),
            Trouble::HostDown(restart) => {
                if matches!(restart, Restart::NewBoot { .. }) {
                    // Nobody hears the connections close when the machine itself goes.
                    each(Links::All, seats, |seat| sim.partition(HOST, seat));
                }
                sim.crash(HOST);
            }
            Trouble::SeatDown(n) => sim.crash(machine(n).as_str()),
        }
    }

    /// Lets it end.
    pub fn end(self, sim: &mut Sim<'_>, seats: usize) {
        match self {
            Trouble::Stall(links) => each(links, seats, |seat| sim.release(HOST, seat)),
            Trouble::Cut(links) => each(links, seats, |seat| sim.repair(HOST, seat)),
            Trouble::CutUp(n) => sim.repair_oneway(machine(n).as_str(), HOST),
            Trouble::HostDown(restart) => {
                if matches!(restart, Restart::NewBoot { .. }) {
                    each(Links::All, seats, |seat| sim.repair(HOST, seat));
                }
                sim.bounce(HOST);
            }
            Trouble::SeatDown(n) => sim.bounce(machine(n).as_str()),
        }
    }
}

fn each(links: Links, seats: usize, mut change: impl FnMut(&str)) {
    names(links, seats).iter().for_each(|name| change(name));
}

/// What is troubled already, each until when: two troubles of one thing at once would end each other.
struct Busy {
    links: Vec<u64>,
    programs: Vec<u64>,
    host: u64,
}

/// Draws what goes wrong in a world: two to seven troubles one after the other, many of them overlapping.
pub fn draw(rng: &mut Rng, world: &mut World) {
    let seats = world.seats.len();
    let mut busy = Busy { links: vec![0; seats], programs: vec![0; seats], host: 0 };
    let (mut at_ms, mut gone) = (START_MS / 2, 0);
    for _ in 0..rng.usize(2..=7) {
        at_ms += rng.u64(1_000..30_000);
        let n = rng.usize(..seats);
        let links = if rng.u8(..4) == 0 { Links::All } else { Links::Seat(n) };
        let touched = |links: Links| match links {
            Links::All => 0..seats,
            Links::Seat(n) => n..n + 1,
        };
        let free = |busy: &Busy, links| touched(links).all(|n| busy.links[n] < at_ms);
        // Long enough for a blink and for a dead link.
        let lasts_ms = if rng.bool() { rng.u64(200..6_000) } else { rng.u64(6_000..45_000) };
        let ends_ms = at_ms + lasts_ms;
        let what = match rng.u8(..10) {
            0..=1 if free(&busy, links) => Trouble::Stall(links),
            2..=3 if free(&busy, links) => Trouble::Cut(links),
            4 if free(&busy, Links::Seat(n)) => Trouble::CutUp(n),
            5..=6 if busy.host < at_ms => restart(rng, free(&busy, Links::All)),
            7 if busy.programs[n] < at_ms && world.seats[n].comes_ms < at_ms => Trouble::SeatDown(n),
            8..=9 if busy.programs[n] < at_ms => {
                busy.programs[n] = ends_ms;
                let (from_us, length_us) = (at_ms as i64 * 1_000, lasts_ms as i64 * 1_000);
                let counted_us = (length_us + rng.i64(-1_400_000..=1_400_000)).max(0);
                world.seats[n].naps.push(Nap { from_us, length_us, counted_us });
                continue;
            }
            _ => continue,
        };
        let for_good = matches!(what, Trouble::SeatDown(_)) && gone == 0 && rng.u8(..4) == 0;
        gone += usize::from(for_good);
        let to_ms = (!for_good).then_some(ends_ms);
        match what {
            Trouble::Stall(links) | Trouble::Cut(links) => {
                touched(links).for_each(|n| busy.links[n] = ends_ms)
            }
            Trouble::CutUp(n) => busy.links[n] = ends_ms,
            Trouble::SeatDown(n) => busy.programs[n] = to_ms.unwrap_or(u64::MAX),
            Trouble::HostDown(Restart::SameBoot { .. }) => busy.host = ends_ms,
            Trouble::HostDown(Restart::NewBoot { .. }) => {
                (busy.host, busy.links) = (ends_ms, vec![ends_ms; seats]);
            }
        }
        world.faults.push(Fault { from_ms: at_ms, to_ms, what });
    }
}

fn restart(rng: &mut Rng, links_free: bool) -> Trouble {
    let some_us = |rng: &mut Rng, most: i64| if rng.bool() { 0 } else { rng.i64(-most..=most) };
    Trouble::HostDown(if links_free && rng.bool() {
        Restart::NewBoot { wall_wrong_us: some_us(rng, 5_000_000) }
    } else {
        Restart::SameBoot { wall_stepped_us: some_us(rng, 3_600_000_000) }
    })
}

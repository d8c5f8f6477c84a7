//! A whole class on a simulated network: one thread, simulated time, the real owner, door, ledger and seats. The same
//! world gives the same run to the letter.
//!
//! [`World`] says what is to be, [`run`] holds the class, [`verdict::judge`] says which promises were broken.

pub mod faults;
mod host;
mod seats;
pub mod sweep;
mod tap;
pub mod trace;
pub mod verdict;
mod way;
pub mod world;

use ::host::stored;
use class::Class;
use client::keep::KeepFile;
use faults::{Fault, Machine, Trouble, machine};
use protocol::JoinCode;
use room::{Entry, Event, Room, Teacher};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::PathBuf;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, UNIX_EPOCH};
use summary::{Summary, summarise};
use tempfile::TempDir;
use trace::{Record, Trace, What};
use turmoil::{Builder, Sim};
use uuid::Uuid;
use world::{HOST, LIMIT_MS, STEP_MS, World};

/// What the tasks of a run share: the world, the trace, the files, and how far the teacher's script has come.
pub struct Shared {
    world: World,
    trace: Trace,
    folder: TempDir,
    machine: Mutex<Machine>,
    lesson: Mutex<Lesson>,
    /// What stands on the host's screen to be typed at the seats.
    join_code: Mutex<Option<JoinCode>>,
}

struct Lesson {
    script: VecDeque<(u64, Teacher)>,
    done_since_us: Option<i64>,
    closed: bool,
}

impl Shared {
    fn new(world: &World) -> Self {
        // In memory where the machine allows it: what the disk does when asked to sync is not simulated.
        let folder = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).unwrap();
        let script = world.teacher.clone().into();
        let lesson = Mutex::new(Lesson { script, done_since_us: None, closed: false });
        let (world, trace, machine) = (world.clone(), Trace::default(), Mutex::new(Machine::first()));
        Self { world, trace, folder, machine, lesson, join_code: Mutex::default() }
    }

    fn ledger(&self) -> PathBuf {
        self.folder.path().join("class.ledger")
    }

    fn keep(&self, seat: usize) -> PathBuf {
        self.folder.path().join(format!("{}.json", machine(seat)))
    }

    fn show(&self, join_code: Option<JoinCode>) {
        *self.join_code.lock().unwrap() = join_code;
    }

    fn join_code(&self) -> Option<JoinCode> {
        *self.join_code.lock().unwrap()
    }

    fn machine(&self) -> Machine {
        *self.machine.lock().unwrap()
    }

    fn next_act_us(&self) -> Option<i64> {
        self.lesson.lock().unwrap().script.front().map(|(at_ms, _)| *at_ms as i64 * 1_000)
    }

    fn act(&self) -> Teacher {
        self.lesson.lock().unwrap().script[0].1.clone()
    }

    fn acted(&self) {
        self.lesson.lock().unwrap().script.pop_front();
    }

    /// Notes whether the class is over; whether it has been for long enough to close it.
    fn done_since(&self, now_us: Option<i64>) -> bool {
        let mut lesson = self.lesson.lock().unwrap();
        lesson.done_since_us = now_us.map(|now_us| lesson.done_since_us.unwrap_or(now_us));
        let waited_us = now_us.zip(lesson.done_since_us).map(|(now_us, since_us)| now_us - since_us);
        waited_us.is_some_and(|waited_us| waited_us >= self.world.grace_ms as i64 * 1_000)
    }

    fn close(&self) {
        self.lesson.lock().unwrap().closed = true;
    }

    fn is_closed(&self) -> bool {
        self.lesson.lock().unwrap().closed
    }
}

/// A class that was held.
#[derive(Clone, Debug)]
pub struct Held {
    /// The class.
    pub class: Class,
    /// Everything that happened.
    pub trace: Vec<Record>,
    /// The ledger as it was read back at the end.
    pub ledger: Vec<Entry>,
    /// The summary of it.
    pub summary: Summary,
    /// The ids of the scores that wait in each seat's file.
    pub outboxes: BTreeMap<String, Vec<Uuid>>,
    /// Simulated time it took, in microseconds.
    pub took_us: i64,
}

impl Held {
    /// The trace as text, a line for each thing that happened.
    pub fn text(&self) -> String {
        self.trace.iter().map(|record| format!("{record}\n")).collect()
    }
}

/// Holds a class in a world.
///
/// # Errors
/// Why the class did not come to its end, in words.
pub fn run(world: &World) -> Result<Held, String> {
    let shared = Arc::new(Shared::new(world));
    let mut sim = build(&shared);
    let (mut edges, mut down) = (edges(&world.faults), BTreeSet::new());
    loop {
        let now_ms = sim.elapsed().as_millis() as u64;
        while let Some((_, begins, fault)) = edges.pop_front_if(|(at_ms, ..)| *at_ms <= now_ms) {
            change(&mut sim, &shared, &mut down, begins, fault.what);
        }
        sim.step().map_err(|e| format!("after {now_ms} ms: {e}"))?;
        let over = now_ms > LIMIT_MS;
        let all_done = shared.is_closed() && edges.is_empty();
        if !over && !all_done {
            continue;
        }
        let mut sits = |n: &usize| sim.is_host_running(machine(*n).as_str());
        let at_work: Vec<usize> = (0..world.seats.len()).filter(&mut sits).collect();
        if over {
            return Err(stuck(&shared, &at_work));
        } else if at_work.is_empty() {
            break;
        }
    }
    let took_us = sim.elapsed().as_micros() as i64;
    // The host goes as it came: without a word, and its ledger has to be whole all the same.
    drop(sim);
    let ledger = stored::read(&shared.ledger()).map_err(|e| e.to_string())?;
    let room = Room::replay(ledger.iter().cloned())?;
    let (summary, outboxes) = (summarise(&room, room.last_at), outboxes(&shared, &ledger));
    Ok(Held { class: world.class.clone(), trace: shared.trace.records(), ledger, summary, outboxes, took_us })
}

/// The network with its machines. Each runs its program again whenever it is started.
fn build(shared: &Arc<Shared>) -> Sim<'static> {
    let step = Duration::from_millis(STEP_MS);
    let mut builder = Builder::new();
    builder.epoch(UNIX_EPOCH).rng_seed(shared.world.seed).tick_duration(step);
    builder.simulation_duration(Duration::from_millis(2 * LIMIT_MS)).tcp_capacity(1_024);
    let mut sim = builder.build();
    let (mine, runs) = (shared.clone(), AtomicU32::new(0));
    sim.host(HOST, move || host::host(mine.clone(), runs.fetch_add(1, Ordering::Relaxed) + 1));
    for (n, seat) in shared.world.seats.iter().enumerate() {
        let (mine, runs) = (shared.clone(), AtomicU32::new(0));
        sim.host(machine(n), move || seats::sit(mine.clone(), n, runs.fetch_add(1, Ordering::Relaxed) + 1));
        let (least, jitter) = (seat.way.delay_ms.max(STEP_MS + 1), seat.way.jitter_ms);
        sim.set_link_latency(HOST, machine(n), Duration::from_millis(least));
        sim.set_link_max_message_latency(HOST, machine(n), Duration::from_millis(least + jitter));
    }
    sim
}

/// The beginnings (`true`) and ends of all faults in order of time.
fn edges(faults: &[Fault]) -> VecDeque<(u64, bool, Fault)> {
    let begins = faults.iter().map(|fault| (fault.from_ms, true, *fault));
    let ends = faults.iter().filter_map(|fault| Some((fault.to_ms?, false, *fault)));
    let mut edges: Vec<_> = begins.chain(ends).collect();
    edges.sort_by_key(|(at_ms, ..)| *at_ms);
    edges.into()
}

/// Lets a fault begin or end. `down` are the seats whose programs were killed and not started again.
fn change(sim: &mut Sim<'_>, shared: &Shared, down: &mut BTreeSet<usize>, begins: bool, what: Trouble) {
    let (seats, at_us) = (shared.world.seats.len(), sim.elapsed().as_micros() as i64);
    if let Trouble::SeatDown(n) = what {
        // Who has gone home can't be killed, and does not come back.
        let can = if begins { sim.is_host_running(machine(n).as_str()) } else { down.remove(&n) };
        if !can {
            return;
        }
        if begins {
            down.insert(n);
            shared.trace.note_at(at_us, shared.world.seats[n].name, 0, What::Killed);
        }
    }
    let words = format!("{what:?} {}", if begins { "begins" } else { "ends" });
    shared.trace.note_at(at_us, "network", 0, What::Fault(words));
    if begins {
        what.begin(sim, seats);
    } else {
        if let Trouble::HostDown(restart) = what {
            let mut machine = shared.machine.lock().unwrap();
            *machine = machine.after(restart, at_us);
        }
        what.end(sim, seats);
    }
}

fn stuck(shared: &Shared, at_work: &[usize]) -> String {
    let records = shared.trace.records();
    let of = |who: &str| {
        let last = records.iter().rfind(|r| r.who == who && !matches!(r.what, What::Shown(_)));
        last.map_or_else(|| format!("{who}: nothing at all"), ToString::to_string)
    };
    let closed = if shared.is_closed() { "closed" } else { "not closed" };
    let seats: Vec<String> = at_work.iter().map(|&n| of(shared.world.seats[n].name)).collect();
    let seats = seats.join("\n  ");
    format!(
        "the class is stuck: after {LIMIT_MS} ms of simulated time it is {closed}; the last of the host and of who still sits:\n  {}\n  {seats}",
        of(HOST)
    )
}

fn outboxes(shared: &Shared, ledger: &[Entry]) -> BTreeMap<String, Vec<Uuid>> {
    let Some(Event::Class { class_id, .. }) = ledger.first().map(|entry| &entry.event) else {
        return BTreeMap::new();
    };
    let waiting = |(n, seat): (usize, &world::SeatPlan)| {
        let (_, kept, _) = KeepFile::open(&shared.keep(n), Uuid::nil()).ok()?;
        let outbox = kept.class(*class_id).map(|class| class.outbox.iter().map(|score| score.id).collect());
        Some((seat.name.to_string(), outbox.unwrap_or_default()))
    };
    shared.world.seats.iter().enumerate().filter_map(waiting).collect()
}

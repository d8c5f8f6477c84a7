//! What a simulated class is to be: its people, their clocks and links, the teacher's script and the faults. Everything
//! follows from a seed, or is put together by hand.

use super::faults::{self, Fault};
use class::{Class, Pourers, read};
use fastrand::Rng;
use protocol::{Code, Role};
use room::{Steering, Teacher, Who};

/// The host's name on the simulated network.
pub const HOST: &str = "host";
/// The host's port on the simulated network.
pub const PORT: u16 = 4177;
/// The network moves on in steps of this length, in milliseconds. No link is faster: a message would arrive before it
/// was sent.
pub const STEP_MS: u64 = 5;
/// Simulated time after which a class is stuck, in milliseconds. The longest that a seed draws takes half of it.
pub const LIMIT_MS: u64 = 600_000;

const CLASS: &str = include_str!("../../classes/short-steeps.toml");
/// People; one of them is called what a spreadsheet would run.
const NAMES: [&str; 8] = ["Ann", "Bob", "=Cy", "Dee", "Eve", "Finn", "Gus", "Hal"];
/// When the teacher begins, in milliseconds.
pub const START_MS: u64 = 6_000;

/// One simulated class.
#[derive(Clone, Debug)]
pub struct World {
    /// What everything else was drawn from; also the network's jitter.
    pub seed: u64,
    /// The class.
    pub class: Class,
    /// The seats.
    pub seats: Vec<SeatPlan>,
    /// What the teacher does, each at its true instant in milliseconds, or as soon as there is a host.
    pub teacher: Vec<(u64, Teacher)>,
    /// How long after the last cue the teacher closes the class, in milliseconds.
    pub grace_ms: u64,
    /// What goes wrong.
    pub faults: Vec<Fault>,
}

/// One seat.
#[derive(Clone, Debug)]
pub struct SeatPlan {
    /// Its name.
    pub name: &'static str,
    /// What its habits and ids are drawn from.
    pub seed: u64,
    /// Which pourer it is.
    pub pourer: Option<u8>,
    /// What it has come for.
    pub role: Role,
    /// When its program is first started, in milliseconds.
    pub comes_ms: u64,
    /// How much its clock gains, in parts per million.
    pub gains_ppm: i64,
    /// Its link.
    pub way: Way,
    /// When its machine sleeps.
    pub naps: Vec<Nap>,
}

/// How slow a link is.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// At least this, each way, in milliseconds.
    pub delay_ms: u64,
    /// At most this on top, drawn for every message, in milliseconds.
    pub jitter_ms: u64,
    /// What the way up to the host takes longer, in milliseconds.
    pub up_more_ms: u64,
    /// At most this on top of that.
    pub up_jitter_ms: u64,
}

/// A machine sleeps.
#[derive(Clone, Copy, Debug)]
pub struct Nap {
    /// From this true instant on, in microseconds.
    pub from_us: i64,
    /// For this many microseconds.
    pub length_us: i64,
    /// What the machine takes it for, in microseconds.
    pub counted_us: i64,
}

impl Nap {
    /// When the machine wakes.
    pub fn wakes_us(&self) -> i64 {
        self.from_us + self.length_us
    }
}

impl World {
    /// A class of this many seats in which nothing goes wrong: good clocks, a quick network.
    pub fn calm(seed: u64, seats: usize) -> Self {
        let way = Way { delay_ms: 6, jitter_ms: 2, up_more_ms: 0, up_jitter_ms: 0 };
        let seat = |n: usize| SeatPlan {
            name: NAMES[n],
            seed: seed.wrapping_mul(1_000).wrapping_add(n as u64 + 1),
            pourer: None,
            role: Role::Scores,
            comes_ms: 500 + 100 * n as u64,
            gains_ppm: 0,
            way,
            naps: Vec::new(),
        };
        Self {
            seed,
            class: read::class(CLASS).unwrap(),
            seats: (0..seats).map(seat).collect(),
            teacher: vec![(START_MS, Teacher::Start { anyway: true }), (START_MS, Teacher::Reveal(None))],
            grace_ms: 4_000,
            faults: Vec::new(),
        }
    }

    /// A class as a seed draws it.
    pub fn drawn(seed: u64) -> Self {
        let mut rng = Rng::with_seed(seed);
        let mut world = Self::calm(seed, rng.usize(3..=8));
        if rng.u8(..4) == 0 {
            world.class.pourers = Pourers::Table(2);
        }
        for (n, seat) in world.seats.iter_mut().enumerate() {
            let table = world.class.pourers != Pourers::EachSeat;
            seat.pourer = (table && n < 2).then_some(n as u8 + 1);
            seat.comes_ms = if rng.u8(..6) == 0 { rng.u64(START_MS..60_000) } else { rng.u64(100..4_000) };
            seat.gains_ppm = rng.i64(-80..=80);
            seat.way = way(&mut rng);
        }
        world.teacher = teacher(&mut rng);
        world.grace_ms = rng.u64(500..12_000);
        faults::draw(&mut rng, &mut world);
        // Last, so that what a seed drew before stays as it was.
        for seat in &mut world.seats {
            seat.role = match (rng.u8(..8), seat.pourer) {
                (0, _) => Role::PoursOnly,
                (1, None) => Role::Watches,
                _ => Role::Scores,
            };
        }
        world.teacher.extend(steering(&mut rng, &world.class));
        let names: Vec<&str> = world.seats.iter().map(|seat| seat.name).collect();
        world.teacher.extend(people(&mut rng, &world.class, &names));
        world.teacher.sort_by_key(|(at_ms, _)| *at_ms);
        world
    }
}

fn way(rng: &mut Rng) -> Way {
    // From the same room to the other end of the world.
    let delay_ms = [6, 8, 15, 40, 120][rng.usize(..5)] + rng.u64(..8);
    let jitter_ms = rng.u64(0..=delay_ms * 2);
    let lopsided = rng.u8(..3) == 0;
    let up_more_ms = if lopsided { rng.u64(10..250) } else { 0 };
    let up_jitter_ms = if lopsided { rng.u64(0..60) } else { 0 };
    Way { delay_ms, jitter_ms, up_more_ms, up_jitter_ms }
}

/// What the teacher changes on the way, in two classes of three: up to five acts, some of which can't be and are refused.
fn steering(rng: &mut Rng, class: &Class) -> Vec<(u64, Teacher)> {
    let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
    let acts = if rng.u8(..3) == 0 { 0 } else { rng.usize(1..=5) };
    let act = |rng: &mut Rng| {
        let code = codes[rng.usize(..codes.len())];
        let wish = match rng.u8(..12) {
            0..=3 => Steering::Longer { codes: vec![code], by_s: rng.i32(-6..=15) },
            4 => Steering::Skip { code, round: None, reason: String::new() },
            5 => Steering::Drop { code, reason: String::new() },
            6 => Steering::Take(code),
            7 => Steering::Again { code, round: None },
            8 => Steering::More { code, steep_s: rng.u32(5..20) },
            9 => Steering::Taste { by_s: rng.i32(-10..=15) },
            10 => Steering::Undo,
            _ => return Teacher::Say("the lid\u{1b}[2J".into()),
        };
        Teacher::Steer(wish)
    };
    (0..acts).map(|_| (rng.u64(START_MS + 1_000..110_000), act(rng))).collect()
}

/// Who goes and comes back, who pours and what is scored once more, in every second class: up to four acts.
fn people(rng: &mut Rng, class: &Class, names: &[&str]) -> Vec<(u64, Teacher)> {
    let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
    let acts = if rng.bool() { 0 } else { rng.usize(1..=4) };
    let act = |rng: &mut Rng| {
        let (code, name) = (codes[rng.usize(..codes.len())], names[rng.usize(..names.len())]);
        let pourer = rng.u8(1..=2).to_string();
        match rng.u8(..8) {
            0 | 1 => {
                let (who, reason) = (Who::Named(name.into()), "so\u{1b}[2J".into());
                Teacher::Away { who, without_scores: false, reason }
            }
            2 => Teacher::Back("all".into()),
            3 => Teacher::Steer(Steering::Undo),
            4 => Teacher::Steer(Steering::Hand { code, to: Some(pourer) }),
            5 => Teacher::Steer(Steering::PourerLeaves(pourer)),
            6 => Teacher::Steer(Steering::PourerBack(pourer)),
            _ => Teacher::Reopen { code, round: None, seat: rng.bool().then(|| name.into()) },
        }
    };
    (0..acts).map(|_| (rng.u64(START_MS + 1_000..110_000), act(rng))).collect()
}

/// Start, up to two holds, a reveal somewhere.
fn teacher(rng: &mut Rng) -> Vec<(u64, Teacher)> {
    let mut script = vec![(START_MS, Teacher::Start { anyway: true })];
    let mut at_ms = START_MS;
    for _ in 0..rng.usize(0..=2) {
        at_ms += rng.u64(8_000..50_000);
        script.push((at_ms, Teacher::Hold));
        at_ms += rng.u64(500..30_000);
        script.push((at_ms, Teacher::Resume));
    }
    script.push((rng.u64(START_MS..150_000), Teacher::Reveal(None)));
    script.sort_by_key(|(at_ms, _)| *at_ms);
    script
}

//! Exact instants, in paused time: the real owner, door and seats over pipes in memory, where nothing takes time but
//! what is waited for. The runtime's timers count whole milliseconds, so "on the instant" means within one.

use client::clock::OwnClock;
use client::drive::{self, Options, Seat};
use host::Host;
use protocol::{Action, Code, Cue, HostTime, JoinCode, Timetable};
use room::{Boot, Teacher, World};
use seat::app::{Fill, Happened, Happening, SeatInput};
use seat::host_clock::{Doubt, OwnTime};
use std::collections::BTreeMap;
use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tests::desk::{InProcess, host_at, host_in};
use tokio::io::DuplexStream;
use tokio::sync::mpsc;
use tokio::time::Instant;
use uuid::Uuid;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
/// One tick of the runtime's timers, in host microseconds at pace 1.
const TICK_US: i64 = 1_000;

/// The way from a seat to whichever host is there: it can be cut, and the host behind it replaced.
#[derive(Clone)]
struct Way {
    join_code: Option<JoinCode>,
    door: Arc<Mutex<host::door::Door>>,
    cut: Arc<AtomicBool>,
    served: Arc<Mutex<Vec<tokio::task::JoinHandle<()>>>>,
}

impl Way {
    async fn to(host: &Host) -> Self {
        let join_code = host.handle.room().await.unwrap().join_code;
        let door = Arc::new(Mutex::new(host.door.clone()));
        Self { join_code, door, cut: Arc::default(), served: Arc::default() }
    }

    fn dial(&self) -> io::Result<DuplexStream> {
        if self.cut.load(Ordering::SeqCst) {
            return Err(io::ErrorKind::ConnectionRefused.into());
        }
        let (near, far) = tokio::io::duplex(64 * 1024);
        let door = self.door.lock().unwrap().clone();
        self.served.lock().unwrap().push(tokio::spawn(door.serve(far, None)));
        Ok(near)
    }

    /// Cuts the link: the connection ends and dialling fails.
    fn cut(&self) {
        self.cut.store(true, Ordering::SeqCst);
        self.served.lock().unwrap().drain(..).for_each(|task| task.abort());
    }
}

/// A seat at work, all of what it said, and how to talk to it.
struct Sitting {
    say: mpsc::Sender<SeatInput>,
    heard: mpsc::Receiver<Happened>,
    cues: Vec<(Cue, HostTime)>,
    kept: usize,
}

impl Sitting {
    fn down(name: &str, way: &Way) -> Self {
        let (say, inputs) = mpsc::channel(16);
        let (outputs, heard) = mpsc::channel(256);
        let way = way.clone();
        let options = Options { join_code: way.join_code, ..Options::new(name, "localhost") };
        let dialler = move || std::future::ready(way.dial());
        tokio::spawn(drive::run(dialler, options, inputs, outputs));
        Self { say, heard, cues: Vec::new(), kept: 0 }
    }

    /// Listens until something is so.
    async fn until(&mut self, so: impl Fn(&Self, &Happening) -> bool) {
        loop {
            let happened = self.heard.recv().await.expect("the seat goes on");
            match &happened.what {
                Happening::Cue { cue, .. } => self.cues.push((cue.clone(), happened.at.unwrap())),
                Happening::Kept { .. } => self.kept += 1,
                _ => {}
            }
            if so(self, &happened.what) {
                return;
            }
        }
    }

    async fn until_cue(&mut self, action: Action, code: u16, steep: u32) {
        let code = Code::new(code);
        self.until(
            |_, what| matches!(what, Happening::Cue { cue, .. } if cue.key() == (steep, action, code)),
        )
        .await;
    }

    async fn until_linked(&mut self) {
        self.until(|_, what| matches!(what, Happening::Seated { .. } | Happening::LinkBack)).await;
    }
}

/// A seat at work in the test's own hands.
fn seat_at(way: &Way, clock: &OwnClock) -> Seat {
    let way = way.clone();
    let (join_code, clock) = (way.join_code, clock.clone());
    let options = Options { join_code, clock, ..Options::new("Ann", "localhost") };
    Seat::open(move || std::future::ready(way.dial()), options).unwrap()
}

fn on_the_instant(cues: &[(Cue, HostTime)]) {
    for (cue, at) in cues {
        let late_us = *at - cue.at;
        assert!(
            (0..=TICK_US).contains(&late_us),
            "{cue} steep {} came {late_us} µs after its instant",
            cue.steep
        );
    }
}

async fn timetable(host: &Host) -> Timetable {
    host.handle.room().await.unwrap().timetable.clone()
}

#[tokio::test(start_paused = true)]
async fn every_seat_is_cued_on_every_instant_in_order_and_once() {
    let desk = InProcess::open(CLASS, 1.0);
    let way = Way::to(&desk.host).await;
    let mut seats: Vec<Sitting> = ["Ann", "Bob", "Cy"].iter().map(|n| Sitting::down(n, &way)).collect();
    for seat in &mut seats {
        seat.until_linked().await;
    }
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    let timetable = timetable(&desk.host).await;
    for seat in &mut seats {
        seat.until(|_, what| matches!(what, Happening::Cue { cue, .. } if cue.action == Action::SheetCloses && cue.steep == 3)).await;
        let cues: Vec<Cue> = seat.cues.iter().map(|(cue, _)| cue.clone()).collect();
        assert_eq!(cues, timetable.cues);
        on_the_instant(&seat.cues);
    }
}

#[tokio::test(start_paused = true)]
async fn a_seat_whose_link_is_cut_is_cued_on_the_instant_and_its_score_arrives_later() {
    let desk = InProcess::open(CLASS, 1.0);
    let way = Way::to(&desk.host).await;
    let mut ann = Sitting::down("Ann", &way);
    ann.until_linked().await;
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until_cue(Action::Pour, 417, 1).await;
    way.cut();
    ann.until(|_, what| matches!(what, Happening::Ready(cup) if cup.short() == "417/1")).await;
    let fill = Fill { values: vec![Some(7), Some(8)], ..Fill::of(Code::new(417).unwrap()) };
    ann.say.send(SeatInput::Fill(fill)).await.unwrap();
    ann.until(|_, what| matches!(what, Happening::Cue { cue, .. } if cue.action == Action::Taste)).await;
    on_the_instant(&ann.cues);
    assert!(!desk.host.handle.view(0).await.unwrap().seats[0].linked);
    way.cut.store(false, Ordering::SeqCst);
    ann.until(|seat, _| seat.kept == 1).await;
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!((room.scores.all().len(), room.seats.len()), (1, 1), "the same seat, one score");
    ann.until(|_, what| matches!(what, Happening::Cue { cue, .. } if cue.action == Action::SheetCloses))
        .await;
    on_the_instant(&ann.cues);
    let round_one: Vec<Cue> = room.timetable.cues.iter().filter(|c| c.steep == 1).cloned().collect();
    let seen: Vec<Cue> = ann.cues.iter().map(|(c, _)| c.clone()).collect();
    assert_eq!(seen, round_one, "in order, none twice, none left out");
}

#[tokio::test(start_paused = true)]
async fn a_hold_lets_what_is_wet_end_on_time_and_starts_nothing_dry() {
    let desk = InProcess::open(CLASS, 1.0);
    let way = Way::to(&desk.host).await;
    let mut ann = Sitting::down("Ann", &way);
    ann.until_linked().await;
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    let before = timetable(&desk.host).await;
    ann.until_cue(Action::Pour, 862, 1).await;
    desk.host.handle.teacher(Teacher::Hold).await.unwrap().unwrap();
    tokio::time::sleep(Duration::from_secs(600)).await;
    desk.host.handle.teacher(Teacher::Resume).await.unwrap().unwrap();
    let after = timetable(&desk.host).await;
    ann.until(|_, what| matches!(what, Happening::Cue { cue, .. } if cue.action == Action::SheetCloses))
        .await;
    on_the_instant(&ann.cues);
    let mut by_tea: BTreeMap<Code, Vec<HostTime>> = BTreeMap::new();
    for (cue, at) in ann.cues.iter().filter(|(c, _)| matches!(c.action, Action::Pour | Action::Decant)) {
        by_tea.entry(cue.code.unwrap()).or_default().push(*at);
    }
    for (code, at) in by_tea {
        assert_eq!(at.len(), 2, "{code} was poured once and decanted once");
    }
    let decant = |table: &Timetable, code| table.find(Action::Decant, Code::new(code), 1).unwrap().at;
    for wet in [417, 862] {
        assert_eq!(decant(&before, wet), decant(&after, wet), "{wet} was wet");
    }
    for dry in [238, 305] {
        assert!(decant(&after, dry) - decant(&before, dry) >= 500_000_000, "{dry} was dry and waited");
    }
}

#[expect(clippy::disallowed_methods, reason = "the runtime's own paused clock stands in for the wall clock")]
#[tokio::test(start_paused = true)]
async fn a_host_that_is_opened_again_moves_nothing_and_seats_hear_no_cue_twice() {
    let opened = Instant::now();
    let InProcess { host, folder } = InProcess::open(CLASS, 1.0);
    let way = Way::to(&host).await;
    let mut ann = Sitting::down("Ann", &way);
    ann.until_linked().await;
    host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until_cue(Action::Pour, 862, 1).await;
    let before = timetable(&host).await;
    // Dropped, not stopped: nothing is written at the end, as when the process is killed.
    way.cut();
    host.crash().await;
    tokio::time::sleep(Duration::from_secs(20)).await;
    let wall_clock_us = opened.elapsed().as_micros() as i64;
    let host = host_in(folder.path(), CLASS, 1.0, wall_clock_us);
    assert_eq!(timetable(&host).await, before);
    *way.door.lock().unwrap() = host.door.clone();
    way.cut.store(false, Ordering::SeqCst);
    ann.until(|_, what| matches!(what, Happening::Cue { cue, .. } if cue.action == Action::SheetCloses))
        .await;
    let seen: Vec<Cue> = ann.cues.iter().map(|(c, _)| c.clone()).collect();
    let round_one: Vec<Cue> = before.cues.iter().filter(|c| c.steep == 1).cloned().collect();
    assert_eq!(seen, round_one);
    on_the_instant(&ann.cues);
    let off_us = host.clock.now() - ann.cues.last().unwrap().1;
    assert!(off_us.abs() <= TICK_US, "host and seat agree after the restart, {off_us} µs apart");
}

#[tokio::test(start_paused = true)]
async fn a_seat_whose_machine_slept_says_so_and_asks_the_host_before_it_trusts_its_clock_again() {
    let desk = InProcess::open(CLASS, 1.0);
    let (way, clock) = (Way::to(&desk.host).await, OwnClock::start());
    let mut seat = seat_at(&way, &clock);
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    while seat.app().clock.bound_us(seat.now()).is_none() {
        seat.next().await;
    }
    // Asleep for 9 s, of which the machine counted half a second too little.
    tokio::time::sleep(Duration::from_secs(9)).await;
    clock.sleep(9_000_000, -500_000);
    let mut said = Vec::new();
    while said.len() < 2 {
        let Some(happened) = seat.next().await else { continue };
        match happened.what {
            Happening::Slept { for_s } => {
                said.push(format!("slept {for_s} s"));
                assert_eq!(seat.app().clock.doubt(), Some(Doubt::Slept));
                assert!(
                    seat.app().clock.bound_us(seat.now()).unwrap() >= 2_000_000,
                    "it is not sure of itself"
                );
            }
            Happening::ClockSet(moved) => {
                let tenths = (moved.by_us as f64 / 1e5).round();
                said.push(format!("moved by {tenths} tenths of a second, {:?}", moved.why));
            }
            _ => {}
        }
    }
    assert_eq!(said, ["slept 9 s", "moved by 5 tenths of a second, Doubt(Slept)"]);
    let off_us = seat.app().host_now(seat.now()).unwrap() - desk.host.clock.now();
    assert!(off_us.abs() <= TICK_US, "right again, {off_us} µs apart");
}

#[tokio::test(start_paused = true)]
async fn a_step_of_the_wall_clock_between_two_openings_moves_nothing() {
    let began = OwnClock::start();
    let folder = tempfile::tempdir().unwrap();
    let boot = |up_us| Some(Boot { id: Uuid::from_u128(1), up_us });
    let host = host_at(folder.path(), CLASS, World { unix_us: 1_700_000_000_000_000, boot: boot(0) });
    let way = Way::to(&host).await;
    let mut ann = Sitting::down("Ann", &way);
    ann.until_linked().await;
    host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until_cue(Action::Pour, 862, 1).await;
    way.cut();
    host.crash().await;
    tokio::time::sleep(Duration::from_secs(5)).await;
    // Set back by an hour meanwhile.
    let OwnTime(up_us) = began.now();
    let world = World { unix_us: 1_700_000_000_000_000 + up_us - 3_600_000_000, boot: boot(up_us) };
    let host = host_at(folder.path(), CLASS, world);
    *way.door.lock().unwrap() = host.door.clone();
    way.cut.store(false, Ordering::SeqCst);
    let mut times_set = 0;
    loop {
        let happened = ann.heard.recv().await.unwrap();
        match happened.what {
            Happening::ClockSet(_) => times_set += 1,
            Happening::Cue { cue, .. } => {
                let over = cue.action == Action::SheetCloses;
                ann.cues.push((cue, happened.at.unwrap()));
                if over {
                    break;
                }
            }
            _ => {}
        }
    }
    assert_eq!(times_set, 0, "the host's clock is the same one, and the seat's estimate of it goes on");
    on_the_instant(&ann.cues);
    let off_us = host.clock.now() - ann.cues.last().unwrap().1;
    assert!(off_us.abs() <= TICK_US, "host and seat agree after the restart, {off_us} µs apart");
}

//! Seats with habits: each scores every cup once it is decanted, and changes its mind now and then.

use super::Shared;
use super::trace::{Shown, What, now_us, until_us};
use super::way::Network;
use super::world::{HOST, Nap, PORT};
use client::clock::{Ids, OwnClock};
use client::drive::{Bell, Options, Seat};
use fastrand::Rng;
use protocol::Strength;
use room::Away;
use seat::app::{Cup, CupState, End, Event, Fill, Happened, Happening};
use std::sync::Arc;
use std::time::Duration;

/// How often somebody looks at the screen, in microseconds.
const LOOK_EVERY_US: i64 = 500_000;
/// What people write. The last ones are not meant well.
const NOTES: [&str; 5] = ["warm bread", "", "thin, then honey", "=1+1", "\u{1b}[2J\u{202e}evil\r\n\u{7}"];

struct Sitting {
    shared: Arc<Shared>,
    name: &'static str,
    run: u32,
    seat: Seat,
    rng: Rng,
}

/// How long somebody who was sent away waits before they try again, in microseconds.
const AWAY_US: i64 = 2_000_000;
/// The runs of one start of a machine have numbers so far apart.
const RUNS: u32 = 1_000;

/// A seat's program, until it ends or is killed; whoever is sent away starts it again now and then until the class is closed.
pub async fn sit(shared: Arc<Shared>, n: usize, start: u32) -> turmoil::Result {
    let plan = &shared.world.seats[n];
    until_us(plan.comes_ms as i64 * 1_000).await;
    for again in 0.. {
        let run = start + RUNS * again;
        if !is_sent_away(&run_once(shared.clone(), n, run).await?) {
            break;
        }
        until_us(now_us() + AWAY_US).await;
        if shared.is_closed() {
            break;
        }
    }
    Ok(())
}

/// Whether a seat's program ended because the teacher had sent the seat away.
fn is_sent_away(end: &End) -> bool {
    let words = Away::words("");
    let (head, _) = words.split_once(';').unwrap_or((&words, ""));
    matches!(end, End::Refused(reason) if reason.starts_with(head))
}

/// One run of a seat's program; how it ended.
async fn run_once(shared: Arc<Shared>, n: usize, run: u32) -> turmoil::Result<End> {
    let plan = shared.world.seats[n].clone();
    shared.trace.note(plan.name, run, What::Began);
    let seed = plan.seed.wrapping_add(u64::from(run) << 32);
    let bell = shared.trace.clone();
    let options = Options {
        pourer: plan.pourer,
        role: plan.role,
        join_code: shared.join_code(),
        keep: Some(shared.keep(n)),
        ids: Ids::seeded(seed),
        clock: OwnClock::skewed(plan.gains_ppm),
        ring: Some(Bell(Arc::new(move |_| bell.note(plan.name, run, What::Rang)))),
        ..Options::new(plan.name, format!("{HOST}:{PORT}"))
    };
    let network = Network::on(plan.clone(), run, shared.trace.clone());
    let seat = Seat::open(move || network.clone().dial(), options)?;
    let name = plan.name;
    let mut sitting = Sitting { shared, name, run, seat, rng: Rng::with_seed(seed) };
    let mut naps = plan.naps.into_iter().filter(|nap| nap.from_us >= now_us()).peekable();
    let (mut act_us, mut look_us) = (now_us(), now_us());
    loop {
        let nap_us = naps.peek().map(|nap| nap.from_us);
        let happened = tokio::select! {
            biased;
            () = until_us(nap_us.unwrap_or(i64::MAX)), if nap_us.is_some() => {
                if let Some(nap) = naps.next() {
                    sitting.sleep(nap).await;
                }
                // Nobody looks before the program has noticed.
                continue;
            }
            happened = sitting.seat.next() => happened,
            () = until_us(act_us) => {
                act_us = now_us() + sitting.rng.i64(300_000..3_000_000);
                sitting.act();
                None
            }
            () = until_us(look_us) => {
                look_us = now_us() + LOOK_EVERY_US;
                None
            }
        };
        sitting.note(happened);
        if sitting.seat.has_more_to_say() {
            continue;
        }
        let done = sitting.seat.app().is_done().then_some(End::Closed);
        if let Some(end) = sitting.seat.end().cloned().or(done) {
            let sent_away = is_sent_away(&end);
            let what = if sent_away { What::Killed } else { What::Ended(end.clone()) };
            sitting.shared.trace.note(name, run, what);
            sitting.seat.leave().await;
            // What is under way leaves the machine before it is switched off.
            tokio::time::sleep(Duration::from_secs(1)).await;
            return Ok(end);
        }
    }
}

impl Sitting {
    /// The machine sleeps: its programs stand still, and its clock shows afterwards what it has counted.
    async fn sleep(&mut self, nap: Nap) {
        let Nap { length_us, counted_us, .. } = nap;
        self.shared.trace.note(self.name, self.run, What::Slept { length_us, counted_us });
        self.seat.clock().doze(length_us, counted_us - length_us);
        until_us(nap.wakes_us()).await;
        self.seat.clock().wake(length_us);
    }

    fn shown(&self) -> Shown {
        let (app, now) = (self.seat.app(), self.seat.now());
        let seq = app.class.as_ref().map_or(0, |class| class.seq);
        Shown { host: app.host_now(now), bound_us: app.bound_us(now), seq }
    }

    fn note(&self, happened: Option<Happened>) {
        let (trace, shown) = (&self.shared.trace, self.shown());
        match happened {
            Some(Happened { at, what: Happening::Cue { cue, bell, missed, .. } }) => {
                let shown = Shown { host: at, ..shown };
                trace.note(self.name, self.run, What::Cue { cue, shown, missed, bell });
            }
            Some(happened) => trace.note(self.name, self.run, What::Said(happened.what)),
            None => {}
        }
        trace.note(self.name, self.run, What::Shown(shown));
    }

    /// Fills the sheet of a cup that has none yet, or now and then another one for a cup that has.
    fn act(&mut self) {
        let (app, now) = (self.seat.app(), self.seat.now());
        let Some((class, host_now)) = app.class.as_ref().zip(app.host_now(now)) else { return };
        let mut decanted = class.decanted(host_now);
        decanted.retain(|cup| class.timetable.has_cup(cup.code, cup.steep, host_now));
        let open = decanted.iter().find(|cup| app.cup_state(**cup) == CupState::Open).copied();
        let again = (!decanted.is_empty() && self.rng.u8(..8) == 0)
            .then(|| decanted[self.rng.usize(..decanted.len())]);
        if let Some(cup) = open.or(again) {
            let fill = self.fill(cup);
            self.seat.handle(Event::Fill(fill));
        }
    }

    fn fill(&mut self, cup: Cup) -> Fill {
        let mut value = || if self.rng.u8(..12) == 0 { None } else { Some(self.rng.i32(1..=9)) };
        let values = vec![value(), value()];
        let strength = Some(Strength::ALL[self.rng.usize(..Strength::ALL.len())]);
        let note = NOTES[self.rng.usize(..NOTES.len())].to_string();
        Fill { steep: Some(cup.steep), values, strength, note, ..Fill::of(cup.code) }
    }
}

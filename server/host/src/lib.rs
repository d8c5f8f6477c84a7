//! A host: a ledger, an owner and a door put together. `main` and the tests start it the same way.

pub mod clock;
pub mod door;
pub mod owner;
pub mod stored;

use class::Class;
use clock::{HostClock, Ids, fresh_id, world};
use door::Door;
use ledger::{Ledger, LedgerError};
use owner::{ASKS, Ask, Happening, Owner};
use plan::plan_rounds;
use plan::rounds::Unplannable;
use protocol::wire::{HostMessage, PROTOCOL};
use protocol::{HostTime, Phase, Timetable};
use room::view::View;
use room::{Anchor, Entry, Event, Refusal, Room, Rounds, Teacher, World};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use thiserror::Error;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot};
use tokio::task::JoinHandle;
use tokio::time::timeout;
use uuid::Uuid;

/// The wall clock is said to have been set when it moved by this against the machine's own, in microseconds.
const WALL_STEP_US: i64 = 500_000;

/// Why a host can't be opened or had to stop.
#[derive(Debug, Error)]
pub enum HostError {
    /// The ledger.
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    /// The ledger's contents.
    #[error("{0}: {1}; the ledger is left as it is")]
    Replay(PathBuf, String),
    /// No order of these hands and kettles can serve the class.
    #[error("the class can't be planned: {0}")]
    Unplannable(Unplannable),
    /// The owner is no more.
    #[error("the host has stopped")]
    Stopped,
}

/// A class with its ledger, ready to be hosted.
pub struct Opened {
    /// The class as the ledger has it.
    pub room: Room,
    /// What is worth telling the teacher about the opening.
    pub notices: Vec<String>,
    rounds: Rounds,
    ledger: Box<dyn Ledger>,
    ids: Ids,
    clock: HostClock,
}

/// What an opening takes from outside.
pub struct Opening {
    /// What a new class's codes are drawn from.
    pub seed: u64,
    /// What the machine's clocks show when the opening begins, which may be seconds before it is done.
    pub world: World,
    /// The host's clock, which began at the same instant.
    pub clock: HostClock,
    /// Where the ids of a new class and of new seats come from.
    pub ids: Ids,
}

impl Opening {
    /// Now, on this machine.
    pub fn now(seed: u64, pace: f64) -> Self {
        let world = world();
        Self { seed, world, clock: HostClock::starting_at(&world, pace), ids: Box::new(fresh_id) }
    }
}

/// Opens a ledger for hosting: a new one begins with `class`, its codes drawn from the opening's seed, an old one goes on
/// where it stands. Host time goes on too: each opening ties it to the machine's clocks, so that after a crash the
/// steeps that are wet end when they would have ended.
///
/// # Errors
/// The ledger can't be used; the words say why and what to do.
pub fn open(ledger: impl Ledger + 'static, class: Class, opening: Opening) -> Result<Opened, HostError> {
    let mut ledger: Box<dyn Ledger> = Box::new(ledger);
    let Opening { seed, world, clock, mut ids } = opening;
    let pace = clock.pace();
    let mut entries = stored::entries(&*ledger)?;
    let mut new = Vec::new();
    let mut notices = Vec::new();
    if entries.is_empty() {
        let class = Box::new(class.with_codes(seed));
        let event = Event::Class { class_id: ids(), seed, class };
        new.push(Entry { seq: 1, at: HostTime(0), event });
    } else if let Some(Event::Class { class: kept, seed, .. }) = entries.first().map(|e| &e.event)
        && class.with_codes(*seed) != **kept
    {
        let words = "the class file has changed since this ledger was begun; the ledger's class is held. For the changed one, name a new file with --ledger";
        notices.push(words.to_string());
    }
    entries.extend(new.iter().cloned());
    let replay = |entries: &[Entry]| {
        Room::replay(entries.iter().cloned())
            .map_err(|problem| HostError::Replay(ledger.path().into(), problem))
    };
    let mut room = replay(&entries)?;
    let now = room.anchor.map_or(HostTime(0), |a| a.host_time(&world)).max(room.last_at);
    let event = Event::Opened { unix_us: world.unix_us, pace, boot: world.boot };
    let opened = Entry { seq: room.seq + 1, at: now, event };
    if let Some(anchor) = &room.anchor {
        notices.push(went_on(anchor, &world, room.last_at));
        notices.extend(missed(&room.timetable, room.last_at, now, room.phase));
    }
    // Now, so that nobody waits for it at the start, and nobody sits down to a class that can't begin.
    let rounds = plan_rounds(&room.class);
    if let (Err(fault), Phase::Lobby) = (&rounds, room.phase) {
        return Err(HostError::Unplannable(fault.clone()));
    }
    if room.phase == Phase::Closed {
        notices.push("this class is closed and can only be read and revealed; to hold it again, name a new file with --ledger".into());
    }
    room.fold(opened.seq, opened.at, opened.event.clone());
    new.push(opened);
    stored::append(&mut *ledger, &new)?;
    Ok(Opened { room, rounds, notices, ledger, ids, clock: clock.from(now) })
}

/// By which clock host time has gone on since the ledger was last open.
fn went_on(anchor: &Anchor, now: &World, last: HostTime) -> String {
    match anchor.wall_stepped_us(now) {
        Some(stepped_us) if stepped_us.abs() >= WALL_STEP_US => {
            let seconds = stepped_us as f64 / 1e6;
            format!(
                "the wall clock was set by {seconds:+.1} s since this ledger was last open; host time went on by the machine's own clock, so nothing has moved"
            )
        }
        Some(_) => "host time went on by the machine's own clock; nothing has moved".into(),
        None if anchor.host_time(now) < last => {
            "the wall clock is behind the ledger's last entry; host time goes on from that entry, and cues come later by what is missing".into()
        }
        None if anchor.world.boot.is_none() || now.boot.is_none() => "this machine can't tell how long it has been up; host time went on by the wall clock, and the seats say by how much it moved".into(),
        None => "this machine was started anew since, or is another one; host time went on by the wall clock, and the seats say by how much it moved".into(),
    }
}

/// What the seats were cued to while no host was there, in words.
fn missed(timetable: &Timetable, last: HostTime, now: HostTime, phase: Phase) -> Option<String> {
    let cues: Vec<String> = timetable.due(last, now).iter().map(ToString::to_string).collect();
    let more = cues.len().saturating_sub(8);
    let mut shown = cues.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
    if more > 0 {
        shown += &format!(" and {more} more");
    }
    (phase == Phase::Running && !cues.is_empty()).then(|| {
        format!(
            "since the last entry in the ledger these cues fell, at the seats by their own clocks: {shown}. Type hold to wait"
        )
    })
}

/// A host at work.
pub struct Host {
    /// How to ask the owner.
    pub desk: Desk,
    /// What happens, in the order of the ledger.
    pub happenings: mpsc::UnboundedReceiver<Happening>,
    /// The host's clock.
    pub clock: HostClock,
    /// The door, for connections that do not come through a listener.
    pub door: Door,
    owner: JoinHandle<Result<(), LedgerError>>,
    doors: Vec<JoinHandle<()>>,
    all_gone: mpsc::Receiver<()>,
}

/// How the console, the tests and the demo talk to the owner.
#[derive(Clone, Debug)]
pub struct Desk(mpsc::Sender<Ask>);

impl Desk {
    async fn ask<T>(&self, ask: impl FnOnce(oneshot::Sender<T>) -> Ask) -> Result<T, HostError> {
        let (answer, result) = oneshot::channel();
        self.0.send(ask(answer)).await.map_err(|_| HostError::Stopped)?;
        result.await.map_err(|_| HostError::Stopped)
    }

    /// Tells the owner a teacher's wish; whether it changed anything, or why it can't be.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn teacher(&self, wish: Teacher) -> Result<Result<bool, Refusal>, HostError> {
        self.ask(|answer| Ask::Teacher(wish, answer)).await
    }

    /// The class as it is now, with so many cues ahead.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn view(&self, coming: usize) -> Result<View, HostError> {
        self.ask(|answer| Ask::View(coming, answer)).await
    }

    /// The whole state as it is now.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn room(&self) -> Result<Arc<Room>, HostError> {
        Ok(self.room_now().await?.0)
    }

    /// The whole state as it is now, and what the time is. Whatever is computed from it keeps nobody waiting.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn room_now(&self) -> Result<(Arc<Room>, HostTime), HostError> {
        self.ask(Ask::Room).await
    }
}

impl Host {
    /// Starts the owner of an opened class. Must be called inside a tokio runtime.
    pub fn start(opened: Opened) -> Self {
        let Opened { room, rounds, ledger, ids, clock, .. } = opened;
        let (class_id, title): (Uuid, String) = (room.class_id, room.class.title.clone());
        let (asks, inbox) = mpsc::channel(ASKS);
        let (happen, happenings) = mpsc::unbounded_channel();
        let owner = tokio::spawn(Owner::new(room, rounds, ledger, clock, ids, happen).run(inbox));
        let (open, all_gone) = mpsc::channel(1);
        let greeting = HostMessage::Greeting { protocol: PROTOCOL, class_id, title };
        let door = Door::new(asks.clone(), clock, &greeting, open);
        Self { desk: Desk(asks), happenings, clock, door, owner, doors: Vec::new(), all_gone }
    }

    /// Lets seats in at a listener; gives its address.
    ///
    /// # Errors
    /// The listener has no address.
    pub fn listen(&mut self, listener: TcpListener) -> std::io::Result<SocketAddr> {
        let address = listener.local_addr()?;
        self.doors.push(tokio::spawn(self.door.clone().listen(listener)));
        Ok(address)
    }

    /// Waits until the owner has ended by itself, which it does only when its ledger fails.
    pub async fn failed(&mut self) -> HostError {
        match (&mut self.owner).await {
            Ok(Err(error)) => error.into(),
            _ => HostError::Stopped,
        }
    }

    /// Ends at once, as a crash does: nothing more is written, nobody is told. For tests and rehearsals of a restart.
    pub async fn crash(self) {
        self.doors.iter().for_each(JoinHandle::abort);
        self.owner.abort();
        // The ledger is free once the owner is gone.
        let _ = self.owner.await;
    }

    /// Stops in good order: the class is held if it runs, every seat is told, the ledger is closed.
    ///
    /// # Errors
    /// The ledger could not be written at the last.
    pub async fn stop(self) -> Result<(), HostError> {
        let Self { desk, door, owner, doors, mut all_gone, .. } = self;
        doors.iter().for_each(JoinHandle::abort);
        // An owner that has stopped already needs no telling.
        let _ = desk.0.send(Ask::Stop).await;
        drop((desk, door));
        let ended = owner.await.map_err(|_| HostError::Stopped)?;
        // Give the connections a moment to pass the farewell on.
        let _ = timeout(Duration::from_secs(3), all_gone.recv()).await;
        Ok(ended?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use room::Boot;

    #[test]
    fn a_teacher_is_told_by_which_clock_host_time_went_on() {
        let boot = |id, up_us| Some(Boot { id: Uuid::from_u128(id), up_us });
        let then = World { unix_us: 1_000_000_000, boot: boot(1, 50_000_000) };
        let anchor = Anchor { at: HostTime(0), world: then, pace: 1.0, clock: 2 };
        let said = |unix_us, boot| went_on(&anchor, &World { unix_us, boot }, HostTime(10_000_000));
        assert!(said(1_030_000_000, boot(1, 80_000_000)).ends_with("own clock; nothing has moved"));
        assert!(said(1_630_000_000, boot(1, 80_000_000)).starts_with("the wall clock was set by +600.0 s"));
        assert!(said(1_030_000_000, boot(2, 80_000_000)).contains("started anew since, or is another one"));
        assert!(said(1_030_000_000, None).starts_with("this machine can't tell how long it has been up"));
        assert!(said(1_001_000_000, boot(2, 80_000_000)).contains("behind the ledger's last entry"));
    }
}

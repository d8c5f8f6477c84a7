//! The one task that owns the state: commands in, numbered events out, on disk before anybody hears of them.
//!
//! Whatever has queued up while the disk was busy is decided one by one and committed together.

use crate::clock::{HostClock, Ids};
use crate::stored;
use bytes::Bytes;
use ledger::{Ledger, LedgerError};
use protocol::wire::{Hello, HostMessage, RefusalCode};
use protocol::{Answer, HostTime, Phase, Score, SeatId, Timetable};
use room::view::View;
use room::{Command, Entry, Event, Refusal, Room, Rounds, Teacher};
use std::collections::BTreeMap;
use std::sync::Arc;
use tokio::runtime::{Handle, RuntimeFlavor};
use tokio::sync::{mpsc, oneshot};
use tokio::task::block_in_place;
use uuid::Uuid;

/// How many asks are decided and committed together at most.
const BATCH: usize = 2048;
/// How many asks may wait before those who ask have to.
pub const ASKS: usize = 4096;
/// How many messages may wait for a seat that reads slowly. More than a batch, which may acknowledge that many.
pub const OUTLET: usize = 2 * BATCH;

/// What goes out to one connection: JSON.
#[derive(Clone, Debug)]
pub enum Outgoing {
    /// One message.
    Say(Bytes),
    /// The last message; the connection is closed after it.
    Bye(Bytes),
}

/// The number of a connection, unique in the life of a host process.
pub type LinkId = u64;

/// What the rest of the program asks of the owner.
#[derive(Debug)]
pub enum Ask {
    /// A connection said hello. The welcome, or the refusal, goes out through the outlet.
    Join {
        /// What it said.
        hello: Hello,
        /// The connection.
        link: LinkId,
        /// Where its messages go.
        outlet: mpsc::Sender<Outgoing>,
        /// The seat it got, or nothing if it was refused.
        seated: oneshot::Sender<Option<SeatId>>,
    },
    /// A seat sends a score; the answer goes out through its outlet.
    Score {
        /// Whose.
        seat: SeatId,
        /// Over which connection.
        link: LinkId,
        /// The score.
        score: Score,
    },
    /// A seat answers a difference test; the answer to that goes out through its outlet.
    Answer {
        /// Whose.
        seat: SeatId,
        /// Over which connection.
        link: LinkId,
        /// The answer.
        answer: Answer,
    },
    /// A connection has ended.
    Left {
        /// Whose.
        seat: SeatId,
        /// Which.
        link: LinkId,
    },
    /// The teacher wants something; the answer says whether anything changed, or why not.
    Teacher(Teacher, oneshot::Sender<Result<bool, Refusal>>),
    /// The class as it is just now, with so many cues ahead.
    View(usize, oneshot::Sender<View>),
    /// The whole state as it is just now, to look at in peace, and what the time is.
    Room(oneshot::Sender<(Arc<Room>, HostTime)>),
    /// The host goes down: hold the class if it runs, tell the seats, and end.
    Stop,
}

/// What the console hears of.
#[derive(Clone, Debug)]
pub enum Happening {
    /// Something is in the ledger.
    Entry(Entry),
    /// A seat is linked.
    Linked(String),
    /// A seat's link has ended.
    Unlinked(String),
}

/// What follows once the batch is on disk.
enum After {
    Welcome {
        seat: SeatId,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        seated: oneshot::Sender<Option<SeatId>>,
        /// Up to which number the seat has everything.
        since: Option<u64>,
    },
    Refuse {
        refusal: Refusal,
        outlet: mpsc::Sender<Outgoing>,
        seated: oneshot::Sender<Option<SeatId>>,
    },
    Accept {
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        seq: u64,
    },
    Decline {
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        refusal: Refusal,
    },
    Answer(oneshot::Sender<Result<bool, Refusal>>, Result<bool, Refusal>),
    /// The next of the batch's entries.
    Tell,
    Left {
        seat: SeatId,
        link: LinkId,
    },
    View(usize, oneshot::Sender<View>),
    Room(oneshot::Sender<(Arc<Room>, HostTime)>),
}

struct Link {
    id: LinkId,
    outlet: mpsc::Sender<Outgoing>,
}

/// The owner of a class.
pub struct Owner {
    /// Shared with whoever looks at it; it is copied only if an event comes while somebody still does.
    room: Arc<Room>,
    rounds: Rounds,
    ledger: Box<dyn Ledger>,
    clock: HostClock,
    ids: Ids,
    /// In an order of their own, so that a simulated run repeats itself.
    links: BTreeMap<SeatId, Link>,
    happenings: mpsc::UnboundedSender<Happening>,
}

/// Does what waits for the disk, and lets another thread take over whatever else this one had to do: a seat's question
/// about the time is not to wait for a commit.
fn aside<T>(work: impl FnOnce() -> T) -> T {
    match Handle::current().runtime_flavor() {
        RuntimeFlavor::MultiThread => block_in_place(work),
        // A runtime of one thread has nobody to take over.
        _ => work(),
    }
}

fn say(message: &HostMessage) -> Outgoing {
    Outgoing::Say(message.to_json().into())
}

fn bye(code: RefusalCode, reason: &str) -> Outgoing {
    Outgoing::Bye(HostMessage::refusal(code, reason).to_json().into())
}

impl Owner {
    /// An owner of a room that the ledger adds up to.
    pub fn new(
        room: Room,
        rounds: Rounds,
        ledger: Box<dyn Ledger>,
        clock: HostClock,
        ids: Ids,
        happenings: mpsc::UnboundedSender<Happening>,
    ) -> Self {
        Self { room: Arc::new(room), rounds, ledger, clock, ids, links: BTreeMap::new(), happenings }
    }

    /// Works until it is asked to stop or nobody is left to ask.
    ///
    /// # Errors
    /// The ledger could not be written. Nothing that was not written has been told to anybody.
    pub async fn run(mut self, mut asks: mpsc::Receiver<Ask>) -> Result<(), LedgerError> {
        let mut batch = Vec::new();
        loop {
            if asks.recv_many(&mut batch, BATCH).await == 0 {
                return Ok(());
            }
            let (mut entries, mut after, mut stop) = (Vec::new(), Vec::new(), false);
            for ask in batch.drain(..) {
                stop |= matches!(ask, Ask::Stop);
                self.take(ask, &mut entries, &mut after);
            }
            if !entries.is_empty()
                && let Err(error) = aside(|| stored::append(&mut *self.ledger, &entries))
            {
                self.farewell("the host could not write its ledger; keep your scores, they were not taken");
                return Err(error);
            }
            let mut written = entries.into_iter();
            for next in after {
                self.follow(next, &mut written);
            }
            if stop {
                self.farewell(
                    "the host is going down; what is wet ends on time, and the class can be continued",
                );
                return Ok(());
            }
        }
    }

    /// Decides one ask. The state moves on at once, so that the next ask of the batch is decided on it; nobody
    /// hears of it before the ledger has it.
    fn take(&mut self, ask: Ask, entries: &mut Vec<Entry>, after: &mut Vec<After>) {
        match ask {
            Ask::Join { hello, link, outlet, seated } => {
                let (since, fresh_seat, token) = (hello.since, SeatId((self.ids)()), hello.token);
                let command = Command::Join { hello, fresh_seat };
                match self.decide(command, entries, after) {
                    Err(refusal) => after.push(After::Refuse { refusal, outlet, seated }),
                    Ok(changed) => {
                        // Decided just now: somebody has this token.
                        let seat = self.room.seat_with(token).map_or(fresh_seat, |s| s.id);
                        // Whose place is another one now needs to hear all of it.
                        let since = since.filter(|_| !changed);
                        after.push(After::Welcome { seat, link, outlet, seated, since });
                    }
                }
            }
            Ask::Score { seat, link, score } => {
                let (id, command) = (score.id, Command::Score { seat, score });
                self.take_in(seat, link, id, command, entries, after);
            }
            Ask::Answer { seat, link, answer } => {
                let (id, command) = (answer.id, Command::Answer { seat, answer });
                self.take_in(seat, link, id, command, entries, after);
            }
            Ask::Teacher(wish, answer) => {
                let result = self.decide(Command::Teacher(wish), entries, after);
                after.push(After::Answer(answer, result));
            }
            Ask::Stop => {
                // A stop is never refused.
                let _ = self.decide(Command::Stop, entries, after);
            }
            Ask::Left { seat, link } => after.push(After::Left { seat, link }),
            Ask::View(coming, answer) => after.push(After::View(coming, answer)),
            Ask::Room(answer) => after.push(After::Room(answer)),
        }
    }

    /// Something a seat keeps until it is told that the ledger has it, or why not.
    fn take_in(
        &mut self,
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        command: Command,
        entries: &mut Vec<Entry>,
        after: &mut Vec<After>,
    ) {
        let told = match self.decide(command, entries, after) {
            Ok(changed) => {
                let score = || self.room.scores.get(id).map(|kept| kept.seq);
                let answer = || self.room.answers.get(id).map(|kept| kept.seq);
                let known = if changed { None } else { score().or_else(answer) };
                After::Accept { seat, link, id, seq: known.unwrap_or(self.room.seq) }
            }
            Err(refusal) => After::Decline { seat, link, id, refusal },
        };
        after.push(told);
    }

    fn decide(
        &mut self,
        command: Command,
        entries: &mut Vec<Entry>,
        after: &mut Vec<After>,
    ) -> Result<bool, Refusal> {
        let at = self.now();
        let events = self.room.decide(command, at, &self.rounds)?;
        let changed = !events.is_empty();
        for event in events {
            let entry = Entry { seq: self.room.seq + 1, at, event };
            Arc::make_mut(&mut self.room).fold(entry.seq, at, entry.event.clone());
            entries.push(entry);
            after.push(After::Tell);
        }
        Ok(changed)
    }

    /// Host time, never before the last event.
    fn now(&self) -> HostTime {
        self.clock.now().max(self.room.last_at)
    }

    fn follow(&mut self, next: After, written: &mut impl Iterator<Item = Entry>) {
        match next {
            After::Tell => written.by_ref().take(1).for_each(|entry| self.tell(entry)),
            After::Welcome { seat, link, outlet, seated, since } => {
                self.welcome(seat, link, outlet, seated, since)
            }
            After::Refuse { refusal, outlet, seated } => {
                // A connection that has gone meanwhile misses nothing.
                let _ = outlet.try_send(bye(refusal.code, &refusal.reason));
                let _ = seated.send(None);
            }
            After::Accept { seat, link, id, seq } => {
                self.send(seat, link, say(&HostMessage::Accepted { seq, id }));
            }
            After::Decline { seat, link, id, refusal } => {
                let Refusal { code, reason } = refusal;
                self.send(seat, link, say(&HostMessage::Declined { id, code, reason }));
            }
            After::Answer(answer, result) => drop(answer.send(result)),
            After::Left { seat, link } => {
                if self.links.get(&seat).is_some_and(|l| l.id == link) {
                    self.unlink(seat);
                }
            }
            After::View(coming, answer) => {
                let mut view = self.room.view(self.now(), coming);
                view.seats.iter_mut().for_each(|s| s.linked = self.links.contains_key(&s.id));
                drop(answer.send(view));
            }
            After::Room(answer) => drop(answer.send((Arc::clone(&self.room), self.now()))),
        }
    }

    /// Snapshot and subscription are one step: every later message of this class reaches the outlet behind it.
    fn welcome(
        &mut self,
        id: SeatId,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        seated: oneshot::Sender<Option<SeatId>>,
        since: Option<u64>,
    ) {
        let Some(seat) = self.room.seat_of(id) else { return };
        let name = seat.name.clone();
        // A number that this ledger has not come to is of another one.
        let message = match since.filter(|&since| since <= self.room.seq) {
            Some(since) => HostMessage::Back(Box::new(self.room.missed(seat, since, self.clock.pace()))),
            None => HostMessage::Welcome(Box::new(self.room.welcome(seat, self.clock.pace()))),
        };
        if seated.send(Some(id)).is_err() {
            return;
        }
        // The outlet is new and empty.
        let _ = outlet.try_send(say(&message));
        if let Some(old) = self.links.insert(id, Link { id: link, outlet }) {
            let words = "this seat has joined from another connection, which goes on";
            let _ = old.outlet.try_send(bye(RefusalCode::Replaced, words));
        } else {
            self.happen(Happening::Linked(name));
        }
    }

    fn tell(&mut self, entry: Entry) {
        let seq = entry.seq;
        match &entry.event {
            Event::Started { timetable } | Event::Resumed { timetable } => {
                self.tell_course(seq, Phase::Running, timetable)
            }
            Event::Held { timetable, .. } => self.tell_course(seq, Phase::Held, timetable),
            Event::Closed => self.tell_course(seq, Phase::Closed, &self.room.timetable.clone()),
            Event::Revealed { codes } => {
                let teas = self.room.class.cards(|code| self.room.revealed.contains_key(&code));
                let teas = teas.into_iter().filter(|t| codes.contains(&t.code)).collect();
                let message = say(&HostMessage::Revealed { seq, teas });
                self.broadcast(|_, _| Some(message.clone()));
            }
            Event::TestOpened { test } => {
                // Every seat has cups of its own.
                let test = *test;
                self.broadcast(|room, seat| {
                    room.test_card(test, seat).map(|card| say(&HostMessage::Test { seq, card }))
                });
            }
            _ => {}
        }
        self.happen(Happening::Entry(entry));
    }

    fn tell_course(&mut self, seq: u64, phase: Phase, timetable: &Timetable) {
        // Written once for all who see the same; every connection gets the same bytes.
        let course = |timetable: Timetable| say(&HostMessage::Course { seq, phase, timetable });
        let (all, tasters) = (course(timetable.clone()), course(timetable.for_tasters()));
        self.broadcast(|room, seat| {
            let only_tastes = room.seat_of(seat).is_some_and(|seat| room.only_tastes(seat));
            Some(if only_tastes { tasters.clone() } else { all.clone() })
        });
    }

    /// Sends to every seat that is there what there is for it. One whose outlet is full is let go: its connection tells
    /// it so, and a new one begins with all it missed.
    fn broadcast(&mut self, message: impl Fn(&Room, SeatId) -> Option<Outgoing>) {
        let unread = self.links.iter().filter(|(seat, to)| {
            message(&self.room, **seat).is_some_and(|message| to.outlet.try_send(message).is_err())
        });
        let unread: Vec<SeatId> = unread.map(|(seat, _)| *seat).collect();
        unread.into_iter().for_each(|seat| self.unlink(seat));
    }

    /// Sends to a seat over that connection, if it is still its own.
    fn send(&mut self, seat: SeatId, link: LinkId, message: Outgoing) {
        let Some(to) = self.links.get(&seat).filter(|to| to.id == link) else { return };
        if to.outlet.try_send(message).is_err() {
            self.unlink(seat);
        }
    }

    fn unlink(&mut self, seat: SeatId) {
        if self.links.remove(&seat).is_some()
            && let Some(seat) = self.room.seat_of(seat)
        {
            self.happen(Happening::Unlinked(seat.name.clone()));
        }
    }

    fn happen(&self, happening: Happening) {
        // Nobody may be watching.
        let _ = self.happenings.send(happening);
    }

    fn farewell(&mut self, words: &str) {
        for link in std::mem::take(&mut self.links).into_values() {
            let _ = link.outlet.try_send(bye(RefusalCode::HostStopping, words));
        }
    }
}

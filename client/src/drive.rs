//! A seat at work: the app with its link, its clock and its file.

#[cfg(test)]
mod tests;

use crate::clock::{Ids, OwnClock, Ring, Set};
use crate::keep::{KeepError, KeepFile};
use crate::link::dial::{Dialler, Known};
use crate::link::{self, backoff};
use crate::notes::Notes;
use protocol::wire::{Heard, SeatMessage};
use protocol::{JoinCode, Phase, Role};
use seat::answer;
use seat::app::{App, CueKey, Effect, End, Event, Happened, Happening, LinkEvent, SeatInput};
use seat::host_clock::OwnTime;
use seat::kept::{Kept, Tokens};
use std::collections::VecDeque;
use std::fmt;
use std::path::PathBuf;
use std::time::Duration;
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use uuid::Uuid;

/// How long a leaving seat waits for its link to say goodbye.
const GOODBYE_LIMIT: Duration = Duration::from_secs(2);
/// A ring that has rung is not set again for the same cue nearer than this, in microseconds.
const SAME_RING_US: i64 = 1_000_000;
/// Room for news that the seat has not looked at yet; a link that is ahead waits.
const NEWS: usize = 64;

/// Who sits, and where its file is.
#[derive(Clone, Debug)]
pub struct Options {
    /// The person's name.
    pub name: String,
    /// The host's address, for the first request; the dialler knows by itself where to dial.
    pub address: String,
    /// Which pourer at a table of several hands.
    pub pourer: Option<u8>,
    /// What the person has come for.
    pub role: Role,
    /// The join code, if it was given; else the one that is kept.
    pub join_code: Option<JoinCode>,
    /// By what the person knows the host, if they said so; else the pin that is kept.
    pub known: Option<Known>,
    /// Whether a person is there to be asked for it ([`Happening::CodeAsked`]); if not, a host that wants one refuses the seat.
    pub asks: bool,
    /// The seat's file; `None` keeps everything in memory only.
    pub keep: Option<PathBuf>,
    /// Spreads the dialling of a room of seats; any number that differs between them.
    pub seed: u64,
    /// Where the ids of scores come from.
    pub ids: Ids,
    /// The seat's own clock.
    pub clock: OwnClock,
    /// What rings at the seat's own cues; with a clock that can, straight from its alarm thread.
    pub ring: Option<Bell>,
    /// Where the person's own scores and notes go when the class ends.
    pub notes: Option<PathBuf>,
    /// Whether a seat without a screen stays after the class for what is revealed then.
    pub stays: bool,
}

/// What rings at the seat's own cues.
#[derive(Clone)]
pub struct Bell(pub Ring);

impl fmt::Debug for Bell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Bell")
    }
}

impl Options {
    /// A seat that pours nothing for others, keeps everything in memory, rings no bell and waits by the runtime's
    /// timers.
    pub fn new(name: impl Into<String>, address: impl Into<String>) -> Self {
        let name = name.into();
        let (seed, ids, clock) = (backoff::seed_of(&name), Ids::Random, OwnClock::start());
        let role = Role::default();
        let (address, join_code, known, asks) = (address.into(), None, None, false);
        let (pourer, keep, ring, notes, stays) = (None, None, None, None, false);
        Self {
            name,
            address,
            pourer,
            role,
            join_code,
            known,
            asks,
            keep,
            seed,
            ids,
            clock,
            ring,
            notes,
            stays,
        }
    }
}

/// A seat at work. Drop it, or [`Seat::leave`], to end its link.
#[derive(Debug)]
pub struct Seat {
    app: App,
    clock: OwnClock,
    slept: watch::Receiver<i64>,
    ids: Ids,
    ring: Option<Bell>,
    /// The next ring, set at the alarm: for which cues.
    set: Option<(OwnTime, Vec<CueKey>, Set)>,
    join_code: watch::Sender<Option<JoinCode>>,
    known: watch::Sender<Option<(Uuid, u64)>>,
    heard: watch::Sender<Vec<(Uuid, Heard)>>,
    tokens: watch::Sender<Vec<Tokens>>,
    file: Option<KeepFile>,
    notes: Notes,
    news: mpsc::Receiver<LinkEvent>,
    /// Unbounded, but what is in it is in the outbox, too: no more than a person can fill in.
    outgoing: Option<mpsc::UnboundedSender<SeatMessage>>,
    link: JoinHandle<()>,
    said: VecDeque<Happened>,
    end: Option<End>,
}

impl Seat {
    /// Reads the seat's file and starts dialling. Needs a running tokio runtime.
    ///
    /// # Errors
    /// When the seat's file can't be read.
    pub fn open<D: Dialler>(dialler: D, options: Options) -> Result<Self, KeepError> {
        let Options { name, address, pourer, role, asks, seed, mut ids, clock, ring, keep, notes, .. } =
            options;
        let (file, kept, warning) = match &keep {
            Some(path) => {
                let (file, kept, warning) = KeepFile::open(path, ids.draw())?;
                (Some(file), kept, warning)
            }
            None => (None, Kept::new(ids.draw()), None),
        };
        let (tell, news) = mpsc::channel(NEWS);
        let (outgoing, to_send) = mpsc::unbounded_channel();
        let there = kept.at(&address).map(|class| (class.class_id, class.join_code, class.pin));
        let (kept_class, kept_code, kept_pin) =
            there.map_or((None, None, None), |(id, code, pin)| (Some(id), code, pin));
        let (join_code, code_to_link) = watch::channel(options.join_code);
        let (known, known_to_link) = watch::channel(None);
        let (heard, heard_to_link) = watch::channel(kept.heard());
        let (tokens, tokens_to_link) = watch::channel(kept.tokens().to_vec());
        let settings = link::Settings {
            address: address.clone(),
            name: name.clone(),
            pourer,
            role,
            kept_class,
            kept_code,
            kept_pin,
            pinned: kept.pinned(),
            by: options.known,
            join_code: code_to_link,
            asks,
            seed,
            tokens: tokens_to_link,
            known: known_to_link,
            heard: heard_to_link,
        };
        let pin = settings.pin();
        let link = tokio::spawn(link::run(dialler, settings, clock.clone(), tell, to_send));
        let mut app = App::new(name, kept);
        app.comes_by(&address, options.join_code, pin);
        let (outgoing, said, slept) = (Some(outgoing), VecDeque::new(), clock.slept());
        let (set, end, notes) = (None, None, Notes::new(notes));
        let mut seat = Self {
            app,
            clock,
            slept,
            ids,
            ring,
            set,
            join_code,
            known,
            heard,
            tokens,
            file,
            notes,
            news,
            outgoing,
            link,
            said,
            end,
        };
        warning.into_iter().for_each(|words| seat.handle(Event::Warn(words)));
        Ok(seat)
    }

    /// The app, to be looked at.
    pub fn app(&self) -> &App {
        &self.app
    }

    /// The seat's own time now.
    pub fn now(&self) -> OwnTime {
        self.clock.now()
    }

    /// The seat's clock.
    pub fn clock(&self) -> OwnClock {
        self.clock.clone()
    }

    /// How the seat has ended, if it has.
    pub fn end(&self) -> Option<&End> {
        self.end.as_ref()
    }

    /// Takes in an event at once; what comes of it is said by [`Self::next`].
    pub fn handle(&mut self, event: Event) {
        let now = self.now();
        // This very look at the clock may have shown that the machine slept; nothing is done by a clock that is to be
        // doubted before the app knows that.
        if !matches!(event, Event::Slept(_)) && self.slept.has_changed().unwrap_or(false) {
            let slept_us = *self.slept.borrow_and_update();
            self.handle(Event::Slept(slept_us));
        }
        let ids = &mut self.ids;
        let effects = self.app.update(event, now, &mut || ids.draw_ordered());
        let at = self.app.host_now(now);
        for effect in effects {
            match effect {
                Effect::Keep => self.keep(),
                Effect::KeepNotes => self.keep_notes(true),
                Effect::Send(message) => {
                    // Without a link the score waits in the outbox.
                    self.outgoing.as_ref().map(|link| link.send(message).ok());
                }
                Effect::Knock(code) => drop(self.join_code.send(Some(code))),
                Effect::Say(what) => {
                    self.ring_late(&what, now);
                    self.said.push_back(Happened { at, what });
                }
                Effect::Quit(end) => self.end = Some(end),
            }
        }
        if self.app.phase() == Phase::Closed {
            self.keep_notes(false);
        }
        self.set_ring(now);
        self.known.send_if_modified(|known| {
            let news = self.app.known();
            std::mem::replace(known, news) != news
        });
        // What is new of them is on disk by now, before it is said.
        self.tokens.send_if_modified(|tokens| {
            let changed = tokens.as_slice() != self.app.kept().tokens();
            if changed {
                *tokens = self.app.kept().tokens().to_vec();
            }
            changed
        });
        self.heard.send_if_modified(|heard| {
            let news = self.app.kept().heard();
            let changed = *heard != news;
            *heard = news;
            changed
        });
    }

    /// Rings for a cue that the alarm has not rung for.
    fn ring_late(&self, what: &Happening, now: OwnTime) {
        let (Happening::Cue { bell: true, cue, .. }, Some(ring)) = (what, &self.ring) else { return };
        let set = self.set.as_ref().filter(|(_, keys, _)| keys.contains(&cue.key()));
        if set.is_none_or(|(_, _, set)| set.take_over()) {
            (ring.0)(now);
        }
    }

    /// Sets the alarm for the next ring, or for another instant when that has moved.
    fn set_ring(&mut self, now: OwnTime) {
        let Some(ring) = &self.ring else { return };
        let next = self.app.next_ring(now);
        if let (Some((rung_at, rung_for, set)), Some((at, keys))) = (&self.set, &next)
            && set.has_rung()
            && rung_for == keys
            && at.0 - rung_at.0 < SAME_RING_US
        {
            // The app has not yet seen that its instant came, and a better estimate puts it a trifle later.
            return;
        }
        if self.set.as_ref().map(|(at, keys, _)| (at, keys)) != next.as_ref().map(|(at, keys)| (at, keys)) {
            // The one before is taken back first, so that none rings twice.
            self.set = None;
            self.set = next.and_then(|(at, keys)| {
                let set = self.clock.ring_at(at, ring.0.clone())?;
                Some((at, keys, set))
            });
        }
    }

    /// Waits until something happens and says what; `None` if something changed that is not worth a word, such as
    /// the state of the link. Can be cancelled and called again.
    pub async fn next(&mut self) -> Option<Happened> {
        if let Some(said) = self.said.pop_front() {
            return Some(said);
        }
        let wake = self.app.next_wake(self.now());
        let clock = self.clock.clone();
        let event = tokio::select! {
            biased;
            news = self.news.recv() => match news {
                Some(news) => Event::Link(news),
                // The link has ended and has said why before; only cues are left.
                None => match wake {
                    Some(at) => { clock.wait_until(at).await; Event::Tick }
                    None => std::future::pending().await,
                },
            },
            Ok(()) = self.slept.changed() => Event::Slept(*self.slept.borrow_and_update()),
            () = async { match wake {
                Some(at) => clock.wait_until(at).await,
                None => std::future::pending().await,
            }} => Event::Tick,
        };
        self.handle(event);
        self.said.pop_front()
    }

    /// Whether something is still to be said.
    pub fn has_more_to_say(&self) -> bool {
        !self.said.is_empty()
    }

    /// Says goodbye to the host and ends the link.
    pub async fn leave(mut self) {
        self.outgoing = None;
        // The link may be busy telling; nobody listens any more.
        self.news.close();
        tokio::time::timeout(GOODBYE_LIMIT, &mut self.link).await.ok();
    }

    /// Writes what the person takes home, if that is wished for and is not written yet.
    fn keep_notes(&mut self, asked: bool) {
        match self.notes.write(&self.app, asked) {
            None => {}
            Some(Ok(place)) => self.handle(Event::NotesKept(place)),
            Some(Err(words)) => self.handle(Event::Warn(words)),
        }
    }

    fn keep(&mut self) {
        let Some(file) = &self.file else { return };
        if let Err(error) = file.write(self.app.kept()) {
            tracing::error!(?error, "not kept");
            self.handle(Event::Warn(format!("{error}; scores are only in memory now")));
        }
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.link.abort();
    }
}

/// Runs a seat without a screen: inputs in, happenings out, until the class is closed and every score
/// acknowledged, or the seat is told to leave, or is refused. The end of `inputs` ends nothing. If nobody takes
/// the happenings any more, the seat leaves; whoever takes them slowly holds the seat up once the channel is full.
///
/// # Errors
/// When the seat's file can't be read.
pub async fn run<D: Dialler>(
    dialler: D,
    options: Options,
    mut inputs: mpsc::Receiver<SeatInput>,
    outputs: mpsc::Sender<Happened>,
) -> Result<End, KeepError> {
    let stays = options.stays;
    let mut seat = Seat::open(dialler, options)?;
    let (mut hearing, mut told) = (true, false);
    loop {
        let happened = tokio::select! {
            biased;
            happened = seat.next() => happened,
            input = inputs.recv(), if hearing => {
                match input {
                    Some(SeatInput::Fill(fill)) => seat.handle(Event::Fill(fill)),
                    Some(SeatInput::Answer { test, pick }) => seat.handle(Event::Answer { test, pick }),
                    Some(SeatInput::JoinCode(code)) => seat.handle(Event::JoinCode(code)),
                    Some(SeatInput::Leave) => seat.handle(Event::Leave),
                    Some(SeatInput::Ask(question)) => {
                        let now = seat.now();
                        let what = Happening::Answer(answer::lines(seat.app(), question, now));
                        seat.said.push_back(Happened { at: seat.app.host_now(now), what });
                    }
                    None => hearing = false,
                }
                None
            }
        };
        if let Some(happened) = happened {
            // A line that is printed stays, so it needs no time on a screen.
            let says = matches!(happened.what, Happening::Said { .. });
            match outputs.send(happened).await {
                Ok(()) if says => seat.handle(Event::SaidIsRead),
                Ok(()) => {}
                Err(_) => {
                    seat.handle(Event::Leave);
                    seat.said.clear();
                }
            }
        }
        if seat.has_more_to_say() {
            continue;
        }
        let waits = stays && seat.app().awaits_reveal();
        if waits && !std::mem::replace(&mut told, true) {
            seat.said.push_back(Happened { at: seat.app.host_now(seat.now()), what: Happening::Stays });
            continue;
        }
        let done = (seat.app().is_done() && !waits).then_some(End::Closed);
        if let Some(end) = seat.end().cloned().or(done) {
            seat.leave().await;
            return Ok(end);
        }
    }
}

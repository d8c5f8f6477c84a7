//! The one task that owns the state: commands in, numbered events out, on disk before anybody hears of them.
//!
//! Whatever has queued up while the disk was busy is decided one by one and committed together.

mod people;

use crate::after::{After, Following};
use crate::ask::{Ask, AtDoor, BATCH, Happening, LinkId};
use crate::clock::{HostClock, Ids};
use crate::door::key_holders::{KeyHolders, Told};
use crate::door::rate::Sent;
use crate::door::tries::Tries;
use crate::door::wrong_keys::WrongKeys;
use crate::links::Links;
use crate::lobby::Lobby;
use crate::opening::Opened;
use crate::stored;
use class::course::Turn;
use ledger::{Ledger, LedgerError};
use protocol::wire::Heard;
use protocol::{HostTime, Phase, SeatId};
use room::{
    Admitted, Comer, Command, Console, DoorTerms, Entry, NotAdmitted, Refusal, Room, Rounds, Steering,
    Teacher,
};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::runtime::{Handle, RuntimeFlavor};
use tokio::sync::mpsc;
use tokio::task::block_in_place;
use tokio::time::{Duration, sleep, sleep_until, timeout};
use uuid::Uuid;

/// How often the clock is looked at while a class is about to be closed, and the ledger while nothing is written: twice within
/// the second in which the teacher is to hear that it is gone.
const LOOK: Duration = Duration::from_millis(500);
/// How often a write is tried again that another program stands in the way of.
const TRY_AGAIN: Duration = Duration::from_millis(100);

/// The owner of a class.
pub(crate) struct Owner {
    /// Shared with whoever looks at it; it is copied only if an event comes while somebody still does.
    room: Arc<Room>,
    rounds: Rounds,
    ledger: Box<dyn Ledger>,
    clock: HostClock,
    ids: Ids,
    links: Links,
    /// Whether a new seat needs no join code.
    open_door: bool,
    /// Who waits to be let in by name.
    lobby: Lobby,
    /// How often seats have come back.
    rejoins: Sent,
    /// The wrong join codes of late.
    tries: Tries,
    wrong_keys: WrongKeys,
    /// The consoles elsewhere, as far as the teacher is told.
    key_holders: KeyHolders,
    /// How far the ledger had come when it was opened.
    began_at: u64,
    /// What was asked while the ledger could not be written.
    waiting: Vec<Ask>,
    /// The suggestions that were to be followed and could not be: the teacher has heard of it once.
    not_followed: Vec<Turn>,
    /// At which console the teacher did what, by the number of the entry.
    done_at: BTreeMap<u64, Console>,
}

/// What a batch of asks has come to.
#[derive(Default)]
struct Batch {
    entries: Vec<Entry>,
    after: Vec<After>,
    stop: bool,
}

/// Does what takes a while, a commit or a plan, and lets another thread take over whatever else this one had to do: a seat's question
/// about the time is not to wait for it.
fn aside<T>(work: impl FnOnce() -> T) -> T {
    match Handle::current().runtime_flavor() {
        RuntimeFlavor::MultiThread => block_in_place(work),
        // A runtime of one thread has nobody to take over.
        _ => work(),
    }
}

/// Waits until the class does something by itself, or for a while: after the machine has slept the instant is nearer than it
/// was, and the ledger may have been taken away.
fn until(clock: &HostClock, acts_at: Option<HostTime>) -> impl Future<Output = ()> + use<> {
    let instant = acts_at.map(|at| clock.instant_of(at));
    async move {
        match instant {
            Some(at) => timeout(LOOK, sleep_until(at)).await.unwrap_or_default(),
            None => sleep(LOOK).await,
        }
    }
}

impl Owner {
    /// The owner of an opened class.
    pub(crate) fn new(opened: Opened, happenings: mpsc::UnboundedSender<Happening>) -> Self {
        let Opened { room, rounds, ledger, ids, clock, open_door, done_at, .. } = opened;
        let lobby = Lobby::default();
        let (began_at, links, tries) = (room.seq, Links::new(happenings, clock), Tries::default());
        let room = Arc::new(room);
        let (waiting, not_followed) = (Vec::new(), Vec::new());
        Self {
            room,
            rounds,
            ledger,
            clock,
            ids,
            links,
            open_door,
            lobby,
            rejoins: Sent::default(),
            tries,
            wrong_keys: WrongKeys::default(),
            key_holders: KeyHolders::default(),
            began_at,
            waiting,
            not_followed,
            done_at,
        }
    }

    /// Works until it is asked to stop or nobody is left to ask.
    ///
    /// # Errors
    /// The ledger could not be written. Nobody has heard of anything that was not written.
    pub(crate) async fn run(mut self, mut asks: mpsc::Receiver<Ask>) -> Result<PathBuf, LedgerError> {
        let mut asked = Vec::new();
        loop {
            asked.append(&mut self.waiting);
            if asked.is_empty() {
                let now = self.clock.now_after(self.room.last_at);
                let acts_at = self.room.closes_at().or_else(|| self.room.asks_to_follow_at(now));
                let look = until(&self.clock, acts_at);
                let heard = tokio::select! {
                    biased;
                    heard = asks.recv_many(&mut asked, BATCH) => Some(heard),
                    () = look => None,
                };
                if heard == Some(0) {
                    return Ok(self.ledger.path().into());
                }
            }
            let mut batch = Batch::default();
            asked.drain(..).for_each(|ask| self.take(ask, &mut batch));
            // After what has come in by now: it is what the class waits for.
            if self.room.closes_at().is_some() {
                // The end of a last call is never refused.
                let _ = self.decide(Command::TimeUp, None, &mut batch);
            }
            self.follow(&mut batch);
            let keys = self.wrong_keys.due(self.clock.room_us());
            batch.after.extend(keys.map(|words| After::Happen(Happening::Guesses(words))));
            let holders = self.key_holders.due(self.clock.room_us());
            let told = holders.map(|Told { words, of }| After::Happen(Happening::Consoles { words, of }));
            batch.after.extend(told);
            self.tell_of_more(&mut batch);
            let Batch { entries, after, stop } = batch;
            if let Err(error) = self.keep(&entries, &mut asks).await {
                self.links.stop("the host could not write its ledger; keep your scores, they were not taken");
                return Err(error);
            }
            let mut written = entries.into_iter();
            let mut following = self.following();
            after.into_iter().for_each(|next| following.follow(next, &mut written));
            if stop {
                let words = if self.room.phase == Phase::Closed {
                    "the class is closed, and the host has ended"
                } else {
                    "the host is going down; what is wet ends on time, and the class can be continued"
                };
                self.links.stop(words);
                self.settle()?;
                return Ok(self.ledger.path().into());
            }
        }
    }

    /// Writes a batch, and returns once it can't be lost; without one it only sees to it that the ledger is where it was.
    ///
    /// A ledger that was taken away is written again beside its place. Another program that holds it only delays.
    async fn keep(&mut self, entries: &[Entry], asks: &mut mpsc::Receiver<Ask>) -> Result<(), LedgerError> {
        let mut delayed = false;
        loop {
            let ledger = &mut *self.ledger;
            match aside(
                || if entries.is_empty() { ledger.in_place() } else { stored::append(ledger, entries) },
            ) {
                Err(lost @ LedgerError::Gone { .. }) => self.rescue(&lost)?,
                Err(busy @ LedgerError::Busy(_)) => {
                    if !std::mem::replace(&mut delayed, true) {
                        self.links.happen(Happening::Notice(format!("{busy}; scores wait until then")));
                    }
                    if self.is_stopped_while(sleep(TRY_AGAIN), asks).await {
                        return Err(busy);
                    }
                }
                done => {
                    if delayed {
                        let words = "the ledger can be written again, and nothing was lost";
                        self.links.happen(Happening::Notice(words.into()));
                    }
                    return done;
                }
            }
        }
    }

    /// Whether the host is to stop, or nobody is left, while something is waited for; all else that is asked waits, too.
    async fn is_stopped_while(
        &mut self,
        wait: impl Future<Output = ()>,
        asks: &mut mpsc::Receiver<Ask>,
    ) -> bool {
        let hears = self.waiting.len() < BATCH;
        let heard = tokio::select! {
            biased;
            heard = asks.recv_many(&mut self.waiting, BATCH), if hears => Some(heard),
            () = wait => None,
        };
        // Who only looks need not wait.
        let (looks, waiting): (Vec<Ask>, Vec<Ask>) =
            self.waiting.drain(..).partition(|ask| matches!(ask, Ask::View(..) | Ask::Room(_)));
        self.waiting = waiting;
        let mut following = self.following();
        for look in looks {
            let after = match look {
                Ask::View(coming, answer) => After::View(coming, answer),
                Ask::Room(answer) => After::Room(answer),
                _ => continue,
            };
            following.follow(after, &mut std::iter::empty());
        }
        heard == Some(0) || self.waiting.iter().any(|ask| matches!(ask, Ask::Stop))
    }

    fn following(&mut self) -> Following<'_> {
        Following {
            room: &self.room,
            rounds: &self.rounds,
            clock: &self.clock,
            ledger: &*self.ledger,
            links: &mut self.links,
        }
    }

    /// Before the ledger is left it is looked at as a whole: what was kept is what will be read.
    fn settle(&mut self) -> Result<(), LedgerError> {
        let ledger = &mut *self.ledger;
        match aside(|| ledger.settle()) {
            Err(lost @ LedgerError::Gone { .. }) => self.rescue(&lost),
            done => done,
        }
    }

    /// Goes on in a fresh file, and tells everybody.
    fn rescue(&mut self, lost: &LedgerError) -> Result<(), LedgerError> {
        let ledger = &mut *self.ledger;
        if let Err(error) = aside(|| ledger.rescue()) {
            self.links
                .happen(Happening::Notice(format!("{lost}, and what was kept can't be written elsewhere")));
            return Err(error);
        }
        let path = self.ledger.path().to_path_buf();
        let words = format!(
            "{lost}. Everything that was kept has been written to {}, and the class goes on in that file: nothing is lost. Find out who touched the old one, and use only the new one from now on",
            path.display()
        );
        self.links.happen(Happening::Notice(words));
        self.links.happen(Happening::Moved(path));
        let words = "the host's file was taken away; it has written everything again, and no score is lost";
        self.links.notice(&self.room, words);
        Ok(())
    }

    /// Whether a seat was told of an entry that this ledger does not have.
    fn falls_short_of(&self, heard: &Heard) -> bool {
        self.ledger.link(heard.seq).is_none_or(|link| link.short() != heard.link)
    }

    /// Decides one ask. The state moves on at once, so that the next ask of the batch is decided on it; nobody
    /// hears of it before the ledger has it.
    fn take(&mut self, ask: Ask, batch: &mut Batch) {
        let next = match ask {
            Ask::Hello { hello, over, from, link, outlet, entered } => {
                match self.room.admits(&hello, over, self.open_door) {
                    Ok(Admitted::ToJoin(join, comer)) => {
                        self.join(join, comer, from, link, outlet, entered, batch)
                    }
                    Ok(Admitted::ToHear) if let Some((join, token)) = self.waits(&hello, over) => {
                        self.join(join, Comer::Says(token), from, link, outlet, entered, batch)
                    }
                    Ok(Admitted::ToHear) => After::Tell { outlet, entered },
                    Err(NotAdmitted::Because(refusal)) => After::Refuse { refusal, outlet, entered },
                    Err(NotAdmitted::WrongCode) => {
                        After::Refuse { refusal: self.wrong_code(from, batch), outlet, entered }
                    }
                }
            }
            Ask::WrongKey { from } => {
                self.wrong_keys.wrong(from);
                return;
            }
            Ask::Console { console, is_here } => {
                self.key_holders.heard(console, is_here);
                return;
            }
            Ask::Score { seat, link, score } => {
                let (id, command) = (score.id, Command::Score { seat, score });
                self.take_in(seat, link, id, command, batch)
            }
            Ask::Answer { seat, link, answer } => {
                let (id, command) = (answer.id, Command::Answer { seat, answer });
                self.take_in(seat, link, id, command, batch)
            }
            Ask::Teacher(wish @ Teacher::PourerIs { .. }, console, answer) => {
                let before = self.pourers();
                let done = self.decide(Command::Teacher(wish), Some(console), batch);
                let moved = self.pourers().into_iter().filter(|now| !before.contains(now));
                batch.after.push(After::Reseat(moved.map(|(seat, _)| seat).collect()));
                After::Answer(answer, done)
            }
            Ask::Teacher(wish @ Teacher::Steer(Steering::Undo), console, answer) => {
                let whose = self.room.undoes().and_then(|seq| self.done_at.get(&seq)).cloned();
                let done = self.decide(Command::Teacher(wish), Some(console.clone()), batch);
                if let Some(whose) = whose.filter(|whose| done == Ok(true) && *whose != console) {
                    batch.after.push(After::Follows(format!("what was taken back was done at {whose}")));
                }
                After::Answer(answer, done)
            }
            Ask::Teacher(wish @ Teacher::Away { .. }, console, answer) => {
                After::Answer(answer, self.send_away(wish, console, batch))
            }
            Ask::Teacher(wish, console, answer) => {
                After::Answer(answer, self.decide(Command::Teacher(wish), Some(console), batch))
            }
            Ask::Admit(names, console, answer) => After::Answer(answer, self.admit(&names, &console, batch)),
            Ask::Lobby(by_name, console, answer) => {
                let by_name = by_name.unwrap_or(self.room.door.by_name);
                // It is never refused.
                let _ =
                    self.decide(Command::Door(DoorTerms { by_name, ..self.room.door }), Some(console), batch);
                self.lobby.look(self.clock.room_us());
                let ahead = self.room.admitted().filter(|name| !self.lobby.is_here(name));
                let ahead = ahead.map(str::to_string).collect();
                After::AtDoor(AtDoor { by_name, names: self.lobby.names(), ahead }, answer)
            }
            Ask::Places(places, console) => {
                let door = DoorTerms { places: Some(places), ..self.room.door };
                // It is never refused.
                let _ = self.decide(Command::Door(door), Some(console), batch);
                return;
            }
            Ask::Stop => {
                batch.stop = true;
                // A stop is never refused.
                let _ = self.decide(Command::Stop, None, batch);
                return;
            }
            Ask::Writing { seat, link, sheets } => After::Writing { seat, link, sheets },
            Ask::Left { seat, link } => After::Left { seat, link },
            Ask::View(coming, answer) => After::View(coming, answer),
            Ask::Room(answer) => After::Room(answer),
        };
        batch.after.push(next);
    }

    /// Every seat, with the pourer's place it has.
    fn pourers(&self) -> Vec<(SeatId, Option<u8>)> {
        self.room.seats.iter().map(|seat| (seat.id, seat.pourer)).collect()
    }

    /// Takes the suggestions whose time has come, where the class file says so and the teacher has not said no.
    fn follow(&mut self, batch: &mut Batch) {
        let due = self.room.due_to_follow(self.clock.now_after(self.room.last_at));
        if due.iter().all(|turn| self.not_followed.contains(turn)) {
            return;
        }
        if let Err(refusal) = self.decide(Command::Follow, None, batch) {
            let codes: Vec<String> = due.iter().map(|(code, _)| code.to_string()).collect();
            let words = format!(
                "what the votes suggest can't be followed, {} as planned: {}",
                if codes.len() == 1 { format!("{} stays", codes[0]) } else { codes.join(", ") + " stay" },
                refusal.reason
            );
            batch.after.push(After::Happen(Happening::Notice(words)));
            self.not_followed.extend(due);
        }
    }

    /// Something a seat keeps until it hears that the ledger has it, or why not.
    fn take_in(
        &mut self,
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        command: Command,
        batch: &mut Batch,
    ) -> After {
        match self.decide(command, None, batch) {
            Ok(changed) => {
                let score = || self.room.scores.get(id).map(|kept| kept.seq);
                let answer = || self.room.answers.get(id).map(|kept| kept.seq);
                let known = if changed { None } else { score().or_else(answer) };
                After::Accept { seat, link, id, seq: known.unwrap_or(self.room.seq) }
            }
            Err(refusal) => After::Decline { seat, link, id, refusal },
        }
    }

    /// Whether a command has changed anything; `by` is the console at which the teacher gave it.
    fn decide(&mut self, command: Command, by: Option<Console>, batch: &mut Batch) -> Result<bool, Refusal> {
        let at = self.clock.now_after(self.room.last_at);
        let (room, rounds) = (&self.room, &self.rounds);
        let events = match command {
            // What a hold has left dry is planned anew: that may take as long as a commit.
            Command::Teacher(Teacher::Resume | Teacher::Steer(_)) | Command::Follow => {
                aside(|| room.decide(command, at, rounds))
            }
            _ => room.decide(command, at, rounds),
        }?;
        let changed = !events.is_empty();
        for event in events {
            let entry = Entry { by: by.clone(), ..Entry::new(self.room.seq + 1, at, event) };
            self.done_at.extend(by.clone().map(|by| (entry.seq, by)));
            let follows = self.room.follows(&entry);
            Arc::make_mut(&mut self.room).take(entry.clone());
            batch.entries.push(entry);
            batch.after.push(After::Report);
            batch.after.extend(follows.map(After::Follows));
        }
        Ok(changed)
    }
}

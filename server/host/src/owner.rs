//! The one task that owns the state: commands in, numbered events out, on disk before anybody hears of them.
//!
//! Whatever has queued up while the disk was busy is decided one by one and committed together.

use crate::after::{After, Following};
use crate::ask::{Ask, AtDoor, BATCH, Entered, Happening, LinkId, Outgoing};
use crate::clock::{HostClock, Ids};
use crate::door::rate::{REJOINS, Sent};
use crate::door::tries::{Tries, Wrong};
use crate::door::wrong_keys::WrongKeys;
use crate::links::Links;
use crate::lobby::{Lobby, Meant};
use crate::opening::Opened;
use crate::stored;
use class::course::Turn;
use ledger::{Ledger, LedgerError};
use protocol::wire::{Heard, Hello, Join, RefusalCode};
use protocol::{Challenge, HostTime, Phase, SeatId, Token, text};
use room::{
    Admitted, Comer, Command, Console, DoorTerms, Entry, Letting, NotAdmitted, Refusal, Room, Rounds,
    Steering, Teacher, Who,
};
use std::collections::BTreeMap;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;
use tokio::runtime::{Handle, RuntimeFlavor};
use tokio::sync::{mpsc, oneshot};
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
                After::AtDoor(AtDoor { by_name, names: self.lobby.names() }, answer)
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

    /// Somebody who was let in asks for a place.
    #[expect(clippy::too_many_arguments, reason = "who asks, from where, and where the answer goes")]
    fn join(
        &mut self,
        join: Join,
        comer: Comer,
        from: Option<IpAddr>,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
        batch: &mut Batch,
    ) -> After {
        if let Err(refusal) = self.check_at_door(&join.name, comer) {
            return After::Refuse { refusal, outlet, entered };
        }
        if let Some(refusal) = self.comes_too_often(comer) {
            return After::Refuse { refusal, outlet, entered };
        }
        let (since, fresh_seat, name) = (join.since, SeatId((self.ids)()), join.name.clone());
        let letting = Letting { places: self.room.door.places, by_name: self.room.door.by_name };
        let beyond = join.heard.clone().filter(|heard| self.falls_short_of(heard));
        match self.decide(Command::Join { join, comer, fresh_seat, letting }, None, batch) {
            Err(refusal) => {
                let refusal = self.at_door(refusal, &name, comer, from, batch);
                After::Refuse { refusal, outlet, entered }
            }
            Ok(changed) => {
                if let Comer::Says(token) = comer {
                    self.lobby.sat_down(token);
                }
                // Decided just now: somebody sits there.
                let seat = self.room.seat_coming(comer).map_or(fresh_seat, |s| s.id);
                if let Some(&Heard { seq: heard, .. }) = beyond.as_ref() {
                    // It can't be refused, and the seat hears of it by the whole welcome.
                    let _ =
                        self.decide(Command::FellShort { seat, heard, ended: self.began_at }, None, batch);
                }
                // Whose place is another one now needs to hear all of it; whose number is of entries that are
                // lost, too; and whose scores may count no more.
                let as_before = |since: &u64| !changed && beyond.is_none() && *since >= self.room.voided_seq;
                let since = since.filter(as_before);
                After::Welcome { seat, link, outlet, entered, since }
            }
        }
    }

    /// What a seat hears that joins again and again: each time it is sent the whole class.
    fn comes_too_often(&mut self, comer: Comer) -> Option<Refusal> {
        let seat = self.room.seat_coming(comer)?.id;
        let is_within = self.rejoins.is_within(REJOINS, seat, self.clock.room_us());
        (!is_within).then(|| Refusal {
            code: RefusalCode::TooFast,
            reason: "this seat has joined again and again within a minute; what is acknowledged is kept; it may join again in some seconds".into(),
        })
    }

    /// Somebody who waits at the door, and proves it.
    fn waits(&mut self, hello: &Hello, over: Challenge) -> Option<(Join, Token)> {
        let join = hello.join.as_ref().filter(|join| join.class_id == self.room.class_id)?;
        Some((join.clone(), self.lobby.proved(join, over, join.class_id)?))
    }

    /// Whether a newcomer's name is not that of somebody who waits at the door.
    fn check_at_door(&mut self, name: &str, comer: Comer) -> Result<(), Refusal> {
        self.lobby.look(self.clock.room_us());
        match (comer, text::name(name)) {
            (Comer::Says(token), Ok(name)) if self.room.seat_coming(comer).is_none() => {
                self.lobby.check(&name, token)
            }
            _ => Ok(()),
        }
    }

    /// What somebody hears who was refused a place; who only has to be let in waits for it, and the teacher hears of that once.
    fn at_door(
        &mut self,
        refusal: Refusal,
        name: &str,
        comer: Comer,
        from: Option<IpAddr>,
        batch: &mut Batch,
    ) -> Refusal {
        let (RefusalCode::NotAdmitted, Comer::Says(token)) = (refusal.code, comer) else { return refusal };
        let Ok(name) = text::name(name) else { return refusal };
        let now_us = self.clock.room_us();
        let asked = self.lobby.ask(&name, token, from, now_us);
        if let Some(called) = asked.news
            && self.lobby.lines.one(now_us)
        {
            batch.after.push(After::Happen(Happening::AtDoor(called)));
        }
        if asked.is_full {
            let words = "as many people are at the door as can wait; from now on the oldest of the address that holds most places goes for whoever is new. `code new` draws another join code, which strangers don't know; `admit` and a name lets somebody in who is to come";
            batch.after.push(After::Follows(words.into()));
        }
        asked.refusal
    }

    /// Lets people in by name; whether that is news.
    fn admit(&mut self, names: &str, console: &Console, batch: &mut Batch) -> Result<bool, Refusal> {
        self.lobby.look(self.clock.room_us());
        let mut news = false;
        for meant in self.lobby.meant(names)? {
            let name = match meant {
                Meant::Here(called) => self.lobby.give(&called).unwrap_or(called),
                Meant::ToCome(name) => {
                    if self.room.seat_named(&name).is_some_and(|seat| seat.away.is_none()) {
                        let reason = format!("{name} is seated already");
                        return Err(Refusal { code: RefusalCode::BadName, reason });
                    }
                    let words = format!("nobody is at the door as {name}: {name} is let in on coming");
                    batch.after.push(After::Follows(words));
                    name
                }
            };
            news |= self.decide(Command::Admit(name), Some(console.clone()), batch)?;
        }
        Ok(news)
    }

    /// Sends people away: who is seated, and who waits at the door under a name that no seat has. Whether anything changed.
    fn send_away(&mut self, wish: Teacher, console: Console, batch: &mut Batch) -> Result<bool, Refusal> {
        let Teacher::Away { who: Who::Named(names), without_scores, reason } = wish else {
            return self.decide(Command::Teacher(wish), Some(console), batch);
        };
        let now_us = self.clock.room_us();
        self.lobby.look(now_us);
        let (mut turned, mut seats) = (Vec::new(), Vec::new());
        // A name may have a comma in it.
        let whole = self.room.seat_meant(names.trim()).is_some();
        for name in names.split(',').map(str::trim).filter(|name| !whole && !name.is_empty()) {
            let is_seat = self.room.seat_meant(name).is_some();
            let gone = if is_seat { Vec::new() } else { self.lobby.turn_away(name, now_us) };
            if gone.is_empty() {
                seats.push(name);
            }
            turned.extend(gone);
        }
        let rest = if turned.is_empty() { names.clone() } else { seats.join(", ") };
        if !turned.is_empty() {
            let words = format!(
                "turned away at the door: {}; for 5 minutes you are not asked about them again, nor about who is new from their address. `admit` and the name lets in whoever it is all the same",
                room::some_of(&turned)
            );
            batch.after.push(After::Follows(words));
        }
        if rest.is_empty() {
            return Ok(true);
        }
        let who = Who::Named(rest);
        self.decide(Command::Teacher(Teacher::Away { who, without_scores, reason }), Some(console), batch)
    }

    /// Says how many more have come to the door than had a line of their own.
    fn tell_of_more(&mut self, batch: &mut Batch) {
        if let Some(more) = self.lobby.lines.more(self.clock.room_us()) {
            batch.after.push(After::Follows(format!("… and {more} more at the door; type: lobby")));
        }
    }

    /// What somebody hears who says a wrong join code; the teacher hears of it when there are too many.
    fn wrong_code(&mut self, from: Option<IpAddr>, batch: &mut Batch) -> Refusal {
        match self.tries.wrong(from, self.clock.room_us()) {
            Wrong::Counted => Refusal {
                code: RefusalCode::JoinCodeWrong,
                reason: "that join code is not right; the right one is on the teacher's screen".into(),
            },
            Wrong::TooOften { wait_s, is_first } => {
                if is_first {
                    let from =
                        from.map_or("somewhere".to_string(), |address| address.to_canonical().to_string());
                    let words = format!(
                        "many wrong join codes come from {from}; nobody comes in by them. `code new` draws another code"
                    );
                    batch.after.push(After::Happen(Happening::Guesses(words)));
                }
                let reason = format!(
                    "too many wrong join codes have come from this address; wait {wait_s} s, and read the right one on the teacher's screen"
                );
                Refusal { code: RefusalCode::JoinCodeTooOften, reason }
            }
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

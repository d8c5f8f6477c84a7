//! The link to the host: dial, say hello, take the place, and come back whenever the link breaks.
//!
//! The outer loop ([`run`]) outlives connections and knows the seat's secret; one connection is one `attempt`.

mod attempt;
mod clean;
mod door;
#[cfg(test)]
mod tests;

pub use ::dial;
pub use ::dial::backoff;

use crate::clock::OwnClock;
use backoff::Backoff;
use dial::{Dialler, Known};
use door::AtDoor;
use protocol::wire::{Heard, Join, RefusalCode, SeatMessage};
use protocol::{Challenge, JoinCode, Pin, Role, Token};
use seat::app::LinkEvent;
use seat::kept::{Pinned, Tokens};
use seat::words;
use tokio::sync::{mpsc, watch};
use uuid::Uuid;

/// What the link says of itself to a host.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The host's address as the person typed it; goes into the first request.
    pub address: String,
    /// The person's name.
    pub name: String,
    /// Which pourer at the table, if any.
    pub pourer: Option<u8>,
    /// What the person has come for.
    pub role: Role,
    /// Spreads the attempts of a room of seats; any number that differs between them.
    pub seed: u64,
    /// The seat's tokens, as they are kept.
    pub tokens: watch::Receiver<Vec<Tokens>>,
    /// The class that was joined at this address before, if one was.
    pub kept_class: Option<Uuid>,
    /// The join code that is kept of it.
    pub kept_code: Option<JoinCode>,
    /// The pin that is kept of it.
    pub kept_pin: Option<Pin>,
    /// The classes that were joined with a pin, at whatever address.
    pub pinned: Pinned,
    /// By what the person says that the host is known.
    pub by: Option<Known>,
    /// The join code that the person gave.
    pub join_code: watch::Receiver<Option<JoinCode>>,
    /// Whether a person is there to be asked for a join code.
    pub asks: bool,
    /// What the seat has of a class: its id, and the highest number heard in it.
    pub known: watch::Receiver<Option<(Uuid, u64)>>,
    /// The last entries of the ledgers of classes that the seat was told of, also in earlier runs.
    pub heard: watch::Receiver<Vec<(Uuid, Heard)>>,
}

impl Settings {
    /// Who wants to sit in a class, and what is there of it already: proved over a host's challenge, or new.
    fn join(&self, class_id: Uuid, over: Challenge, new: Option<Token>) -> Join {
        let since = self.known.borrow().filter(|(id, _)| *id == class_id).map(|(_, seq)| seq);
        let heard =
            self.heard.borrow().iter().find(|(id, _)| *id == class_id).map(|(_, heard)| heard.clone());
        let Self { name, pourer, role, .. } = self.clone();
        let known = if new.is_some() { Vec::new() } else { self.tokens_of(class_id) };
        let proofs = known.iter().map(|token| token.proved(over, class_id)).collect();
        Join { class_id, name, proofs, token: new, pourer, role, since, heard }
    }

    /// What may lead to the seat's place in a class.
    fn tokens_of(&self, class_id: Uuid) -> Vec<Token> {
        let tokens = self.tokens.borrow();
        tokens.iter().filter(|tokens| tokens.class_id == class_id).flat_map(Tokens::known).collect()
    }
}

/// How an attempt ended.
enum Ending {
    /// The link broke or never came; try again later.
    Lost(String),
    /// No further attempt can help, but for one with another join code if the code says so.
    Refused(RefusalCode, String),
    /// Whoever answers is not the host of the pin. A seat that was linked in this run dials again, another one ends.
    NotTheHost(String),
    /// The teacher lets people in by name; ask again soon.
    NotAdmitted(String),
    /// The seat is leaving.
    Left,
}

/// Keeps a link up until the seat leaves (the sender of `outgoing` is dropped) or is refused for good.
pub async fn run<D: Dialler>(
    mut dialler: D,
    mut settings: Settings,
    clock: OwnClock,
    news: mpsc::Sender<LinkEvent>,
    mut outgoing: mpsc::UnboundedReceiver<SeatMessage>,
) {
    let mut backoff = Backoff::new(settings.seed);
    let mut slept = clock.slept();
    let mut tries_known = true;
    loop {
        if news.send(LinkEvent::Dialling(backoff.attempt() + 1)).await.is_err() {
            return;
        }
        let mut linked_at = None;
        // One that comes while this is tried is tried next.
        settings.join_code.borrow_and_update();
        dialler.known_by(settings.pin());
        let ending = attempt::attempt(
            &mut dialler,
            &settings,
            tries_known,
            &clock,
            &news,
            &mut outgoing,
            &mut linked_at,
        )
        .await;
        tries_known |= linked_at.is_some();
        let reason = match ending {
            Ending::Left => return,
            Ending::NotAdmitted(reason) => {
                backoff = Backoff::new(settings.seed);
                if news.send(LinkEvent::NotAdmitted { reason }).await.is_err() {
                    return;
                }
                tokio::select! {
                    biased;
                    () = discard(&mut outgoing) => return,
                    () = clock.wait_about(clock.now().plus(backoff::at_door(settings.seed))) => continue,
                }
            }
            Ending::Lost(reason) => reason,
            // It may be another network for the moment; nothing was said there.
            Ending::NotTheHost(reason) if settings.known.borrow().is_some() => reason,
            Ending::NotTheHost(reason) => return unknown(reason, &news).await,
            Ending::Refused(code, reason) if code.asks_for_join_code() => {
                let tried = std::mem::replace(&mut tries_known, false);
                match settings.at_door(tried) {
                    AtDoor::Again => continue,
                    AtDoor::Later => format!("{reason}; {}", words::TO_SIT_DOWN_THERE),
                    AtDoor::Ask => {
                        if news.send(LinkEvent::CodeAsked { reason }).await.is_err() {
                            return;
                        }
                        tokio::select! {
                            biased;
                            () = discard(&mut outgoing) => return,
                            Ok(()) = settings.join_code.changed() => continue,
                        }
                    }
                    AtDoor::End => {
                        let reason = format!("{reason}; give it with --code");
                        return refused(code, reason, &news).await;
                    }
                }
            }
            Ending::Refused(code, reason) => return refused(code, reason, &news).await,
        };
        let healthy_s = linked_at.map_or(0, |at| clock.now().seconds_since(at));
        let wait = backoff.next(healthy_s);
        tracing::info!(%reason, ?wait, "no link");
        let again_at = clock.now().plus(wait);
        let reason = words::fault(reason);
        if news.send(LinkEvent::Lost { reason, again_at }).await.is_err() {
            return;
        }
        // What waits here is in the outbox, too, and is sent after the next welcome.
        tokio::select! {
            biased;
            () = discard(&mut outgoing) => return,
            // A machine that has slept may be in reach of the host again.
            Ok(()) = slept.changed() => {}
            () = clock.wait_about(again_at) => {}
        }
    }
}

/// No other attempt comes: whoever is there is not the host of the class.
async fn unknown(reason: String, news: &mpsc::Sender<LinkEvent>) {
    tracing::info!(%reason, "not the host of the pin");
    let _ = news.send(LinkEvent::NotTheHost { reason }).await;
}

/// No other attempt comes.
async fn refused(code: RefusalCode, reason: String, news: &mpsc::Sender<LinkEvent>) {
    tracing::info!(?code, %reason, "refused");
    // Nobody may be listening any more.
    let _ = news.send(LinkEvent::Refused { code, reason }).await;
}

/// Throws away what comes until the sender is gone.
async fn discard(outgoing: &mut mpsc::UnboundedReceiver<SeatMessage>) {
    while outgoing.recv().await.is_some() {}
}

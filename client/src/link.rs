//! The link to the host: dial, greet, take the place, and come back whenever the link breaks.
//!
//! The outer loop ([`run`]) outlives connections and knows the seat's secret; one connection is one `attempt`.

mod attempt;
pub mod backoff;
mod clean;
pub mod dial;
#[cfg(test)]
mod tests;

use crate::clock::OwnClock;
use backoff::Backoff;
use dial::Dialler;
use protocol::wire::{Heard, RefusalCode, SeatMessage};
use protocol::{Role, Token};
use seat::app::LinkEvent;
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
    /// What the seat's tokens are made from.
    pub secret: Uuid,
    /// What the seat has of a class: its id, and the highest number heard in it.
    pub known: watch::Receiver<Option<(Uuid, u64)>>,
    /// The last entries of the ledgers of classes that the seat was told of, also in earlier runs.
    pub heard: watch::Receiver<Vec<(Uuid, Heard)>>,
}

impl Settings {
    /// The seat's token for a class: always the same for this seat, another one for every class, and no clue to the
    /// others (a name-based UUID, RFC 9562 §5.5, under the seat's secret).
    pub fn token(&self, class_id: Uuid) -> Token {
        Token(Uuid::new_v5(&self.secret, class_id.as_bytes()))
    }
}

/// How an attempt ended.
enum Ending {
    /// The link broke or never came; try again later.
    Lost(String),
    /// No further attempt can help.
    Refused(RefusalCode, String),
    /// The seat is leaving.
    Left,
}

/// Keeps a link up until the seat leaves (the sender of `outgoing` is dropped) or is refused for good.
pub async fn run<D: Dialler>(
    mut dialler: D,
    settings: Settings,
    clock: OwnClock,
    news: mpsc::Sender<LinkEvent>,
    mut outgoing: mpsc::UnboundedReceiver<SeatMessage>,
) {
    let mut backoff = Backoff::new(settings.seed);
    let mut slept = clock.slept();
    loop {
        if news.send(LinkEvent::Dialling(backoff.attempt() + 1)).await.is_err() {
            return;
        }
        let mut linked_at = None;
        let ending =
            attempt::attempt(&mut dialler, &settings, &clock, &news, &mut outgoing, &mut linked_at).await;
        let reason = match ending {
            Ending::Left => return,
            Ending::Refused(code, reason) => {
                tracing::info!(?code, %reason, "refused");
                news.send(LinkEvent::Refused { code, reason }).await.ok();
                return;
            }
            Ending::Lost(reason) => reason,
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

/// Throws away what comes until the sender is gone.
async fn discard(outgoing: &mut mpsc::UnboundedReceiver<SeatMessage>) {
    while outgoing.recv().await.is_some() {}
}

//! The door: who comes in, on which terms, and what they say.
//!
//! One task for each connection. Whoever does not keep to the terms hears why and is let go; the class goes on.

mod front;
pub(crate) mod key_holders;
mod lead;
pub mod limits;
mod listener;
pub mod names;
pub mod rate;
mod request;
mod socket;
pub mod terms;
pub(crate) mod tries;
mod waiting;
pub(crate) mod wrong_keys;

use crate::ask::{Ask, Entered, LinkId, OUTLET, Outgoing};
use crate::clock::HostClock;
use futures_util::{SinkExt, StreamExt};
use protocol::wire::*;
use protocol::{Certificate, Challenge, Nonce, SeatId};
use rate::{Bucket, SAYINGS, Sent};
use socket::{End, SEND_LIMIT, Socket, hear, refuse, send, text};
use std::net::IpAddr;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use terms::Terms;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::{mpsc, oneshot};
use tokio::time::{sleep, timeout};
use tokio_tungstenite::tungstenite::Message;
use tracing::info;
use uuid::Uuid;
use waiting::{Place, Waiting};

/// How many connections may be on their way to a hello at once.
const WAITING: usize = 2048;
/// What every connection needs.
#[derive(Clone, Debug)]
pub struct Door {
    asks: mpsc::Sender<Ask>,
    clock: HostClock,
    waiting: Waiting,
    links: Arc<AtomicU64>,
    /// What the nonces of connections are drawn from.
    nonces: Uuid,
    terms: Arc<Terms>,
    sent: Arc<Mutex<Sent>>,
    // Every connection holds a clone; when the last one is gone, all have said goodbye.
    _open: mpsc::Sender<()>,
}

/// What a connection says first.
enum First {
    Hello(Hello),
    Lead(Lead),
}

/// How a connection came.
#[derive(Clone, Copy)]
struct Line {
    /// The certificate with which the host speaks TLS over it, if it does.
    certificate: Option<Certificate>,
    /// Whether a seat may come over it.
    fit: bool,
}

/// Who has come in.
enum Guest {
    Seat(SeatId, mpsc::Receiver<Outgoing>),
    Console(Lead, Challenge),
}

/// A seat's presence over a connection. Leaving is its end, so that no way out of the connection can miss it.
struct Present {
    asks: mpsc::Sender<Ask>,
    seat: SeatId,
    link: LinkId,
}

impl Drop for Present {
    fn drop(&mut self) {
        ask_at_last(&self.asks, Ask::Left { seat: self.seat, link: self.link });
    }
}

/// Asks for what has to be asked when a connection has ended, however it did.
fn ask_at_last(asks: &mpsc::Sender<Ask>, last: Ask) {
    if let Err(mpsc::error::TrySendError::Full(last)) = asks.try_send(last)
        && let Ok(runtime) = tokio::runtime::Handle::try_current()
    {
        let asks = asks.clone();
        runtime.spawn(async move { asks.send(last).await });
    }
}

/// Says why a connection ends, and ends it.
async fn part<S: AsyncRead + AsyncWrite + Unpin>(mut socket: Socket<S>, link: LinkId, end: End) {
    // Its place is needed now, and it has said nothing that could be unread.
    let at_once = matches!(end, End::Refuse(RefusalCode::Busy, _));
    if let End::Refuse(code, reason) = end {
        info!(link, ?code, %reason, "connection refused");
        let text = HostMessage::refusal(code, reason).to_json();
        let _ = timeout(SEND_LIMIT, socket.send(Message::text(text))).await;
    }
    // Wait for the peer's own close: a socket that is closed with unread bytes in it is reset, and the words
    // on their way to the peer would be lost.
    let _ = timeout(Duration::from_secs(2), async {
        let _ = socket.close(None).await;
        if at_once {
            return;
        }
        while let Some(Ok(_)) = socket.next().await {}
    })
    .await;
}

impl Door {
    /// A door to a class; `open` is held by every connection as long as it lives.
    pub(crate) fn new(
        asks: mpsc::Sender<Ask>,
        clock: HostClock,
        nonces: Uuid,
        open: mpsc::Sender<()>,
    ) -> Self {
        let waiting = Waiting::new(WAITING);
        Self {
            asks,
            clock,
            waiting,
            links: Arc::default(),
            nonces,
            terms: Arc::default(),
            sent: Arc::default(),
            _open: open,
        }
    }

    /// The same door on these terms.
    pub(crate) fn on(self, terms: Terms) -> Self {
        Self { terms: Arc::new(terms), ..self }
    }

    /// Serves one connection, `from` an address if it comes from one, from its first byte to its last.
    pub async fn serve<S>(self, stream: S, from: Option<IpAddr>)
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let place = self.waiting.enter(from);
        self.serve_as(stream, from, Line { certificate: None, fit: true }, place).await;
    }

    /// The same over such a line.
    async fn serve_as<S>(self, stream: S, from: Option<IpAddr>, line: Line, mut place: Place)
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        // In boxes: a seat's task holds as much as the largest of what it has in itself, to its end.
        let entered = tokio::select! {
            entered = Box::pin(front::enter(stream, &self.terms.names, line.fit)) => entered,
            () = place.lost() => return,
        };
        let Some(mut socket) = entered else { return };
        let link = self.links.fetch_add(1, Ordering::Relaxed);
        let end = match Box::pin(self.receive(&mut socket, from, line.certificate, link, place)).await {
            Err(end) => end,
            Ok(Guest::Console(lead, over)) => {
                Box::pin(lead::serve(&mut socket, &lead, over, from, &self)).await
            }
            Ok(Guest::Seat(seat, outlet)) => {
                let _present = Present { asks: self.asks.clone(), seat, link };
                self.talk(&mut socket, seat, link, outlet).await
            }
        };
        Box::pin(part(socket, link, end)).await;
    }

    /// From the first hello to the seat.
    async fn receive<S: AsyncRead + AsyncWrite + Unpin>(
        &self,
        socket: &mut Socket<S>,
        from: Option<IpAddr>,
        certificate: Option<Certificate>,
        link: LinkId,
        place: Place,
    ) -> Result<Guest, End> {
        let mut first = Some(place);
        let nonce = Nonce::drawn(self.nonces.as_bytes(), link);
        let over = Challenge { nonce, certificate };
        send(socket, HostMessage::greeting(nonce).to_json().into()).await?;
        // Each but the last may be without a place that can be had, to hear which class this is.
        for _ in 0..HELLOS {
            let mut waits = first.take().unwrap_or_else(|| self.waiting.enter(from));
            let hello = tokio::select! {
                hello = self.hello(socket) => match hello? {
                    First::Hello(hello) => hello,
                    First::Lead(lead) => return Ok(Guest::Console(lead, over)),
                },
                () = waits.lost() => return refuse(
                    RefusalCode::Busy,
                    "too many connections are waiting, and this one said nothing yet; try again in a moment",
                ),
            };
            // Whoever has spoken waits for the host from here on, not the host for it.
            drop(waits);
            let (outlet, mut messages) = mpsc::channel(OUTLET);
            let (entered, answer) = oneshot::channel();
            if self.asks.send(Ask::Hello { hello, over, from, link, outlet, entered }).await.is_err() {
                return refuse(RefusalCode::HostStopping, "the host is going down; try again later");
            }
            match answer.await {
                Ok(Entered::Seat(seat)) => return Ok(Guest::Seat(seat, messages)),
                Ok(Entered::Told) => {
                    if let Ok(Outgoing::Say(json)) = messages.try_recv() {
                        send(socket, json).await?;
                    }
                }
                Ok(Entered::Refused) | Err(_) => {
                    if let Ok(Outgoing::Bye(json)) = messages.try_recv() {
                        send(socket, json).await?;
                    }
                    return Err(End::Quiet);
                }
            }
        }
        refuse(
            RefusalCode::HelloExpected,
            "whoever has heard which class this is has to ask for a place in it with the next hello; mend the program that did not",
        )
    }

    async fn hello<S: AsyncRead + AsyncWrite + Unpin>(&self, socket: &mut Socket<S>) -> Result<First, End> {
        let Ok(first) = timeout(HELLO_LIMIT, hear(socket)).await else {
            let limit_s = HELLO_LIMIT.as_secs();
            return refuse(
                RefusalCode::HelloLate,
                format!("this seat has said nothing for {limit_s} s; join again"),
            );
        };
        match first? {
            SeatMessage::Hello(hello) => Ok(First::Hello(hello)),
            SeatMessage::Lead(lead) => Ok(First::Lead(lead)),
            _ => refuse(
                RefusalCode::HelloExpected,
                "the first message has to be a hello; join with kettleseat, or mend the program that said this",
            ),
        }
    }

    /// Everything after the welcome.
    async fn talk<S: AsyncRead + AsyncWrite + Unpin>(
        &self,
        socket: &mut Socket<S>,
        seat: SeatId,
        link: LinkId,
        mut outlet: mpsc::Receiver<Outgoing>,
    ) -> End {
        // Counts only what the peer says, not what is sent to it: a silent peer is not kept by a busy class.
        let silence = sleep(SILENCE_LIMIT);
        tokio::pin!(silence);
        let mut sayings = Bucket::default();
        loop {
            let heard = tokio::select! {
                biased;
                out = outlet.recv() => match self.pass_on(socket, out, &mut outlet).await {
                    Ok(()) => continue,
                    Err(end) => return end,
                },
                heard = hear(socket) => heard,
                () = &mut silence => {
                    let words = format!("nothing was heard from this seat for {} s; join again", SILENCE_LIMIT.as_secs());
                    return End::Refuse(RefusalCode::Silent, words);
                }
            };
            let t2_us = self.clock.now().0;
            // Moving a timer on costs next to nothing; a new one would have to be entered for every message.
            silence.as_mut().reset(sleep(SILENCE_LIMIT).deadline());
            let is_other = !matches!(heard, Ok(SeatMessage::Score(_) | SeatMessage::Answer(_)));
            let done = match heard {
                Err(end) => return end,
                Ok(_) if is_other && self.terms.rate.is_some() && !sayings.is_within(SAYINGS, t2_us) => {
                    refuse(
                        RefusalCode::TooFast,
                        "this seat's program says more at once than any seat needs to; what is acknowledged is kept; join again in a moment",
                    )
                }
                Ok(SeatMessage::Ping { t1_us }) => {
                    let pong = HostMessage::Pong { t1_us, t2_us, t3_us: self.clock.now().0 };
                    send(socket, pong.to_json().into()).await
                }
                Ok(SeatMessage::Score(_) | SeatMessage::Answer(_)) if !self.is_within_rate(seat, t2_us) => {
                    refuse(
                        RefusalCode::TooFast,
                        "this seat sends more scores than a person gives; what is acknowledged is kept; join again in a moment",
                    )
                }
                Ok(SeatMessage::Score(score)) => self.ask(Ask::Score { seat, link, score }).await,
                Ok(SeatMessage::Answer(answer)) => self.ask(Ask::Answer { seat, link, answer }).await,
                Ok(SeatMessage::Writing { sheets }) => self.ask(Ask::Writing { seat, link, sheets }).await,
                Ok(SeatMessage::Lead(_) | SeatMessage::Typed { .. }) => refuse(
                    RefusalCode::UnknownMessage,
                    "a seat leads no class, and types no lines; mend its program",
                ),
                Ok(SeatMessage::Hello(_)) => refuse(
                    RefusalCode::HelloExpected,
                    "this seat has its place already, and said hello again; mend its program",
                ),
                Ok(SeatMessage::Unknown) => {
                    let words = format!(
                        "this host speaks protocol {PROTOCOL} and does not know a message of that type; update the host's program, or mend the seat's"
                    );
                    refuse(RefusalCode::UnknownMessage, words)
                }
            };
            if let Err(end) = done {
                return end;
            }
        }
    }

    /// Whether a seat may send one more score.
    fn is_within_rate(&self, seat: SeatId, now_us: i64) -> bool {
        let Some(rate) = self.terms.rate else { return true };
        self.sent.lock().unwrap_or_else(PoisonError::into_inner).is_within(rate, seat, now_us)
    }

    /// Passes on what a seat keeps until it is acknowledged.
    async fn ask(&self, ask: Ask) -> Result<(), End> {
        let words = "the host is going down; keep your scores";
        self.asks.send(ask).await.map_err(|_| End::Refuse(RefusalCode::HostStopping, words.into()))
    }

    /// Sends what the owner has for this seat, all that is there in one go.
    async fn pass_on<S: AsyncRead + AsyncWrite + Unpin>(
        &self,
        socket: &mut Socket<S>,
        first: Option<Outgoing>,
        outlet: &mut mpsc::Receiver<Outgoing>,
    ) -> Result<(), End> {
        let mut next = first;
        let work = async {
            loop {
                match next {
                    None => {
                        return refuse(
                            RefusalCode::TooSlow,
                            "this seat did not read what it was sent; join again",
                        );
                    }
                    Some(Outgoing::Say(json)) => socket.feed(text(json)?).await.map_err(|_| End::Quiet)?,
                    Some(Outgoing::Bye(json)) => {
                        send(socket, json).await?;
                        return Err(End::Quiet);
                    }
                }
                match outlet.try_recv() {
                    Ok(more) => next = Some(more),
                    Err(_) => return socket.flush().await.map_err(|_| End::Quiet),
                }
            }
        };
        timeout(SEND_LIMIT, work).await.unwrap_or(Err(End::Quiet))
    }
}

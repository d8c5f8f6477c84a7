//! One connection, from dialling to its end.

use super::dial::{Dialler, Unopened, open};
use super::{Ending, Settings, backoff, clean};
use crate::clock::OwnClock;
use futures_util::{SinkExt, StreamExt};
use protocol::clock::Exchange;
use protocol::wire::{
    HELLOS, Hello, HostMessage, PING_BURST, PING_EVERY, PING_SETTLING, PROTOCOL, RefusalCode, SILENCE_LIMIT,
    SeatMessage, from_json, version_words,
};
use protocol::{Challenge, Token};
use seat::app::LinkEvent;
use seat::host_clock::{OwnTime, sound_pace};
use seat::kept::Tokens;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::mpsc;
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::error::ProtocolError;
use tokio_tungstenite::tungstenite::{Error, Message};
use uuid::Uuid;

/// How long a connection may take to come about, and the host's answer to a hello.
const STEP_LIMIT: Duration = Duration::from_secs(8);
/// How long one message may take to be handed to the network.
const SEND_LIMIT: Duration = Duration::from_secs(10);

/// Dials once and stays linked as long as it lasts. `linked_at` is set by the welcome.
pub(super) async fn attempt<D: Dialler>(
    dialler: &mut D,
    settings: &Settings,
    tries_known: bool,
    clock: &OwnClock,
    news: &mpsc::Sender<LinkEvent>,
    outgoing: &mut mpsc::UnboundedReceiver<SeatMessage>,
    linked_at: &mut Option<OwnTime>,
) -> Ending {
    let joined = tokio::select! {
        biased;
        joined = join(dialler, settings, tries_known, clock, news) => joined,
        // Only the end of the sender matters before the welcome; the rest is sent again after it.
        () = super::discard(outgoing) => return Ending::Left,
    };
    match joined {
        Ok((connection, pace)) => {
            *linked_at = Some(clock.now());
            connection.talk(pace, settings.seed, outgoing).await.unwrap_or_else(|ending| ending)
        }
        Err(ending) => ending,
    }
}

struct Connection<'a, S> {
    socket: WebSocketStream<S>,
    clock: &'a OwnClock,
    news: &'a mpsc::Sender<LinkEvent>,
    /// The class in which the seat has its place.
    class_id: Option<Uuid>,
}

async fn join<'a, D: Dialler>(
    dialler: &mut D,
    settings: &Settings,
    tries_known: bool,
    clock: &'a OwnClock,
    news: &'a mpsc::Sender<LinkEvent>,
) -> Result<(Connection<'a, D::Stream>, f64), Ending> {
    let opened = timeout(STEP_LIMIT, open(dialler, &settings.address)).await.map_err(|_| no_answer())?;
    let socket = opened.map_err(|why| match why {
        Unopened::Lost(words) => Ending::Lost(words),
        // Dialled without a pin, it won't be another time either.
        Unopened::PinWanted(words) => Ending::NotTheHost(words),
        Unopened::NotTheHost(words) => settings.not_the_host(words),
    })?;
    let certificate = dialler.certificate(socket.get_ref());
    let seen = certificate.map(|certificate| certificate.pin());
    let mut connection = Connection { socket, clock, news, class_id: None };
    let greeting = timeout(STEP_LIMIT, connection.read()).await.map_err(|_| no_answer())??;
    let nonce = match greeting {
        HostMessage::Greeting { protocol, .. } if protocol != PROTOCOL => {
            let words = version_words(protocol, PROTOCOL);
            return Err(Ending::Refused(RefusalCode::ProtocolVersion, words));
        }
        HostMessage::Greeting { nonce: Some(nonce), .. } => nonce,
        _ => return Err(Ending::Lost("the host did not begin with a greeting".into())),
    };
    let over = Challenge { nonce, certificate };
    let (mut class_id, join_code) = settings.first(tries_known, seen)?;
    // The token that is said, once a host knows none that was proved.
    let mut new = None;
    for _ in 0..HELLOS {
        if let Some(class_id) = class_id
            && new.is_none()
            && settings.tokens_of(class_id).is_empty()
        {
            new = Some(connection.new_token(settings, class_id).await?);
        }
        let join = class_id.map(|class_id| settings.join(class_id, over, new));
        let since = join.as_ref().and_then(|join| join.since);
        connection.send(&SeatMessage::Hello(Hello::new(join_code, join))).await?;
        let answer = timeout(STEP_LIMIT, connection.read()).await.map_err(|_| no_answer())??;
        let pace = match &answer {
            // It holds a class that this seat did not name: once more, with the place in that one.
            HostMessage::Class { class_id: there, .. } if class_id != Some(*there) => {
                settings.check(*there, seen)?;
                (class_id, new) = (Some(*there), None);
                continue;
            }
            // It knows no seat of this one's: a new one.
            HostMessage::Class { class_id: there, .. } if new.is_none() => {
                new = Some(connection.new_token(settings, *there).await?);
                continue;
            }
            // Of any other class nothing is asked, and nothing is said to whoever speaks of it.
            HostMessage::Welcome(welcome) if class_id == Some(welcome.class_id) => welcome.pace,
            HostMessage::Back(back) if since.is_some() => back.pace,
            _ => return Err(Ending::Lost("the host did not answer with a welcome".into())),
        };
        connection.class_id = class_id;
        connection.tell(LinkEvent::Host(answer)).await?;
        return Ok((connection, sound_pace(pace)));
    }
    Err(Ending::Lost("the host names its class again and again, and gives no place".into()))
}

fn no_answer() -> Ending {
    Ending::Lost(format!("the host did not answer within {} s", STEP_LIMIT.as_secs()))
}

/// How long to wait after this many pings: a burst, then a while at a walk, then only as a sign of life. Spread by the
/// seed: seats that joined together would otherwise ask together for ever, and wait for one another's answers.
fn until_next_ping(pings: u32, seed: u64) -> Duration {
    let ((burst, close), (settling, apart)) = (PING_BURST, PING_SETTLING);
    let wait = match pings {
        sent if sent < burst => close,
        sent if sent < burst + settling => apart,
        _ => PING_EVERY,
    };
    wait.mul_f64(0.5 + 0.5 * backoff::part(seed.wrapping_add(u64::from(pings))))
}

fn broke(error: &Error) -> Ending {
    match error {
        // What a killed host or a pulled cable looks like.
        Error::Protocol(ProtocolError::ResetWithoutClosingHandshake) | Error::Io(_) => {
            Ending::Lost("the link broke".into())
        }
        other => Ending::Lost(format!("the link broke: {}", clean::sentence(&other.to_string()))),
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> Connection<'_, S> {
    /// Pings, sends what the seat has to say, and passes on what the host says, until something ends it.
    async fn talk(
        mut self,
        pace: f64,
        seed: u64,
        outgoing: &mut mpsc::UnboundedReceiver<SeatMessage>,
    ) -> Result<Ending, Ending> {
        let (clock, mut pings) = (self.clock, 0);
        let mut ping_at = clock.now();
        let mut slept = clock.slept();
        let (mut slept_us, mut woke_at) = (*slept.borrow_and_update(), OwnTime(i64::MIN));
        let mut limit = SILENCE_LIMIT;
        let mut silent_at = clock.now().plus(limit);
        loop {
            tokio::select! {
                biased;
                message = self.read() => {
                    limit = SILENCE_LIMIT;
                    silent_at = clock.now().plus(limit);
                    match message? {
                        HostMessage::Pong { t1_us, t2_us, t3_us } => {
                            let t4_us = clock.now().over_at_pace(pace);
                            // A question from before a sleep is of no use.
                            if t1_us >= woke_at.at_pace(pace) {
                                let exchange = Exchange { t1_us, t2_us, t3_us, t4_us };
                                self.tell(LinkEvent::Exchange { exchange, slept_us }).await?;
                            }
                        }
                        HostMessage::Welcome(welcome) if self.class_id != Some(welcome.class_id) => {
                            return Err(Ending::Lost("the host went over to another class".into()));
                        }
                        message => self.tell(LinkEvent::Host(message)).await?,
                    }
                }
                message = outgoing.recv() => match message {
                    Some(message) => self.send(&message).await?,
                    None => {
                        timeout(Duration::from_secs(1), self.socket.close(None)).await.ok();
                        return Ok(Ending::Left);
                    }
                },
                Ok(()) = slept.changed() => {
                    // The estimate is doubted: ask again at once, and soon give up on a link that has died meanwhile.
                    (slept_us, woke_at, pings) = (*slept.borrow_and_update(), clock.now(), 0);
                    limit = STEP_LIMIT;
                    (ping_at, silent_at) = (woke_at, woke_at.plus(limit));
                }
                () = clock.wait_about(ping_at) => {
                    pings += 1;
                    ping_at = clock.now().plus(until_next_ping(pings, seed));
                    self.send(&SeatMessage::Ping { t1_us: clock.now().at_pace(pace) }).await?;
                }
                () = clock.wait_about(silent_at) => {
                    let limit_s = limit.as_secs();
                    return Err(Ending::Lost(format!("nothing heard from the host for {limit_s} s")));
                }
            }
        }
    }

    /// A token that was never said, kept by the seat before it is.
    async fn new_token(&mut self, settings: &Settings, class_id: Uuid) -> Result<Token, Ending> {
        let made = |all: &[Tokens]| all.iter().find(|tokens| tokens.class_id == class_id)?.made();
        let mut tokens = settings.tokens.clone();
        let before = made(&tokens.borrow());
        self.tell(LinkEvent::TokenWanted(class_id)).await?;
        let tokens = tokens.wait_for(|tokens| made(tokens) != before).await.map_err(|_| Ending::Left)?;
        made(&tokens).ok_or(Ending::Left)
    }

    async fn tell(&mut self, event: LinkEvent) -> Result<(), Ending> {
        self.news.send(event).await.map_err(|_| Ending::Left)
    }

    async fn send(&mut self, message: &SeatMessage) -> Result<(), Ending> {
        match timeout(SEND_LIMIT, self.socket.send(Message::text(message.to_json()))).await {
            Ok(Ok(())) => Ok(()),
            Ok(Err(e)) => Err(broke(&e)),
            Err(_) => Err(Ending::Lost("the link takes nothing any more".into())),
        }
    }

    /// The next message, made inert. A refusal comes as the ending it is.
    async fn read(&mut self) -> Result<HostMessage, Ending> {
        loop {
            let text = match self.socket.next().await {
                Some(Ok(Message::Text(text))) => text,
                Some(Ok(Message::Close(_))) | None => {
                    return Err(Ending::Lost("the host closed the link".into()));
                }
                Some(Ok(_)) => continue,
                Some(Err(e)) => {
                    return Err(broke(&e));
                }
            };
            return match from_json(text.as_str()).map(clean::message) {
                Ok(HostMessage::Refusal { code: RefusalCode::NotAdmitted, reason }) => {
                    Err(Ending::NotAdmitted(reason))
                }
                Ok(HostMessage::Refusal { code, reason }) if code.may_retry() => Err(Ending::Lost(reason)),
                Ok(HostMessage::Refusal { code, reason }) => Err(Ending::Refused(code, reason)),
                Ok(message) => Ok(message),
                Err(fault) => Err(Ending::Lost(format!("the host sent {}", clean::sentence(&fault)))),
            };
        }
    }
}

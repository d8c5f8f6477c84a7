//! Strangers who besiege a door, each kind in its own manner, and people who come late.

use super::Fallible;
use super::child::Parent;
use super::instant::now_ns;
use fastrand::Rng;
use futures_util::{SinkExt, StreamExt};
use host::door::limits::step_back;
use protocol::wire::{Hello, HostMessage, Join, SeatMessage, from_json};
use protocol::{Code, Score, Strength, Token};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::{sleep, timeout};
use tokio_tungstenite::tungstenite::{Bytes, Message};
use tokio_tungstenite::{WebSocketStream, client_async};
use uuid::Uuid;

/// How many strangers keep at what costs a processor; with more of them this machine would measure only them.
const BUSY: usize = 50;
/// How long a stranger waits before it comes again.
const AGAIN: Duration = Duration::from_millis(500);

/// What strangers do.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub enum Assault {
    /// They connect and say nothing.
    Silent,
    /// They send a request, a byte a second.
    Slow,
    /// They become WebSockets, and say nothing more.
    Mute,
    /// They connect and go, three thousand a second.
    Churn,
    /// They send what is no request.
    Garbage,
    /// They send WebSocket pings as fast as they can.
    Pings,
    /// They send a message in pieces that never ends.
    Fragments,
    /// They announce frames of exabytes.
    Giants,
    /// They ask with wrong join codes as fast as they can.
    Codes,
    /// They have places, and send a thousand scores a second each.
    Scores,
    /// They have places, ask much and read nothing.
    Unread,
}

impl Assault {
    /// All of them.
    pub const ALL: [Self; 11] = [
        Self::Silent,
        Self::Slow,
        Self::Mute,
        Self::Churn,
        Self::Garbage,
        Self::Pings,
        Self::Fragments,
        Self::Giants,
        Self::Codes,
        Self::Scores,
        Self::Unread,
    ];

    /// What it is called in a report.
    pub fn name(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Slow => "a byte a second",
            Self::Mute => "silent WebSockets",
            Self::Churn => "come and go",
            Self::Garbage => "garbage",
            Self::Pings => "pings",
            Self::Fragments => "fragments",
            Self::Giants => "giant frames",
            Self::Codes => "wrong codes",
            Self::Scores => "scores without end",
            Self::Unread => "reads nothing",
        }
    }

    /// How many strangers do it.
    fn strangers(self, most: usize) -> usize {
        match self {
            Self::Silent | Self::Slow | Self::Mute | Self::Churn => most,
            Self::Garbage | Self::Pings | Self::Fragments | Self::Giants | Self::Codes => most.min(BUSY),
            Self::Scores | Self::Unread => most.min(BUSY / 10),
        }
    }
}

/// What strangers came to.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Besieged {
    /// How often they connected.
    pub connections: u64,
    /// What they sent.
    pub sent_bytes: u64,
}

/// How those who came late fared.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Late {
    /// From dialling to the place, of each who got one, milliseconds.
    pub came_ms: Vec<f64>,
    /// How many were refused, or broken off.
    pub refused: usize,
}

#[derive(Default)]
struct Counted {
    connections: AtomicU64,
    sent_bytes: AtomicU64,
}

impl Counted {
    fn sent(&self, bytes: usize) {
        self.sent_bytes.fetch_add(bytes as u64, Ordering::Relaxed);
    }
}

/// Besieges a door until it is asked what it came to.
pub async fn strangers(mut parent: Parent) -> Fallible<()> {
    // They are other machines' work; here they share the host's processors.
    step_back();
    let (address, assault, most): (String, Assault, usize) = parent.hear().await?;
    let counted = Arc::new(Counted::default());
    for number in 0..assault.strangers(most) {
        let (address, counted) = (address.clone(), counted.clone());
        tokio::spawn(async move {
            let mut rng = Rng::with_seed(number as u64);
            // Not all in the same moment.
            sleep(Duration::from_micros(rng.u64(0..1_000_000))).await;
            loop {
                if let Ok(stream) = TcpStream::connect(&address).await {
                    counted.connections.fetch_add(1, Ordering::Relaxed);
                    // However it ends, it comes again.
                    let _ = besiege(stream, assault, number, &mut rng, &counted).await;
                }
                sleep(if matches!(assault, Assault::Churn) { Duration::from_secs(1) } else { AGAIN }).await;
            }
        });
    }
    sleep(Duration::from_millis(1_500)).await;
    parent.tell(&true)?;
    let _: bool = parent.hear().await?;
    let of = |count: &AtomicU64| count.load(Ordering::Relaxed);
    parent.tell(&Besieged { connections: of(&counted.connections), sent_bytes: of(&counted.sent_bytes) })
}

type Seat = WebSocketStream<TcpStream>;

async fn besiege(
    mut stream: TcpStream,
    assault: Assault,
    number: usize,
    rng: &mut Rng,
    counted: &Counted,
) -> Fallible<()> {
    match assault {
        Assault::Churn => return Ok(()),
        Assault::Silent => return to_the_end(stream).await,
        Assault::Slow => {
            for byte in
                "GET / HTTP/1.1\r\nHost: localhost\r\nX-Long: ".bytes().chain([b'x'].into_iter().cycle())
            {
                stream.write_all(&[byte]).await?;
                counted.sent(1);
                sleep(Duration::from_secs(1)).await;
            }
        }
        Assault::Garbage => loop {
            let bytes: Vec<u8> = (0..4_096).map(|_| rng.u8(..)).collect();
            stream.write_all(&bytes).await?;
            counted.sent(bytes.len());
        },
        _ => {}
    }
    let (mut seat, _) = client_async("ws://localhost/", stream).await?;
    match assault {
        Assault::Mute => to_the_end(seat.into_inner()).await,
        Assault::Pings => loop {
            seat.send(Message::Ping(Bytes::from_static(&[7; 100]))).await?;
            counted.sent(106);
        },
        Assault::Fragments => {
            let mut stream = seat.into_inner();
            // Text that is not the last piece, masked with nought; then pieces of it without end.
            stream.write_all(&[0x01, 0x81, 0, 0, 0, 0, b'{']).await?;
            loop {
                stream.write_all(&[0x00, 0x81, 0, 0, 0, 0, b' ']).await?;
                counted.sent(7);
            }
        }
        Assault::Giants => {
            let mut stream = seat.into_inner();
            stream
                .write_all(&[0x81, 0xff, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0])
                .await?;
            loop {
                stream.write_all(&[b'x'; 4_096]).await?;
                counted.sent(4_096);
            }
        }
        Assault::Codes => {
            let code = format!("{:0>4}-{:0>4}", "2222", rng.u32(2222..3333)).replace(['0', '1', '8'], "2");
            say(&mut seat, &Hello::new(code.parse().ok(), None)).await?;
            to_the_end(seat.into_inner()).await
        }
        Assault::Scores => {
            let codes = sit(&mut seat, &format!("stranger {number}")).await?;
            let score = |id| Score {
                id,
                code: codes
                    .first()
                    .copied()
                    .or(Code::new(100))
                    .unwrap_or_else(|| unreachable!("100 is a code")),
                steep: 1,
                revision: 1,
                values: Default::default(),
                words: Vec::new(),
                strength: Some(Strength::JustRight),
                note: String::new(),
            };
            loop {
                let message = SeatMessage::Score(score(Uuid::from_u128(rng.u128(..)))).to_json();
                counted.sent(message.len());
                seat.send(Message::text(message)).await?;
                sleep(Duration::from_millis(1)).await;
            }
        }
        _ => {
            sit(&mut seat, &format!("stranger {number}")).await?;
            loop {
                let ping = SeatMessage::Ping { t1_us: 1 }.to_json();
                counted.sent(ping.len());
                // What comes back is never read.
                seat.send(Message::text(ping)).await?;
            }
        }
    }
}

/// Until the host breaks off.
async fn to_the_end(mut stream: TcpStream) -> Fallible<()> {
    let mut bytes = [0; 512];
    while stream.read(&mut bytes).await? > 0 {}
    Ok(())
}

async fn say(seat: &mut Seat, hello: &Hello) -> Fallible<()> {
    Ok(seat.send(Message::text(SeatMessage::Hello(hello.clone()).to_json())).await?)
}

async fn hear(seat: &mut Seat) -> Fallible<HostMessage> {
    match seat.next().await {
        Some(Ok(Message::Text(text))) => Ok(from_json(&text)?),
        other => Err(format!("instead of a message came {other:?}").into()),
    }
}

/// Takes a place; the codes of the teas.
async fn sit(seat: &mut Seat, name: &str) -> Fallible<Vec<Code>> {
    say(seat, &Hello::new(None, None)).await?;
    let HostMessage::Greeting { .. } = hear(seat).await? else { return Err("no greeting".into()) };
    let HostMessage::Class { class_id, .. } = hear(seat).await? else { return Err("no class".into()) };
    let token = Token(Uuid::new_v5(&class_id, name.as_bytes()));
    say(seat, &Hello::new(None, Some(Join::new(class_id, name, token)))).await?;
    match hear(seat).await? {
        HostMessage::Welcome(welcome) => Ok(welcome.teas.iter().map(|tea| tea.code).collect()),
        other => Err(format!("instead of a welcome came {other:?}").into()),
    }
}

/// People who come late, one after the other, each for as long as it takes to be seated.
pub async fn late(mut parent: Parent) -> Fallible<()> {
    let (address, people): (String, usize) = parent.hear().await?;
    let mut late = Late { came_ms: Vec::new(), refused: 0 };
    for number in 0..people {
        let began_ns = now_ns();
        let come = async {
            let stream = TcpStream::connect(&address).await?;
            let (mut seat, _) = client_async("ws://localhost/", stream).await?;
            sit(&mut seat, &format!("late {number}")).await
        };
        match timeout(Duration::from_secs(20), come).await {
            Ok(Ok(_)) => late.came_ms.push((now_ns() - began_ns) as f64 / 1e6),
            _ => late.refused += 1,
        }
        sleep(Duration::from_millis(400)).await;
    }
    parent.tell(&late)
}

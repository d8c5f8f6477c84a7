//! A small scripted host over a real socket.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use futures_util::{SinkExt, StreamExt};
use protocol::wire::{Hello, HostMessage, Join, SeatMessage, Welcome, from_json};
use protocol::{HostTime, Nonce, Phase, Role, Score, SeatId, Sheet, TeaCard, Timetable};
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use uuid::Uuid;

/// Far longer than anything here takes; a test that waits this long has failed.
pub const PATIENCE: Duration = Duration::from_secs(30);
/// Host time is that of the seat and so much more, in microseconds.
const AHEAD_US: i64 = 30_000_000;

/// What every seat's proofs are made over here.
pub const NONCE: Nonce = Nonce([7; 16]);
/// The class that is held.
pub const CLASS: Uuid = Uuid::from_u128(9);

pub struct Host {
    socket: WebSocketStream<TcpStream>,
    /// The host time of the last answer to a ping.
    pub at: HostTime,
}

impl Host {
    pub async fn take(listener: &TcpListener) -> Self {
        let (stream, _) = listener.accept().await.unwrap();
        let socket = tokio_tungstenite::accept_async(stream).await.unwrap();
        let mut host = Self { socket, at: HostTime(0) };
        host.send(HostMessage::greeting(NONCE)).await;
        host
    }

    pub async fn send(&mut self, message: HostMessage) {
        self.socket.send(Message::text(message.to_json())).await.unwrap();
    }

    pub async fn read(&mut self) -> SeatMessage {
        match timeout(PATIENCE, self.socket.next()).await.unwrap().unwrap().unwrap() {
            Message::Text(text) => from_json(text.as_str()).unwrap(),
            other => panic!("{other:?}"),
        }
    }

    /// Hears hellos, tells which class this is, and gives what the seat joins with.
    pub async fn joined(&mut self) -> Join {
        loop {
            match self.read().await {
                SeatMessage::Hello(Hello { join: Some(join), .. }) => return join,
                SeatMessage::Hello(_) => {
                    let title = "Two ways".into();
                    self.send(HostMessage::Class { class_id: CLASS, title }).await;
                }
                other => panic!("{other:?}"),
            }
        }
    }

    /// The next message that is no question for the time; those are answered.
    async fn next(&mut self) -> SeatMessage {
        loop {
            match self.read().await {
                SeatMessage::Ping { t1_us } => {
                    self.at = HostTime(t1_us + AHEAD_US);
                    let HostTime(at_us) = self.at;
                    self.send(HostMessage::Pong { t1_us, t2_us: at_us, t3_us: at_us }).await;
                }
                other => return other,
            }
        }
    }

    pub async fn score(&mut self) -> Score {
        loop {
            match self.next().await {
                SeatMessage::Score(score) => return score,
                SeatMessage::Writing { .. } => {}
                other => panic!("{other:?}"),
            }
        }
    }

    /// Waits until the seat says that so many sheets are begun.
    pub async fn writing(&mut self, wanted: u32) {
        while !matches!(self.next().await, SeatMessage::Writing { sheets } if sheets == wanted) {}
    }
}

/// A class that is running, of these teas and cues, for a seat that brews its own set.
pub fn welcome(teas: Vec<TeaCard>, timetable: Timetable) -> Welcome {
    Welcome {
        class_id: CLASS,
        title: "Two ways".into(),
        seat: SeatId(Uuid::from_u128(1)),
        name: "Ann".into(),
        seq: 3,
        link: String::new(),
        pace: 1.0,
        clock: None,
        phase: Phase::Running,
        sheet: Sheet::default(),
        teas,
        pourers: None,
        hands: Some(1),
        role: Role::Scores,
        owes_from_us: HostTime(0),
        order: Vec::new(),
        kettles: Vec::new(),
        before_start: None,
        last_call_us: None,
        timetable,
        scores: Vec::new(),
        tests: Vec::new(),
        answers: Vec::new(),
        voided: Vec::new(),
        reopened: Vec::new(),
        said: Vec::new(),
    }
}

//! A room of bare readers, and a bare loop that sends to all of them.

use super::Fallible;
use super::child::Parent;
use super::instant::now_ns;
use super::machine::resident_kib;
use super::seats::JOINING;
use futures_util::{SinkExt, StreamExt};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::sync::Arc;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc, watch};
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::tungstenite::{Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, accept_async_with_config, client_async_with_config};

/// Who reads, and where.
#[derive(Clone, Serialize, Deserialize)]
pub struct Readers {
    /// The host.
    pub address: String,
    /// How many.
    pub clients: usize,
    /// Whether the host wants to be told who comes.
    pub hello: bool,
}

/// What the readers are to wait for.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pass {
    /// A message that every reader has read; the answer is [`Came`].
    Course,
    /// Every reader pings and has its answer.
    Ping,
}

/// A message has come to everybody.
#[derive(Serialize, Deserialize)]
pub struct Came {
    /// When the last reader had it, in nanoseconds of the shared clock.
    pub last_ns: i64,
    /// What it says.
    pub text: String,
}

/// Small buffers on both sides of a bare connection, as the real host has them.
fn small() -> WebSocketConfig {
    WebSocketConfig::default().read_buffer_size(4 * 1024).write_buffer_size(4 * 1024)
}

/// Connects, reads and stamps.
pub async fn readers(mut parent: Parent) -> Fallible<()> {
    let order: Readers = parent.hear().await?;
    let gate = Arc::new(Semaphore::new(JOINING));
    let (say, mut said) = mpsc::unbounded_channel();
    let (ping, pings) = watch::channel(());
    for number in 0..order.clients {
        let (order, gate, say, pings) = (order.clone(), gate.clone(), say.clone(), pings.clone());
        tokio::spawn(async move {
            if let Err(error) = read(number, &order, &gate, &say, pings).await {
                let _ = say.send(Err(format!("reader {number}: {error}")));
            }
        });
    }
    let mut heard = async || -> Fallible<Heard> { Ok(said.recv().await.ok_or("no reader is left")??) };
    for _ in 0..order.clients {
        heard().await?;
    }
    parent.tell(&true)?;
    loop {
        let pass = parent.hear().await?;
        if pass == Pass::Ping {
            ping.send_replace(());
        }
        let mut last: Option<Heard> = None;
        for _ in 0..order.clients {
            let next = heard().await?;
            last = last.filter(|last| last.at_ns >= next.at_ns).or(Some(next));
        }
        match (pass, last) {
            (Pass::Course, Some(Heard { at_ns, text })) => {
                parent.tell(&Came { last_ns: at_ns, text: text.as_str().into() })?
            }
            _ => parent.tell(&true)?,
        }
    }
}

/// What a reader has read, and when.
struct Heard {
    at_ns: i64,
    text: Utf8Bytes,
}

type Say = mpsc::UnboundedSender<Result<Heard, String>>;

async fn read(
    number: usize,
    order: &Readers,
    gate: &Semaphore,
    say: &Say,
    mut pings: watch::Receiver<()>,
) -> Fallible<()> {
    let place = gate.acquire().await?;
    let stream = TcpStream::connect(&order.address).await?;
    stream.set_nodelay(true)?;
    let url = format!("ws://{}/", order.address);
    let (mut socket, _) = client_async_with_config(url, stream, Some(small())).await?;
    if order.hello {
        text(&mut socket).await?;
        let token = uuid::Uuid::from_u128(1 + number as u128).to_string();
        let hello = json!({"type": "hello", "protocol": 1, "name": format!("seat {number}"), "token": token});
        socket.send(Message::text(hello.to_string())).await?;
        text(&mut socket).await?;
    }
    drop(place);
    let _ = say.send(Ok(Heard { at_ns: now_ns(), text: Utf8Bytes::default() }));
    loop {
        tokio::select! {
            biased;
            text = text(&mut socket) => {
                let _ = say.send(Ok(Heard { at_ns: now_ns(), text: text? }));
            }
            Ok(()) = pings.changed() => {
                socket.send(Message::text(json!({"type": "ping", "t1_us": number}).to_string())).await?;
            }
        }
    }
}

async fn text(socket: &mut WebSocketStream<TcpStream>) -> Fallible<Utf8Bytes> {
    match socket.next().await {
        Some(Ok(Message::Text(text))) => Ok(text),
        other => Err(format!("instead of a text came {other:?}").into()),
    }
}

/// A bare host: it accepts so many connections and sends what it is given to all of them, one after the other. It
/// answers with the address and its memory, in kibibytes, then with its memory when all have come, then with the
/// instant at which each message was given to it.
pub async fn host(mut parent: Parent) -> Fallible<()> {
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let clients: usize = parent.hear().await?;
    parent.tell(&(listener.local_addr()?.to_string(), resident_kib().unwrap_or(0.0)))?;
    let (hand_over, mut handed) = mpsc::unbounded_channel();
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            let hand_over = hand_over.clone();
            tokio::spawn(async move {
                let _ = stream.set_nodelay(true);
                if let Ok(socket) = accept_async_with_config(stream, Some(small())).await {
                    let _ = hand_over.send(socket);
                }
            });
        }
    });
    let mut sockets = Vec::new();
    while sockets.len() < clients {
        sockets.push(handed.recv().await.ok_or("nobody accepts any more")?);
    }
    parent.tell(&resident_kib().unwrap_or(0.0))?;
    loop {
        let text: String = parent.hear().await?;
        let began_ns = now_ns();
        let message = Message::text(text);
        for socket in &mut sockets {
            socket.send(message.clone()).await?;
        }
        parent.tell(&began_ns)?;
    }
}

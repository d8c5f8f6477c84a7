//! A room of bare readers, and a bare loop that sends to all of them.

use super::Fallible;
use super::child::Parent;
use super::instant::now_ns;
use super::machine::resident_kib;
use super::seats::JOINING;
use futures_util::{SinkExt, StreamExt};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::sync::Arc;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc, watch};
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::tungstenite::{Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, accept_async_with_config, client_async_with_config};

/// While readers join, those who have joined ping after this many more.
const PING_AFTER: usize = 1000;

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
    let (ping, pings) = watch::channel(0);
    for number in 0..order.clients {
        let (order, gate, say, pings) = (order.clone(), gate.clone(), say.clone(), pings.clone());
        tokio::spawn(async move {
            if let Err(error) = read(number, &order, &gate, &say, pings).await {
                let _ = say.send(Err(format!("reader {number}: {error}")));
            }
        });
    }
    let mut joined = 0;
    while joined < order.clients {
        if let Heard::Joined = heard(&mut said).await? {
            joined += 1;
            // Those who came first must not seem to be gone when the last ones come.
            if order.hello && joined % PING_AFTER == 0 {
                ping.send_modify(|number| *number += 1);
            }
        }
    }
    parent.tell(&true)?;
    loop {
        let pass: Pass = parent.hear().await?;
        if pass == Pass::Ping {
            ping.send_modify(|number| *number += 1);
        }
        let pinged = *ping.borrow();
        let (mut missing, mut last) = (order.clients, None);
        while missing > 0 {
            match (pass, heard(&mut said).await?) {
                (Pass::Ping, Heard::Pong(number)) if number == pinged => missing -= 1,
                (Pass::Course, Heard::Text { at_ns, text }) => {
                    missing -= 1;
                    last = last.filter(|(last_ns, _)| *last_ns >= at_ns).or(Some((at_ns, text)));
                }
                _ => {}
            }
        }
        match last {
            Some((last_ns, text)) => parent.tell(&Came { last_ns, text: text.as_str().into() })?,
            None => parent.tell(&true)?,
        }
    }
}

async fn heard(said: &mut mpsc::UnboundedReceiver<Result<Heard, String>>) -> Fallible<Heard> {
    Ok(said.recv().await.ok_or("no reader is left")??)
}

/// What a reader has come to.
enum Heard {
    /// It has its place.
    Joined,
    /// The answer to the ping of this number.
    Pong(u64),
    /// It has read a message, at an instant of the shared clock.
    Text { at_ns: i64, text: Utf8Bytes },
}

type Say = mpsc::UnboundedSender<Result<Heard, String>>;

async fn read(
    number: usize,
    order: &Readers,
    gate: &Semaphore,
    say: &Say,
    mut pings: watch::Receiver<u64>,
) -> Fallible<()> {
    let place = gate.acquire().await?;
    let stream = TcpStream::connect(&order.address).await?;
    stream.set_nodelay(true)?;
    let url = format!("ws://{}/", order.address);
    let (mut socket, _) = client_async_with_config(url, stream, Some(small())).await?;
    if order.hello {
        socket.send(Message::text(json!({"type": "hello", "protocol": 5}).to_string())).await?;
        // The greeting.
        text(&mut socket).await?;
        let class: Value = serde_json::from_str(&text(&mut socket).await?)?;
        let token = uuid::Uuid::from_u128(1 + number as u128).to_string();
        let (class_id, name) = (&class["class_id"], format!("seat {number}"));
        let join = json!({"class_id": class_id, "name": name, "token": token});
        let hello = json!({"type": "hello", "protocol": 5, "join": join});
        socket.send(Message::text(hello.to_string())).await?;
        let welcome = text(&mut socket).await?;
        if !welcome.starts_with("{\"type\":\"welcome\"") {
            return Err(welcome.as_str().into());
        }
    }
    drop(place);
    let _ = say.send(Ok(Heard::Joined));
    loop {
        tokio::select! {
            biased;
            text = text(&mut socket) => {
                let (at_ns, text) = (now_ns(), text?);
                let _ = say.send(Ok(match text.strip_prefix("{\"type\":\"pong\",\"t1_us\":") {
                    Some(pong) => Heard::Pong(pong.split(',').next().unwrap_or_default().parse()?),
                    None if text.starts_with("{\"type\":\"refusal\"") => return Err(text.as_str().into()),
                    None => Heard::Text { at_ns, text },
                }));
            }
            Ok(()) = pings.changed() => {
                let number = *pings.borrow_and_update();
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

/// A bare host: it accepts this many connections and sends what it is given to all of them, one after the other. It
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

//! One connection of a console to its host, from dialling to its end.

use crate::console::lines::print;
use dial::{Dialler, Unopened};
use futures_util::{SinkExt, StreamExt};
use protocol::text::clean;
use protocol::wire::{
    HostMessage, Lead, PING_EVERY, PROTOCOL, RefusalCode, SILENCE_LIMIT, SeatMessage, TYPED_BYTES, from_json,
    version_words,
};
use protocol::{Challenge, ConsoleKey, Proved};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::sync::mpsc;
use tokio::time::{interval, sleep, timeout};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use uuid::Uuid;
use writer::Lines;

/// How long each step may take until the link stands, and a message to be handed to the network.
const STEP_LIMIT: Duration = Duration::from_secs(8);
/// The longest reason shown, in characters.
const SENTENCE_CHARS: usize = 400;

/// Who wants to lead what.
pub(super) struct Asked {
    pub(super) address: String,
    pub(super) name: String,
    pub(super) key: ConsoleKey,
}

/// How a connection ended.
pub(super) enum Ending {
    /// The link broke or never came; try again later.
    Lost(String),
    /// No further attempt can help.
    Refused(String),
    /// Whoever answers has not the certificate of the pin: it may be somebody between.
    NotTheHost(String),
    /// The class is closed, and its host has ended.
    Over(String),
}

/// Dials once, and carries lines to and fro as long as the link lasts. `linked_s` says how long that
/// was by now, in seconds, once it stands.
pub(super) async fn attempt<D: Dialler>(
    dialler: &mut D,
    asked: &Asked,
    typed: &mut mpsc::UnboundedReceiver<String>,
    out: &mut Lines,
    linked_s: &mut Option<i64>,
) -> Ending {
    let done = async {
        let mut socket = enter(dialler, asked, out).await?;
        carry(&mut socket, typed, out, linked_s.insert(0)).await
    };
    match done.await {
        Ok(never) => match never {},
        Err(ending) => ending,
    }
}

/// What never comes back but by an ending.
enum Never {}

async fn enter<D: Dialler>(
    dialler: &mut D,
    asked: &Asked,
    out: &mut Lines,
) -> Result<WebSocketStream<D::Stream>, Ending> {
    let opened = timeout(STEP_LIMIT, dial::open(dialler, &asked.address)).await.map_err(|_| no_answer())?;
    let mut socket = opened.map_err(|why| match why {
        Unopened::Lost(words) => Ending::Lost(words),
        Unopened::NotTheHost(words) | Unopened::PinWanted(words) => Ending::NotTheHost(words),
    })?;
    let certificate = dialler.certificate(socket.get_ref());
    let nonce = match hear_soon(&mut socket).await? {
        HostMessage::Greeting { protocol, .. } if protocol != PROTOCOL => {
            return Err(Ending::Refused(version_words(protocol, PROTOCOL)));
        }
        HostMessage::Greeting { nonce: Some(nonce), .. } => nonce,
        _ => return Err(Ending::Lost("the host did not begin with a greeting".into())),
    };
    let ConsoleKey { purpose, secret } = asked.key;
    let proved = Proved::of(purpose, &secret, Challenge { nonce, certificate }, Uuid::nil());
    say(&mut socket, &SeatMessage::Lead(Lead { protocol: PROTOCOL, name: asked.name.clone(), proved }))
        .await?;
    let HostMessage::Led { name, acts } = hear_soon(&mut socket).await? else {
        return Err(Ending::Lost("the host did not answer as to a console".into()));
    };
    print(
        out,
        &format!(
            "linked: you {} as {name}; `help` lists what can be typed",
            if acts { "lead" } else { "look on" }
        ),
    );
    Ok(socket)
}

async fn carry<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut WebSocketStream<S>,
    typed: &mut mpsc::UnboundedReceiver<String>,
    out: &mut Lines,
    linked_s: &mut i64,
) -> Result<Never, Ending> {
    let mut sign_of_life = interval(PING_EVERY);
    let silence = sleep(SILENCE_LIMIT);
    tokio::pin!(silence);
    let mut pings = 0;
    loop {
        tokio::select! {
            biased;
            message = hear(socket) => {
                silence.as_mut().reset(sleep(SILENCE_LIMIT).deadline());
                if let HostMessage::Line { text } = message? {
                    print(out, &text);
                }
            }
            _ = sign_of_life.tick() => {
                *linked_s = pings * PING_EVERY.as_secs() as i64;
                pings += 1;
                say(socket, &SeatMessage::Ping { t1_us: pings }).await?;
            }
            Some(line) = typed.recv() => match line.trim_end_matches('\r') {
                line if line.len() > TYPED_BYTES => {
                    print(out, &format!("not sent: a line may have {TYPED_BYTES} bytes"));
                }
                line => say(socket, &SeatMessage::Typed { line: line.into() }).await?,
            },
            () = &mut silence => {
                return Err(Ending::Lost(format!("the host was silent for {} s", SILENCE_LIMIT.as_secs())));
            }
        }
    }
}

fn no_answer() -> Ending {
    Ending::Lost(format!("the host did not answer within {} s", STEP_LIMIT.as_secs()))
}

async fn say<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut WebSocketStream<S>,
    message: &SeatMessage,
) -> Result<(), Ending> {
    let sent = timeout(STEP_LIMIT, socket.send(Message::text(message.to_json()))).await;
    match sent {
        Ok(Ok(())) => Ok(()),
        _ => Err(Ending::Lost("the link broke".into())),
    }
}

async fn hear_soon<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut WebSocketStream<S>,
) -> Result<HostMessage, Ending> {
    timeout(STEP_LIMIT, hear(socket)).await.map_err(|_| no_answer())?
}

/// The next message of the host's; one that ends the link is an ending.
async fn hear<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut WebSocketStream<S>,
) -> Result<HostMessage, Ending> {
    loop {
        let Some(Ok(message)) = socket.next().await else {
            return Err(Ending::Lost("the link broke".into()));
        };
        let Message::Text(text) = message else { continue };
        let said = from_json(&text).map_err(|fault| Ending::Lost(clean(&fault, SENTENCE_CHARS)))?;
        let HostMessage::Refusal { code, reason } = said else { return Ok(said) };
        let reason = clean(&reason, SENTENCE_CHARS);
        return Err(match code {
            RefusalCode::ClassClosed => Ending::Over(reason),
            code if code.may_retry() => Ending::Lost(reason),
            _ => Ending::Refused(reason),
        });
    }
}

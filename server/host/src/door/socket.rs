//! One message in, one message out, and how a connection ends.

use bytes::Bytes;
use futures_util::{SinkExt, StreamExt};
use protocol::wire::{RefusalCode, SEAT_MESSAGE_BYTES, SeatMessage, from_json};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::{Error, Message, Utf8Bytes};

/// How long a peer may take to read what it is sent.
pub(super) const SEND_LIMIT: Duration = Duration::from_secs(10);

/// Why a connection ends.
pub(super) enum End {
    /// The peer is gone, or has heard why.
    Quiet,
    /// The peer is to hear why.
    Refuse(RefusalCode, String),
}

pub(super) type Socket<S> = WebSocketStream<S>;

pub(super) fn refuse<T>(code: RefusalCode, reason: impl Into<String>) -> Result<T, End> {
    Err(End::Refuse(code, reason.into()))
}

/// One message in the form of the connection. All of them are JSON of our own making.
pub(super) fn text(json: Bytes) -> Result<Message, End> {
    Ok(Message::Text(Utf8Bytes::try_from(json).map_err(|_| End::Quiet)?))
}

pub(super) async fn send<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut Socket<S>,
    json: Bytes,
) -> Result<(), End> {
    match timeout(SEND_LIMIT, socket.send(text(json)?)).await {
        Ok(Ok(())) => Ok(()),
        _ => Err(End::Quiet),
    }
}

/// The next message of the peer's. WebSocket's own pings are answered below and do not count as heard.
pub(super) async fn hear<S: AsyncRead + AsyncWrite + Unpin>(
    socket: &mut Socket<S>,
) -> Result<SeatMessage, End> {
    loop {
        match socket.next().await {
            Some(Ok(Message::Text(text))) => {
                return from_json(&text).or_else(|reason| refuse(RefusalCode::BadMessage, reason));
            }
            Some(Ok(Message::Binary(_))) => {
                return refuse(
                    RefusalCode::BadMessage,
                    "messages are text, not binary; mend the program that sent this",
                );
            }
            Some(Ok(Message::Ping(_) | Message::Pong(_) | Message::Frame(_))) => {}
            Some(Ok(Message::Close(_))) | None => return Err(End::Quiet),
            Some(Err(Error::Capacity(_))) => {
                return refuse(
                    RefusalCode::TooLarge,
                    format!(
                        "a message may have {SEAT_MESSAGE_BYTES} bytes, and this one has more; send less at once"
                    ),
                );
            }
            Some(Err(Error::Utf8(_) | Error::Protocol(_))) => {
                return refuse(
                    RefusalCode::BadMessage,
                    "that is not WebSocket text; mend the program that sent this",
                );
            }
            Some(Err(_)) => return Err(End::Quiet),
        }
    }
}

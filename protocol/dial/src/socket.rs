//! The WebSocket over a connection that was made.

use super::secure::NotTheHost;
use super::{Dialler, unreached};
use protocol::text::clean;
use protocol::wire::HOST_MESSAGE_BYTES;
use tokio_tungstenite::tungstenite::Error;
use tokio_tungstenite::tungstenite::http::StatusCode;
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::{WebSocketStream, client_async_with_config};

/// The longest reason shown, in characters.
const SENTENCE_CHARS: usize = 400;

/// Why there is no WebSocket, in a sentence for a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unopened {
    /// Nobody is reached, or what the host says itself; another attempt may help.
    Lost(String),
    /// Whoever answers there has not the certificate of the pin; no other attempt helps.
    NotTheHost(String),
    /// The host takes nobody without TLS, and this was dialled without a pin; no other attempt helps.
    PinWanted(String),
}

/// Dials, and asks for a WebSocket at the address as the person typed it.
///
/// # Errors
/// Nobody is reached, or not the host of the pin, or the host lets nobody in.
pub async fn open<D: Dialler>(
    dialler: &mut D,
    address: &str,
) -> Result<WebSocketStream<D::Stream>, Unopened> {
    let dialled = dialler.dial().await;
    let stream = dialled.map_err(|e| match NotTheHost::is_why(&e) {
        true => Unopened::NotTheHost(e.to_string()),
        false => Unopened::Lost(format!("can't reach the host: {}", unreached(address, &e))),
    })?;
    // A seat's share of memory is small; the host's largest message still fits.
    let config = WebSocketConfig::default()
        .max_message_size(Some(HOST_MESSAGE_BYTES))
        .max_frame_size(Some(HOST_MESSAGE_BYTES))
        .read_buffer_size(8 * 1024)
        .write_buffer_size(4 * 1024)
        .max_write_buffer_size(256 * 1024);
    let opened = client_async_with_config(format!("ws://{address}/"), stream, Some(config)).await;
    opened.map(|(socket, _)| socket).map_err(|e| match &e {
        Error::Http(answer) if answer.status() == StatusCode::UPGRADE_REQUIRED => {
            Unopened::PinWanted(unopened(&e))
        }
        _ => Unopened::Lost(unopened(&e)),
    })
}

/// Why no WebSocket came about, for a person: what the host says itself, if it answered at all.
fn unopened(error: &Error) -> String {
    if matches!(error, Error::Io(_)) {
        return "whoever answers there broke the link off; ask whether a class is open there".into();
    }
    let said = match error {
        Error::Http(answer) => answer.body().as_deref().map(String::from_utf8_lossy),
        _ => None,
    };
    match said.filter(|said| !said.trim().is_empty()) {
        Some(said) => clean(said.trim(), SENTENCE_CHARS),
        None => format!("no class answers there: {}", clean(&error.to_string(), SENTENCE_CHARS)),
    }
}

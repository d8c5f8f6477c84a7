//! The first request of a connection, read within bounds of time and size; a seat's is a WebSocket from then on.

use super::limits::HEAD_BYTES;
use super::names::Names;
use super::request::answer;
use super::socket::Socket;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::upgrade::{self, OnUpgrade, Parts};
use hyper::{StatusCode, body::Incoming};
use hyper_util::rt::{TokioIo, TokioTimer};
use protocol::wire::{HELLO_LIMIT, HOST_MESSAGE_BYTES, SEAT_MESSAGE_BYTES};
use std::convert::Infallible;
use std::sync::Mutex;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::{Role, WebSocketConfig};
use tracing::debug;

/// Answers the first request; `fit` says whether a seat may come over such a connection. `None` if the peer is no seat, and has
/// its answer; no request may take longer than a hello.
pub(super) async fn enter<S>(stream: S, names: &Names, fit: bool) -> Option<Socket<S>>
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let becomes: Mutex<Option<OnUpgrade>> = Mutex::default();
    let service = service_fn(|mut request: hyper::Request<Incoming>| {
        let response = answer(&request, names, fit);
        debug!(status = %response.status(), "request");
        if response.status() == StatusCode::SWITCHING_PROTOCOLS
            && let Ok(mut becomes) = becomes.lock()
        {
            *becomes = Some(upgrade::on(&mut request));
        }
        async { Ok::<_, Infallible>(response) }
    });
    let mut http = http1::Builder::new();
    // Without a timer the limit does nothing.
    http.timer(TokioTimer::new()).header_read_timeout(HELLO_LIMIT).max_buf_size(HEAD_BYTES);
    // In a box, so that what the request takes is given back with it: a seat's task would hold that room to its end.
    let connection = Box::pin(http.serve_connection(TokioIo::new(stream), service).with_upgrades());
    timeout(HELLO_LIMIT, connection).await.ok()?.ok()?;
    let upgraded = becomes.into_inner().ok()??.await.ok()?;
    // The connection itself again: what it was wrapped in for the request would cost every seat memory.
    let Parts { io, read_buf, .. } = upgraded.downcast::<TokioIo<S>>().ok()?;
    let (stream, read) = (io.into_inner(), read_buf.to_vec());
    let config = WebSocketConfig::default()
        .max_message_size(Some(SEAT_MESSAGE_BYTES))
        .max_frame_size(Some(SEAT_MESSAGE_BYTES))
        // A seat says little at a time, and each that is idle holds this room.
        .read_buffer_size(1024)
        .write_buffer_size(4 * 1024)
        .max_write_buffer_size(2 * HOST_MESSAGE_BYTES);
    Some(WebSocketStream::from_partially_read(stream, read, Role::Server, Some(config)).await)
}

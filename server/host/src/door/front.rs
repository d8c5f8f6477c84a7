//! The first request of a connection, read within bounds of time and size; a seat's is a WebSocket from then on.

use super::limits::HEAD_BYTES;
use super::names::Names;
use super::request::{answer, unread};
use super::socket::Socket;
use hyper::body::Incoming;
use hyper::server::conn::http1::{self, Parts};
use hyper::service::service_fn;
use hyper::{Error, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use protocol::wire::{HELLO_LIMIT, HOST_MESSAGE_BYTES, SEAT_MESSAGE_BYTES};
use std::convert::Infallible;
use std::future::poll_fn;
use std::io;
use std::pin::Pin;
use std::sync::OnceLock;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, ReadBuf};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::{Role, WebSocketConfig};
use tracing::debug;

/// How long a peer that had its answer may still send, before the connection is closed under it.
const LINGER: Duration = Duration::from_secs(1);
/// How much is read of that, in bytes.
const LINGER_BYTES: u64 = 256 * 1024;

/// A connection on which nothing is said before a request was read: hyper has words of its own for what is none, and they
/// can't be changed, so they are left out and ours are said instead.
struct Unsaid<'a, S> {
    stream: S,
    answered: &'a OnceLock<StatusCode>,
}

impl<S: AsyncRead + Unpin> AsyncRead for Unsaid<'_, S> {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Unsaid<'_, S> {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        match self.answered.get() {
            Some(_) => Pin::new(&mut self.stream).poll_write(cx, bytes),
            None => Poll::Ready(Ok(bytes.len())),
        }
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}

/// Answers the first request; `fit` says whether a seat may come over such a connection. `None` if the peer is no seat, and has
/// its answer; no request may take longer than a hello.
pub(super) async fn enter<S>(stream: S, names: &Names, fit: bool) -> Option<Socket<S>>
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    // In a box, so that what the request takes is given back with it: a seat's task would hold that room to its end.
    let (mut stream, read, became) = Box::pin(timeout(HELLO_LIMIT, first(stream, names, fit))).await.ok()?;
    match became {
        Ok(Some(StatusCode::SWITCHING_PROTOCOLS)) => {}
        Ok(_) => {
            close(stream).await;
            return None;
        }
        Err(error) => {
            debug!(%error, "no request");
            if let Some(words) = unread(&error) {
                let said = timeout(HELLO_LIMIT, stream.write_all(&words)).await;
                if let Ok(Ok(())) = said {
                    close(stream).await;
                }
            }
            return None;
        }
    }
    let config = WebSocketConfig::default()
        .max_message_size(Some(SEAT_MESSAGE_BYTES))
        .max_frame_size(Some(SEAT_MESSAGE_BYTES))
        // A seat says little at a time, and each that is idle holds this room.
        .read_buffer_size(1024)
        .write_buffer_size(4 * 1024)
        .max_write_buffer_size(2 * HOST_MESSAGE_BYTES);
    Some(WebSocketStream::from_partially_read(stream, read, Role::Server, Some(config)).await)
}

/// The first request and its answer: the connection itself again, what was read of it behind the request, and what it was
/// answered.
async fn first<S>(stream: S, names: &Names, fit: bool) -> (S, Vec<u8>, Result<Option<StatusCode>, Error>)
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let answered = OnceLock::new();
    let service = service_fn(|request: hyper::Request<Incoming>| {
        let response = answer(&request, names, fit);
        debug!(status = %response.status(), "request");
        let _ = answered.set(response.status());
        std::future::ready(Ok::<_, Infallible>(response))
    });
    let mut http = http1::Builder::new();
    // Without a timer the limit does nothing.
    http.timer(TokioTimer::new()).header_read_timeout(HELLO_LIMIT).max_buf_size(HEAD_BYTES);
    let io = TokioIo::new(Unsaid { stream, answered: &answered });
    let mut connection = http.serve_connection(io, service);
    let done = poll_fn(|cx| connection.poll_without_shutdown(cx)).await;
    let Parts { io, read_buf, .. } = connection.into_parts();
    (io.into_inner().stream, read_buf.to_vec(), done.map(|()| answered.get().copied()))
}

/// Closes a connection that had its answer. One that is closed with unread bytes in it is reset, and the words on their way to the
/// peer would be lost.
async fn close<S: AsyncRead + AsyncWrite + Unpin>(mut stream: S) {
    let _ = timeout(LINGER, async {
        stream.shutdown().await?;
        tokio::io::copy(&mut stream.take(LINGER_BYTES), &mut tokio::io::sink()).await
    })
    .await;
}

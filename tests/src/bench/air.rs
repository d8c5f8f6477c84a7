//! A relay in the seats' process that carries bytes as badly as the air between a seat and its access point.

use super::instant::{now_ns, sleep_until};
use crate::model::Pipe;
use fastrand::Rng;
use serde::{Deserialize, Serialize};
use std::io;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, duplex, split};
use tokio::net::TcpStream;
use tokio::sync::mpsc;

/// What a relay may carry at once, in bytes.
const CHUNK: usize = 16 * 1024;

/// How late the air is: every chunk by `delay_ms` ± `jitter_ms`, each way on its own; a stall holds up what is behind.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct Air {
    /// What it is drawn from.
    pub seed: u64,
    /// The middle of the delay.
    pub delay_ms: f64,
    /// How far the delay goes to both sides, all of it alike.
    pub jitter_ms: f64,
    /// The part of the chunks that are stalled.
    pub stalled: f64,
    /// For how long.
    pub stall_ms: f64,
}

impl Air {
    fn delay_ns(&self, rng: &mut Rng) -> i64 {
        let jitter_ms = (rng.f64() * 2.0 - 1.0) * self.jitter_ms;
        let stall_ms = if rng.f64() < self.stalled { self.stall_ms } else { 0.0 };
        ((self.delay_ms + jitter_ms + stall_ms) * 1e6) as i64
    }

    async fn carry(self, mut from: impl AsyncRead + Unpin, to: impl AsyncWrite + Unpin, mut rng: Rng) {
        let (send, chunks) = mpsc::unbounded_channel();
        let mut at_ns = i64::MIN;
        let take = async move {
            let mut buffer = vec![0; CHUNK];
            while let Ok(length @ 1..) = from.read(&mut buffer).await {
                // Nothing overtakes.
                at_ns = at_ns.max(now_ns() + self.delay_ns(&mut rng));
                if send.send((at_ns, buffer[..length].to_vec())).is_err() {
                    break;
                }
            }
        };
        tokio::join!(take, give(chunks, to));
    }
}

async fn give(mut chunks: mpsc::UnboundedReceiver<(i64, Vec<u8>)>, mut to: impl AsyncWrite + Unpin) {
    while let Some((at_ns, chunk)) = chunks.recv().await {
        sleep_until(at_ns).await;
        if to.write_all(&chunk).await.is_err() {
            return;
        }
    }
    let _ = to.shutdown().await;
}

/// Dials a host of this machine, through the air if there is some; `seat` spreads what is drawn.
///
/// # Errors
/// Whatever the machine says.
pub async fn dial(address: &str, air: Option<Air>, seat: usize) -> io::Result<Box<dyn Pipe>> {
    let stream = TcpStream::connect(address).await?;
    stream.set_nodelay(true)?;
    let Some(air) = air else { return Ok(Box::new(stream)) };
    let (near, far) = duplex(4 * CHUNK);
    let (from_host, to_host) = stream.into_split();
    let (from_seat, to_seat) = split(far);
    let rng = |way| Rng::with_seed(air.seed ^ (2 * seat as u64 + way));
    tokio::spawn(air.carry(from_host, to_seat, rng(0)));
    tokio::spawn(air.carry(from_seat, to_host, rng(1)));
    Ok(Box::new(near))
}

//! The way from a seat to the host: the simulated network, a slower way up, a machine that may be asleep, and a tap.

use super::tap::Tap;
use super::trace::{Trace, What, now_us, until_us};
use super::world::{HOST, PORT, SeatPlan};
use std::io;
use tokio::io::{AsyncReadExt, AsyncWriteExt, DuplexStream, ReadHalf, WriteHalf};
use tokio::sync::{mpsc, oneshot};
use tokio::task::spawn_local;
use tokio_tungstenite::tungstenite::Bytes;
use turmoil::net::TcpStream;
use turmoil::net::tcp::{OwnedReadHalf, OwnedWriteHalf};

/// Room for what is under way inside the seat's machine, in bytes.
const ROOM: usize = 256 * 1024;
/// A machine that wakes finds its clock set right before its network goes on, in microseconds.
const NETWORK_WAKES_US: i64 = 2_000;

/// Where a connection goes once it is made.
type Wanted = oneshot::Sender<io::Result<DuplexStream>>;

/// The network of one seat's machine, for one run of its program.
///
/// It lives in local tasks, which end in one order when a machine is switched off; those of a runtime end by their
/// numbers, which no seed decides, and so would the goodbyes of their sockets.
#[derive(Clone)]
pub struct Network {
    wanted: mpsc::UnboundedSender<Wanted>,
}

#[derive(Clone)]
struct Ends {
    plan: SeatPlan,
    run: u32,
    trace: Trace,
}

impl Network {
    /// Switches it on.
    pub fn on(plan: SeatPlan, run: u32, trace: Trace) -> Self {
        let (wanted, mut asked) = mpsc::unbounded_channel::<Wanted>();
        let ends = Ends { plan, run, trace };
        spawn_local(async move {
            while let Some(wanted) = asked.recv().await {
                spawn_local(ends.clone().connect(wanted));
            }
        });
        Self { wanted }
    }

    /// Dials the host.
    ///
    /// # Errors
    /// What the network says.
    pub async fn dial(self) -> io::Result<DuplexStream> {
        let (wanted, made) = oneshot::channel();
        self.wanted.send(wanted).map_err(|_| io::Error::from(io::ErrorKind::NetworkDown))?;
        made.await.map_err(|_| io::Error::from(io::ErrorKind::NetworkDown))?
    }
}

impl Ends {
    async fn connect(self, mut wanted: Wanted) {
        awake(&self.plan).await;
        let made = tokio::select! {
            biased;
            () = wanted.closed() => return,
            made = TcpStream::connect((HOST, PORT)) => made,
        };
        let made = made.map(|stream| {
            let (near, far) = tokio::io::duplex(ROOM);
            let (from_seat, to_seat) = tokio::io::split(far);
            let (from_host, to_host) = stream.into_split();
            let (queue, under_way) = mpsc::unbounded_channel();
            spawn_local(self.clone().leave(from_seat, queue));
            spawn_local(self.clone().up(under_way, to_host));
            spawn_local(self.down(from_host, to_seat));
            near
        });
        // Whoever gave up meanwhile drops it.
        let _ = wanted.send(made);
    }

    /// From the program to the machine's edge; each piece with the instant at which it gets there.
    async fn leave(self, mut from_seat: ReadHalf<DuplexStream>, queue: mpsc::UnboundedSender<(i64, Bytes)>) {
        let (plan, way) = (&self.plan, self.plan.way);
        let mut rng = fastrand::Rng::with_seed(plan.seed ^ now_us() as u64);
        let (mut tap, mut last_us, mut buffer) = (Tap::on_seat(), 0, vec![0; 16 * 1024]);
        while let Ok(length @ 1..) = from_seat.read(&mut buffer).await {
            let bytes = Bytes::copy_from_slice(&buffer[..length]);
            for text in tap.texts(&bytes) {
                self.trace.note(plan.name, self.run, What::Sent(text));
            }
            let more_us = (way.up_more_ms + rng.u64(0..=way.up_jitter_ms)) as i64 * 1_000;
            // Nothing overtakes what left before it.
            last_us = last_us.max(now_us() + more_us);
            if queue.send((last_us, bytes)).is_err() {
                return;
            }
        }
    }

    async fn up(self, mut under_way: mpsc::UnboundedReceiver<(i64, Bytes)>, mut to_host: OwnedWriteHalf) {
        while let Some((at_us, bytes)) = under_way.recv().await {
            until_us(at_us).await;
            awake(&self.plan).await;
            if to_host.write_all(&bytes).await.is_err() {
                return;
            }
        }
        // A peer that has gone already needs no goodbye.
        let _ = to_host.shutdown().await;
    }

    async fn down(self, mut from_host: OwnedReadHalf, mut to_seat: WriteHalf<DuplexStream>) {
        let (mut tap, mut buffer) = (Tap::on_host(), vec![0; 16 * 1024]);
        while let Ok(length @ 1..) = from_host.read(&mut buffer).await {
            awake(&self.plan).await;
            let bytes = Bytes::copy_from_slice(&buffer[..length]);
            if to_seat.write_all(&bytes).await.is_err() {
                // The seat has given this connection up and hears no more of it.
                return;
            }
            for text in tap.texts(&bytes) {
                self.trace.note(self.plan.name, self.run, What::Received(text));
            }
        }
        let _ = to_seat.shutdown().await;
    }
}

/// Waits while the seat's machine sleeps.
async fn awake(plan: &SeatPlan) {
    let now_us = now_us();
    let nap = plan.naps.iter().find(|nap| (nap.from_us..nap.wakes_us() + NETWORK_WAKES_US).contains(&now_us));
    if let Some(nap) = nap {
        until_us(nap.wakes_us() + NETWORK_WAKES_US).await;
    }
}

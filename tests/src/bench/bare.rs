//! What could be had with little: bare WebSocket clients that exchange times with a bare host, keep the exchange of
//! the smallest delay, and wait for the cue by one exact thread or by the runtime's timers; or that are simply told
//! "now" by the host.

use super::Fallible;
use super::air::{Air, dial};
use super::child::Parent;
use super::instant::{now_ns, sleep_until, wait_until, wake_early};
use super::seats::{Book, JOINING, Order, SETTLE_NS};
use super::stamps::Stamps;
use crate::model::Pipe;
use futures_util::{SinkExt, StreamExt};
use protocol::clock::Exchange;
use protocol::wire::PING_BURST;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{WebSocketStream, accept_async, client_async};

/// A client's last word to the host before it only listens.
const READY: &str = "ready";

/// When what is to be tried, in nanoseconds of the shared clock.
#[derive(Clone, Serialize, Deserialize)]
pub struct Cues {
    /// Cues that every seat waits for by its estimate and one exact thread for all.
    pub by_alarm_ns: Vec<i64>,
    /// Cues that every seat waits for by its estimate and the runtime's timers.
    pub by_runtime_ns: Vec<i64>,
    /// Cues at which the host says "now".
    pub pushed_ns: Vec<i64>,
}

/// When the seats acted.
#[derive(Serialize, Deserialize)]
pub struct Acted {
    /// On the cues of the exact thread.
    pub by_alarm: Stamps,
    /// On the cues of the runtime's timers.
    pub by_runtime: Stamps,
    /// On being told.
    pub pushed: Stamps,
}

/// The host's side. The first answer is its address; then come the instants at which to push.
pub async fn host(mut parent: Parent) -> Fallible<()> {
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    let seats: usize = parent.hear().await?;
    parent.tell(&listener.local_addr()?.to_string())?;
    let (hand_over, mut handed) = mpsc::unbounded_channel();
    tokio::spawn(async move {
        while let Ok((stream, _)) = listener.accept().await {
            tokio::spawn(answer(stream, hand_over.clone()));
        }
    });
    let mut sockets = Vec::with_capacity(seats);
    while sockets.len() < seats {
        sockets.push(handed.recv().await.ok_or("nobody accepts any more")?);
    }
    let Cues { pushed_ns, .. } = parent.hear().await?;
    let now = Message::text("now");
    for at_ns in pushed_ns {
        tokio::task::spawn_blocking(move || {
            wake_early();
            wait_until(at_ns);
        })
        .await?;
        for socket in &mut sockets {
            socket.send(now.clone()).await?;
        }
    }
    // The clients end first.
    parent.hear().await
}

async fn answer(
    stream: TcpStream,
    hand_over: mpsc::UnboundedSender<WebSocketStream<TcpStream>>,
) -> Fallible<()> {
    stream.set_nodelay(true)?;
    let mut socket = accept_async(stream).await?;
    while let Some(Ok(Message::Text(text))) = socket.next().await {
        let t2_us = now_ns() / 1000;
        if text.as_str() == READY {
            let _ = hand_over.send(socket);
            return Ok(());
        }
        let answer = format!("{text} {t2_us} {}", now_ns() / 1000);
        socket.send(Message::text(answer)).await?;
    }
    Ok(())
}

/// The seats' side.
pub async fn seats(mut parent: Parent) -> Fallible<()> {
    let Order { address, seats, air } = parent.hear().await?;
    let gate = Arc::new(Semaphore::new(JOINING));
    let (ready, mut all_ready) = mpsc::unbounded_channel();
    let pushed = Book::with_room(seats * 64);
    for number in 0..seats {
        let (gate, ready, address, pushed) = (gate.clone(), ready.clone(), address.clone(), pushed.clone());
        tokio::spawn(async move {
            let joined = join(&address, air, number, &gate).await;
            let (socket, offset_ns) = match joined {
                Ok((socket, offset_ns)) => (Some(socket), Ok(offset_ns)),
                Err(error) => (None, Err(error)),
            };
            let _ = ready.send(offset_ns);
            let Some(mut socket) = socket else { return };
            while let Some(Ok(Message::Text(_))) = socket.next().await {
                pushed.stamp();
            }
        });
    }
    let mut offsets_ns = Vec::with_capacity(seats);
    while offsets_ns.len() < seats {
        offsets_ns.push(all_ready.recv().await.ok_or("a client has ended")??);
    }
    parent.tell(&true)?;
    let cues: Cues = parent.hear().await?;
    let end_ns = cues.pushed_ns.last().map_or(0, |last| last + SETTLE_NS);
    let by_alarm = alarm(&cues.by_alarm_ns, &offsets_ns);
    for &offset_ns in &offsets_ns {
        let (cues_ns, book) = (cues.by_runtime_ns.clone(), by_alarm.1.clone());
        tokio::spawn(async move {
            for at_ns in cues_ns {
                sleep_until(at_ns - offset_ns).await;
                book.stamp();
            }
        });
    }
    sleep_until(end_ns).await;
    parent.tell(&Acted {
        by_alarm: by_alarm.0.take(&cues.by_alarm_ns),
        by_runtime: by_alarm.1.take(&cues.by_runtime_ns),
        pushed: pushed.take(&cues.pushed_ns),
    })
}

/// Starts the thread that stamps for every seat at its own idea of each cue's instant; gives its book, and an empty
/// one for the runtime's timers.
fn alarm(cues_ns: &[i64], offsets_ns: &[i64]) -> (Book, Book) {
    let books = [(); 2].map(|()| Book::with_room(cues_ns.len() * offsets_ns.len()));
    let mut due: Vec<i64> =
        cues_ns.iter().flat_map(|at_ns| offsets_ns.iter().map(move |offset_ns| at_ns - offset_ns)).collect();
    due.sort_unstable();
    let [book, other] = books;
    let stamps = book.clone();
    std::thread::spawn(move || {
        wake_early();
        for at_ns in due {
            wait_until(at_ns);
            stamps.stamp();
        }
    });
    (book, other)
}

/// A client after its exchanges, with by how many nanoseconds it takes the host's clock to be ahead.
async fn join(
    address: &str,
    air: Option<Air>,
    number: usize,
    gate: &Semaphore,
) -> Fallible<(WebSocketStream<Box<dyn Pipe>>, i64)> {
    let place = gate.acquire().await?;
    let stream = dial(address, air, number).await?;
    let (mut socket, _) = client_async(format!("ws://{address}/"), stream).await?;
    drop(place);
    let mut best: Option<Exchange> = None;
    for _ in 0..PING_BURST.0 {
        let sent_ns = now_ns();
        socket.send(Message::text((sent_ns / 1000).to_string())).await?;
        let Some(Ok(Message::Text(text))) = socket.next().await else {
            return Err("the bare host does not answer".into());
        };
        let t4_us = now_ns() / 1000;
        let times: Vec<i64> = text.split(' ').map(str::parse).collect::<Result<_, _>>()?;
        let [t1_us, t2_us, t3_us] = times[..] else { return Err("the bare host answers strangely".into()) };
        let exchange = Exchange { t1_us, t2_us, t3_us, t4_us };
        best = best.filter(|best| best.delay_us() <= exchange.delay_us()).or(Some(exchange));
        sleep_until(sent_ns + PING_BURST.1.as_nanos() as i64).await;
    }
    socket.send(Message::text(READY)).await?;
    Ok((socket, best.map_or(0, |best| best.offset_us() * 1000)))
}

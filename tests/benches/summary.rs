//! How long a seat waits for an acknowledgement while the summary is asked all the time: `cargo bench --bench summary`.
//!
//! A class of 20 seats × 8 teas × 8 steeps × 6 attributes that has all its scores. Every seat sends a revision, waits until
//! it is acknowledged, thinks for a moment and sends the next, for some seconds without anybody asking and for some seconds
//! with ten asks for the summary a second, in turn. The last line is one JSON object.

#![expect(clippy::unwrap_used, reason = "a benchmark that can't run ends")]
#![expect(clippy::disallowed_methods, reason = "a benchmark reads the clock and draws ids")]

#[path = "pool/classes.rs"]
#[expect(dead_code, reason = "the other benchmark draws a hundred classes")]
mod classes;

use futures_util::{SinkExt, StreamExt};
use host::clock::{HostClock, fresh_id};
use host::{Host, Opening, open};
use ledger::Sqlite;
use protocol::wire::{Hello, HostMessage, Join, SeatMessage, from_json};
use protocol::{Score, SeatId, Token};
use room::{Room, World};
use server::console::summary;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{MissedTickBehavior, interval, sleep};
use tokio_tungstenite::client_async;
use tokio_tungstenite::tungstenite::Message;

/// Each stretch with or without asking.
const STRETCH: Duration = Duration::from_secs(4);
/// How often one follows the other.
const TURNS: usize = 6;
/// How long a taster thinks between two sheets.
const THINKS: Duration = Duration::from_millis(25);
/// Ten a second.
const ASKED_EVERY: Duration = Duration::from_millis(100);

/// The time from sending a score to its acknowledgement, and whether the summary was being asked.
type Wait = (bool, Duration);

/// One seat that sends what it has scored again and again.
async fn seat(
    address: String,
    class_id: uuid::Uuid,
    seat: SeatId,
    name: String,
    scores: Vec<Score>,
    asking: Arc<AtomicBool>,
    over: Arc<AtomicBool>,
) -> Vec<Wait> {
    let stream = TcpStream::connect(&address).await.unwrap();
    stream.set_nodelay(true).unwrap();
    let (mut socket, _) = client_async("ws://localhost/", stream).await.unwrap();
    let hello = Hello::new(None, Some(Join::new(class_id, name, Token(seat.0))));
    socket.send(Message::text(SeatMessage::Hello(hello).to_json())).await.unwrap();
    let mut waits = Vec::new();
    for turn in 0.. {
        if over.load(Ordering::Relaxed) {
            break;
        }
        let id = fresh_id();
        let revision = 2 + (turn / scores.len()) as u32;
        let score = Score { id, revision, ..scores[turn % scores.len()].clone() };
        let (sent, asked) = (Instant::now(), asking.load(Ordering::Relaxed));
        socket.send(Message::text(SeatMessage::Score(score).to_json())).await.unwrap();
        loop {
            let Some(Ok(Message::Text(text))) = socket.next().await else { continue };
            match from_json::<HostMessage>(&text).unwrap() {
                HostMessage::Accepted { id: of, .. } if of == id => break,
                HostMessage::Declined { reason, .. } => panic!("{reason}"),
                HostMessage::Refusal { reason, .. } => panic!("{reason}"),
                _ => {}
            }
        }
        if asked == asking.load(Ordering::Relaxed) {
            waits.push((asked, sent.elapsed()));
        }
        sleep(THINKS).await;
    }
    waits
}

/// The waits at some shares of all, in milliseconds.
fn quantiles<const N: usize>(waits: &[Wait], asked: bool, shares: [f64; N]) -> [f64; N] {
    let mut ms: Vec<f64> =
        waits.iter().filter(|w| w.0 == asked).map(|w| w.1.as_secs_f64() * 1000.0).collect();
    ms.sort_by(f64::total_cmp);
    shares.map(|share| ms[((ms.len() - 1) as f64 * share) as usize])
}

fn main() {
    // Run as a test, it has nothing to say.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("class.ledger");
    let room: Room = classes::running(&path, 5);
    // Two threads, as the program has.
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let (waits, pages) = runtime.block_on(hold(&path, &room));
    let shares = [0.5, 0.9, 0.99];
    let (without, with) = (quantiles(&waits, false, shares), quantiles(&waits, true, shares));
    println!("                  median      90 %      99 %");
    println!("not asked     {:>7.2} ms {:>6.2} ms {:>6.2} ms", without[0], without[1], without[2]);
    println!("asked         {:>7.2} ms {:>6.2} ms {:>6.2} ms", with[0], with[1], with[2]);
    println!("{} scores, {pages} summaries", waits.len());
    println!(
        "{}",
        serde_json::json!({
            "bench": "summary", "p99_without_ms": without[2], "p99_with_ms": with[2], "ratio": with[2] / without[2],
            "goal": 1.5, "scores": waits.len(), "summaries": pages,
        })
    );
}

async fn hold(path: &std::path::Path, room: &Room) -> (Vec<Wait>, u64) {
    let world = World { unix_us: room.last_at.0 + 1_000_000, boot: None };
    let clock = HostClock::simulated(1.0);
    let opening = Opening {
        seed: 1,
        world,
        clock,
        ids: Box::new(fresh_id),
        open_door: true,
        door: room::DoorTerms { places: None, ..Default::default() },
    };
    let mut host = Host::start(open(Sqlite::open(path).unwrap(), room.class.clone(), opening).unwrap());
    let address = host.listen(TcpListener::bind("127.0.0.1:0").await.unwrap()).unwrap().to_string();
    let (asking, over) = (Arc::new(AtomicBool::new(false)), Arc::new(AtomicBool::new(false)));
    let seats: Vec<_> = room
        .seats
        .iter()
        .map(|s| {
            let scores = room.scores.of_seat(s.id).map(|kept| kept.score.clone()).collect();
            tokio::spawn(seat(
                address.clone(),
                room.class_id,
                s.id,
                s.name.clone(),
                scores,
                asking.clone(),
                over.clone(),
            ))
        })
        .collect();
    let pages = Arc::new(AtomicU64::new(0));
    let asks = tokio::spawn({
        let (desk, asking, pages) = (host.handle.clone(), asking.clone(), pages.clone());
        async move {
            let mut ticks = interval(ASKED_EVERY);
            ticks.set_missed_tick_behavior(MissedTickBehavior::Skip);
            loop {
                ticks.tick().await;
                if asking.load(Ordering::Relaxed) {
                    summary(&desk).await.unwrap();
                    pages.fetch_add(1, Ordering::Relaxed);
                }
            }
        }
    });
    for turn in 0..2 * TURNS {
        asking.store(turn % 2 == 1, Ordering::Relaxed);
        sleep(STRETCH).await;
    }
    over.store(true, Ordering::Relaxed);
    asks.abort();
    let mut waits = Vec::new();
    for seat in seats {
        waits.extend(seat.await.unwrap());
    }
    host.stop().await.unwrap();
    (waits, pages.load(Ordering::Relaxed))
}

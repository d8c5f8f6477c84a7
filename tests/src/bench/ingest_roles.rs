//! A room of seats that send scores as fast as they are acknowledged, and a bare loop that keeps them.

use super::Fallible;
use super::child::Parent;
use super::instant::now_ns;
use super::seats::JOINING;
use super::stamps::percentile;
use client::clock::Ids;
use fastrand::Rng;
use futures_util::{SinkExt, StreamExt};
use ledger::Sqlite;
use protocol::wire::{Hello, HostMessage, Join, SeatMessage, from_json};
use protocol::{Code, Score, SeatId, Strength, Token};
use room::Event;
use rusqlite::{Connection, TransactionBehavior, params};
use serde::{Deserialize, Serialize};
use std::path::PathBuf;
use std::sync::Arc;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc, watch};
use tokio_tungstenite::tungstenite::{Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, accept_async, client_async};
use uuid::Uuid;

/// How often every tea is steeped.
pub const STEEPS: u32 = 4;
/// How many scores a commit takes at most, as at the real host.
const BATCH: usize = 2048;

/// Who scores, and where.
#[derive(Clone, Serialize, Deserialize)]
pub struct Scorers {
    /// The host.
    pub address: String,
    /// How many.
    pub seats: usize,
    /// Whether the host wants to be told who comes.
    pub hello: bool,
}

/// A turn.
#[derive(Clone, Default, Serialize, Deserialize)]
pub struct Go {
    /// What has been poured.
    pub codes: Vec<Code>,
    /// How many scores of a seat may wait for their acknowledgement.
    pub in_flight: usize,
    /// From when on it counts, in nanoseconds of the shared clock.
    pub from_ns: i64,
    /// Until when.
    pub until_ns: i64,
}

/// What a turn gave.
#[derive(Serialize, Deserialize)]
pub struct Rate {
    /// Acknowledged per second, all seats together.
    pub scores_per_s: f64,
    /// From sending to acknowledgement: the middle.
    pub p50_ms: f64,
    /// And what 99 of 100 do not exceed.
    pub p99_ms: f64,
}

type Times = Result<Vec<i64>, String>;

/// Joins, and scores whenever it is told to.
pub async fn scorers(mut parent: Parent) -> Fallible<()> {
    let order: Scorers = parent.hear().await?;
    let gate = Arc::new(Semaphore::new(JOINING));
    let (say, mut said) = mpsc::unbounded_channel::<Times>();
    let (start, go) = watch::channel(Go::default());
    for number in 0..order.seats {
        let (order, gate, say, go) = (order.clone(), gate.clone(), say.clone(), go.clone());
        tokio::spawn(async move {
            if let Err(error) = sit(number, &order, &gate, &say, go).await {
                let _ = say.send(Err(format!("scorer {number}: {error}")));
            }
        });
    }
    let mut heard = async || -> Fallible<Vec<i64>> { Ok(said.recv().await.ok_or("no scorer is left")??) };
    for _ in 0..order.seats {
        heard().await?;
    }
    parent.tell(&true)?;
    loop {
        let go: Go = parent.hear().await?;
        start.send_replace(go.clone());
        let mut took_ms = Vec::new();
        for _ in 0..order.seats {
            took_ms.extend(heard().await?.iter().map(|&ns| ns as f64 / 1e6));
        }
        took_ms.sort_by(f64::total_cmp);
        let at = |part| percentile(&took_ms, part).ok_or("nothing was acknowledged");
        let scores_per_s = took_ms.len() as f64 / (go.until_ns - go.from_ns) as f64 * 1e9;
        parent.tell(&Rate { scores_per_s, p50_ms: at(0.5)?, p99_ms: at(0.99)? })?;
    }
}

async fn sit(
    number: usize,
    order: &Scorers,
    gate: &Semaphore,
    say: &mpsc::UnboundedSender<Times>,
    mut go: watch::Receiver<Go>,
) -> Fallible<()> {
    let place = gate.acquire().await?;
    let stream = TcpStream::connect(&order.address).await?;
    stream.set_nodelay(true)?;
    let (mut socket, _) = client_async(format!("ws://{}/", order.address), stream).await?;
    let (mut rng, mut ids) = (Rng::with_seed(number as u64), Ids::Random);
    if order.hello {
        let hello = |join| Message::text(SeatMessage::Hello(Hello::new(None, join)).to_json());
        socket.send(hello(None)).await?;
        let HostMessage::Greeting { .. } = hear(&mut socket).await? else {
            return Err("no greeting".into());
        };
        let HostMessage::Class { class_id, .. } = hear(&mut socket).await? else {
            return Err("no class".into());
        };
        let (name, token) = (format!("seat {number}"), Token(Uuid::from_u128(rng.u128(..))));
        socket.send(hello(Some(Join::new(class_id, name, token)))).await?;
        hear(&mut socket).await?;
    }
    drop(place);
    let _ = say.send(Ok(Vec::new()));
    let mut revision = 0;
    loop {
        go.changed().await?;
        let turn = go.borrow_and_update().clone();
        let (mut waiting, mut took_ns, mut going_on) = (Vec::new(), Vec::new(), turn.in_flight);
        loop {
            for _ in 0..std::mem::take(&mut going_on) {
                revision += 1;
                let score = score(revision, &turn.codes, &mut rng, &mut ids)?;
                waiting.push((score.id, now_ns()));
                socket.send(Message::text(SeatMessage::Score(score).to_json())).await?;
            }
            if waiting.is_empty() {
                break;
            }
            let id = match hear(&mut socket).await? {
                HostMessage::Accepted { id, .. } => id,
                // The class has begun, or another seat has come.
                HostMessage::Course { .. } | HostMessage::Here { .. } => continue,
                other => return Err(format!("a score was not taken: {other:?}").into()),
            };
            let now_ns = now_ns();
            let place = waiting.iter().position(|(waits, _)| *waits == id).ok_or("what was acknowledged?")?;
            let (_, sent_ns) = waiting.swap_remove(place);
            if (turn.from_ns..turn.until_ns).contains(&now_ns) {
                took_ns.push(now_ns - sent_ns);
            }
            going_on = usize::from(now_ns < turn.until_ns);
        }
        let _ = say.send(Ok(took_ns));
    }
}

async fn hear(socket: &mut WebSocketStream<TcpStream>) -> Fallible<HostMessage> {
    match socket.next().await {
        Some(Ok(Message::Text(text))) => Ok(from_json(&text)?),
        other => Err(format!("instead of a text came {other:?}").into()),
    }
}

/// The `revision`-th sheet of a seat: the cups in turn, every fourth with a note.
fn score(revision: u32, codes: &[Code], rng: &mut Rng, ids: &mut Ids) -> Fallible<Score> {
    let cups = codes.len() as u32 * STEEPS;
    let cup = revision % cups.max(1);
    let values = ["aroma", "taste", "aftertaste", "liking"].map(|name| (name.to_string(), rng.i32(1..=9)));
    Ok(Score {
        id: ids.draw_ordered(),
        code: *codes.get((cup / STEEPS) as usize).ok_or("no teas")?,
        steep: 1 + cup % STEEPS,
        revision,
        values: values.into(),
        strength: Some(Strength::try_from(rng.i8(-2..=2)).map_err(|_| "no such strength")?),
        note: if revision.is_multiple_of(4) { "clear, and sweet at the end".into() } else { String::new() },
        words: Vec::new(),
    })
}

/// Where a bare loop keeps scores.
#[derive(Serialize, Deserialize)]
pub struct Keeps {
    /// A file that is not there.
    pub path: PathBuf,
    /// In the tables of a ledger, with their checks and the index that lets a score count once, and not in a plain one.
    pub as_ledger: bool,
}

/// A score on its way to the disk, and how to acknowledge it.
struct Asked {
    seat: SeatId,
    score: Score,
    answer: mpsc::UnboundedSender<Utf8Bytes>,
}

/// The least that could keep scores: every connection parses, one task commits whatever has come meanwhile and
/// acknowledges it.
pub async fn host(mut parent: Parent) -> Fallible<()> {
    let Keeps { path, as_ledger } = parent.hear().await?;
    if as_ledger {
        Sqlite::open(&path)?;
    }
    let mut db = Connection::open(path)?;
    db.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
         CREATE TABLE IF NOT EXISTS event
           (seq INTEGER PRIMARY KEY, at_us INTEGER, kind TEXT, body TEXT) STRICT;",
    )?;
    let listener = TcpListener::bind("127.0.0.1:0").await?;
    parent.tell(&listener.local_addr()?.to_string())?;
    let (ask, mut asked) = mpsc::channel(2 * BATCH);
    tokio::spawn(async move {
        let mut rng = Rng::with_seed(1);
        while let Ok((stream, _)) = listener.accept().await {
            tokio::spawn(serve(stream, SeatId(Uuid::from_u128(rng.u128(..))), ask.clone()));
        }
    });
    let (mut seq, mut batch) = (0, Vec::new());
    while asked.recv_many(&mut batch, BATCH).await > 0 {
        let answers = commit(&mut db, &mut seq, batch.drain(..))?;
        for (answer, text) in answers {
            let _ = answer.send(text);
        }
    }
    Ok(())
}

type Answers = Vec<(mpsc::UnboundedSender<Utf8Bytes>, Utf8Bytes)>;

fn commit(db: &mut Connection, seq: &mut u64, batch: impl Iterator<Item = Asked>) -> Fallible<Answers> {
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut answers = Vec::new();
    {
        let mut insert = transaction
            .prepare_cached("INSERT INTO event (seq, at_us, kind, body) VALUES (?1, ?2, ?3, ?4)")?;
        for Asked { seat, score, answer } in batch {
            *seq += 1;
            let id = score.id;
            let body = serde_json::to_string(&Event::Scored { seat, score, on_paper: false })?;
            insert.execute(params![*seq as i64, now_ns() / 1000, "scored", body])?;
            answers.push((
                answer,
                HostMessage::Accepted { seq: *seq, id, link: String::new() }.to_json().into(),
            ));
        }
    }
    transaction.commit()?;
    Ok(answers)
}

async fn serve(stream: TcpStream, seat: SeatId, ask: mpsc::Sender<Asked>) -> Fallible<()> {
    stream.set_nodelay(true)?;
    let (mut out, mut words) = accept_async(stream).await?.split();
    let (answer, mut answers) = mpsc::unbounded_channel::<Utf8Bytes>();
    tokio::spawn(async move {
        while let Some(text) = answers.recv().await {
            out.feed(Message::Text(text)).await?;
            while let Ok(text) = answers.try_recv() {
                out.feed(Message::Text(text)).await?;
            }
            out.flush().await?;
        }
        Fallible::Ok(())
    });
    while let Some(Ok(Message::Text(text))) = words.next().await {
        if let SeatMessage::Score(score) = from_json(&text)? {
            ask.send(Asked { seat, score, answer: answer.clone() }).await?;
        }
    }
    Ok(())
}

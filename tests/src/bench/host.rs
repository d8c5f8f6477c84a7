//! The real host in a process of its own, as the teacher's program starts it.

use super::Fallible;
use super::child::Parent;
use super::instant::{host_ahead_ns, now_ns};
use super::machine::resident_kib;
use class::MAX_SEATS;
use class::read;
use host::door::terms::Terms;
use host::{Host, Opening, open};
use ledger::Sqlite;
use protocol::Action;
use room::Teacher;
use serde::{Deserialize, Serialize};
use std::path::PathBuf;
use tokio::net::TcpListener;

/// What class to hold, and where.
#[derive(Serialize, Deserialize)]
pub struct Opens {
    /// The class file's text.
    pub class: String,
    /// A folder that is there, for the ledger.
    pub folder: PathBuf,
    /// Host seconds per second.
    pub pace: f64,
    /// Whether seats are bounded as they are in a class.
    #[serde(default)]
    pub bounded: bool,
}

/// What a host is asked for after that.
#[derive(Serialize, Deserialize)]
pub enum Order {
    /// Begin the class; the answer is [`Started`].
    Start,
    /// Hold the class; the answer is when that was wished, in nanoseconds of the shared clock.
    Hold,
    /// Go on; the answer is the same.
    Resume,
    /// How much memory it has, in kibibytes.
    Memory,
}

/// The class has begun.
#[derive(Serialize, Deserialize)]
pub struct Started {
    /// The true instants of the cues that ring, in nanoseconds of the shared clock.
    pub cues_ns: Vec<i64>,
    /// The codes of the teas.
    pub codes: Vec<protocol::Code>,
    /// When everything has been poured, likewise.
    pub poured_ns: i64,
}

/// Opens a class and holds it as ordered. The first answer is the address.
pub async fn play(mut parent: Parent) -> Fallible<()> {
    let Opens { class, folder, pace, bounded } = parent.hear().await?;
    let class =
        read::class(&class).map_err(|faults| faults.render("class", &class, "nothing was measured"))?;
    let ledger = Sqlite::open(&folder.join("class.ledger"))?;
    // The door is no part of what is measured.
    let opening = Opening {
        open_door: true,
        door: room::DoorTerms { places: Some(MAX_SEATS), ..Default::default() },
        ..Opening::now(7, pace)
    };
    let terms = Terms::default();
    let terms = if bounded { terms } else { Terms { rate: None, ..terms } };
    let mut host = Host::start(open(ledger, class, opening)?).on(terms);
    let address = host.listen(TcpListener::bind("127.0.0.1:0").await?)?;
    // The console hears of everything, too.
    let (_, nothing) = tokio::sync::mpsc::unbounded_channel();
    let mut happenings = std::mem::replace(&mut host.happenings, nothing);
    tokio::spawn(async move { while happenings.recv().await.is_some() {} });
    parent.tell(&address.to_string())?;
    loop {
        match parent.hear().await? {
            Order::Start => {
                wish(&host, Teacher::Start { anyway: false }).await?;
                parent.tell(&started(&host, pace).await?)?;
            }
            Order::Hold => parent.tell(&wish(&host, Teacher::Hold).await?)?,
            Order::Resume => parent.tell(&wish(&host, Teacher::Resume).await?)?,
            Order::Memory => parent.tell(&resident_kib().unwrap_or(0.0))?,
        }
    }
}

async fn wish(host: &Host, wish: Teacher) -> Fallible<i64> {
    let at_ns = now_ns();
    host.handle.teacher(wish).await?.map_err(|refusal| refusal.reason)?;
    Ok(at_ns)
}

async fn started(host: &Host, pace: f64) -> Fallible<Started> {
    let room = host.handle.room().await?;
    let cues = &room.timetable.cues;
    let codes = room.class.coded().map(|(code, _)| code).collect();
    let last_pour = cues.iter().rfind(|c| c.action == Action::Pour).ok_or("nothing is poured")?.at;
    // At a pace there are no cues to be measured.
    if pace != 1.0 {
        let left_s = (last_pour - host.clock.now()) as f64 / 1e6 / pace;
        return Ok(Started { cues_ns: Vec::new(), codes, poured_ns: now_ns() + (left_s * 1e9) as i64 });
    }
    let ahead_ns = host_ahead_ns(&host.clock)?;
    let ringing = cues.iter().filter(|c| c.action != Action::SheetCloses);
    let mut cues_ns: Vec<i64> = ringing.map(|c| c.at.0 * 1000 - ahead_ns).collect();
    // What is due at one instant rings once, such as the lid of one tea and the pour of the next.
    cues_ns.dedup();
    Ok(Started { cues_ns, codes, poured_ns: last_pour.0 * 1000 - ahead_ns })
}

//! Hosts that die, and disks that fail, while scores come in: what was acknowledged is in the ledger afterwards, and the ledger
//! is whole. A few trials are in the tests, many are held by `cargo run --release -p tests --bin trials -- 500`.

use crate::model::ModelSeat;
use crate::program::path;
use host::stored;
use ledger::inspect;
use room::{Room, Teacher};
use std::collections::BTreeSet;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use tokio::time::sleep;
use uuid::Uuid;

const CLASS: &str = include_str!("../classes/four-by-three.toml");
const CODES: [&str; 4] = ["417", "238", "862", "305"];
/// How many scores are on their way at once.
const IN_FLIGHT: u32 = 8;

/// What ends a host.
#[derive(Clone, Copy, Debug)]
pub enum End {
    /// SIGKILL after so many acknowledgements and a little more.
    Kill {
        /// How many.
        after: u32,
        /// And microseconds.
        then_us: u64,
    },
    /// No file may grow beyond so many blocks of 512 bytes: the write that would make it so fails.
    Write(u32),
    /// The n-th call that synchronises a file fails, by way of strace.
    Sync(u32),
}

/// What was seen.
#[derive(Debug, Default)]
pub struct Seen {
    /// How many scores were acknowledged.
    pub acknowledged: usize,
    /// What the host said on standard error, if it ended by itself.
    pub said: String,
    /// Its exit code; none if it was killed.
    pub code: Option<i32>,
}

/// A folder with a class whose first round has been tasted.
pub struct Trials {
    folder: tempfile::TempDir,
}

impl Trials {
    /// Holds the first round of a class in this process.
    pub async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("class.toml"), CLASS).unwrap();
        let class = class::read::class(CLASS).unwrap();
        let ledger = ledger::Sqlite::open(&folder.path().join("tasted.ledger")).unwrap();
        let opened = host::open(ledger, class, host::Opening::now(1, 1000.0)).unwrap();
        let host = host::Host::start(opened);
        host.handle.teacher(Teacher::Start { anyway: true }).await.unwrap().unwrap();
        while !host
            .handle
            .view(0)
            .await
            .unwrap()
            .teas
            .iter()
            .all(|tea| tea.clock.steep >= 1 && tea.clock.state != protocol::SteepState::Steeping)
        {
            sleep(Duration::from_millis(5)).await;
        }
        while host.handle.teacher(Teacher::Hold).await.unwrap().is_err() {}
        host.stop().await.unwrap();
        Self { folder }
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Opens a host on a fresh copy of the class, lets a seat score until the end comes, and looks at the ledger.
    ///
    /// # Errors
    /// A promise that was broken, in words.
    pub async fn hold(&self, end: End) -> Result<Seen, String> {
        let ledger = self.file("tried.ledger");
        for ending in ["", "-wal", "-shm", "-mark"] {
            let _ = fs::remove_file(self.file(&format!("tried.ledger{ending}")));
        }
        fs::copy(self.file("tasted.ledger"), &ledger).unwrap();
        let mut host = self.start(end);
        let mut lines = BufReader::new(host.stdout.take().unwrap()).lines();
        let address = loop {
            match lines.next() {
                Some(Ok(line)) if line.starts_with("listening: ") => {
                    break Some(line.trim_start_matches("listening: ").to_string());
                }
                Some(Ok(_)) => {}
                // It failed before it was there.
                _ => break None,
            }
        };
        // What it says is read to its end, so that nothing waits for that.
        std::thread::spawn(move || lines.for_each(drop));
        let acknowledged = match address {
            None => BTreeSet::new(),
            Some(address) => scores(&address, &mut host, end).await,
        };
        let out = tokio::task::spawn_blocking(move || host.wait_with_output()).await.unwrap().unwrap();
        let seen = Seen {
            acknowledged: acknowledged.len(),
            said: String::from_utf8_lossy(&out.stderr).into_owned(),
            code: out.status.code(),
        };
        whole(&ledger, &acknowledged).map_err(|words| format!("{end:?}: {words}; {seen:?}"))?;
        Ok(seen)
    }

    /// Kills a host that is just being opened, on a new ledger or on one of an earlier schema, and opens it again.
    ///
    /// # Errors
    /// A promise that was broken, in words.
    pub fn start_up(&self, after_us: u64, earlier: bool) -> Result<(), String> {
        let ledger = self.file("young.ledger");
        for ending in ["", "-wal", "-shm", "-mark", "-mark.new"] {
            let _ = fs::remove_file(self.file(&format!("young.ledger{ending}")));
        }
        if earlier {
            older(&self.file("tasted.ledger"), &ledger);
        }
        let before = if earlier { stored::read(&ledger).unwrap().len() } else { 0 };
        let mut host = self.open(&ledger, Command::new(path("kettlecall")));
        pass(after_us);
        host.kill().unwrap();
        host.wait().unwrap();
        let mut host = self.open(&ledger, Command::new(path("kettlecall")));
        let opened = BufReader::new(host.stdout.take().unwrap())
            .lines()
            .any(|line| line.unwrap().starts_with("join: "));
        host.kill().unwrap();
        let said = String::from_utf8(host.wait_with_output().unwrap().stderr).unwrap();
        if !opened {
            return Err(format!("killed after {after_us} µs it does not open again: {said}"));
        }
        whole(&ledger, &BTreeSet::new())?;
        let after = stored::read(&ledger).unwrap().len();
        if after > before { Ok(()) } else { Err(format!("{before} entries became {after}")) }
    }

    fn open(&self, ledger: &Path, mut command: Command) -> Child {
        let class = self.file("class.toml");
        command
            .args([
                "open",
                class.to_str().unwrap(),
                "--listen",
                "127.0.0.1:0",
                "--open-door",
                "--pace",
                "1000",
                "--ledger",
            ])
            .arg(ledger)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    fn start(&self, end: End) -> Child {
        let program = path("kettlecall");
        let command = match end {
            End::Kill { .. } => Command::new(program),
            End::Write(blocks) => {
                // The signal that a file has grown too large is ignored, so that the write fails instead.
                let mut shell = Command::new("sh");
                shell
                    .args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"")])
                    .arg(program);
                shell
            }
            End::Sync(n) => {
                let mut strace = Command::new("strace");
                let inject = format!("inject=fsync,fdatasync:error=EIO:when={n}");
                // The host itself is the child, and not what watches it.
                strace.args(["-D", "-f", "-qq", "-o", "/dev/null", "-e", &inject]).arg(program);
                strace
            }
        };
        self.open(&self.file("tried.ledger"), command)
    }
}

/// Sends scores, some at once, until the host is gone or has taken enough; gives those that were acknowledged.
async fn scores(address: &str, host: &mut Child, end: End) -> BTreeSet<String> {
    let mut seat = ModelSeat::dial(address).await.join("Ann", None).await;
    let enough = match end {
        End::Kill { after, .. } => after,
        End::Write(_) | End::Sync(_) => 300,
    };
    let mut sent = 0;
    while !seat.ended && (seat.accepted.len() as u32) < enough {
        while sent < enough + IN_FLIGHT && sent < seat.accepted.len() as u32 + IN_FLIGHT {
            let code = CODES[sent as usize % CODES.len()];
            seat.score(code, 1, sent / CODES.len() as u32 + 1, "liking", 5).await;
            sent += 1;
        }
        let before = seat.accepted.len();
        seat.until(|s| s.ended || s.accepted.len() > before || !s.declined.is_empty()).await;
        assert!(seat.declined.is_empty(), "{:?}", seat.declined);
    }
    if let End::Kill { then_us, .. } = end {
        pass(then_us);
    }
    // A host that let the seat go ends by itself.
    if !seat.ended {
        let _ = host.kill();
    }
    // What was acknowledged and had not been read yet counts, too.
    while !seat.ended {
        let before = seat.accepted.len();
        seat.until(|s| s.ended || s.accepted.len() > before).await;
    }
    seat.accepted.into_keys().collect()
}

#[expect(clippy::disallowed_methods, reason = "a host is killed at any moment, and not when something is so")]
fn pass(us: u64) {
    std::thread::sleep(Duration::from_micros(us));
}

/// Whether a ledger is whole, and holds what was acknowledged.
fn whole(ledger: &Path, acknowledged: &BTreeSet<String>) -> Result<(), String> {
    let found = inspect(ledger, |_| Ok(())).map_err(|e| e.to_string())?;
    if let Some(broken) = found.broken {
        return Err(format!("the ledger is not whole: {broken}"));
    }
    let room = Room::replay(stored::read(ledger).map_err(|e| e.to_string())?)?;
    let there = |id: &String| room.scores.get(Uuid::parse_str(id).unwrap()).is_some();
    match acknowledged.iter().filter(|id| !there(id)).count() {
        0 => Ok(()),
        lost => Err(format!("{lost} of {} acknowledged scores are lost", acknowledged.len())),
    }
}

/// The same class in a ledger as it was before entries were chained.
fn older(ledger: &Path, to: &Path) {
    let old = rusqlite::Connection::open(to).unwrap();
    let first = include_str!("../../server/ledger/migrations/0001_events.sql");
    let second = include_str!("../../server/ledger/migrations/0002_score_once.sql");
    old.execute_batch(&format!(
        "{first};{second};PRAGMA application_id = 1262701644; PRAGMA user_version = 2;"
    ))
    .unwrap();
    ledger::visit(ledger, |record| {
        let insert = "INSERT INTO event VALUES (?1, ?2, ?3, ?4)";
        old.execute(insert, (record.seq as i64, record.at.0, &record.kind, &record.json)).unwrap();
        Ok(())
    })
    .unwrap();
}

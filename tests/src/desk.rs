//! A host inside the test's own process, for tests in paused time and for knocking on its door.

use crate::model::ModelSeat;
use class::read;
use host::clock::{HostClock, fresh_id};
use host::{Host, Opening, open};
use ledger::Sqlite;
use room::World;
use std::path::Path;
use tempfile::TempDir;

/// A host with its ledger in a folder of its own.
pub struct InProcess {
    /// The host.
    pub host: Host,
    /// Where its ledger lies; goes away with this.
    pub folder: TempDir,
}

impl InProcess {
    /// Opens a class of the given text at a pace.
    pub fn open(class: &str, pace: f64) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let host = host_in(folder.path(), class, pace, 0);
        Self { host, folder }
    }

    /// A model seat over a pipe in memory, with the class's join code.
    pub async fn connect(&self) -> ModelSeat {
        self.stranger().await.with(&join_code(&self.host).await)
    }

    /// A model seat that knows nothing of the class.
    pub async fn stranger(&self) -> ModelSeat {
        let (near, far) = tokio::io::duplex(64 * 1024);
        tokio::spawn(self.host.door.clone().serve(far, None));
        ModelSeat::connect(near).await
    }
}

/// The join code on the host's screen.
pub async fn join_code(host: &Host) -> String {
    host.handle.room().await.unwrap().join_code.unwrap().to_string()
}

/// A host on the ledger `class.ledger` of a folder, new or continued, opened when a wall clock of the test's own
/// shows `unix_us`.
pub fn host_in(folder: &Path, class: &str, pace: f64, unix_us: i64) -> Host {
    host_with(folder, class, pace, World { unix_us, boot: None })
}

/// The same at pace 1, when the machine's clocks show `world`.
pub fn host_at(folder: &Path, class: &str, world: World) -> Host {
    host_with(folder, class, 1.0, world)
}

fn host_with(folder: &Path, class: &str, pace: f64, world: World) -> Host {
    let ledger = Sqlite::open(&folder.join("class.ledger")).unwrap();
    let clock = HostClock::simulated(pace);
    let opening = Opening {
        seed: 7,
        world,
        clock,
        ids: Box::new(fresh_id),
        open_door: false,
        door: room::DoorTerms { places: Some(class::MAX_SEATS), ..Default::default() },
    };
    Host::start(open(ledger, read::class(class).unwrap(), opening).unwrap())
}

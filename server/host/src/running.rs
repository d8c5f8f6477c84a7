//! A host at work: the owner, the door and the clock of an opened class put together.

use crate::ask::{ASKS, Happening};
use crate::clock::HostClock;
use crate::door::Door;
use crate::door::terms::Terms;
use crate::error::HostError;
use crate::handle::HostHandle;
use crate::opening::Opened;
use crate::owner::Owner;
use ledger::LedgerError;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio::time::timeout;

/// A host at work.
pub struct Host {
    /// How to ask the owner.
    pub handle: HostHandle,
    /// What happens, in the order of the ledger.
    pub happenings: mpsc::UnboundedReceiver<Happening>,
    /// The host's clock.
    pub clock: HostClock,
    /// The door, for connections that do not come through a listener.
    pub door: Door,
    owner: JoinHandle<Result<PathBuf, LedgerError>>,
    doors: Vec<JoinHandle<()>>,
    all_gone: mpsc::Receiver<()>,
}

impl Host {
    /// Starts the owner of an opened class. Must be called inside a tokio runtime.
    pub fn start(mut opened: Opened) -> Self {
        let clock = opened.clock;
        let (asks, inbox) = mpsc::channel(ASKS);
        let (happen, happenings) = mpsc::unbounded_channel();
        let nonces = (opened.ids)();
        let owner = tokio::spawn(Owner::new(opened, happen).run(inbox));
        let (open, all_gone) = mpsc::channel(1);
        let door = Door::new(asks.clone(), clock, nonces, open);
        Self { handle: HostHandle::new(asks), happenings, clock, door, owner, doors: Vec::new(), all_gone }
    }

    /// The same host with a door on these terms.
    pub fn on(self, terms: Terms) -> Self {
        Self { door: self.door.on(terms), ..self }
    }

    /// Lets seats in at a listener; gives its address.
    ///
    /// # Errors
    /// The listener has no address.
    pub fn listen(&mut self, listener: TcpListener) -> std::io::Result<SocketAddr> {
        let address = listener.local_addr()?;
        self.doors.push(tokio::spawn(self.door.clone().listen(listener)));
        Ok(address)
    }

    /// Waits until the owner has ended by itself, which it does only when its ledger fails.
    pub async fn failed(&mut self) -> HostError {
        match (&mut self.owner).await {
            Ok(Err(error)) => error.into(),
            _ => HostError::Stopped,
        }
    }

    /// Ends at once, as a crash does: nothing more is written, no seat is notified. For tests and rehearsals of a restart.
    pub async fn crash(self) {
        self.doors.iter().for_each(JoinHandle::abort);
        self.owner.abort();
        // The ledger is free once the owner is gone.
        let _ = self.owner.await;
    }

    /// Stops in good order: the class is held if it runs, every seat is notified, the ledger is closed. Where the ledger lies.
    ///
    /// # Errors
    /// The ledger could not be written at the last.
    pub async fn stop(self) -> Result<PathBuf, HostError> {
        let Self { handle, door, owner, doors, mut all_gone, .. } = self;
        doors.iter().for_each(JoinHandle::abort);
        handle.stop().await;
        drop(door);
        let ended = owner.await.map_err(|_| HostError::Stopped)?;
        // Give the connections a moment to pass the last message on.
        let _ = timeout(Duration::from_secs(3), all_gone.recv()).await;
        Ok(ended?)
    }
}

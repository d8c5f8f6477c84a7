//! How the console, the tests and the demo talk to the owner.

use crate::ask::{Ask, AtDoor};
use crate::error::HostError;
use protocol::HostTime;
use room::view::View;
use room::{Console, Refusal, Room, Teacher};
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot};

/// Asks the owner of a running class, for one console.
#[derive(Clone, Debug)]
pub struct HostHandle {
    asks: mpsc::Sender<Ask>,
    console: Console,
}

impl HostHandle {
    pub(crate) fn new(asks: mpsc::Sender<Ask>) -> Self {
        Self { asks, console: Console::Host }
    }

    /// The same for another console: what the teacher does through it is that console's in the ledger.
    pub fn at(&self, console: Console) -> Self {
        Self { asks: self.asks.clone(), console }
    }

    /// Whose it is.
    pub fn console(&self) -> &Console {
        &self.console
    }

    /// Asks for a stop. An owner that has stopped already needs none.
    pub(crate) async fn stop(self) {
        let _ = self.asks.send(Ask::Stop).await;
    }

    async fn ask<T>(&self, ask: impl FnOnce(oneshot::Sender<T>) -> Ask) -> Result<T, HostError> {
        let (answer, result) = oneshot::channel();
        self.asks.send(ask(answer)).await.map_err(|_| HostError::Stopped)?;
        result.await.map_err(|_| HostError::Stopped)
    }

    /// Passes on a teacher's wish; whether it changed anything, or why it can't be.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn teacher(&self, wish: Teacher) -> Result<Result<bool, Refusal>, HostError> {
        let console = self.console.clone();
        self.ask(|answer| Ask::Teacher(wish, console, answer)).await
    }

    /// Lets people in who are at the door: names with commas between, or `all`; whether it changed anything, or why it can't be.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn admit(&self, names: &str) -> Result<Result<bool, Refusal>, HostError> {
        let console = self.console.clone();
        self.ask(|answer| Ask::Admit(names.into(), console, answer)).await
    }

    /// Has people let in by name from now on, or no longer, where that is wished. How it is then.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn lobby(&self, by_name: Option<bool>) -> Result<AtDoor, HostError> {
        let console = self.console.clone();
        self.ask(|answer| Ask::Lobby(by_name, console, answer)).await
    }

    /// Gives the class so many places from now on.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn places(&self, places: u32) -> Result<(), HostError> {
        self.asks.send(Ask::Places(places, self.console.clone())).await.map_err(|_| HostError::Stopped)
    }

    /// The class as it is now, with at most `coming` cues ahead.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn view(&self, coming: usize) -> Result<View, HostError> {
        self.ask(|answer| Ask::View(coming, answer)).await
    }

    /// The whole state as it is now.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn room(&self) -> Result<Arc<Room>, HostError> {
        Ok(self.room_now().await?.0)
    }

    /// The whole state as it is now, and what the time is. Whatever is computed from it keeps nobody waiting.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn room_now(&self) -> Result<(Arc<Room>, HostTime), HostError> {
        self.ask(Ask::Room).await
    }
}

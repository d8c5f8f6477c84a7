//! What waits for the thread that writes.

use crate::KEPT_BYTES;
use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::Notify;

#[derive(Default)]
pub(crate) struct Queue {
    waiting: Mutex<Waiting>,
    changed: Condvar,
    idle: Notify,
}

#[derive(Default)]
struct Waiting {
    pieces: VecDeque<Piece>,
    /// How much of that is lines.
    bytes: usize,
    /// How many lines had to go, all older than those that wait.
    left_out: usize,
    /// Whether the thread is at a piece that it has taken.
    writing: bool,
    /// Why nobody will ever read any more.
    gone: Option<Gone>,
}

struct Piece {
    bytes: Vec<u8>,
    is_line: bool,
}

/// An error that can be told more than once.
#[derive(Clone, Copy)]
struct Gone {
    kind: io::ErrorKind,
    code: Option<i32>,
}

impl From<Gone> for io::Error {
    fn from(gone: Gone) -> Self {
        gone.code.map_or_else(|| gone.kind.into(), io::Error::from_raw_os_error)
    }
}

impl Waiting {
    fn is_idle(&self) -> bool {
        self.gone.is_some() || self.pieces.is_empty() && !self.writing
    }

    /// What is written next.
    fn take(&mut self) -> Option<Vec<u8>> {
        if self.left_out > 0 && self.pieces.front().is_some_and(|piece| piece.is_line) {
            let lines = match std::mem::take(&mut self.left_out) {
                1 => "1 line is".into(),
                n => format!("{n} lines are"),
            };
            return Some(format!("({lines} left out here: nobody was reading)\n").into_bytes());
        }
        let next = self.pieces.pop_front()?;
        self.bytes -= if next.is_line { next.bytes.len() } else { 0 };
        Some(next.bytes)
    }

    fn leave_out_the_oldest_line(&mut self) {
        let oldest = self.pieces.iter().position(|piece| piece.is_line);
        let oldest = oldest.and_then(|place| self.pieces.remove(place));
        self.bytes -= oldest.map_or(0, |oldest| oldest.bytes.len());
        self.left_out += 1;
    }
}

impl Queue {
    fn lock(&self) -> MutexGuard<'_, Waiting> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn add(&self, add: impl FnOnce(&mut Waiting)) {
        let mut waiting = self.lock();
        if waiting.gone.is_none() {
            add(&mut waiting);
        }
        drop(waiting);
        self.changed.notify_all();
    }

    /// A line, behind all others; the oldest go if too many wait.
    pub(crate) fn line(&self, bytes: Vec<u8>) {
        self.add(|waiting| {
            while waiting.bytes > 0 && waiting.bytes + bytes.len() > KEPT_BYTES {
                waiting.leave_out_the_oldest_line();
            }
            waiting.bytes += bytes.len();
            waiting.pieces.push_back(Piece { bytes, is_line: true });
        });
    }

    /// What is never left out.
    pub(crate) fn whole(&self, bytes: Vec<u8>) {
        self.add(|waiting| waiting.pieces.push_back(Piece { bytes, is_line: false }));
    }

    /// What comes before all others, once.
    pub(crate) fn first(&self, bytes: &[u8]) {
        self.add(|waiting| {
            if waiting.pieces.front().is_none_or(|first| first.bytes != bytes) {
                waiting.pieces.push_front(Piece { bytes: bytes.to_vec(), is_line: false });
            }
        });
    }

    /// # Errors
    /// Why nobody will ever read any more.
    pub(crate) fn is_read(&self) -> io::Result<()> {
        self.lock().gone.map_or(Ok(()), |gone| Err(gone.into()))
    }

    pub(crate) fn is_idle(&self) -> bool {
        self.lock().is_idle()
    }

    pub(crate) async fn idle(&self) {
        loop {
            let mut idle = std::pin::pin!(self.idle.notified());
            // From here on nothing is missed.
            idle.as_mut().enable();
            if self.is_idle() {
                return;
            }
            idle.await;
        }
    }

    pub(crate) fn finish(&self, patience: Duration) -> bool {
        let waited = self.changed.wait_timeout_while(self.lock(), patience, |waiting| !waiting.is_idle());
        waited.is_ok_and(|(_, waited)| !waited.timed_out())
    }

    /// Writes what comes until nothing can be written any more.
    pub(crate) fn write_to(&self, mut to: impl Write) {
        loop {
            let piece = self.next();
            let written = to.write_all(&piece).and_then(|()| to.flush());
            let mut waiting = self.lock();
            waiting.writing = false;
            if let Err(error) = &written {
                waiting.gone = Some(Gone { kind: error.kind(), code: error.raw_os_error() });
                waiting.pieces = VecDeque::new();
            }
            let idle = waiting.is_idle();
            drop(waiting);
            if idle {
                self.changed.notify_all();
                self.idle.notify_waiters();
            }
            if written.is_err() {
                return;
            }
        }
    }

    fn next(&self) -> Vec<u8> {
        let mut waiting = self.lock();
        loop {
            if let Some(piece) = waiting.take() {
                waiting.writing = true;
                return piece;
            }
            waiting = self.changed.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

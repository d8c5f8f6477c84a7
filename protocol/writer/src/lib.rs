//! Standard output by a thread of its own. Whoever has something to say hands it over and goes on: a pipe that nobody
//! empties and a terminal that somebody has stopped hold up this thread and nothing else.
//!
//! What waits is bounded. Of lines the newest [`KEPT_BYTES`] wait, and when the reader wakes up a line says how many older
//! ones were left out where they would have stood. Of a screen one drawing waits: whoever draws asks [`Writer::is_idle`]
//! first and else draws later, so that what comes next is whole.

mod queue;
pub mod screen;
#[cfg(test)]
mod tests;

use queue::Queue;
use std::io::{self, Write};
use std::sync::Arc;
use std::time::Duration;

/// How much of what lines say waits for a reader, in bytes: more than all that a console says of a large class.
pub const KEPT_BYTES: usize = 256 * 1024;
/// How long the end of a program waits until its last words are taken.
pub const LAST_WORDS: Duration = Duration::from_secs(2);

const BELL: &[u8] = b"\x07";

/// Hands what is to be written to the thread that writes. The thread lives as long as the process.
#[derive(Clone)]
pub struct Writer(Arc<Queue>);

impl Writer {
    /// Onto standard output.
    ///
    /// # Errors
    /// The machine has no thread to give.
    pub fn stdout() -> io::Result<Self> {
        Self::onto(io::stdout())
    }

    /// Onto standard error.
    ///
    /// # Errors
    /// The machine has no thread to give.
    pub fn stderr() -> io::Result<Self> {
        Self::onto(io::stderr())
    }

    /// Onto anything.
    ///
    /// # Errors
    /// The machine has no thread to give.
    pub fn onto(to: impl Write + Send + 'static) -> io::Result<Self> {
        let queue = Arc::new(Queue::default());
        let of_thread = queue.clone();
        std::thread::Builder::new().name("writer".into()).spawn(move || of_thread.write_to(to))?;
        Ok(Self(queue))
    }

    /// For lines, of which the oldest are left out if too many wait.
    pub fn lines(&self) -> Lines {
        Lines { queue: self.0.clone(), part: Vec::new() }
    }

    /// For what must come whole, as a drawing on a terminal; it goes with each flush. Whoever draws asks first whether the
    /// writer is idle.
    pub fn whole(&self) -> Whole {
        Whole { queue: self.0.clone(), part: Vec::new() }
    }

    /// Rings the terminal's bell, before all that waits. A bell that waits already is enough.
    pub fn bell(&self) {
        self.0.first(BELL);
    }

    /// Whether all has been taken, or nobody will ever take any more.
    pub fn is_idle(&self) -> bool {
        self.0.is_idle()
    }

    /// Comes when all has been taken.
    pub async fn idle(&self) {
        self.0.idle().await;
    }

    /// Waits until all has been taken, but no longer than `patience`; whether it has.
    pub fn finish(&self, patience: Duration) -> bool {
        self.0.finish(patience)
    }
}

/// Says the last words of a program that ends badly on standard error, without waiting for long. It may be closed, or
/// nobody may read it; there is nobody left to tell then.
pub fn last_words(words: &str) {
    let said = Writer::stderr().and_then(|out| {
        writeln!(out.lines(), "{words}")?;
        Ok(out.finish(LAST_WORDS))
    });
    drop(said);
}

/// Lines on their way out; see [`Writer::lines`].
pub struct Lines {
    queue: Arc<Queue>,
    part: Vec<u8>,
}

impl Write for Lines {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.queue.is_read()?;
        self.part.extend_from_slice(bytes);
        if let Some(end) = self.part.iter().rposition(|&byte| byte == b'\n') {
            let rest = self.part.split_off(end + 1);
            let lines = std::mem::replace(&mut self.part, rest);
            lines.split_inclusive(|&byte| byte == b'\n').for_each(|line| self.queue.line(line.to_vec()));
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.queue.is_read()?;
        if !self.part.is_empty() {
            self.queue.line(std::mem::take(&mut self.part));
        }
        Ok(())
    }
}

/// What must come whole on its way out; see [`Writer::whole`].
pub struct Whole {
    queue: Arc<Queue>,
    part: Vec<u8>,
}

impl Write for Whole {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.queue.is_read()?;
        self.part.extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.queue.is_read()?;
        if !self.part.is_empty() {
            self.queue.whole(std::mem::take(&mut self.part));
        }
        Ok(())
    }
}

//! The consoles that lead from elsewhere or look on, each a console of lines beside the host's own.

use super::About;
use super::line::{LineConsole, May, Reply};
use host::clock::HostClock;
use host::consoles::{Remote, Shown};
use host::{Happening, HostError, HostHandle};
use protocol::text::message;
use room::Console;
use std::time::Duration;
use tokio::sync::{broadcast, mpsc};
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::timeout;

/// How many happenings may wait for a console that reads slowly; one that falls farther behind hears how many it missed.
const WAITING: usize = 1024;
/// How much of a page goes out at once, in bytes.
const PART_BYTES: usize = 32 * 1024;
/// How long the end of the host waits for the last words to be passed on.
const LAST_WORDS: Duration = Duration::from_secs(3);

/// All of them.
pub struct Elsewhere {
    tell: broadcast::Sender<Happening>,
    served: JoinHandle<()>,
}

impl Elsewhere {
    /// Serves whoever comes. Must be called inside a tokio runtime.
    pub fn serve(host: HostHandle, clock: HostClock, about: About, come: mpsc::Receiver<Remote>) -> Self {
        let (tell, told) = broadcast::channel(WAITING);
        let served = tokio::spawn(all(host, clock, about, come, told));
        Self { tell, served }
    }

    /// They hear of what the host's own console hears of.
    pub fn tell(&self, happening: &Happening) {
        // Nobody may be there.
        let _ = self.tell.send(happening.clone());
    }

    /// The host is about to end: they hear all there is to hear, and are let go.
    pub async fn end(self) {
        drop(self.tell);
        let mut served = self.served;
        if timeout(LAST_WORDS, &mut served).await.is_err() {
            served.abort();
        }
    }
}

async fn all(
    host: HostHandle,
    clock: HostClock,
    mut about: About,
    mut come: mpsc::Receiver<Remote>,
    mut told: broadcast::Receiver<Happening>,
) {
    let mut consoles = JoinSet::new();
    loop {
        tokio::select! {
            biased;
            remote = come.recv() => match remote {
                Some(remote) => {
                    let host = host.at(Console::Lead(remote.name.clone()));
                    consoles.spawn(one(remote, host, clock, about.clone(), told.resubscribe()));
                }
                None => break,
            },
            happening = told.recv() => match happening {
                Ok(Happening::Moved(ledger)) => about.ledger = ledger,
                Err(broadcast::error::RecvError::Closed) => break,
                _ => {}
            },
            Some(_) = consoles.join_next(), if !consoles.is_empty() => {}
        }
    }
    while consoles.join_next().await.is_some() {}
}

/// A console is gone, or the host is; neither needs more words here.
struct Gone;

impl From<HostError> for Gone {
    fn from(_: HostError) -> Self {
        Self
    }
}

async fn one(
    remote: Remote,
    host: HostHandle,
    clock: HostClock,
    about: About,
    told: broadcast::Receiver<Happening>,
) {
    // Whatever ended it, its link ends with it.
    let _ = lead(remote, host, clock, about, told).await;
}

async fn lead(
    mut remote: Remote,
    host: HostHandle,
    clock: HostClock,
    about: About,
    mut told: broadcast::Receiver<Happening>,
) -> Result<(), Gone> {
    let may = if remote.acts { May::Lead } else { May::Look };
    let mut console = LineConsole::new(host, clock, about, may).await?;
    show(&remote, console.heading().await?).await?;
    loop {
        tokio::select! {
            biased;
            happening = told.recv() => {
                let lines = match happening {
                    Ok(happening) => console.happened(&happening, told.is_empty()).await,
                    Err(broadcast::error::RecvError::Lagged(missed)) => {
                        vec![format!("notice: this console has fallen behind and missed {missed} lines; `who` and `summary` show how it stands")]
                    }
                    Err(broadcast::error::RecvError::Closed) => break,
                };
                show(&remote, lines).await?;
            }
            () = console.until_cue() => {
                let lines = console.due().await;
                show(&remote, lines).await?;
            }
            line = remote.typed.recv() => {
                let reply = console.typed(&line.ok_or(Gone)?).await?;
                let shown = match reply {
                    Reply::Shown(shown) => shown,
                    // No console elsewhere may.
                    Reply::Stop => Vec::new(),
                };
                show(&remote, shown).await?;
            }
        }
    }
    let last = console.last_page().await?;
    let is_over = !last.is_empty();
    show(&remote, last).await?;
    if is_over {
        remote.shows.send(Shown::Over).await.map_err(|_| Gone)?;
    }
    Ok(())
}

async fn show(remote: &Remote, texts: Vec<String>) -> Result<(), Gone> {
    for text in &texts {
        for part in parts(&message(text)) {
            remote.shows.send(Shown::Text(part)).await.map_err(|_| Gone)?;
        }
    }
    Ok(())
}

/// A page in parts of whole lines.
fn parts(text: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for line in text.split('\n') {
        match parts.last_mut().filter(|part| part.len() + line.len() < PART_BYTES) {
            Some(part) => {
                part.push('\n');
                part.push_str(line);
            }
            None => parts.push(line.into()),
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_page_goes_out_in_parts_that_make_the_same_page() {
        for page in ["", "\n", "one line", "\nan empty line first", &"a line of a page\n".repeat(9_000)] {
            let parts = parts(page);
            assert_eq!(parts.join("\n"), page);
            assert!(parts.iter().all(|part| part.len() <= PART_BYTES));
        }
    }
}

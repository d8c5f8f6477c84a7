//! The teacher's side: the same words of command on a terminal and on a pipe.

pub mod address;
pub mod command;
pub mod cues;
pub mod lines;
pub mod roster;
pub mod screen;
pub mod terminal;
pub mod words;

use command::Typed;
use host::door::limits::step_back;
use host::{Host, HostError, HostHandle};
use std::path::PathBuf;
use summary::{Summary, summarise};
use tokio::sync::oneshot;

/// What a console needs to know besides the host.
#[derive(Clone, Debug)]
pub struct About {
    /// The class's title and day.
    pub heading: String,
    /// How to join, ready to be typed by a person.
    pub join: String,
    /// Where the door listens.
    pub listening: String,
    /// Where the ledger lies.
    pub ledger: PathBuf,
    /// What was worth telling at the opening.
    pub notices: Vec<String>,
}

impl About {
    /// The host has left its ledger there; what is to be said if that is not where it was.
    fn left(&mut self, ledger: PathBuf) -> Option<String> {
        let before = std::mem::replace(&mut self.ledger, ledger);
        (before != self.ledger).then(|| {
            format!(
                "notice: {} was changed by another program while the host had it open; everything that was kept has been written to {}",
                before.display(),
                self.ledger.display()
            )
        })
    }
}

/// How a console ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The class is closed.
    Closed,
    /// The teacher stopped the host; the class can be continued.
    Stopped,
}

/// What a typed command answers.
enum Answer {
    /// Words to show.
    Words(String),
    /// A long text to read.
    Page(String),
    /// End the host.
    Stop,
}

/// Carries out a typed command.
async fn carry_out(host: &HostHandle, typed: Typed) -> Result<Answer, HostError> {
    Ok(match typed {
        Typed::Teacher(wish) => match host.teacher(wish).await? {
            Ok(true) => Answer::Words(String::new()),
            Ok(false) => Answer::Words("it is so already".into()),
            Err(refusal) => Answer::Words(format!("not done: {}", refusal.reason)),
        },
        Typed::Summary => Answer::Page(summary(host).await?),
        Typed::Who => Answer::Page(words::who(&host.view(0).await?)),
        Typed::Key => Answer::Page(words::key(&*host.room().await?)),
        Typed::Help => Answer::Page(command::HELP.into()),
        Typed::Stop => Answer::Stop,
    })
}

/// What the class has found so far, as a page. It is computed beside the class, which never waits for it.
///
/// # Errors
/// The host has stopped.
pub async fn summary(host: &HostHandle) -> Result<String, HostError> {
    found(host, report::text::text).await
}

/// What is said of what the class has found so far, in words of one kind.
async fn found(host: &HostHandle, say: fn(&Summary) -> String) -> Result<String, HostError> {
    let (room, now) = host.room_now().await?;
    let (send, page) = oneshot::channel();
    std::thread::spawn(move || {
        step_back();
        // Whoever asked may have gone.
        let _ = send.send(say(&summarise(&room, now)));
    });
    page.await.map_err(|_| HostError::Stopped)
}

/// Runs the console that fits: a full screen on a terminal, lines otherwise. Stops the host in the end.
///
/// # Errors
/// The host failed, or the terminal did.
pub async fn run(host: Host, about: About, on_terminal: bool) -> Result<Ended, ConsoleError> {
    if on_terminal { terminal::run(host, about).await } else { lines::run(host, about).await }
}

/// Why a console ended badly.
#[derive(Debug, thiserror::Error)]
pub enum ConsoleError {
    /// The host.
    #[error(transparent)]
    Host(#[from] HostError),
    /// The terminal, or standard output.
    #[error("the terminal or the output failed: {0}")]
    Io(#[from] std::io::Error),
}

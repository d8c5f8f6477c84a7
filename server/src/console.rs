//! The teacher's side: the same words of command on a terminal and on a pipe.

pub mod address;
pub mod command;
pub mod cues;
pub mod elsewhere;
pub mod keys;
pub mod line;
pub mod lines;
pub mod roster;
pub mod screen;
pub mod suggested;
pub mod terminal;
pub mod words;

use command::Typed;
use elsewhere::Elsewhere;
use host::clock::{fresh_id, since_us};
use host::consoles::Remote;
use host::door::limits::step_back;
use host::{Host, HostError, HostHandle};
use keys::KeyRing;
use protocol::{JoinCode, Pin};
use room::{Refusal, Teacher, Who};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use summary::{Summary, summarise};
use tokio::sync::{mpsc, oneshot};

/// What a console needs to know besides the host.
#[derive(Clone, Debug)]
pub struct About {
    /// The class's title and day.
    pub heading: String,
    /// The address to dial, ready to be typed by a person.
    pub address: String,
    /// By what a seat knows the host, if it speaks TLS.
    pub pin: Option<Pin>,
    /// Whether a new seat needs no join code.
    pub open_door: bool,
    /// Where the door listens.
    pub listening: String,
    /// Where the ledger lies.
    pub ledger: PathBuf,
    /// What was worth telling at the opening.
    pub notices: Vec<String>,
    /// The keys for consoles elsewhere, where there are any.
    pub keys: Option<Arc<KeyRing>>,
    /// What becomes of blind teas at the end, for all consoles.
    pub at_close: AtClose,
}

/// Who wants the names of blind teas told once the class has closed, if anybody does.
#[derive(Clone, Debug, Default)]
pub struct AtClose(Arc<Mutex<Option<HostHandle>>>);

impl AtClose {
    fn reveal(&self, whoever: HostHandle) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(whoever);
    }

    fn is_wished(&self) -> bool {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).is_some()
    }

    /// The class has closed: whether names are told that were not before.
    ///
    /// # Errors
    /// The host has stopped.
    async fn closed(&self) -> Result<bool, HostError> {
        let wished = self.0.lock().unwrap_or_else(PoisonError::into_inner).take();
        match wished {
            Some(host) => Ok(host.teacher(Teacher::Reveal(None)).await? == Ok(true)),
            None => Ok(false),
        }
    }
}

impl About {
    /// How to join, ready to be typed by a person.
    pub fn join(&self, join_code: Option<JoinCode>) -> String {
        let code =
            join_code.filter(|_| !self.open_door).map_or(String::new(), |code| format!(" --code {code}"));
        let pin = self.pin.map_or(String::new(), |pin| format!(" --pin {pin}"));
        // The pin first: a line that is not copied to its end lacks the code, for which the seat asks, and no pin.
        format!("kettleseat {}{pin}{code} --name YOUR-NAME", self.address)
    }

    /// Which consoles elsewhere new keys would let go.
    fn led_by(&self) -> Vec<String> {
        self.keys.as_ref().map_or(Vec::new(), |keys| keys.here())
    }

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
async fn carry_out(host: &HostHandle, about: &About, typed: Typed) -> Result<Answer, HostError> {
    Ok(match typed {
        Typed::Code | Typed::NewCode if about.open_door => Answer::Words(
            "the door is open: no join code is asked; open the class without --open-door for one".into(),
        ),
        Typed::Code => Answer::Words(format!("join: {}", about.join(host.view(0).await?.join_code))),
        Typed::NewCode => words_of(host.teacher(Teacher::JoinCode(JoinCode::drawn(fresh_id()))).await?),
        Typed::Lobby(by_name) => match words::at_door(&host.lobby(by_name).await?) {
            several if several.contains('\n') => Answer::Page(several),
            line => Answer::Words(line),
        },
        Typed::Admit(names) => words_of(host.admit(&names).await?),
        Typed::Places(places) => {
            host.places(places).await?;
            Answer::Words(format!(
                "{places} {} may be taken from now on; whoever is seated stays",
                if places == 1 { "seat" } else { "seats" }
            ))
        }
        Typed::Teacher(wish) => words_of(host.teacher(wish).await?),
        Typed::Keys | Typed::NewKeys if about.keys.is_none() => {
            Answer::Words("this class has no keys".into())
        }
        Typed::Keys => Answer::Page(about.keys.iter().map(|keys| keys.page()).collect()),
        Typed::NewKeys => match about.keys.as_ref().map(|keys| keys.draw()) {
            Some(Ok((drawn, told))) => match words_of(host.teacher(drawn).await?) {
                Answer::Words(words) if words.is_empty() => Answer::Words(told),
                answer => answer,
            },
            Some(Err(error)) => Answer::Words(format!("not done: the new keys can't be written: {error}")),
            None => Answer::Words(String::new()),
        },
        Typed::AwaySince { hour, minute, without_scores, reason } => {
            let (room, now) = host.room_now().await?;
            let pace = room.anchor.map_or(1.0, |anchor| anchor.pace);
            let ago_us = since_us(hour, minute) as f64 * pace;
            let who = Who::Since(now + -(ago_us as i64));
            words_of(host.teacher(Teacher::Away { who, without_scores, reason }).await?)
        }
        Typed::Summary => Answer::Page(summary(host).await?),
        Typed::Who => Answer::Page(words::who(&host.view(0).await?)),
        Typed::Key => Answer::Page(words::key(&*host.room().await?)),
        Typed::Why(code) => {
            let (room, now) = host.room_now().await?;
            Answer::Page(suggested::why(&room, code, now))
        }
        Typed::Help => Answer::Page(command::HELP.into()),
        Typed::Stop => Answer::Stop,
    })
}

/// What is answered to a wish of the teacher's.
fn words_of(done: Result<bool, Refusal>) -> Answer {
    Answer::Words(match done {
        Ok(true) => String::new(),
        Ok(false) => "it is so already".into(),
        Err(refusal) => format!("not done: {}", refusal.reason),
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
pub async fn run(
    host: Host,
    about: About,
    come: mpsc::Receiver<Remote>,
    on_terminal: bool,
) -> Result<Ended, ConsoleError> {
    let elsewhere = Elsewhere::serve(host.handle.clone(), host.clock, about.clone(), come);
    if on_terminal {
        terminal::run(host, about, elsewhere).await
    } else {
        lines::run(host, about, elsewhere).await
    }
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

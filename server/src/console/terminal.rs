//! The console on a terminal: keys in, the screen out, redrawn when something changes or a second has passed.

use super::elsewhere::Elsewhere;
use super::lines::print;
use super::screen::{Deed, Screen};
use super::{About, Answer, ConsoleError, Ended, carry_out, words};
use crossterm::event::{Event as TerminalEvent, EventStream, KeyEventKind};
use futures_util::StreamExt;
use host::Happening;
use host::Host;
use protocol::time::SECOND_US;
use protocol::{HostTime, SeatId};
use room::{Console, Event};
use std::collections::HashMap;
use std::io;
use std::time::Duration;
use tokio::time::sleep;
use writer::{LAST_WORDS, Writer};

/// How many cues ahead the screen may show.
const AHEAD: usize = 6;
/// The screen is not drawn more often than this.
const LEAST_PAUSE: Duration = Duration::from_millis(100);

/// The signals a host listens to.
pub struct Signals {
    #[cfg(unix)]
    hard: [tokio::signal::unix::Signal; 2],
    #[cfg(unix)]
    soft: tokio::signal::unix::Signal,
}

#[cfg(unix)]
impl Signals {
    /// Begins to listen.
    ///
    /// # Errors
    /// The system does not let it.
    pub fn new() -> io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        let hard = [signal(SignalKind::terminate())?, signal(SignalKind::hangup())?];
        Ok(Self { hard, soft: signal(SignalKind::interrupt())? })
    }

    /// Waits for one: true for one that asks no questions, false for Ctrl-C.
    pub async fn recv(&mut self) -> bool {
        let [terminate, hangup] = &mut self.hard;
        tokio::select! {
            biased;
            _ = terminate.recv() => true,
            _ = hangup.recv() => true,
            _ = self.soft.recv() => false,
        }
    }
}

#[cfg(not(unix))]
impl Signals {
    /// Begins to listen.
    ///
    /// # Errors
    /// The system does not let it.
    pub fn new() -> io::Result<Self> {
        Ok(Self {})
    }

    /// Waits for Ctrl-C.
    pub async fn recv(&mut self) -> bool {
        let _ = tokio::signal::ctrl_c().await;
        false
    }
}

/// The last words of a console.
pub fn last_words(ended: Ended, about: &About) -> String {
    let ledger = about.ledger.display();
    match ended {
        Ended::Closed => {
            format!("the class is in {ledger}; to read all that was found: kettlecall review {ledger}")
        }
        Ended::Stopped => {
            format!("the host has stopped; the class is in {ledger} and goes on with `kettlecall open` on it")
        }
    }
}

/// Runs until the host is stopped.
///
/// # Errors
/// The host or the terminal failed.
pub async fn run(mut host: Host, mut about: About, elsewhere: Elsewhere) -> Result<Ended, ConsoleError> {
    let out = Writer::stdout()?;
    about.notices.extend(about.keys.iter().map(|keys| keys.first_told().to_string()));
    // Before anything is shown: who sees the screen may ask for the end.
    let mut signals = Signals::new()?;
    let mut screen = writer::screen::enter(&out)?;
    let ended = on_screen(&mut host, &mut about, &elsewhere, &mut signals, &mut screen, &out).await;
    // A terminal that is gone by now needs nothing put back.
    let _ = writer::screen::leave(&out);
    // Whatever became of the terminal, the class is held and the seats are told.
    let found = super::found(&host.handle, report::text::brief).await;
    elsewhere.end().await;
    let stopped = host.stop().await;
    let ended = ended?;
    // A terminal that is gone by now shows nothing, and that is all that can be done about it.
    let mut lines = out.lines();
    if ended == Ended::Closed {
        print(&mut lines, &found?);
    }
    if let Some(words) = about.left(stopped?) {
        print(&mut lines, &words);
    }
    print(&mut lines, &last_words(ended, &about));
    out.finish(LAST_WORDS);
    Ok(ended)
}

async fn on_screen(
    host: &mut Host,
    about: &mut About,
    elsewhere: &Elsewhere,
    signals: &mut Signals,
    terminal: &mut writer::screen::Screen,
    out: &Writer,
) -> Result<Ended, ConsoleError> {
    let mut keys = EventStream::new();
    let mut screen = Screen::new(about.clone());
    let mut names: HashMap<SeatId, String> =
        host.handle.room().await?.seats.iter().map(|s| (s.id, s.name.clone())).collect();
    loop {
        let view = host.handle.view(AHEAD).await?;
        // While the terminal takes nothing, nothing is drawn; then the newest.
        let free = out.is_idle();
        if free {
            terminal.draw(|frame| screen.draw(frame, &view))?;
        }
        let second = next_second(view.now, host.clock.pace());
        tokio::select! {
            biased;
            key = keys.next() => {
                let deed = match key {
                    Some(Ok(TerminalEvent::Key(key))) if key.kind == KeyEventKind::Press => screen.key(key, &view),
                    Some(Ok(_)) => Deed::None,
                    Some(Err(error)) => return Err(error.into()),
                    None => return Ok(Ended::Stopped),
                };
                if let Deed::Do(typed) = deed {
                    match carry_out(&host.handle, about, typed).await? {
                        Answer::Words(words) => screen.answer(words),
                        Answer::Page(page) => screen.show(page),
                        Answer::Stop if view.phase == protocol::Phase::Closed => return Ok(Ended::Closed),
                        Answer::Stop => return Ok(Ended::Stopped),
                    }
                }
            }
            happening = host.happenings.recv() => {
                let Some(mut happening) = happening else { return Err(host.failed().await.into()) };
                // All that has come meanwhile is drawn at once.
                loop {
                    elsewhere.tell(&happening);
                    if let Happening::Moved(ledger) = &happening {
                        about.ledger = ledger.clone();
                    }
                    note(&mut screen, &mut names, &view.kettles, &happening);
                    let closed = matches!(&happening, Happening::Entry(entry) if entry.event == Event::Closed);
                    if closed && !about.at_close.closed().await? {
                        screen.closed(&host.handle.view(0).await?);
                    }
                    match host.happenings.try_recv() {
                        Ok(more) => happening = more,
                        Err(_) => break,
                    }
                }
            }
            hard = signals.recv() => {
                if hard {
                    return Ok(Ended::Stopped);
                }
            }
            () = out.idle(), if !free => {}
            () = sleep(second) => {}
        }
    }
}

fn note(screen: &mut Screen, names: &mut HashMap<SeatId, String>, kettles: &[String], happening: &Happening) {
    if let Happening::Entry(entry) = happening
        && let Event::Seated { seat, name, .. } | Event::Renamed { seat, name } = &entry.event
    {
        names.insert(*seat, name.clone());
    }
    let name = |seat| names.get(&seat).cloned().unwrap_or_else(|| "a seat".into());
    if let Some(line) = words::happening(happening, &Console::Host, kettles, name) {
        if is_grave(happening) {
            // Over the class, until it has been read.
            screen.show(line.clone());
        }
        screen.say(line);
    }
}

/// Whether something is not to scroll by among the news.
fn is_grave(happening: &Happening) -> bool {
    match happening {
        Happening::Notice(_) => true,
        Happening::Entry(entry) => matches!(entry.event, Event::FellShort { .. }),
        Happening::Linked(_)
        | Happening::Unlinked(_)
        | Happening::AtDoor { .. }
        | Happening::Guesses(_)
        | Happening::Consoles { .. }
        | Happening::Moved(_)
        | Happening::Follows(_) => false,
    }
}

/// How long the room waits until host time shows its next whole second.
fn next_second(now: HostTime, pace: f64) -> Duration {
    let ahead_us = SECOND_US - now.0.rem_euclid(SECOND_US);
    Duration::from_nanos((ahead_us as f64 * 1000.0 / pace).ceil() as u64).max(LEAST_PAUSE)
}

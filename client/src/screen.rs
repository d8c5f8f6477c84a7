//! The full screen: keys in, the whole screen out, a bell with each of the person's own cues.

mod keys;
#[cfg(test)]
mod tests;

use crate::drive::{Bell, Options, Seat};
use crate::keep::KeepError;
use crate::link::dial::Dialler;
use crate::view;
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste, EventStream};
use futures_util::{Stream, StreamExt};
use protocol::HostTime;
use protocol::text::message;
use protocol::time::SECOND_US;
use ratatui::Terminal;
use ratatui::backend::Backend;
use seat::app::{End, Event, Key};
use seat::host_clock::OwnTime;
use seat::words;
use std::future::Future;
use std::io::{self, Write};
use std::pin::pin;
use std::sync::Arc;
use thiserror::Error;
use writer::{LAST_WORDS, Writer};

/// The shortest time between two drawings for the clock's sake, in microseconds.
const SHORTEST_US: i64 = 100_000;

/// Why the screen had to end.
#[derive(Debug, Error)]
pub enum ScreenError {
    /// The seat's file.
    #[error(transparent)]
    Keep(#[from] KeepError),
    /// The terminal.
    #[error("can't use this terminal: {}; try --plain", words::fault(.0))]
    Terminal(#[from] io::Error),
}

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// A person's seat.
    Seat,
    /// A board for the whole room: once it has a class, no key does anything but to end it.
    Board,
}

impl Look {
    /// Whether the board is up, and nobody is asked anything any more.
    fn is_board(self, seat: &Seat) -> bool {
        self == Self::Board && seat.app().class.is_some()
    }
}

/// Runs the seat on the whole terminal and puts the terminal back as it was, also after a panic.
///
/// # Errors
/// When the seat's file can't be read or the terminal can't be used.
pub async fn run<D: Dialler>(
    dialler: D,
    mut options: Options,
    look: Look,
    leave: impl Future<Output = ()>,
) -> Result<End, ScreenError> {
    let out = Writer::stdout()?;
    let bell = out.clone();
    // It may come in the middle of what is being drawn: a terminal rings it and goes on.
    options.ring = (look == Look::Seat).then(|| Bell(Arc::new(move |_| bell.bell())));
    let mut seat = Seat::open(dialler, options)?;
    let mut terminal = writer::screen::enter(&out)?;
    // Without it a pasted line break would send the sheet; a terminal that does not know it ignores it.
    let mut whole = out.whole();
    crossterm::execute!(whole, EnableBracketedPaste).ok();
    let ended = drive(&mut seat, look, &mut terminal, &out, EventStream::new(), leave).await;
    crossterm::execute!(whole, DisableBracketedPaste).ok();
    let left = writer::screen::leave(&out);
    // The page that said it is gone with the screen.
    if let Some(place) = seat.app().notes_kept() {
        writeln!(out.lines(), "{}", message(&words::notes_kept(place))).ok();
    }
    if ended.is_ok() {
        seat.leave().await;
    }
    out.finish(LAST_WORDS);
    left?;
    ended.map_err(ScreenError::Terminal)
}

/// The loop itself, over any terminal and any keys. What is drawn goes through `out`. The seat rings by itself.
///
/// # Errors
/// When the terminal can't be drawn on or read from.
pub async fn drive<B>(
    seat: &mut Seat,
    look: Look,
    terminal: &mut Terminal<B>,
    out: &Writer,
    mut keys: impl Stream<Item = io::Result<crossterm::event::Event>> + Unpin,
    leave: impl Future<Output = ()>,
) -> io::Result<End>
where
    B: Backend,
    B::Error: Send + Sync + 'static,
{
    let mut leave = pin!(leave);
    loop {
        let now = seat.now();
        // While the terminal takes nothing, nothing is drawn; then the newest.
        let free = out.is_idle();
        if free {
            let draw = if look.is_board(seat) { view::board::draw } else { view::draw };
            terminal.draw(|frame| draw(frame, seat.app(), now)).map_err(io::Error::other)?;
        }
        let (clock, look_at) = (seat.clock(), next_look(seat, now));
        tokio::select! {
            biased;
            _ = seat.next() => {}
            key = keys.next() => match key {
                Some(event) => match keys::read(event?) {
                    Some(Key::Interrupt | Key::Char('q')) if look.is_board(seat) => seat.handle(Event::Leave),
                    Some(key) if !look.is_board(seat) => seat.handle(Event::Key(key)),
                    _ => {}
                },
                // Nobody can type any more, so nobody sits here any more.
                None => seat.handle(Event::Leave),
            },
            () = &mut leave => seat.handle(Event::Leave),
            () = out.idle(), if !free => {}
            () = clock.wait_about(look_at) => {}
        }
        if let Some(end) = seat.end().cloned() {
            return Ok(end);
        }
    }
}

/// When a shown second changes next: what is counted down changes when a whole number of seconds is left of it.
fn next_look(seat: &Seat, now: OwnTime) -> OwnTime {
    let app = seat.app();
    let second_us = (SECOND_US as f64 / app.clock.pace()) as i64;
    let next = app.class.as_ref().zip(app.host_now(now)).and_then(|(class, at)| {
        let ends = [
            class.timetable.coming(at).first().map(|cue| cue.at),
            class.current(at).map(|cue| class.end_of(cue)),
        ];
        // A remainder of nought means that the second has just changed.
        let part_us = |end: HostTime| (end - at - 1).rem_euclid(SECOND_US) + 1;
        let cues =
            ends.into_iter().flatten().map(|end| (part_us(end) as f64 / app.clock.pace()) as i64).min();
        // A last call is counted in seconds of the room.
        let call = class.last_call.map(|end| (app.clock.in_room_us(end - at) - 1).rem_euclid(SECOND_US) + 1);
        cues.into_iter().chain(call).min()
    });
    OwnTime(now.0 + next.unwrap_or(second_us).clamp(SHORTEST_US, SECOND_US))
}

/// Comes when the machine asks the program to stop. It listens from the call on, and not only from the first wait: who sees the
/// screen may ask for the end.
pub fn told_to_stop() -> impl Future<Output = ()> {
    #[cfg(unix)]
    let signals = {
        use tokio::signal::unix::{SignalKind, signal};
        (signal(SignalKind::terminate()), signal(SignalKind::hangup()))
    };
    async move {
        #[cfg(unix)]
        if let (Ok(mut terminate), Ok(mut hang_up)) = signals {
            tokio::select! {
                biased;
                _ = terminate.recv() => {}
                _ = hang_up.recv() => {}
                _ = tokio::signal::ctrl_c() => {}
            }
            return;
        }
        tokio::signal::ctrl_c().await.ok();
    }
}

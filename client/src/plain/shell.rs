//! Lines in and out: what is typed goes to the seat, what happens is printed.

use super::Manner;
use super::typed::{self, Typed};
use crate::drive::{self, Options};
use crate::keep::KeepError;
use crate::link::dial::Dialler;
use protocol::text::message;
use seat::app::{End, Happening, SeatInput};
use seat::words;
use std::future::Future;
use std::io::{self, Write};
use std::pin::pin;
use thiserror::Error;
use tokio::io::{AsyncBufRead, AsyncBufReadExt, Lines};
use tokio::sync::mpsc;

/// The longest line that is looked at, in bytes; the note and every value fit many times over.
const LINE_BYTES: usize = 8 * 1024;

/// Why the seat in lines had to end.
#[derive(Debug, Error)]
pub enum PlainError {
    /// The seat's file.
    #[error(transparent)]
    Keep(#[from] KeepError),
    /// Nothing can be printed.
    #[error("can't print: {}", words::fault(.0))]
    Print(#[from] io::Error),
}

/// Runs the seat until it ends. `leave` ends it from outside, as a signal does.
///
/// # Errors
/// When the seat's file can't be read, or nothing can be printed any more.
pub async fn run<D: Dialler>(
    dialler: D,
    options: Options,
    manner: Manner,
    typing: impl AsyncBufRead + Unpin,
    mut print: impl Write,
    leave: impl Future<Output = ()>,
) -> Result<End, PlainError> {
    let (to_seat, inputs) = mpsc::channel(16);
    let (outputs, mut happenings) = mpsc::channel(64);
    let mut seat = pin!(drive::run(dialler, options, inputs, outputs));
    let mut leave = pin!(leave);
    let mut typing = Some(typing.lines());
    let (mut left, mut at_door) = (false, false);
    loop {
        tokio::select! {
            biased;
            Some(happened) = happenings.recv() => {
                match happened.what {
                    Happening::CodeAsked { .. } => at_door = true,
                    Happening::Seated { .. } => at_door = false,
                    _ => {}
                }
                put(&mut print, &manner.print(&happened))?;
            }
            end = &mut seat => {
                while let Ok(happened) = happenings.try_recv() {
                    put(&mut print, &manner.print(&happened))?;
                }
                return Ok(end?);
            }
            () = &mut leave, if !left => {
                left = true;
                // A seat that takes nothing any more is left without a word.
                if to_seat.try_send(SeatInput::Leave).is_err() {
                    return Ok(End::Left);
                }
            }
            line = next_line(&mut typing) => match line {
                Some(line) => {
                    let read = if at_door { typed::read_at_door } else { typed::read };
                    obey(&line, read, &to_seat, &mut print)?;
                }
                // The cues go on without anybody typing.
                None => typing = None,
            },
        }
    }
}

async fn next_line<R: AsyncBufRead + Unpin>(typing: &mut Option<Lines<R>>) -> Option<String> {
    match typing {
        Some(lines) => lines.next_line().await.unwrap_or_else(|e| Some(words::fault(e))),
        None => std::future::pending().await,
    }
}

fn obey(
    line: &str,
    read: fn(&str) -> Result<Typed, String>,
    to_seat: &mpsc::Sender<SeatInput>,
    print: &mut impl Write,
) -> Result<(), PlainError> {
    if line.len() > LINE_BYTES {
        return put(print, &["that line is too long; type help to see what can be typed"]);
    }
    match read(line) {
        Ok(Typed::Input(input)) => match to_seat.try_send(input) {
            Ok(()) => Ok(()),
            Err(_) => put(print, &["too much at once; type that line again"]),
        },
        Ok(Typed::Nothing) => Ok(()),
        Err(words) => put(print, &[words]),
    }
}

/// Every line is flushed: whoever reads along, a person or a program, has it at once.
fn put(print: &mut impl Write, lines: &[impl AsRef<str>]) -> Result<(), PlainError> {
    for line in lines {
        writeln!(print, "{}", message(line.as_ref()))?;
    }
    print.flush()?;
    Ok(())
}

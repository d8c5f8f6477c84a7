//! A seat at a tea class: cues on time, the sheet, and an outbox that loses nothing.
//!
//! The pure rooms are [`app`] (what a seat knows and does), [`view`] (the whole screen) and the wording in
//! [`plain`]; they take the time and ids as arguments. The shell is [`link`] (dial, come back), [`keep`] (the
//! seat's file), [`seat`] (which drives the app) and [`screen`]. Only [`clock`] reads a clock.
//!
//! # A seat without a terminal
//! The program, the scripted seats of a demo and the tests all sit on [`seat::run`]:
//!
//! ```no_run
//! use client::{app::{Fill, Happening, SeatInput}, link::dial::Tcp, seat};
//! use tokio::sync::mpsc;
//!
//! # async fn example() -> Result<(), client::keep::KeepError> {
//! let (say, inputs) = mpsc::channel(16);
//! let (outputs, mut hear) = mpsc::channel(64);
//! let options = seat::Options::new("Ann", "127.0.0.1:4177");
//! let running = tokio::spawn(seat::run(Tcp::new("127.0.0.1:4177"), options, inputs, outputs));
//! while let Some(happened) = hear.recv().await {
//!     if let Happening::Cue { cue, .. } = happened.what
//!         && cue.action == protocol::Action::Taste
//!     {
//!         let code = protocol::Code::new(417).expect("three digits");
//!         let fill = Fill { values: vec![Some(7), None, Some(5), Some(8)], ..Fill::of(code) };
//!         say.send(SeatInput::Fill(fill)).await.ok();
//!     }
//! }
//! # drop(running); Ok(()) }
//! ```

pub mod app;
pub mod cli;
pub mod clock;
pub mod host_clock;
pub mod keep;
pub mod link;
pub mod plain;
pub mod screen;
pub mod seat;
pub mod view;
pub mod words;

#[cfg(test)]
mod fixture;

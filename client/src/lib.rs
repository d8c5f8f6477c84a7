//! A seat at a tea class: cues on time, the sheet, and an outbox that loses nothing.
//!
//! What a seat knows and does is the crate [`seat`]; [`view`] draws the whole screen from it, and [`plain`] has its words
//! in lines. Around it are [`link`] (dial, come back), [`keep`] (the seat's file), [`drive`] (which drives it) and
//! [`screen`]. Only [`clock`] reads a clock.
//!
//! # A seat without a terminal
//! The program, the scripted seats of a demo and the tests all sit on [`drive::run`]:
//!
//! ```no_run
//! use client::{drive, link::dial::Tcp};
//! use seat::app::{Fill, Happening, SeatInput};
//! use tokio::sync::mpsc;
//!
//! # async fn example() -> Result<(), client::keep::KeepError> {
//! let (say, inputs) = mpsc::channel(16);
//! let (outputs, mut hear) = mpsc::channel(64);
//! let options = drive::Options::new("Ann", "127.0.0.1:4177");
//! let running = tokio::spawn(drive::run(Tcp::new("127.0.0.1:4177"), options, inputs, outputs));
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

pub mod ask;
pub mod cli;
pub mod clock;
pub mod drive;
pub mod keep;
pub mod link;
pub mod notes;
pub mod plain;
pub mod screen;
pub mod view;

#[cfg(test)]
#[path = "../seat/src/fixture.rs"]
mod fixture;

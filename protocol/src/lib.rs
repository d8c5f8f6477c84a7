//! The shared language of a tea class.
//!
//! Everything here is pure: no I/O, no clock, no randomness. Times, ids and seeds come in as arguments.
//! `README.md` beside this crate describes the wire so that a seat can be written in another language.

#![warn(missing_docs)]

mod base32;
pub mod clock;
pub mod console_key;
pub mod difference;
pub mod fit;
pub mod join_code;
pub mod person;
pub mod pin;
pub mod proof;
pub mod say;
pub mod score;
pub mod sheet;
pub mod text;
pub mod time;
pub mod timetable;
pub mod wire;
pub mod words;

pub use console_key::ConsoleKey;
pub use difference::{Answer, TestCard, TestKind};
pub use join_code::JoinCode;
pub use pin::Pin;
pub use proof::{Certificate, Challenge, KeyHash, KeyId, Nonce, Proof, Proved, Purpose};
pub use score::{Score, ScoreFault};
pub use sheet::{Attribute, Sheet, Strength};
pub use time::HostTime;
pub use timetable::{Cue, SteepState, TeaClock, Timetable};
pub use words::{Action, Code, Phase, Recipe, Role, SeatId, TeaCard, Token};

/// The usual cautions, shown in every lobby, each short enough for a narrow screen. They defer to those who know the
/// room; the README says more.
pub const CAUTIONS: [&str; 5] = [
    "Hot water scalds: pour clear of people, let cups cool.",
    "Caffeine: small sips; ask a doctor if pregnant or unwell.",
    "Allergies: tell the teacher before the first cup.",
    "Own cup, own spoon, clean hands.",
    "Local codes and licensed practice come first.",
];

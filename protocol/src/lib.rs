//! The shared language of a tea class.
//!
//! Everything here is pure: no I/O, no clock, no randomness. Times, ids and seeds come in as arguments.
//! `README.md` beside this crate describes the wire so that a seat can be written in another language.

pub mod clock;
pub mod score;
pub mod sheet;
pub mod text;
pub mod time;
pub mod timetable;
pub mod wire;
pub mod words;

pub use score::{Score, ScoreFault};
pub use sheet::{Attribute, Sheet, Strength};
pub use time::HostTime;
pub use timetable::{Cue, SteepState, TeaClock, Timetable};
pub use words::{Action, Code, Phase, SeatId, TeaCard, Token};

/// The usual cautions, shown in every lobby. They defer to those who know the room.
pub const CAUTIONS: [&str; 4] = [
    "Hot water and steam scald: pour away from people, keep children clear, let a cup cool before you sip.",
    "Tea holds caffeine: small sips, spit if you like; ask your doctor if pregnant, nursing or on medicines.",
    "Tell the teacher of allergies before the first cup: flavoured, scented and roasted-grain teas, milk, nuts.",
    "Own cup, own spoon, clean hands. Local codes and licensed practice come first.",
];

//! Which cups there are to score, and how many sheets came in.

use protocol::{Code, HostTime};
use room::Room;
use schemars::JsonSchema;
use serde::Serialize;

/// How many of how many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct InOf {
    /// How many are there.
    pub n: usize,
    /// Of how many.
    pub of: usize,
}

/// A tea at a steep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Cup {
    /// The tea.
    pub code: Code,
    /// The steep.
    pub steep: u32,
}

/// The cups that were poured by `now`, or scored all the same; in the order of the teas.
pub fn served(room: &Room, now: HostTime) -> Vec<Cup> {
    let scored = |code, steep| room.seats.iter().any(|s| room.scores.of(s.id, (code, steep)).is_some());
    let cards = room.class.cards(|code| room.revealed.contains_key(&code));
    let cups = cards.iter().flat_map(|tea| (1..=tea.steeps).map(|steep| Cup { code: tea.code, steep }));
    cups.filter(|c| room.timetable.poured(c.code, c.steep, now) || scored(c.code, c.steep)).collect()
}

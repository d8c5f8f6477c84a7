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
    /// The steep as it is numbered by its round.
    pub steep: u32,
}

/// The cups that were there by `now`, or were scored all the same, without those that were voided; in the order of the teas.
pub fn served(room: &Room, now: HostTime) -> Vec<Cup> {
    let scored = |code, steep| room.counted().any(|s| room.scores.of(s.id, (code, steep)).is_some());
    let there: Vec<_> = room.cups(now).iter().map(|served| served.cup).collect();
    let cards = room.class.cards(|code| room.revealed.contains_key(&code));
    let cups = cards.iter().flat_map(|tea| {
        let rounds = room.course.of(tea.code).map(|(round, _)| round);
        rounds.map(|round| Cup { code: tea.code, steep: round })
    });
    cups.filter(|c| there.contains(&(c.code, c.steep)) || scored(c.code, c.steep)).collect()
}

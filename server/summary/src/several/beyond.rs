//! Steeps that were done again, or once more than written: they are no steeps of the way that classes share, for another class has
//! none to go with them, and are left out.

use protocol::Code;
use room::light::ClassScores;
use schemars::JsonSchema;
use serde::Serialize;

/// The sheets of one such steep.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct NotPooled {
    /// The tea.
    pub code: Code,
    /// The steep, from 1.
    pub steep: u32,
    /// Whether it was done again; else it came after the last that is written.
    pub again: bool,
    /// How many sheets count in the review of this class alone.
    pub sheets: usize,
}

/// For each tea and round of a class whether that is the steep that is written there.
pub struct Written(Vec<Vec<bool>>);

impl Written {
    /// Of a class.
    pub fn of(record: &ClassScores) -> Self {
        let of_tea = |tea: &class::Tea| {
            let is = |round: u32| {
                let steep = tea.code.and_then(|code| record.course.steep((code, round)));
                steep.is_none_or(|steep| steep.steep == round)
            };
            (1..=tea.steeps()).map(is).collect()
        };
        Self(record.class.teas.iter().map(of_tea).collect())
    }

    /// Whether a tea's steep in a round is one that is written.
    pub fn has(&self, tea: usize, round: u32) -> bool {
        (round as usize)
            .checked_sub(1)
            .and_then(|place| self.0[tea].get(place))
            .is_some_and(|written| *written)
    }
}

/// The sheets of a class that are left out, by tea and round.
pub fn beyond(record: &ClassScores) -> Vec<NotPooled> {
    if record.course.is_as_written() {
        return Vec::new();
    }
    let written = Written::of(record);
    let mut rounds: Vec<(usize, u32)> = record
        .filled()
        .map(|(filled, _)| (filled.tea, filled.steep))
        .filter(|&(tea, round)| !written.has(tea, round))
        .collect();
    rounds.sort_unstable();
    let of = |sheets: &[(usize, u32)]| {
        let (place, round) = sheets[0];
        let tea = &record.class.teas[place];
        let code = tea.code?;
        let steep = record.course.steep((code, round)).map_or(round, |steep| steep.steep);
        Some(NotPooled { code, steep, again: steep <= tea.steeps(), sheets: sheets.len() })
    };
    rounds.chunk_by(|a, b| a == b).filter_map(of).collect()
}

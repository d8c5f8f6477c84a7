//! How a tea was steeped, as it was served.

use class::steeping::Steeping;
use protocol::{Action, Code};
use room::Room;
use schemars::JsonSchema;
use serde::Serialize;

/// One round of a tea as the class was really run.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Turn {
    /// The round, which is also the number of its cup.
    pub round: u32,
    /// Which steep of the tea it is; another number than the round where a steep was done again, or once more.
    pub steep: u32,
    /// How long it really was, seconds; `null` while the tea is blind.
    pub steep_s: Option<u32>,
    /// Its water, °C; `null` while the tea is blind.
    pub temp_c: Option<f64>,
    /// The teacher left it out.
    pub left_out: bool,
}

/// How long a steep was, seconds: as the teacher said afterwards, else as the timetable that was poured by has it, else as it is
/// to be. Nothing for a steep that the class does not have.
pub fn seconds(room: &Room, code: Code, round: u32) -> Option<u32> {
    let steep = room.course.steep((code, round))?;
    let poured = || room.timetable.find(Action::Pour, Some(code), round).and_then(|cue| cue.steep_s);
    Some(steep.sat_s.or_else(poured).unwrap_or(steep.steep_s))
}

/// The rounds of a tea as they were really run.
pub fn turns(room: &Room, code: Code) -> Vec<Turn> {
    let open = room.is_open(code);
    let turn = |(round, steep): (u32, &class::course::Steep)| Turn {
        round,
        steep: steep.steep,
        steep_s: seconds(room, code, round).filter(|_| open),
        temp_c: open.then_some(steep.temp_c),
        left_out: steep.skipped,
    };
    room.course.of(code).map(turn).collect()
}

/// The way of a tea whose name may be known, down to the last steep that was in a cup, without what was left out. Of a tea that
/// was not served it is what is written.
pub fn as_served(room: &Room, code: Code, served: &[u32]) -> Option<Steeping> {
    let tea = room.class.tea(code).filter(|_| room.is_open(code))?;
    let last = served.iter().copied().max();
    let in_cup = |round: u32, left_out: bool| last.is_none_or(|last| round <= last && !left_out);
    let poured = || room.course.of(code).filter(|&(round, steep)| in_cup(round, steep.skipped));
    Some(Steeping {
        leaf_g: tea.leaf_g,
        water_ml: tea.water_ml,
        temp_c: poured().map(|(_, steep)| steep.temp_c).collect(),
        rinse_s: tea.rinse_s,
        steep_s: poured().filter_map(|(round, _)| seconds(room, code, round)).collect(),
        vessel: tea.vessel,
    })
}

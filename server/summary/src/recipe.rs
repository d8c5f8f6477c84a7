//! How a tea was steeped, as it was served.

use class::steeping::Steeping;
use protocol::{Action, Code};
use room::Room;

/// The way of a tea whose name may be known, down to the last steep that was in a cup: the seconds are those of the timetable
/// that was poured by, else those of the class file. Of a tea that was not served it is what is written.
pub fn as_served(room: &Room, code: Code, served: &[u32]) -> Option<Steeping> {
    let tea = room.class.tea(code).filter(|_| room.is_open(code))?;
    let last = served.iter().copied().max().unwrap_or(tea.steeps()).min(tea.steeps());
    let seconds = |(steep, &written): (u32, &u32)| {
        let poured = room.timetable.find(Action::Pour, Some(code), steep).and_then(|cue| cue.steep_s);
        poured.unwrap_or(written)
    };
    Some(Steeping {
        leaf_g: tea.leaf_g,
        water_ml: tea.water_ml,
        temp_c: tea.temp_c.iter().take(last as usize).copied().collect(),
        rinse_s: tea.rinse_s,
        steep_s: (1..=last).zip(&tea.steep_s).map(seconds).collect(),
        vessel: tea.vessel,
    })
}

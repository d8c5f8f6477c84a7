//! How a tea was steeped, as it was served.

use class::course::Act;
use class::steeping::Steeping;
use protocol::{Action, Code};
use room::Room;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

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
    /// The steep was in an earlier round too: it was done again.
    pub again: bool,
    /// The teacher left it out.
    pub left_out: bool,
    /// Why, in the teacher's words; `null` where it was not left out, or nothing was said.
    pub reason: Option<String>,
    /// It is one of the steeps of `recipe`; `false` too where the steep was done again, or does not count, and another round of
    /// it stands there.
    pub in_recipe: bool,
}

/// How long a steep was, seconds: as the teacher said afterwards, else as the timetable that was poured by has it, else as it is
/// to be. Nothing for a steep that the class does not have.
pub fn seconds(room: &Room, code: Code, round: u32) -> Option<u32> {
    let steep = room.course.steep((code, round))?;
    let poured = || room.timetable.find(Action::Pour, Some(code), round).and_then(|cue| cue.steep_s);
    Some(steep.sat_s.or_else(poured).unwrap_or(steep.steep_s))
}

/// The rounds of a tea as they were really run, of which those of `served` were in a cup that counts.
pub fn turns(room: &Room, code: Code, served: &[u32]) -> Vec<Turn> {
    let open = room.is_open(code);
    let stand = in_recipe(room, code, served);
    let turn = |(round, steep): (u32, &class::course::Steep)| Turn {
        round,
        steep: steep.steep,
        steep_s: seconds(room, code, round).filter(|_| open),
        temp_c: open.then_some(steep.temp_c),
        again: is_again(room, code, round),
        left_out: steep.skipped,
        reason: room.course.left_out_by((code, round)).and_then(Act::reason).map(String::from),
        in_recipe: stand.contains(&round),
    };
    room.course.of(code).map(turn).collect()
}

impl Turn {
    /// `steep 2`; where a round is no such steep, `steep 1 again (round 4)` or `steep 4 (round 5)`.
    pub fn called(&self) -> String {
        words(self.steep, self.round, self.again)
    }
}

/// What a cup is called, as [`Turn::called`] says it.
pub fn called(room: &Room, code: Code, round: u32) -> String {
    let steep = room.course.steep((code, round)).map_or(round, |steep| steep.steep);
    words(steep, round, is_again(room, code, round))
}

fn words(steep: u32, round: u32, again: bool) -> String {
    match again {
        _ if steep == round => format!("steep {steep}"),
        true => format!("steep {steep} again (round {round})"),
        false => format!("steep {steep} (round {round})"),
    }
}

fn is_again(room: &Room, code: Code, round: u32) -> bool {
    let steep = room.course.steep((code, round)).map(|steep| steep.steep);
    room.course.of(code).any(|(other, of)| other < round && !of.skipped && Some(of.steep) == steep)
}

/// The rounds whose steeps make the recipe, in the order of the steeps: each steep down to the last that was in a cup, without
/// what was left out. A steep that was done again is there once, as it was the last time that counts: that is what the class
/// settled on. Of a tea that was not served it is what is written.
fn in_recipe(room: &Room, code: Code, served: &[u32]) -> Vec<u32> {
    let last = served.iter().copied().max();
    let mut of_steep: BTreeMap<u32, u32> = BTreeMap::new();
    for (round, steep) in room.course.of(code) {
        if last.is_some_and(|last| round > last || steep.skipped) || (last.is_none() && round > steep.steep) {
            continue;
        }
        // What no cup counts of was poured all the same: it stands where nothing better does.
        if !of_steep.contains_key(&steep.steep) || served.contains(&round) {
            of_steep.insert(steep.steep, round);
        }
    }
    of_steep.into_values().collect()
}

/// The way of a tea whose name may be known, as it is done again.
pub fn as_served(room: &Room, code: Code, served: &[u32]) -> Option<Steeping> {
    let tea = room.class.tea(code).filter(|_| room.is_open(code))?;
    let rounds = in_recipe(room, code, served);
    let steeps = rounds.iter().filter_map(|&round| room.course.steep((code, round)));
    Some(Steeping {
        leaf_g: tea.leaf_g,
        water_ml: tea.water_ml,
        temp_c: steeps.map(|steep| steep.temp_c).collect(),
        rinse_s: tea.rinse_s,
        steep_s: rounds.iter().filter_map(|&round| seconds(room, code, round)).collect(),
        vessel: tea.vessel,
    })
}

/// Which steeps of a recipe were done again, "steep 1 was done again; the last one stands here"; nothing where none was.
pub fn done_again(course: &[Turn]) -> Vec<String> {
    let stands = || course.iter().filter(|turn| turn.in_recipe);
    let last_round = stands().map(|turn| turn.round).max().unwrap_or(0);
    let said = stands().filter_map(|turn| {
        let poured = |other: &&Turn| !other.left_out && other.round <= last_round;
        let others = || course.iter().filter(|other| other.steep == turn.steep).filter(poured);
        let last = others().map(|other| other.round).max()?;
        let which = if turn.round == last { "last one" } else { "last one that counts" };
        (others().count() > 1)
            .then(|| format!("steep {} was done again; the {which} stands here", turn.steep))
    });
    said.collect()
}

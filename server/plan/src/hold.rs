//! A hold: nothing dry is started, everything wet still ends on time.

use protocol::{Action, Cue, HostTime, Timetable};

/// What is due within this many seconds of a hold counts as begun: the hold may reach a seat only after the kettle
/// is already tilted.
pub const BEGUN_S: u32 = 2;

/// The cues that stand when the class is held at `at`: all that has begun, the decants of what is wet, and the
/// tasting of a round whose every cup is wet or ready.
pub fn held(timetable: &Timetable, at: HostTime) -> Vec<Cue> {
    let begun = |cue: &Cue| cue.at <= at.plus_s(BEGUN_S);
    let wet = |cue: &Cue| timetable.find(Action::Pour, cue.code, cue.round()).is_some_and(begun);
    let rinsed = |cue: &Cue| timetable.find(Action::Rinse, cue.code, cue.round()).is_some_and(begun);
    let all_wet = |round: u32| {
        timetable.cues.iter().filter(|c| c.action == Action::Pour && c.round() == round).all(begun)
    };
    let stands = |cue: &&Cue| match cue.action {
        Action::Lid | Action::Decant => wet(cue),
        Action::PourOff => rinsed(cue),
        Action::Taste => all_wet(cue.round()),
        _ => begun(cue),
    };
    timetable.cues.iter().filter(stands).cloned().collect()
}

/// Seconds of tasting left of the round that was being tasted, or was still to be tasted, when a class with this
/// timetable was held at `at`: tasting goes on for that long after the class is resumed.
pub fn tasting_left_s(before: &Timetable, at: HostTime) -> Option<u32> {
    let kept = held(before, at);
    let taste = kept.iter().rfind(|c| c.action == Action::Taste)?;
    if kept.iter().any(|c| c.action == Action::SheetCloses && c.round() == taste.round()) {
        return None;
    }
    let closes = before.find(Action::SheetCloses, None, taste.round())?;
    u32::try_from(closes.at.seconds_until(at.max(taste.at))).ok()
}

//! How long a round is tasted, changed while the class runs.

use super::{Refusal, refuse};
use crate::Room;
use class::course::{Act, Course, LONGEST_TASTE_S};
use plan::steer::STEER_S;
use protocol::wire::RefusalCode;
use protocol::{Action, Cue, HostTime, Phase};

fn no<T>(reason: impl Into<String>) -> Result<T, Refusal> {
    refuse(RefusalCode::Other, reason)
}

impl Room {
    /// The tasting that lasts at `now`, or else the next.
    fn tasting(&self, now: HostTime) -> Option<&Cue> {
        let closes = |round| self.timetable.find(Action::SheetCloses, None, round).map(|closes| closes.at);
        let to_come =
            |cue: &&Cue| cue.action == Action::Taste && closes(cue.round()).is_none_or(|at| at > now);
        self.timetable.cues.iter().filter(to_come).min_by_key(|cue| cue.round())
    }

    /// More time to taste, or less below nought: this round, or else the next.
    pub(super) fn taste_longer(&self, by_s: i32, now: HostTime) -> Result<Option<Act>, Refusal> {
        self.is_on()?;
        let Some(taste) = self.tasting(now) else { return no("nothing is to be tasted any more") };
        let round = taste.round();
        let was_s = self.course.taste_s(&self.class, round);
        let wanted = i64::from(was_s) + i64::from(by_s);
        let least_s = if taste.at > now { 0 } else { self.passed_s(taste, now) };
        let taste_s = u32::try_from(wanted).ok().filter(|s| (least_s..=LONGEST_TASTE_S).contains(s));
        match taste_s {
            _ if by_s == 0 => Ok(None),
            Some(taste_s) => Ok(Some(Act::Tasted { round, taste_s })),
            None => no(format!(
                "round {round} is tasted {was_s} s; it can be {least_s} to {LONGEST_TASTE_S} s, and `taste end` ends it now"
            )),
        }
    }

    /// The tasting ends, as soon as the seats have heard of it.
    pub(super) fn end_tasting(&self, now: HostTime) -> Result<Option<Act>, Refusal> {
        self.is_on()?;
        let Some(taste) = self.tasting(now).filter(|taste| taste.at <= now) else {
            return no("nothing is tasted just now; `taste -20` makes the next tasting 20 s shorter");
        };
        let taste_s = self.passed_s(taste, now);
        let is_ending = taste_s >= self.course.taste_s(&self.class, taste.round());
        Ok((!is_ending).then_some(Act::Tasted { round: taste.round(), taste_s }))
    }

    /// Whether a change of the last tasting can be undone.
    pub(super) fn check_untasted(&self, round: u32, now: HostTime) -> Result<(), Refusal> {
        self.is_on()?;
        match self.tasting(now) {
            Some(taste) if taste.round() <= round => Ok(()),
            _ => no(format!("the tasting of round {round} is over")),
        }
    }

    /// How long a tasting has lasted when the seats have heard that it ends.
    fn passed_s(&self, taste: &Cue, now: HostTime) -> u32 {
        u32::try_from(now.plus_s(STEER_S).seconds_until(taste.at)).unwrap_or(0)
    }

    fn is_on(&self) -> Result<(), Refusal> {
        if self.phase == Phase::Held {
            return no("the class is held, and a tasting lasts as long as that; `resume` first");
        }
        Ok(())
    }

    /// The rounds that are tasted for another time in another course.
    pub(super) fn tasted_otherwise(&self, course: &Course) -> Vec<u32> {
        let taste_s = |course: &Course, round| course.taste_s(&self.class, round);
        let last = self.course.rounds().max(course.rounds());
        (1..=last).filter(|&round| taste_s(&self.course, round) != taste_s(course, round)).collect()
    }
}

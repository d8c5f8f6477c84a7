//! Which sheets a seat still owes.

use super::{App, Class, Cup};
use protocol::{Action, HostTime};

impl Class {
    /// Whether the tasting of a round is over at `at`.
    fn is_over(&self, round: u32, at: HostTime) -> bool {
        self.timetable.find(Action::SheetCloses, None, round).is_some_and(|cue| cue.at <= at)
            || self.timetable.round(at) > round
    }
}

impl App {
    /// The cups that there are and that this seat owes a sheet for and has sent none: by round, as it tastes them.
    pub fn missing(&self, at: HostTime) -> Vec<Cup> {
        let Some(class) = self.class.as_ref().filter(|class| class.role.scores()) else { return Vec::new() };
        let later = |cup: &Cup| class.cup_from(*cup).is_some_and(|from| from > class.owes_from);
        let asked = |cup: &Cup| later(cup) || self.is_reopened(*cup);
        let cups = class.decanted(at).into_iter().filter(asked);
        class.in_order(cups.filter(|cup| self.is_owed(*cup)).collect())
    }

    /// Whether nothing was sent of a cup that counts, or nothing since its sheet was opened again.
    fn is_owed(&self, cup: Cup) -> bool {
        (self.said(cup).is_none() || self.is_reopened(cup)) && self.void(cup).is_none()
    }

    /// Those of rounds whose tasting is over.
    pub fn left_behind(&self, at: HostTime) -> Vec<Cup> {
        let Some(class) = &self.class else { return Vec::new() };
        self.missing(at).into_iter().filter(|cup| class.is_over(cup.steep, at)).collect()
    }
}

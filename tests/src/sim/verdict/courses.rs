//! The course of a class as each revision of its timetable had it, from the acts in the ledger alone.

use super::super::Held;
use class::course::{Course, LONGEST_STEEP_S};
use protocol::{Cue, HostTime};
use room::Event;
use std::collections::BTreeMap;

/// The courses of a class by the revision from which on they held.
pub(super) struct Courses(BTreeMap<u32, Course>);

impl Courses {
    pub(super) fn of(held: &Held) -> Self {
        let mut course = Course::written(&held.class);
        let (mut revision, mut all) = (0, BTreeMap::from([(0, course.clone())]));
        for entry in &held.ledger {
            match &entry.event {
                Event::Started { timetable }
                | Event::Held { timetable, .. }
                | Event::Resumed { timetable } => {
                    revision = timetable.revision;
                }
                Event::Steered { act, timetable, suggested: _ } => {
                    course = course.after(&held.class, act);
                    revision = timetable.as_ref().map_or(revision, |timetable| timetable.revision);
                }
                _ => continue,
            }
            all.insert(revision, course.clone());
        }
        Self(all)
    }

    /// When what is poured by a cue is to be decanted, by the course of this revision.
    pub(super) fn due(&self, pour: &Cue, revision: u32) -> HostTime {
        let course = self.0.range(..=revision).next_back().map(|(_, course)| course);
        let steep = pour.code.and_then(|code| course?.steep((code, pour.round())));
        pour.end().plus_s(steep.map_or(0, |steep| steep.steep_s))
    }

    /// The latest that it ever was to be.
    pub(super) fn latest(&self, pour: &Cue) -> HostTime {
        let dues = self.0.keys().map(|&revision| self.due(pour, revision));
        dues.max().unwrap_or_else(|| pour.end().plus_s(LONGEST_STEEP_S))
    }
}

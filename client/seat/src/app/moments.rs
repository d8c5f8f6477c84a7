//! Instants between the cues at which a seat has something to say or to do: a cup is there, the tasting is nearly over, the
//! last call ends. Each once, whatever revisions come.

use super::{Class, Cup};
use protocol::{Action, HostTime, Phase};
use std::collections::HashSet;

/// Seconds before the end of a tasting or of a last call at which that is said.
const TASTING_LEFT_S: [i64; 2] = [30, 10];
const CALL_LEFT_S: i64 = 10;
const SECOND_US: i64 = 1_000_000;

/// What such an instant is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Moment {
    /// There is a cup from now on.
    Ready(Cup),
    /// So many seconds are left to taste a round.
    TasteLeft {
        /// The round.
        round: u32,
        /// When the tasting ends; a hold may put it off, and then it is told again.
        until: HostTime,
        /// How many.
        left_s: i64,
    },
    /// So many seconds are left for a sheet that is open again.
    OpenLeft {
        /// Whose.
        cup: Cup,
        /// When the time for it is over.
        until: HostTime,
        /// How many.
        left_s: i64,
    },
    /// The time for a sheet that is open again is over.
    OpenOver {
        /// Whose.
        cup: Cup,
        /// When it was.
        until: HostTime,
    },
    /// So many seconds of the last call that ends at this instant are left.
    CallLeft {
        /// When it ends.
        until: HostTime,
        /// How many.
        left_s: i64,
    },
    /// The last call that ends at this instant is over.
    CallOver(HostTime),
}

/// Which of them have been.
#[derive(Clone, Debug, Default)]
pub struct Moments {
    /// Up to where they have been looked for. It follows host time when that steps back.
    looked: Option<HostTime>,
    been: HashSet<Moment>,
}

impl Class {
    /// All of them with their instants. In a rehearsal there is no time to count down in words.
    fn all_moments(&self, pace: f64) -> Vec<(HostTime, Moment)> {
        let mut all: Vec<_> = self.decants().map(|(at, cup)| (at, Moment::Ready(cup))).collect();
        let counts = pace <= 1.0;
        // While the class holds nobody knows when a tasting ends.
        let tastings = counts && self.phase != Phase::Held;
        for cue in self.timetable.cues.iter().filter(|cue| tastings && cue.action == Action::Taste) {
            let long = TASTING_LEFT_S.iter().filter(|left_s| **left_s < i64::from(cue.length_s));
            let (round, until) = (cue.round(), self.end_of(cue));
            let moment =
                |&left_s: &i64| (until + -left_s * SECOND_US, Moment::TasteLeft { round, until, left_s });
            all.extend(long.map(moment));
        }
        for (&cup, &until) in &self.reopened {
            all.push((until, Moment::OpenOver { cup, until }));
            let moment =
                |&left_s: &i64| (until + -left_s * SECOND_US, Moment::OpenLeft { cup, until, left_s });
            all.extend(TASTING_LEFT_S.iter().filter(|_| counts).map(moment));
        }
        if let Some(until) = self.last_call {
            all.push((until, Moment::CallOver(until)));
            let left_s = CALL_LEFT_S;
            all.extend(counts.then_some((until + -left_s * SECOND_US, Moment::CallLeft { until, left_s })));
        }
        all
    }

    /// Those that have come since the last look, in order of their instants. What came before the seat knew the time is
    /// not told, but for the end of a last call, at which something is to be done.
    pub(super) fn take_moments(&mut self, now: HostTime, pace: f64) -> Vec<Moment> {
        let all = self.all_moments(pace);
        let looked = self.moments.looked.replace(now);
        let mut come: Vec<_> = all.into_iter().filter(|(at, _)| *at <= now).collect();
        come.sort_by_key(|(at, _)| *at);
        let been = &mut self.moments.been;
        come.retain(|(at, moment)| {
            let first = been.insert(*moment);
            let acts = matches!(moment, Moment::CallOver(_));
            // A seat that looks again after a sleep is told that a cup is there, and no countdown that is over.
            let late = now - *at > SECOND_US && !matches!(moment, Moment::Ready(_));
            first && (acts || looked.is_some() && !late)
        });
        come.into_iter().map(|(_, moment)| moment).collect()
    }

    /// The next instant at which there is one; in the past if one came since the last look.
    pub(super) fn next_moment(&self, now: HostTime, pace: f64) -> Option<HostTime> {
        let looked = self.moments.looked.map_or(now, |looked| looked.min(now));
        let all = self.all_moments(pace).into_iter();
        let ahead = all.filter(|(at, moment)| *at > looked && !self.moments.been.contains(moment));
        ahead.map(|(at, _)| at).min()
    }
}

//! What is due: cues fired, moments come, and when to ring and to look again.

use super::moments::Moment;
use super::{App, CueKey, Draw, Effect, Happening, alarm};
use crate::deeds;
use crate::host_clock::OwnTime;
use crate::words;
use protocol::{Action, Cue, Phase};

/// Whether a cue rings at a seat with these hands: its own work does, the closing of a sheet is not worth a bell.
fn rings_for(cue: &Cue, hands: Option<u8>) -> bool {
    cue.action != Action::SheetCloses && cue.is_for(hands)
}

impl App {
    /// The next instant at which to ring, and the cues to ring for.
    pub fn next_ring(&self, now: OwnTime) -> Option<(OwnTime, Vec<CueKey>)> {
        let class = self.class.as_ref()?;
        let rings = |cue: &&Cue| {
            let ends = class.phase != Phase::Closed || class.ends_a_wet_steep(cue, cue.at);
            ends && class.alarm.is_ahead(cue) && rings_for(cue, class.hands)
        };
        let mut coming = class.timetable.coming(self.host_now(now)?).iter().filter(rings);
        let first = coming.next()?;
        let more = coming.take_while(|cue| cue.at == first.at);
        let keys = std::iter::once(first).chain(more).map(Cue::key).collect();
        Some((self.clock.own_time(first.at)?, keys))
    }

    /// When the app next wants a [`Event::Tick`]: the next cue, its announcement, a cup that is ready, the instant at
    /// which a sheet that nobody is at gives way, or the turn of the next line that the teacher said.
    pub fn next_wake(&self, now: OwnTime) -> Option<OwnTime> {
        let (class, at) = (self.class.as_ref()?, self.host_now(now)?);
        let pace = self.clock.pace();
        let cue = class.alarm.next(&class.timetable, at, pace);
        let next = [cue, class.next_moment(at, pace)].into_iter().flatten().min();
        let next = next.and_then(|at| self.clock.own_time(at));
        [next, self.gives_way_at(now), self.next_said()].into_iter().flatten().min()
    }

    pub(super) fn fire(&mut self, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let Some(host_now) = self.host_now(now) else { return Vec::new() };
        let (pace, known) = (self.clock.pace(), self.clock.host_time(now));
        let Some(class) = &mut self.class else { return Vec::new() };
        // While the screen stands still, time is behind what it shows.
        class.alarm.join_by(known.unwrap_or(host_now));
        let (mut effects, mut closing, mut said_late) = (Vec::new(), Vec::new(), Vec::new());
        let looked = class.alarm.looked();
        let mut come = class.alarm.fire(&class.timetable, host_now);
        // A lid is said before what is done at a kettle at its instant; else the timetable's order stands.
        come.sort_by_key(|cue| (cue.at, cue.action.is_at_kettle()));
        for cue in come {
            // After the class only what is still under water matters.
            if class.phase == Phase::Closed && !class.ends_a_wet_steep(&cue, host_now) {
                continue;
            }
            let mine = cue.is_for(class.hands);
            // Moved by the teacher to before now, and heard of only now: it is done at once, however late.
            let late = cue.moved_in.is_some() && looked.is_some_and(|looked| cue.at <= looked);
            let missed = !late && host_now - cue.end() > alarm::MISSED_US;
            let drink =
                (cue.action == Action::Taste && class.role.scores()).then(|| class.to_drink(cue.round()));
            closing.extend((cue.action == Action::SheetCloses).then_some(cue.round()));
            let bell = !missed && rings_for(&cue, class.hands);
            let late_s = host_now.seconds_until(cue.at);
            let words = if late && late_s > 0 {
                deeds::late(&cue, &class.kettles, late_s)
            } else {
                deeds::with_brackets(&cue, &class.kettles)
            };
            said_late.extend((late && late_s > 0 && mine).then(|| words.clone()));
            effects.push(Effect::Say(Happening::Cue { mine, bell, missed, cue, words }));
            effects.extend(
                drink.filter(|codes| codes.len() > 1).map(|codes| Effect::Say(Happening::Drink(codes))),
            );
        }
        for cue in class.alarm.announce(&class.timetable, host_now, pace, class.hands) {
            let words = deeds::deed(&cue, &class.kettles);
            effects.push(Effect::Say(Happening::Soon { in_s: cue.at.seconds_until(host_now), cue, words }));
        }
        let moments = class.take_moments(host_now, pace);
        for words in said_late {
            self.note(now, words);
        }
        for round in closing {
            effects.extend(self.send_as_it_stands(Some(round), now, draw));
            let missing = self.left_behind(host_now);
            effects.extend((!missing.is_empty()).then_some(Effect::Say(Happening::Missing(missing))));
        }
        // What stands on the table is said before what is to be done with it at the same instant.
        let (ready, other): (Vec<_>, Vec<_>) =
            moments.into_iter().partition(|m| matches!(m, Moment::Ready(_)));
        let ready: Vec<_> = ready.into_iter().flat_map(|moment| self.at_moment(moment, now, draw)).collect();
        effects.splice(0..0, ready);
        for moment in other {
            effects.extend(self.at_moment(moment, now, draw));
        }
        effects
    }

    fn at_moment(&mut self, moment: Moment, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let class = self.class.as_ref();
        let (phase, scores) = (self.phase(), class.is_some_and(|class| class.role.scores()));
        match moment {
            _ if phase == Phase::Closed => Vec::new(),
            Moment::Ready(cup) => self.ready(cup).into_iter().collect(),
            // In a last call its own time is all that is left.
            Moment::TasteLeft { round, left_s, .. }
                if scores && class.is_some_and(|c| c.last_call.is_none()) =>
            {
                vec![Effect::Say(Happening::TasteLeft { round, left_s })]
            }
            Moment::TasteLeft { .. } => Vec::new(),
            Moment::OpenLeft { cup, left_s, .. } if self.is_reopened(cup) => {
                self.note(now, words::reopened(self.served(cup), Some(left_s)));
                vec![Effect::Say(Happening::TasteLeft { round: cup.steep, left_s })]
            }
            Moment::OpenOver { cup, .. } if self.is_reopened(cup) => {
                let mut effects = self.send_as_it_stands(Some(cup.steep), now, draw);
                effects.extend(self.is_reopened(cup).then_some(Effect::Say(Happening::Missing(vec![cup]))));
                effects
            }
            Moment::OpenLeft { .. } | Moment::OpenOver { .. } => Vec::new(),
            Moment::CallLeft { until, .. } if class.and_then(|c| c.last_call) == Some(until) => {
                self.say_last_call(now)
            }
            Moment::CallOver(until) if class.and_then(|c| c.last_call) == Some(until) => {
                self.end_last_call(now, draw)
            }
            Moment::CallLeft { .. } | Moment::CallOver(_) => Vec::new(),
        }
    }
}

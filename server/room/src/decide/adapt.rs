//! What is made of the suggestions: taken by the teacher, followed by the host, or left.

use super::steer::no;
use super::{Refusal, Rounds, Steering};
use crate::{Adapted, Event, Offer, Room};
use class::course::{Act, LONGEST_STEEP_S, Timed};
use plan::ladder::Answer;
use protocol::{Code, HostTime};

/// The act that gives steeps the time that was taken for them.
pub(super) fn timed(taken: &[Adapted]) -> Act {
    let timed =
        |adapted: &Adapted| Timed { code: adapted.code, round: adapted.round, steep_s: adapted.taken_s };
    Act::Timed { steeps: taken.iter().map(timed).collect() }
}

impl Offer {
    /// The suggestion as it is taken, for so many seconds.
    fn taken(&self, taken_s: u32, followed: bool) -> Adapted {
        Adapted {
            code: self.suggestion.tea,
            round: self.round,
            steep: self.suggestion.steep,
            votes: self.suggestion.votes,
            could_vote: self.suggestion.could_vote,
            planned_s: self.suggestion.planned_s,
            suggested_s: self.takes_s(),
            taken_s,
            followed,
        }
    }
}

impl Room {
    /// The suggestions that the teacher takes: of these teas, or of all where none is named; for other seconds where they wish so.
    pub(super) fn suggested(
        &self,
        codes: &[Code],
        steep_s: Option<u32>,
        now: HostTime,
    ) -> Result<Vec<Adapted>, Refusal> {
        if steep_s.is_some_and(|s| s > LONGEST_STEEP_S) {
            return no(format!("a steep can be 0 to {LONGEST_STEEP_S} s"));
        }
        if codes.is_empty() {
            let offers = self.suggestions(now);
            let taken = offers.iter().filter_map(|offer| Some(offer.taken(offer.takes_s()?, false)));
            let taken: Vec<Adapted> = taken.collect();
            return match taken.is_empty() {
                true => no("no other time is suggested for any tea; `why 417` says why for one"),
                false => Ok(taken),
            };
        }
        if let (Some(seconds), [code, ..]) = (steep_s, codes)
            && u16::try_from(seconds)
                .ok()
                .and_then(Code::new)
                .is_some_and(|code| self.class.tea(code).is_some())
        {
            return no(format!(
                "is {seconds} a tea or seconds? `follow {code}` and `follow {seconds}` take what is suggested, `longer {code} 10` gives any seconds"
            ));
        }
        let mut taken: Vec<Adapted> = Vec::new();
        for &code in codes {
            if taken.iter().any(|adapted| adapted.code == code) {
                continue;
            }
            let offer = self.suggestion(code, now)?;
            let seconds = steep_s.or(offer.takes_s());
            let Some(seconds) = seconds.filter(|&s| s != offer.suggestion.planned_s) else {
                let planned_s = offer.suggestion.planned_s;
                return no(match offer.suggestion.answer {
                    Answer::Spent => format!(
                        "no time is suggested for {code}: its leaf is spent; it stays {planned_s} s, or `drop {code}` ends it"
                    ),
                    _ => format!("{code} stays as planned, {planned_s} s; there is nothing to follow"),
                });
            };
            taken.push(offer.taken(seconds, false));
        }
        Ok(taken)
    }

    /// A steep stays as planned: what is suggested for it is not followed, and what was taken is taken back while it is dry.
    pub(super) fn leave(&self, code: Code, now: HostTime) -> Result<Option<Act>, Refusal> {
        let dry = |adapted: &&Adapted| {
            let turn = (adapted.code, adapted.round);
            let stands = self.course.steep(turn).is_some_and(|steep| steep.steep_s == adapted.taken_s);
            adapted.code == code && stands && !plan::steer::is_begun(&self.timetable, turn, now)
        };
        if let Some(&Adapted { round, planned_s, .. }) = self.adapted.iter().rfind(dry) {
            return Ok(Some(Act::Kept { code, round, steep_s: planned_s }));
        }
        let offer = self.suggestion(code, now)?;
        Ok(Some(Act::Kept { code, round: offer.round, steep_s: offer.suggestion.planned_s }))
    }

    /// What the host takes by the class file's word, all that is due at once; no events where nothing is.
    pub(super) fn follow_due(&self, now: HostTime, rounds: &Rounds) -> Result<Vec<Event>, Refusal> {
        let offers = self.followed(now);
        let taken: Vec<Adapted> =
            offers.iter().filter_map(|offer| Some(offer.taken(offer.takes_s()?, true))).collect();
        if taken.is_empty() {
            return Ok(Vec::new());
        }
        let codes = taken.iter().map(|adapted| adapted.code).collect();
        let wish = Steering::Follow { codes, steep_s: None };
        self.steered_to(timed(&taken), taken, &wish, now, rounds)
    }
}

//! What is on a sheet when its time is over is sent as it stands: at the end of a round's tasting and of a last call.

use super::{App, Cup, Draw, Effect, Happening, LinkState};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::time::clock_face;
use protocol::wire::SeatMessage;
use protocol::{Cue, HostTime, Phase};

impl App {
    /// Sends the sheets of a round, or all of them, on which anything is filled in.
    pub(super) fn send_as_it_stands(
        &mut self,
        round: Option<u32>,
        now: OwnTime,
        draw: Draw<'_>,
    ) -> Vec<Effect> {
        // What was begun at an earlier sitting stays for the day this seat scores again.
        if self.phase() == Phase::Closed || !self.scores() {
            return Vec::new();
        }
        let of_round = |cup: &Cup| round.is_none_or(|round| cup.steep == round);
        let begun = self.desk.drafts.iter().filter(|(cup, filled)| of_round(cup) && !filled.is_blank());
        let begun: Vec<_> = begun.map(|(cup, filled)| (*cup, filled.clone())).collect();
        let sheet = self.class.as_ref().map(|class| class.sheet.clone()).unwrap_or_default();
        let (notes, begun): (Vec<_>, Vec<_>) =
            begun.into_iter().partition(|(_, filled)| filled.is_only_a_note_on(&sheet));
        let mut effects = Vec::new();
        for (cup, filled) in begun {
            // The fingers may be in the middle of a number, and the sheet stays what it is.
            match self.score_of(cup, &filled, now) {
                Ok(score) => {
                    effects.extend(self.put_on_its_way(score, now, draw));
                    self.let_idle(cup, now);
                }
                Err(reason) => {
                    effects.extend(self.not_taken(
                        format!("{} could not be sent as it stands: {reason}", self.served(cup)),
                        now,
                    ));
                }
            }
        }
        // What may be a slip of the fingers is sent by the person alone.
        if let Some((cup, _)) = notes.first() {
            self.note(
                now,
                format!("{} holds nothing but a note and is not sent: Enter sends it", self.served(*cup)),
            );
        }
        effects
    }

    /// The last call is over: sheets and choices go as they stand, and a test that has the keys keeps them.
    pub(super) fn end_last_call(&mut self, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        if !self.scores() {
            return Vec::new();
        }
        let mut effects = self.send_as_it_stands(None, now, draw);
        let in_hand = self.desk.test;
        let picks: Vec<_> = self.desk.picks.iter().map(|(test, pick)| (*test, *pick)).collect();
        for (test, pick) in picks {
            effects.extend(self.answer(test, pick, now, draw));
        }
        self.desk.test = in_hand;
        effects
    }

    /// The class is about to close.
    pub(super) fn last_call(&mut self, seq: u64, until: HostTime, now: OwnTime) -> Vec<Effect> {
        self.heard(seq);
        let Some(class) = &mut self.class else { return Vec::new() };
        let known = class.last_call.replace(until);
        if known == Some(until) { Vec::new() } else { self.say_last_call(now) }
    }

    fn scores(&self) -> bool {
        self.class.as_ref().is_some_and(|class| class.role.scores())
    }

    /// How long the last call still lasts, and what a scoring seat has not scored.
    pub(super) fn say_last_call(&mut self, now: OwnTime) -> Vec<Effect> {
        let Some(left_s) = self.last_call_left_s(now).filter(|left_s| *left_s > 0) else { return Vec::new() };
        let missing = self.host_now(now).map(|at| self.missing(at)).unwrap_or_default();
        let role = self.class.as_ref().map(|class| class.role).unwrap_or_default();
        vec![Effect::Say(Happening::LastCall { left_s, role, missing })]
    }

    /// The sheets that the class was closed without, each with what is on it: `417 steep 1: aroma 7, liking 8`.
    pub fn not_sent(&self) -> Vec<String> {
        let Some(class) = self.class.as_ref().filter(|class| class.phase == Phase::Closed) else {
            return Vec::new();
        };
        let filled = self.desk.drafts.iter().filter(|(_, filled)| !filled.is_blank());
        filled
            .map(|(cup, filled)| format!("{}: {}", class.served(*cup), words::content(filled, &class.sheet)))
            .collect()
    }

    /// Says so.
    pub(super) fn say_not_sent(&self) -> Option<Effect> {
        Some(self.not_sent()).filter(|sheets| !sheets.is_empty()).map(|s| Effect::Say(Happening::NotSent(s)))
    }

    /// Whole seconds of the room until the last call ends; `None` if there is none.
    pub fn last_call_left_s(&self, now: OwnTime) -> Option<i64> {
        let class = self.class.as_ref().filter(|class| class.phase != Phase::Closed)?;
        let left_us = self.clock.in_room_us(class.last_call? - self.host_now(now)?);
        Some((left_us.max(0) + 999_999) / 1_000_000)
    }

    /// How many seconds are left to taste while a tasting lasts: in a last call those of the last call, and while the class
    /// holds nobody knows.
    pub fn taste_left_s(&self, taste: &Cue, at: HostTime, now: OwnTime) -> Option<i64> {
        let class = self.class.as_ref()?;
        let ends = || (class.phase != Phase::Held).then(|| class.end_of(taste).seconds_until(at));
        self.last_call_left_s(now).or_else(ends)
    }

    /// Tells the host on how many sheets something is filled in, when that has changed.
    pub(super) fn tell_writing(&mut self) -> Option<Effect> {
        if self.link != LinkState::Linked {
            self.told_writing = None;
            return None;
        }
        if !self.scores() {
            return None;
        }
        let sheets = u32::try_from(self.desk.begun()).unwrap_or(u32::MAX);
        (self.told_writing.replace(sheets) != Some(sheets))
            .then_some(Effect::Send(SeatMessage::Writing { sheets }))
    }
}

impl App {
    /// The last call in words, as long as it lasts, for a seat that has a screen.
    pub fn last_call_words(&self, now: OwnTime) -> Option<String> {
        let left_s = self.last_call_left_s(now)?;
        let class = self.class.as_ref()?;
        let (sheet, role) = (&class.sheet, class.role);
        let note = self.desk.drafts.iter().find(|(_, filled)| filled.is_only_a_note_on(sheet));
        Some(match note.filter(|_| left_s > 0 && role.scores()) {
            Some((cup, _)) => {
                let (left, cup) = (clock_face(left_s), cup.short());
                format!("last call: {left} · {cup} holds only a note: Enter sends it")
            }
            None => words::last_call(left_s, role),
        })
    }
}

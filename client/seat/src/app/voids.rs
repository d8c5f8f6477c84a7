//! Cups that the teacher has voided, or lets count again.

use super::class::{by_cup, taken};
use super::{App, Cup, Effect, Happening};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::Score;
use protocol::wire::VoidCup;

impl App {
    /// Why a cup counts for nobody, if it does not.
    pub(super) fn void(&self, cup: Cup) -> Option<&str> {
        let void = self.class.as_ref()?.voided.get(&cup)?;
        (!void.only_yours).then_some(void.reason.as_str())
    }

    /// What counts from event `seq` on: it replaces all that was known.
    pub(super) fn cups(
        &mut self,
        seq: u64,
        voided: &[VoidCup],
        scores: &[Score],
        now: OwnTime,
    ) -> Vec<Effect> {
        self.heard(seq);
        let Some(class) = &mut self.class else { return Vec::new() };
        class.taken = taken(scores);
        let id = class.id;
        self.kept.have(id, scores);
        self.say_void(voided, now).into_iter().chain([Effect::Keep]).collect()
    }

    /// Says what is voided that was not, and what counts again.
    pub(super) fn say_void(&mut self, voided: &[VoidCup], now: OwnTime) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        let new = by_cup(voided);
        let old = std::mem::replace(&mut class.voided, new.clone());
        let void = new.iter().filter(|(cup, void)| old.get(cup) != Some(void));
        let void = void.map(|(cup, void)| words::void(class.served(*cup), void));
        let again = old
            .keys()
            .filter(|cup| !new.contains_key(cup))
            .map(|cup| words::counts_again(class.served(*cup)));
        let said: Vec<String> = void.chain(again).collect();
        if !said.is_empty() {
            self.note(now, said.join(" · "));
        }
        said.into_iter().map(|words| Effect::Say(Happening::Counts(words))).collect()
    }
}

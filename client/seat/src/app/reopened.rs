//! Sheets that the teacher has opened again.

use super::class::until;
use super::{App, Cup, Effect, Happening};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::wire::OpenSheet;

impl App {
    /// Whether a sheet is open again, and was not sent since.
    pub fn is_reopened(&self, cup: Cup) -> bool {
        self.class.as_ref().is_some_and(|class| class.reopened.contains_key(&cup))
    }

    /// The sheet that is open again whose time is over first, and how many seconds of it are left.
    pub fn reopened_left(&self, now: OwnTime) -> Option<(Cup, i64)> {
        let (class, at) = (self.class.as_ref()?, self.host_now(now)?);
        let open = class.reopened.iter().filter(|(_, until)| **until > at);
        open.min_by_key(|(_, until)| **until).map(|(cup, until)| (*cup, until.seconds_until(at)))
    }

    /// What is open again from event `seq` on: it replaces all that was known.
    pub(super) fn hear_reopened(&mut self, seq: u64, open: &[OpenSheet], now: OwnTime) -> Vec<Effect> {
        self.heard(seq);
        let Some(class) = &mut self.class else { return Vec::new() };
        let known = std::mem::take(&mut class.reopened);
        self.say_reopened(&known, open, now)
    }

    /// Says what is open that was not, and what no longer is.
    pub(super) fn say_reopened(
        &mut self,
        known: &std::collections::BTreeMap<Cup, protocol::HostTime>,
        open: &[OpenSheet],
        now: OwnTime,
    ) -> Vec<Effect> {
        let (at, waiting) = (self.host_now(now), self.outbox().iter().map(Cup::of).collect::<Vec<_>>());
        let Some(class) = &mut self.class else { return Vec::new() };
        // What is on its way answers it already.
        class.reopened = until(open).into_iter().filter(|(cup, _)| !waiting.contains(cup)).collect();
        let new = class.reopened.iter().filter(|(cup, until)| known.get(cup) != Some(until));
        let left_s =
            |until: &protocol::HostTime| at.map(|at| until.seconds_until(at)).filter(|left_s| *left_s > 0);
        let again = new.map(|(cup, until)| words::reopened(class.served(*cup), left_s(until)));
        let shut = known
            .keys()
            .filter(|cup| !open.iter().any(|sheet| (sheet.code, sheet.steep) == (cup.code, cup.steep)));
        let said: Vec<String> = again.chain(shut.map(|cup| words::shut(class.served(*cup)))).collect();
        if !said.is_empty() {
            self.note(now, said.join(" · "));
        }
        said.into_iter().map(|words| Effect::Say(Happening::Counts(words))).collect()
    }
}

//! What the teacher says: shown once, also after the seat's program was started again.

use super::{App, Effect, Happening};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::wire::Saying;

impl App {
    /// Shows what has not been shown. Of several the last stays on the screen, as one line has room there.
    pub(super) fn hear_said(&mut self, said: Vec<Saying>, now: OwnTime) -> Vec<Effect> {
        let Some(id) = self.class.as_ref().map(|class| class.id) else { return Vec::new() };
        let news: Vec<Saying> = said.into_iter().filter(|saying| self.kept.show(id, saying.seq)).collect();
        let mut effects = Vec::new();
        for Saying { seq, words, to_you } in news {
            self.heard(seq);
            self.note(now, words::said(&words, to_you));
            effects.extend([Effect::Keep, Effect::Say(Happening::Said { words, to_you })]);
        }
        effects
    }
}

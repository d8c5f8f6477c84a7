//! A sent sheet that is opened for a change: by an Enter of its own, and not for long if nothing is changed.

use super::hand::DEAF_AFTER_ENTER_US;
use super::{App, Cup, CupState};
use crate::host_clock::OwnTime;

/// A sent sheet that was opened and is not changed for so long shuts again: whoever looks back at the screen types for
/// another cup. In microseconds of the seat's time.
const SHUTS_US: i64 = 10_000_000;

impl App {
    /// Whether the cup's sheet is sent and nobody has opened it since: what is typed then was meant for another.
    pub fn is_shut(&self, cup: Cup) -> bool {
        let sent = matches!(self.cup_state(cup), CupState::Sent | CupState::Kept);
        sent && self.desk.opened != Some(cup)
    }

    /// Opens a sheet that was sent for a change; not just after it was sent, for Enter may have been pressed twice.
    pub(super) fn open(&mut self, cup: Cup, now: OwnTime) {
        if self.desk.sent_at.is_some_and(|sent| now.0 - sent.0 < DEAF_AFTER_ENTER_US) {
            let state = self.cup_state(cup);
            return self
                .note_of_hand(now, format!("{} is {state}: Enter opens it for a change", self.served(cup)));
        }
        self.desk.opened = Some(cup);
        // Whoever looks away from it finds it there, shut, and nothing typed lands on another cup.
        self.at_hand(true, now);
        self.note_of_hand(now, format!("{} is open for a change: Enter sends it again", self.served(cup)));
    }

    /// Whether the sheet was sent and stands open for a change.
    pub fn is_opened(&self, cup: Cup) -> bool {
        self.desk.opened == Some(cup) && self.said(cup).is_some()
    }

    /// When a sheet that is open for a change shuts again, if nothing is changed on it.
    pub(super) fn shuts_at(&self) -> Option<OwnTime> {
        let hand = self.desk.hand.filter(|hand| self.is_opened(hand.cup))?;
        (!self.desk.drafts.contains_key(&hand.cup)).then_some(OwnTime(hand.since.0 + SHUTS_US))
    }

    /// Shuts a sheet on which nothing is changed.
    pub(super) fn shut_unchanged(&mut self, now: OwnTime) {
        if self.shuts_at().is_some_and(|end| end <= now)
            && let Some(cup) = self.desk.opened.take()
        {
            if let Some(hand) = &mut self.desk.hand {
                (hand.chosen, hand.shut_again) = (false, true);
            }
            self.note_of_hand(
                now,
                format!("{} stays as it was sent: Enter opens it for a change", self.served(cup)),
            );
        }
    }
}

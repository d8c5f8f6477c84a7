//! Which scores are taken.

use super::{MAX_FILLS, Refusal, refuse};
use crate::{Event, Room};
use protocol::wire::RefusalCode;
use protocol::{HostTime, Phase, Score, SeatId};

impl Room {
    /// What comes of a score that was taken on paper by a seat of this class.
    ///
    /// # Errors
    /// A refusal; the state of the class is as before.
    pub fn enter(&self, seat: SeatId, score: Score) -> Result<Vec<Event>, Refusal> {
        self.score(seat, score, None)
    }

    /// A score that is sent at an instant, or that comes on paper. Paper knows no instants: it is taken after the class
    /// is closed too, and for cups that this host has never seen poured.
    pub(super) fn score(
        &self,
        seat: SeatId,
        score: Score,
        sent_at: Option<HostTime>,
    ) -> Result<Vec<Event>, Refusal> {
        let score = score.inert();
        if let Some(kept) = self.scores.get(score.id) {
            if kept.seat == seat && kept.score == score {
                return Ok(Vec::new());
            }
            return refuse(
                RefusalCode::IdReused,
                "the score's id belongs to another score; send it with a new id",
            );
        }
        if self.answers.get(score.id).is_some() {
            return refuse(
                RefusalCode::IdReused,
                "the score's id belongs to an answer; send it with a new id",
            );
        }
        if sent_at.is_some() && self.phase == Phase::Closed {
            return refuse(RefusalCode::ClassClosed, "the class is closed; scores are no longer taken");
        }
        if !self.class.tea(score.code).is_some_and(|tea| (1..=tea.steeps()).contains(&score.steep)) {
            return refuse(
                RefusalCode::UnknownCup,
                format!("this class has no {} steep {}", score.code, score.steep),
            );
        }
        if let Err(fault) = score.check(&self.class.sheet) {
            return refuse(RefusalCode::BadScore, format!("{} steep {}: {fault}", score.code, score.steep));
        }
        if sent_at.is_some_and(|now| !self.timetable.poured(score.code, score.steep, now)) {
            let reason = format!(
                "{} steep {} has not been poured yet; score it when it is in the cup",
                score.code, score.steep
            );
            return refuse(RefusalCode::NotPoured, reason);
        }
        if self.scores.fills(seat, (score.code, score.steep)) >= MAX_FILLS {
            let reason = format!(
                "{} steep {} has been scored {MAX_FILLS} times by this seat; the last one counts",
                score.code, score.steep
            );
            return refuse(RefusalCode::BadScore, reason);
        }
        Ok(vec![Event::Scored { seat, score, on_paper: sent_at.is_none() }])
    }
}

//! Which scores are taken.

use super::{MAX_FILLS, Refusal, refuse};
use crate::{Event, Room};
use protocol::wire::RefusalCode;
use protocol::{HostTime, Phase, Role, Score, SeatId};

/// A seat's clock is taken to be ahead by this part of a second of the room at most.
const AHEAD_OF_A_SECOND: i64 = 20;

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
            if self.is_same(kept.seat, seat) && kept.score == score {
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
        self.check_cup(score.code, score.steep)?;
        if self.is_void((score.code, score.steep)) {
            let reason = format!(
                "{} steep {} does not count: the teacher has voided it; nothing has to be done",
                score.code, score.steep
            );
            return refuse(RefusalCode::Voided, reason);
        }
        if sent_at.is_some() {
            self.check_is_here(seat)?;
            self.check_scores(seat)?;
        }
        if let Err(fault) = score.check(&self.class.sheet) {
            return refuse(RefusalCode::BadScore, format!("{} steep {}: {fault}", score.code, score.steep));
        }
        if sent_at.is_some_and(|now| !self.timetable.has_cup(score.code, score.steep, self.ahead_of(now))) {
            let reason = format!(
                "{} steep {} is not in the cup yet; score it after its decant",
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

    /// Whether a seat has come to score at all.
    pub(super) fn check_scores(&self, seat: SeatId) -> Result<(), Refusal> {
        let Some(seat) = self.seat_of(seat).filter(|seat| !seat.role.scores()) else { return Ok(()) };
        let (does, flag) = match seat.role {
            Role::Watches => ("watches", "--watch"),
            _ => ("pours only", "--pours-only"),
        };
        let reason = format!("{} {does} and does not score; to score, join again without {flag}", seat.name);
        refuse(RefusalCode::NotScoring, reason)
    }

    /// What a seat's clock may show when the host's shows `now`: a seat that sends the moment it may is not to be declined
    /// for the little that two clocks differ.
    fn ahead_of(&self, now: HostTime) -> HostTime {
        now + self.room_us(1) / AHEAD_OF_A_SECOND
    }
}

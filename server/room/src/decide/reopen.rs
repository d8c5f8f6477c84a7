//! Sheets are opened again: they are owed once more.

use super::{Refusal, refuse};
use crate::scores::Cup;
use crate::{Event, Room, Seat};
use protocol::wire::RefusalCode;
use protocol::{Code, HostTime, Phase, SeatId};

/// Nobody scores a cup again in less, in seconds of host time.
const LEAST_S: u32 = 30;

impl Room {
    /// The sheets of a cup, of one seat or of all that owe them, are opened for as long as a round is tasted.
    pub(super) fn reopen(
        &self,
        code: Code,
        round: Option<u32>,
        name: Option<&str>,
        now: HostTime,
    ) -> Result<Vec<Event>, Refusal> {
        if self.phase == Phase::Lobby {
            return refuse(RefusalCode::NotPoured, "the class has not begun; no sheet is closed");
        }
        if self.last_call.is_some() {
            return refuse(RefusalCode::Other, "the last call is on: every sheet is open until its end");
        }
        let cup = self.cup_meant(code, round, now)?;
        let served = self.served(cup);
        let owed = |seat: &&Seat| self.is_here(seat) && seat.role.scores() && self.is_due(seat, &served);
        let seats: Vec<SeatId> = match name {
            None => self.seats.iter().filter(owed).map(|seat| seat.id).collect(),
            Some(name) => {
                let seat = self.must_mean(name)?;
                self.check_is_here(seat.id)?;
                self.check_scores(seat.id)?;
                if !self.is_due(seat, &served) {
                    return refuse(
                        RefusalCode::Other,
                        format!(
                            "{} came later and owes no sheet of {code} in round {}; it is taken all the same",
                            seat.name, cup.1
                        ),
                    );
                }
                vec![seat.id]
            }
        };
        let closed =
            seats.into_iter().filter(|&id| self.seat_of(id).is_some_and(|seat| !self.is_reopened(seat, cup)));
        let seats: Vec<SeatId> = closed.collect();
        let until = now.plus_s(self.course.taste_s(&self.class, cup.1).max(LEAST_S));
        let event = Event::SheetsReopened { seats: seats.clone(), code, round: cup.1, until };
        Ok(if seats.is_empty() { Vec::new() } else { vec![event] })
    }

    /// A cup that there is: of a round, or the last of a tea.
    fn cup_meant(&self, code: Code, round: Option<u32>, now: HostTime) -> Result<Cup, Refusal> {
        if let Some(round) = round {
            self.check_cup(code, round)?;
        } else if self.class.tea(code).is_none() {
            return refuse(RefusalCode::UnknownCup, format!("this class has no tea {code}"));
        }
        let meant = |cup: &Cup| cup.0 == code && round.is_none_or(|round| cup.1 == round);
        let mut cups = self.cups(now).into_iter().map(|served| served.cup);
        cups.rfind(meant).ok_or_else(|| {
            let reason = match round {
                Some(round) if self.is_void((code, round)) => {
                    format!("{code} of round {round} does not count; `restore {code} {round} WHY` lets it count again")
                }
                Some(round) => format!("{code} is not in the cup yet in round {round}"),
                None => format!("{code} is not in the cup yet"),
            };
            Refusal { code: RefusalCode::NotPoured, reason }
        })
    }
}

//! What may happen with difference tests, and when.

use super::{MAX_FILLS, Refusal, refuse};
use crate::{Event, Room};
use protocol::wire::RefusalCode;
use protocol::{Answer, HostTime, Phase, SeatId};

impl Room {
    /// A test is opened once both of its teas are in the cups.
    pub(super) fn open_test(&self, number: u32, now: HostTime) -> Result<Vec<Event>, Refusal> {
        let Some(test) = self.class.test(number) else { return self.unknown_test(number) };
        if self.opened.contains_key(&number) {
            return Ok(Vec::new());
        }
        for tea in test.teas.iter().filter_map(|&place| self.class.teas.get(place)) {
            if tea.code.is_none_or(|code| !self.timetable.has_cup(code, test.steep, now)) {
                let code = tea.code.map_or(String::new(), |code| code.to_string());
                let reason = format!(
                    "{code} steep {} is not in the cup yet; open the test after its decant",
                    test.steep
                );
                return refuse(RefusalCode::NotPoured, reason);
            }
        }
        Ok(vec![Event::TestOpened { test: number }])
    }

    pub(super) fn answer(&self, seat: SeatId, answer: &Answer) -> Result<Vec<Event>, Refusal> {
        if let Some(kept) = self.answers.get(answer.id) {
            if self.is_same(kept.seat, seat) && kept.answer == *answer {
                return Ok(Vec::new());
            }
            return refuse(
                RefusalCode::IdReused,
                "the answer's id belongs to another answer; send it with a new id",
            );
        }
        if self.scores.get(answer.id).is_some() {
            return refuse(
                RefusalCode::IdReused,
                "the answer's id belongs to a score; send it with a new id",
            );
        }
        if self.phase == Phase::Closed {
            return refuse(RefusalCode::ClassClosed, "the class is closed; answers are no longer taken");
        }
        let number = answer.test;
        let Some(test) = self.class.test(number) else { return self.unknown_test(number) };
        if !self.opened.contains_key(&number) {
            let reason = format!("test {number} is not open yet; wait for the teacher");
            return refuse(RefusalCode::NotOpen, reason);
        }
        self.check_is_here(seat)?;
        self.check_scores(seat)?;
        let bad = |reason: String| refuse(RefusalCode::BadAnswer, format!("test {number}: {reason}"));
        let set = self.place_of(seat).and_then(|place| test.set(place));
        if set.and_then(|set| set.tea(answer.pick)).is_none() {
            let cups = set.iter().flat_map(|set| &set.cups).map(|cup| cup.code.to_string());
            let cups: Vec<String> = cups.collect();
            return bad(format!("{} is none of your cups; choose from {}", answer.pick, cups.join(", ")));
        }
        if answer.revision == 0 {
            return bad("the revision counts from 1".into());
        }
        if self.answers.times(seat, number) >= MAX_FILLS {
            return bad(format!("answered {MAX_FILLS} times by this seat; the last answer counts"));
        }
        Ok(vec![Event::Answered { seat, answer: *answer }])
    }

    fn unknown_test<T>(&self, number: u32) -> Result<T, Refusal> {
        let there = match self.class.tests.len() {
            0 => "it has none".into(),
            1 => "it has test 1 alone".into(),
            n => format!("it has tests 1 to {n}"),
        };
        refuse(RefusalCode::UnknownTest, format!("the class has no test {number}; {there}"))
    }
}

//! The difference tests with the answers that count: what the summary works on.

use super::{Room, Seat};
use class::difference::{Asking, Side};
use protocol::{Code, SeatId};
use schemars::JsonSchema;
use serde::Serialize;

/// One difference test with its answers.
#[derive(Clone, Debug, PartialEq)]
pub struct TestAnswers {
    /// Its number, from 1.
    pub number: u32,
    /// What the seats are asked.
    pub asking: Asking,
    /// The two teas; the first is the one that would be right in a one-sided paired comparison.
    pub teas: [TestTea; 2],
    /// Whose liquor was tasted, from 1.
    pub steep: u32,
    /// Whether the test has been opened.
    pub open: bool,
    /// How many seats are asked.
    pub seats: usize,
    /// The answers that count, one for each seat that has answered, in the order of the seats.
    pub answers: Vec<SeatAnswer>,
}

/// One of the teas of a test.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct TestTea {
    /// Its own code in the class.
    pub code: Option<Code>,
    /// Its name, while it may be known.
    pub name: Option<String>,
}

/// What one seat answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SeatAnswer {
    /// The seat.
    pub seat: SeatId,
    /// Which tea was in the cup that it picked.
    pub picked: Side,
    /// Whether that was the right one; nothing where there is no right one.
    pub correct: Option<bool>,
}

impl Room {
    /// The seats that are asked a test, or have answered it all the same.
    pub(crate) fn asked(&self, number: u32) -> impl Iterator<Item = &Seat> {
        let is_asked = |seat: &Seat| seat.role.scores() && seat.away.is_none();
        self.counted().filter(move |seat| is_asked(seat) || self.answers.of(seat.id, number).is_some())
    }

    /// The difference tests of the class with their answers.
    pub fn test_answers(&self) -> Vec<TestAnswers> {
        let each = (1..).zip(&self.class.tests).map(|(number, test)| {
            let answers = self.counted().filter_map(|seat| {
                let kept = self.answers.of(seat.id, number)?;
                // No two sets have a code in common, so that the cup that was picked says which set was asked.
                let pick = kept.answer.pick;
                let (set, picked) = test.sets.iter().find_map(|set| Some((set, set.tea(pick)?)))?;
                let correct = test.right(set).map(|right| right == picked);
                Some(SeatAnswer { seat: seat.id, picked, correct })
            });
            TestAnswers {
                number,
                asking: test.asking.clone(),
                teas: test.teas.map(|place| {
                    let tea = self.class.teas.get(place);
                    let code = tea.and_then(|tea| tea.code);
                    let known = tea.filter(|_| code.is_some_and(|code| self.is_open(code)));
                    TestTea { code, name: known.map(|tea| tea.name.clone()) }
                }),
                steep: test.steep,
                open: self.opened.contains_key(&number),
                seats: self.asked(number).count(),
                answers: answers.collect(),
            }
        });
        each.collect()
    }
}

//! Difference tests: triangle (ISO 4120), duo-trio (ISO 10399) and paired comparison (ISO 5495).
//!
//! A test has several sets of cups. Each set is one order of the two teas under codes of its own, and every seat gets one of
//! the sets, so that seats side by side can't compare their codes. Sets and turns are drawn with the teas' codes and kept
//! in the ledger with them: a later program serves the same cups.

#[cfg(test)]
mod tests;

use protocol::{Code, TestCard, TestKind};
use serde::{Deserialize, Serialize};

/// The most difference tests one class can have.
pub(crate) const MAX_TESTS: usize = 8;
/// How many times all sets are dealt out before the turns begin again.
const DEALS: usize = 10;

/// Can the class tell two of its teas apart?
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DifferenceTest {
    /// What the seats are asked.
    #[serde(flatten)]
    pub asking: Asking,
    /// The two teas, by their place in the class, from 0.
    pub teas: [usize; 2],
    /// Whose liquor is tasted, from 1.
    pub steep: u32,
    /// The sets of cups, once they have been drawn.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sets: Vec<CupSet>,
    /// Which set the seats get, one after the other in the order in which they were taken, and then again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub turns: Vec<usize>,
}

/// What the seats of a difference test are asked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Asking {
    /// Which of three is the odd one?
    Triangle,
    /// Which of two is the same as the reference?
    DuoTrio {
        /// Either tea is the reference for half of the seats; if not, the first tea is for all.
        balanced: bool,
    },
    /// Which of two is more so?
    Paired {
        /// What is asked: "which is …?"
        ask: String,
        /// Only the first tea would be right; if not, either would be news.
        one_sided: bool,
    },
}

/// One of a test's two teas.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// The one named first.
    First,
    /// The other.
    Second,
}

/// A cup of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestCup {
    /// What is written on it.
    pub code: Code,
    /// What is in it.
    pub tea: Side,
}

/// The cups of a seat, in the order in which they are tasted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CupSet {
    /// What the others are compared with, in a duo-trio.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<TestCup>,
    /// The cups to choose from.
    pub cups: Vec<TestCup>,
}

impl CupSet {
    /// All cups, the reference first.
    pub fn all(&self) -> impl Iterator<Item = &TestCup> {
        self.reference.iter().chain(&self.cups)
    }

    /// What is in the cup of a code that can be chosen.
    pub fn tea(&self, pick: Code) -> Option<Side> {
        self.cups.iter().find(|cup| cup.code == pick).map(|cup| cup.tea)
    }
}

impl Asking {
    /// The kind of test, without its particulars.
    pub fn kind(&self) -> TestKind {
        match self {
            Asking::Triangle => TestKind::Triangle,
            Asking::DuoTrio { .. } => TestKind::DuoTrio,
            Asking::Paired { .. } => TestKind::Paired,
        }
    }

    /// Every order of the cups, the reference apart: all six of a triangle; of the others both sides, as often as makes four sets.
    fn orders(&self) -> Vec<(Option<Side>, Vec<Side>)> {
        use Side::{First as A, Second as B};
        let both = [[A, B], [B, A]];
        match self {
            Asking::Triangle => [[A, A, B], [A, B, A], [B, A, A], [B, B, A], [B, A, B], [A, B, B]]
                .map(|order| (None, order.to_vec()))
                .into(),
            Asking::DuoTrio { balanced } => {
                let references = [A, if *balanced { B } else { A }];
                let orders = references.iter().flat_map(|&r| both.map(|order| (Some(r), order.to_vec())));
                orders.collect()
            }
            Asking::Paired { .. } => {
                both.iter().cycle().take(4).map(|order| (None, order.to_vec())).collect()
            }
        }
    }
}

impl DifferenceTest {
    /// Draws the sets' codes and the turns, if that has not been done. Every deal gives each set once, and no two seats in a row
    /// the same.
    pub(super) fn draw(&mut self, codes: &mut impl Iterator<Item = Code>, rng: &mut fastrand::Rng) {
        if !self.sets.is_empty() {
            return;
        }
        for (reference, order) in self.asking.orders() {
            let mut cup = |tea| codes.next().map(|code| TestCup { code, tea });
            let reference = reference.and_then(&mut cup);
            self.sets.push(CupSet { reference, cups: order.into_iter().filter_map(cup).collect() });
        }
        let mut deal: Vec<usize> = (0..self.sets.len()).collect();
        for _ in 0..DEALS {
            rng.shuffle(&mut deal);
            if deal.first() == self.turns.last() {
                deal.swap(0, 1);
            }
            self.turns.extend(&deal);
        }
        let last = self.turns.len() - 1;
        if self.turns[last] == self.turns[0] {
            self.turns.swap(last, last - 1);
        }
    }

    /// The cups of the seat that was taken as number `place`, from 0.
    pub fn set(&self, place: usize) -> Option<&CupSet> {
        let turn = place.checked_rem(self.turns.len())?;
        self.sets.get(self.turns[turn])
    }

    /// What that seat is asked; the test has this number, from 1.
    pub fn card(&self, number: u32, place: usize) -> Option<TestCard> {
        let set = self.set(place)?;
        let reference = set.reference.map(|cup| cup.code);
        Some(TestCard {
            test: number,
            kind: self.asking.kind(),
            question: self.question(reference),
            reference,
            codes: set.cups.iter().map(|cup| cup.code).collect(),
        })
    }

    /// The question, of a seat with this reference or of nobody in particular.
    pub fn question(&self, reference: Option<Code>) -> String {
        match (&self.asking, reference) {
            (Asking::Triangle, _) => "Two of these three are the same tea. Which is the odd one?".into(),
            (Asking::DuoTrio { .. }, Some(code)) => {
                format!("Taste {code} first. Which of the other two is the same tea?")
            }
            (Asking::DuoTrio { .. }, None) => {
                "Taste the reference first. Which of the other two is the same tea?".into()
            }
            (Asking::Paired { ask, .. }, _) => format!("Which of the two is {ask}?"),
        }
    }

    /// The tea whose cup would be the right pick from a set; none where either would be news.
    pub fn right(&self, set: &CupSet) -> Option<Side> {
        let count = |side| set.cups.iter().filter(|cup| cup.tea == side).count();
        match &self.asking {
            Asking::Triangle if count(Side::First) < count(Side::Second) => Some(Side::First),
            Asking::Triangle => Some(Side::Second),
            Asking::DuoTrio { .. } => set.reference.map(|cup| cup.tea),
            Asking::Paired { one_sided, .. } => one_sided.then_some(Side::First),
        }
    }

    /// How many sets are dealt to so many seats, set by set: the places that get each.
    pub fn dealt(&self, seats: usize) -> Vec<Vec<usize>> {
        let mut places = vec![Vec::new(); self.sets.len()];
        let turns = self.turns.iter().cycle().take(seats);
        for (place, &turn) in turns.enumerate() {
            places.get_mut(turn).into_iter().for_each(|set| set.push(place));
        }
        places
    }

    /// All codes in use.
    pub fn codes(&self) -> impl Iterator<Item = Code> {
        self.sets.iter().flat_map(CupSet::all).map(|cup| cup.code)
    }

    /// The text a person wrote into it.
    pub fn text_mut(&mut self) -> Option<&mut String> {
        if let Asking::Paired { ask, .. } = &mut self.asking { Some(ask) } else { None }
    }
}

//! Everything that was computed from a class's scores, before it is put into words.

use crate::data::Data;
use crate::find::agreement::{Agreement, agreement};
use crate::find::describe::{self, Curve, Described, Dot, Scale, TasterMean};
use crate::find::difference_tests::TestFound;
use crate::find::differences::{Difference, differences};
use crate::find::leaves::{Leaf, leaves, settle};
use crate::find::seats::{SeatPage, pages};
use crate::find::serving::{Serving, serving};
use crate::find::strength::{StrengthFindings, strength};
use crate::find::ticks::{WordFinding, words};
use crate::find::totals::{Totals, totals};
use crate::find::ways::{TwoWays, ways};
use schemars::JsonSchema;
use serde::Serialize;

/// The figures, question by question.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Figures {
    /// Seats with at least one sheet; in the JSON it stands in front of the sentences.
    #[serde(skip)]
    pub tasters: usize,
    /// The figures of every tea, steep, leaf and way of steeping, attribute by attribute.
    pub described: Vec<Described>,
    /// The scale of each attribute, in the order of the sheet.
    pub scales: Vec<Scale>,
    /// Every single score, for dot plots.
    pub dots: Vec<Dot>,
    /// Each taster's mean of each tea over the steeps.
    pub means: Vec<TasterMean>,
    /// Mean and interval from steep to steep, for each attribute and tea.
    pub curves: Vec<Curve>,
    /// Whether the teas differ, for each attribute: over the steeps first, then steep by steep.
    pub differences: Vec<Difference>,
    /// Two ways of steeping one leaf, pair by pair; only pairs of revealed teas. Evidence: sentences go by `leaves`.
    pub ways: Vec<TwoWays>,
    /// Every revealed leaf of several ways: whether they differ at all, and which.
    pub leaves: Vec<Leaf>,
    /// How far the tasters agree, for each attribute.
    pub agreement: Vec<Agreement>,
    /// The strength vote, `null` when the sheet does not ask it.
    pub strength: Option<StrengthFindings>,
    /// The words ticked; empty when the sheet has none.
    pub words: Vec<WordFinding>,
    /// The difference tests of the class; empty when it has none.
    pub tests: Vec<TestFound>,
    /// Weighted totals, `null` when the class names no weights.
    pub totals: Option<Totals>,
    /// One page for each seat, in the order in which they came: the seat and the class. With all figures, for the
    /// teacher: on a seat's own page those of few others are left out.
    pub seats: Vec<SeatPage>,
    /// The order of serving, and whether it mattered which cup came first; `null` with fewer than two teas.
    pub serving: Option<Serving>,
}

impl Figures {
    /// The page of the seat of this name as that person may see it; `None` if there is no such seat.
    pub fn seat(&self, name: &str) -> Option<SeatPage> {
        self.seats.iter().find(|page| page.seat == name).map(SeatPage::for_the_seat)
    }

    /// All figures but those of the difference tests, which are given.
    pub fn of(data: &Data<'_>, tests: Vec<TestFound>) -> Self {
        let described = describe::described(data);
        let mut differences = differences(data);
        let leaves = leaves(data, &differences);
        settle(&mut differences, &leaves);
        Self {
            tasters: data.tasters().len(),
            scales: describe::scales(data),
            dots: describe::dots(data),
            means: describe::means(data),
            curves: describe::curves(&described),
            described,
            differences,
            ways: ways(data),
            leaves,
            agreement: agreement(data),
            strength: strength(data),
            words: words(data),
            tests,
            totals: totals(data),
            seats: pages(data),
            serving: serving(data),
        }
    }
}

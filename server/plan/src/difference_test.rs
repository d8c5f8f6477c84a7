//! The difference tests of a class as they are prepared: who gets which cups, what is poured into them, and what the
//! answers could show.

use crate::quantities::Quantities;
use class::difference::{Asking, DifferenceTest, Side, TestCup};
use class::{Class, Pourers};
use protocol::{Code, TestKind};
use serde::Serialize;
use stats::can_show::what_it_takes;
use stats::forced_choice::Test;

/// One difference test.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TestPlan {
    /// Its number, from 1.
    pub test: u32,
    /// The kind of test.
    pub kind: TestKind,
    /// The codes of the two teas.
    pub teas: Vec<Code>,
    /// Whose liquor is tasted.
    pub steep: u32,
    /// What is asked.
    pub question: String,
    /// What each seat is served.
    pub servings: Vec<Serving>,
    /// What is in the cups: for the teacher alone.
    pub key: Vec<KeySet>,
    /// Cups poured of each of the two teas.
    pub cups: Vec<u32>,
    /// What this many answers could show.
    pub can_show: String,
    /// What is to be seen to.
    pub notes: Vec<String>,
    /// Where more has to be brewed than the tasting needs. It names the teas, so it belongs with the key.
    pub short: Vec<String>,
}

/// The cups of a seat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Serving {
    /// The seat's number in the order in which the seats are taken, from 1.
    pub seat: u32,
    /// The cup to begin with, in a duo-trio.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reference: Option<Code>,
    /// The cups to choose from, from left to right.
    pub codes: Vec<Code>,
}

/// A set of cups that some seats share.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KeySet {
    /// The seats that get it.
    pub seats: Vec<u32>,
    /// The cups from left to right, the reference first.
    pub cups: Vec<KeyCup>,
    /// The right pick; `null` where either would be news.
    pub right: Option<Code>,
}

/// What is in a cup.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct KeyCup {
    /// What is written on it.
    pub code: Code,
    /// The code of the tea that is in it.
    pub tea: Code,
}

/// The test that goes with what is asked.
pub fn statistic(asking: &Asking) -> Test {
    match asking {
        Asking::Triangle => Test::Triangle,
        Asking::DuoTrio { .. } => Test::DuoTrio,
        Asking::Paired { one_sided: true, .. } => Test::PairedOneSided,
        Asking::Paired { one_sided: false, .. } => Test::PairedTwoSided,
    }
}

/// The difference tests of a class whose codes have been drawn.
pub fn plans(class: &Class, quantities: &Quantities) -> Vec<TestPlan> {
    (1..).zip(&class.tests).filter_map(|(number, test)| one(class, quantities, number, test)).collect()
}

fn one(class: &Class, quantities: &Quantities, number: u32, test: &DifferenceTest) -> Option<TestPlan> {
    let [first, second] = test.teas.map(|place| class.teas.get(place).and_then(|tea| tea.code));
    let (first, second) = (first?, second?);
    let in_cup = |cup: &TestCup| match cup.tea {
        Side::First => KeyCup { code: cup.code, tea: first },
        Side::Second => KeyCup { code: cup.code, tea: second },
    };
    let seats = class.seats as usize;
    let servings = (1..=class.seats).filter_map(|seat| {
        let card = test.card(number, seat as usize - 1)?;
        Some(Serving { seat, reference: card.reference, codes: card.codes })
    });
    let sets = test.sets.iter().zip(test.dealt(seats));
    let key: Vec<KeySet> = sets
        .filter(|(_, places)| !places.is_empty())
        .map(|(set, places)| {
            let right = test.right(set).and_then(|right| set.cups.iter().find(|cup| cup.tea == right));
            KeySet {
                seats: places.iter().map(|&place| place as u32 + 1).collect(),
                cups: set.all().map(in_cup).collect(),
                right: right.map(|cup| cup.code),
            }
        })
        .collect();
    let poured = |tea| {
        let of = |set: &KeySet| set.seats.len() * set.cups.iter().filter(|cup| cup.tea == tea).count();
        key.iter().map(of).sum::<usize>() as u32
    };
    let cups = vec![poured(first), poured(second)];
    let each_brews = "Each seat brews its own set and would know its own liquor: somebody else brews for this test, out of sight.";
    let notes = (class.pourers == Pourers::EachSeat).then(|| each_brews.to_string());
    let short = short(class, quantities, test, &cups);
    Some(TestPlan {
        test: number,
        kind: test.asking.kind(),
        teas: vec![first, second],
        steep: test.steep,
        question: test.question(None),
        servings: servings.collect(),
        key,
        cups,
        can_show: what_it_takes(statistic(&test.asking), seats, class.tests.len()),
        notes: notes.into_iter().collect(),
        short,
    })
}

/// Where what a table brews for the tasting does not reach.
fn short(class: &Class, quantities: &Quantities, test: &DifferenceTest, cups: &[u32]) -> Vec<String> {
    let mut short = Vec::new();
    if class.pourers == Pourers::EachSeat {
        return short;
    }
    for (&place, &cups) in test.teas.iter().zip(cups) {
        let (Some(tea), Some(need)) = (class.teas.get(place), quantities.teas.get(place)) else { continue };
        let (Some(code), Some(vessels)) = (tea.code, need.vessels) else { continue };
        let steep = test.steep as usize - 1;
        let there_ml = need.liquor.get(steep).map_or(0.0, |liquor| liquor.ml * f64::from(vessels));
        let wanted_ml = f64::from(class.seats + cups) * class.setting.cup_ml;
        if wanted_ml > there_ml {
            short.push(format!(
                "{code} steep {} gives {there_ml:.0} ml, and the tasting and this test take {wanted_ml:.0} ml: brew one \
                 more vessel, or pour smaller cups.",
                test.steep
            ));
        }
    }
    short
}

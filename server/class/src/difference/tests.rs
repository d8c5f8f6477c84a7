//! What is drawn for a difference test is balanced, and tells a seat nothing.

use super::*;
use crate::{Class, read};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

fn class(seed: u64) -> Class {
    read::class(include_str!("../../../tests/classes/five-tests.toml")).unwrap().with_codes(seed)
}

fn order(set: &CupSet) -> String {
    set.all().map(|cup| if cup.tea == Side::First { 'A' } else { 'B' }).collect()
}

/// How often each order, the reference first, is served to so many seats.
fn served(test: &DifferenceTest, seats: usize) -> BTreeMap<String, usize> {
    let mut served = BTreeMap::new();
    for place in 0..seats {
        *served.entry(order(test.set(place).unwrap())).or_default() += 1;
    }
    served
}

proptest! {
    #[test]
    fn every_order_is_served_equally_often_and_neighbours_share_no_code(seed: u64, deals in 1usize..30) {
        for test in class(seed).tests {
            let seats = deals * test.sets.len();
            let counts: BTreeSet<usize> = served(&test, seats).into_values().collect();
            prop_assert_eq!(counts.len(), 1, "{:?}", test.asking);
            let codes = |place| -> BTreeSet<Code> { test.set(place).unwrap().all().map(|cup| cup.code).collect() };
            for place in 1..seats {
                prop_assert!(codes(place - 1).is_disjoint(&codes(place)), "seats {} and {}", place, place + 1);
            }
        }
    }

    #[test]
    fn no_code_stands_for_two_cups_or_for_a_tea(seed: u64) {
        let class = class(seed);
        let teas: Vec<Code> = class.coded().map(|(code, _)| code).collect();
        let cups: Vec<Code> = class.tests.iter().flat_map(DifferenceTest::codes).collect();
        prop_assert_eq!(cups.len(), 18 + 12 + 12 + 8 + 8);
        let all: BTreeSet<&Code> = teas.iter().chain(&cups).collect();
        prop_assert_eq!(all.len(), teas.len() + cups.len());
    }
}

#[test]
fn the_orders_are_those_of_the_standards() {
    let class = class(7);
    let orders = |test: usize| served(&class.tests[test], 12).into_keys().collect::<Vec<_>>().join(" ");
    assert_eq!(orders(0), "AAB ABA ABB BAA BAB BBA");
    assert_eq!(orders(1), "AAB ABA", "the first tea is the reference for all");
    assert_eq!(orders(2), "AAB ABA BAB BBA", "either tea is the reference");
    assert_eq!((orders(3), orders(4)), ("AB BA".into(), "AB BA".into()));
}

#[test]
fn the_right_pick_is_the_odd_one_the_same_one_or_the_one_that_was_expected() {
    let class = class(7);
    for (test, right) in class.tests.iter().zip([
        |cups: &str| Some(if cups.matches('A').count() == 1 { Side::First } else { Side::Second }),
        |_: &str| Some(Side::First),
        |cups: &str| Some(if cups.starts_with('A') { Side::First } else { Side::Second }),
        |_: &str| None,
        |_: &str| Some(Side::First),
    ]) {
        for set in &test.sets {
            assert_eq!(test.right(set), right(&order(set)), "{:?} {}", test.asking, order(set));
        }
    }
}

#[test]
fn what_has_been_drawn_is_not_drawn_again_and_is_stored_as_it_is() {
    let drawn = class(7);
    assert_eq!(drawn.clone().with_codes(8), drawn);
    assert_ne!(class(8).tests, drawn.tests);
    let stored = serde_json::to_string(&drawn).unwrap();
    assert_eq!(serde_json::from_str::<Class>(&stored).unwrap(), drawn);
}

#[test]
fn a_seat_is_asked_with_its_own_codes_and_told_nothing_else() {
    let class = class(7);
    let cards: Vec<_> = (1..).zip(&class.tests).map(|(n, test)| test.card(n, 0).unwrap()).collect();
    let cups: Vec<usize> = cards.iter().map(|card| card.codes.len()).collect();
    assert_eq!(cups, [3, 2, 2, 2, 2]);
    assert_eq!(cards[0].question, "Two of these three are the same tea. Which is the odd one?");
    let reference = cards[1].reference.unwrap();
    assert_eq!(
        cards[1].question,
        format!("Taste {reference} first. Which of the other two is the same tea?")
    );
    assert_eq!(cards[3].question, "Which of the two is stronger?");
    assert!(cards.iter().all(|card| card.reference.is_none_or(|code| !card.codes.contains(&code))));
}

#[test]
fn a_test_from_a_broken_ledger_asks_nothing() {
    let mut test = class(7).tests.remove(0);
    test.turns = vec![99];
    assert_eq!((test.card(1, 0), test.dealt(3)), (None, vec![vec![]; 6]));
    test.turns.clear();
    assert_eq!(test.card(1, 5), None);
}

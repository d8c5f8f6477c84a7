//! In which order a seat meets the teas: balanced for position and for what was in the cup before.
//!
//! The orders are the rows of a Williams design (E. J. Williams, Australian Journal of Scientific Research A 2, 149,
//! 1949; for sensory tests MacFie and others, Journal of Sensory Studies 4, 129, 1989). An even number of teas n needs
//! n rows: each tea stands once in each position, and each tea follows each other tea once. An odd n needs 2n rows,
//! the second half being the first read backwards: twice each.

use std::iter;

/// How many rows a balanced design for n teas has: n for an even n and for one tea, else 2n.
pub fn rows(n_teas: usize) -> usize {
    if n_teas.is_multiple_of(2) || n_teas == 1 { n_teas } else { 2 * n_teas }
}

/// The Williams design for `n_teas` teas, numbered from 0, before any shuffle.
///
/// The first row is 0, 1, n−1, 2, n−2, …; every further row adds one modulo n; an odd n has all of these read
/// backwards as well.
fn design(n_teas: usize) -> Vec<Vec<usize>> {
    let step = |place: usize| if place.is_multiple_of(2) { n_teas - place / 2 } else { place / 2 + 1 };
    let mut rows: Vec<Vec<usize>> =
        (0..n_teas).map(|row| (0..n_teas).map(|place| (step(place) + row) % n_teas).collect()).collect();
    if self::rows(n_teas) > n_teas {
        rows.extend(rows.clone().into_iter().map(|row| row.into_iter().rev().collect()));
    }
    rows
}

/// The order in which each seat meets the teas: one list of tea numbers, from 0, for each of `seats` seats; any number
/// of teas (a class has 1 to 12). The same seed gives the same orders.
///
/// Which tea takes which place in the design, and which seat gets which of its rows, is drawn from the seed. Seats
/// beyond the last row begin again with the first. Every n seats in a row are balanced for position, and every
/// [`rows`] seats for carry-over too, so that it does not matter much if the last seats stay empty.
pub fn orders(n_teas: usize, seats: usize, seed: u64) -> Vec<Vec<usize>> {
    let rows = drawn(n_teas, seed);
    rows.iter().cycle().take(seats).cloned().collect()
}

/// The order in which the seat at a place, from 0, meets the teas: as [`orders`] has it, however many seats come.
pub fn order(n_teas: usize, place: usize, seed: u64) -> Vec<usize> {
    let mut rows = drawn(n_teas, seed);
    rows.swap_remove(place % rows.len())
}

/// The rows of the design as drawn from the seed: at least one.
fn drawn(n_teas: usize, seed: u64) -> Vec<Vec<usize>> {
    if n_teas == 0 {
        return vec![Vec::new()];
    }
    let mut rng = fastrand::Rng::with_seed(seed);
    let mut labels: Vec<usize> = (0..n_teas).collect();
    rng.shuffle(&mut labels);
    let mut rows = design(n_teas);
    for square in rows.chunks_mut(n_teas) {
        rng.shuffle(square);
    }
    rows.iter().map(|row| row.iter().map(|&tea| labels[tea]).collect()).collect()
}

/// One sentence if this many seats cannot be balanced completely, with the nearest numbers of seats that can.
pub fn imbalance(n_teas: usize, seats: usize) -> Option<String> {
    let rows = rows(n_teas);
    if n_teas < 2 || seats.is_multiple_of(rows) {
        return None;
    }
    let position = if seats.is_multiple_of(n_teas) {
        "Every tea comes equally often in each place, but what is tasted just before it"
    } else {
        "What comes first and what is tasted just before"
    };
    let below = seats / rows * rows;
    let fitting: Vec<String> =
        iter::once(below).filter(|&b| b > 0).chain([below + rows]).map(|n| n.to_string()).collect();
    let seat_s = if seats == 1 { "seat" } else { "seats" };
    Some(format!(
        "{position} is not fully balanced over {seats} {seat_s}: {n_teas} teas need a multiple of {rows} seats, such \
         as {}.",
        fitting.join(" or ")
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// How often each tea stands in each position, and how often each stands directly before each other.
    fn counts(rows: &[Vec<usize>], n: usize) -> (Vec<usize>, Vec<usize>) {
        let (mut places, mut pairs) = (vec![0; n * n], vec![0; n * n]);
        for row in rows {
            for (place, &tea) in row.iter().enumerate() {
                places[tea * n + place] += 1;
            }
            for pair in row.windows(2) {
                pairs[pair[0] * n + pair[1]] += 1;
            }
        }
        // A tea before itself is no pair.
        let pairs = pairs.into_iter().enumerate().filter(|(i, _)| i / n != i % n).map(|(_, c)| c).collect();
        (places, pairs)
    }

    fn balanced(rows: &[Vec<usize>], n: usize) -> bool {
        let (places, pairs) = counts(rows, n);
        let times = rows.len() / n;
        places.iter().all(|&c| c == times) && pairs.iter().all(|&c| c == times)
    }

    fn letters(rows: &[Vec<usize>]) -> String {
        let row = |r: &Vec<usize>| r.iter().map(|&t| char::from(b'A' + t as u8)).collect::<String>();
        rows.iter().map(row).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_designs_are_those_of_the_reference_table() {
        // Williams 1949, by the construction of the reference table; exact.
        assert_eq!(letters(&design(3)), "ABC BCA CAB CBA ACB BAC");
        assert_eq!(letters(&design(4)), "ABDC BCAD CDBA DACB");
        assert_eq!(letters(&design(5)), "ABECD BCADE CDBEA DECAB EADBC DCEBA EDACB AEBDC BACED CBDAE");
        assert_eq!(letters(&design(6)), "ABFCED BCADFE CDBEAF DECFBA EFDACB FAEBDC");
        assert_eq!(
            letters(&design(8)),
            "ABHCGDFE BCADHEGF CDBEAFHG DECFBGAH EFDGCHBA FGEHDACB GHFAEBDC HAGBFCED"
        );
    }

    #[test]
    fn another_published_design_passes_the_same_check_and_the_cyclic_square_fails_it() {
        let read = |text: &str| -> Vec<Vec<usize>> {
            text.split(' ').map(|row| row.bytes().map(|b| usize::from(b - b'A')).collect()).collect()
        };
        // Published by a bioequivalence forum for four treatments.
        assert!(balanced(&read("ABCD BDAC CADB DCBA"), 4));
        let cyclic = read("ABCD BCDA CDAB DABC");
        let (places, pairs) = counts(&cyclic, 4);
        assert!(places.iter().all(|&c| c == 1), "balanced for position");
        assert_eq!(pairs.iter().filter(|&&c| c == 3).count(), 4, "but four pairs stand three times");
        assert_eq!(pairs.iter().filter(|&&c| c == 0).count(), 8, "and eight never");
        assert!(!balanced(&cyclic, 4));
    }

    #[test]
    fn one_tea_and_no_seats_are_orders_too() {
        assert_eq!(orders(1, 3, 7), vec![vec![0]; 3]);
        assert_eq!(orders(4, 0, 7), Vec::<Vec<usize>>::new());
        assert_eq!(orders(0, 2, 7), vec![Vec::<usize>::new(); 2]);
        assert_eq!((rows(0), rows(1), rows(2), rows(3), rows(12)), (0, 1, 2, 6, 12));
    }

    #[test]
    fn the_same_seed_gives_the_same_orders_and_another_seed_others() {
        assert_eq!(orders(6, 9, 1), orders(6, 9, 1));
        assert_ne!(orders(6, 9, 1), orders(6, 9, 2));
    }

    #[test]
    fn seats_that_do_not_fit_are_told() {
        assert_eq!(imbalance(4, 8), None);
        assert_eq!(imbalance(1, 5), None);
        assert_eq!(imbalance(5, 20), None);
        let said = imbalance(4, 10).unwrap();
        assert!(
            said.contains("over 10 seats") && said.ends_with("a multiple of 4 seats, such as 8 or 12."),
            "{said}"
        );
        let said = imbalance(5, 5).unwrap();
        assert!(said.starts_with("Every tea comes equally often in each place, but"), "{said}");
        assert!(said.ends_with("5 teas need a multiple of 10 seats, such as 10."), "{said}");
    }

    proptest! {
        #[test]
        fn full_cycles_are_balanced_for_position_and_carry_over(n in 2usize..=12, cycles in 1usize..4, seed: u64) {
            prop_assert!(balanced(&orders(n, cycles * rows(n), seed), n));
            prop_assert_eq!(imbalance(n, cycles * rows(n)), None);
        }

        #[test]
        fn any_number_of_seats_is_as_balanced_as_can_be(n in 2usize..=12, seats in 1usize..60, seed: u64) {
            let orders = orders(n, seats, seed);
            prop_assert_eq!(orders.len(), seats);
            for (place, order) in orders.iter().enumerate() {
                prop_assert_eq!(&super::order(n, place, seed), order, "one seat asks alone");
            }
            let (places, pairs) = counts(&orders, n);
            let uneven = |counts: &[usize]| counts.iter().max().unwrap() - counts.iter().min().unwrap();
            prop_assert!(uneven(&places) <= 1, "places differ by one at most");
            prop_assert!(uneven(&pairs) <= if n % 2 == 0 { 1 } else { 2 }, "pairs by one, or two for an odd n");
            for order in &orders {
                let mut sorted = order.clone();
                sorted.sort_unstable();
                prop_assert_eq!(sorted, (0..n).collect::<Vec<_>>(), "each tea once");
            }
        }
    }
}

//! Letters that show which teas differ: two teas share a letter exactly if they do not differ.

/// The letters of each value, for instance "a", "ab", "b"; the first letters go to the highest values.
///
/// `differs(i, j)` is asked once for every pair with i < j. The letters are found by insert and absorb (Piepho, An
/// algorithm for a letter-based representation of all-pairwise comparisons, Journal of Computational and Graphical
/// Statistics 13, 2004): begin with one group of all; for every pair that differs, split each group that holds both
/// into one without the first and one without the second, and drop what another group holds already.
pub fn letters(values: &[f64], differs: impl Fn(usize, usize) -> bool) -> Vec<String> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[b].total_cmp(&values[a]));
    // Groups hold places in that order, ascending, so that sorting groups puts the highest values' first.
    let mut groups: Vec<Vec<usize>> = vec![(0..order.len()).collect()];
    for first in 0..order.len() {
        for second in first + 1..order.len() {
            if differs(order[first].min(order[second]), order[first].max(order[second])) {
                groups = split(groups, first, second);
            }
        }
    }
    groups.sort();
    let mut letters = vec![String::new(); values.len()];
    for (number, group) in groups.iter().enumerate() {
        let letter = letter(number);
        group.iter().for_each(|&place| letters[order[place]].push_str(&letter));
    }
    letters
}

fn split(groups: Vec<Vec<usize>>, first: usize, second: usize) -> Vec<Vec<usize>> {
    let (both, mut kept): (Vec<_>, Vec<_>) =
        groups.into_iter().partition(|group| group.contains(&first) && group.contains(&second));
    for group in both {
        for gone in [first, second] {
            let rest: Vec<usize> = group.iter().copied().filter(|&place| place != gone).collect();
            if !kept.iter().any(|other| rest.iter().all(|place| other.contains(place))) {
                kept.retain(|other| !other.iter().all(|place| rest.contains(place)));
                kept.push(rest);
            }
        }
    }
    kept
}

/// a to z, then a2 to z2, and so on.
fn letter(number: usize) -> String {
    let letter = char::from(b'a' + (number % 26) as u8);
    if number < 26 { letter.to_string() } else { format!("{letter}{}", number / 26 + 1) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn teas_that_do_not_differ_share_a_letter() {
        let means = [5.0, 7.0, 6.0];
        assert_eq!(letters(&means, |_, _| false), ["a", "a", "a"]);
        assert_eq!(letters(&means, |_, _| true), ["c", "a", "b"]);
        assert_eq!(letters(&means, |i, j| (i, j) == (0, 1)), ["b", "a", "ab"]);
        assert!(letters(&[], |_, _| true).is_empty());
    }

    #[test]
    fn more_groups_than_letters_get_a_number() {
        let means: Vec<f64> = (0..30).map(|i| -f64::from(i)).collect();
        let found = letters(&means, |_, _| true);
        assert_eq!((found[25].as_str(), found[26].as_str(), found[29].as_str()), ("z", "a2", "d2"));
    }

    proptest! {
        #[test]
        fn two_teas_share_a_letter_exactly_if_they_do_not_differ(
            means in prop::collection::vec(0u8..9, 1..9),
            coins in prop::collection::vec(any::<bool>(), 81),
        ) {
            let means: Vec<f64> = means.into_iter().map(f64::from).collect();
            let differs = |i: usize, j: usize| coins[i * 9 + j];
            let found = letters(&means, differs);
            for i in 0..means.len() {
                prop_assert!(!found[i].is_empty(), "every tea has a letter");
                for j in i + 1..means.len() {
                    let shared = found[i].chars().any(|letter| found[j].contains(letter));
                    prop_assert_eq!(shared, !differs(i, j), "{} and {} of {:?}", i, j, &found);
                }
            }
        }

        #[test]
        fn no_letter_is_held_by_another(coins in prop::collection::vec(any::<bool>(), 64)) {
            let found = letters(&[0.0; 8], |i, j| coins[i * 8 + j]);
            let held = |letter: char| -> Vec<usize> { (0..8).filter(|&i| found[i].contains(letter)).collect() };
            let used: Vec<char> = ('a'..='z').filter(|&letter| !held(letter).is_empty()).collect();
            for &one in &used {
                for &other in used.iter().filter(|&&other| other != one) {
                    prop_assert!(!held(one).iter().all(|tea| held(other).contains(tea)), "{} in {}", one, other);
                }
            }
        }
    }
}

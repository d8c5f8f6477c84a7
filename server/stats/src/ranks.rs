//! Ranks, with the mean rank for those that tie.

/// Two numbers nearer to each other than this share of the largest count as equal: scores that went through sums and
/// means differ by rounding alone.
const TIE: f64 = 1e-9;

/// The ranks of some numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranks {
    /// The rank of each number, from 1 for the smallest; those that tie share their mean rank.
    pub ranks: Vec<f64>,
    /// Σ (t³ − t) over all groups of t that tie; 0 without ties.
    pub ties: f64,
}

/// The ranks of finite `values`.
pub fn midranks(values: &[f64]) -> Ranks {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let near = TIE * values.iter().fold(0.0, |largest: f64, v| largest.max(v.abs()));
    let mut ranks = vec![0.0; values.len()];
    let (mut ties, mut from) = (0.0, 0);
    while from < order.len() {
        let tied = order[from..].iter().take_while(|&&i| values[i] - values[order[from]] <= near).count();
        let count = tied as f64;
        for &i in &order[from..from + tied] {
            ranks[i] = from as f64 + (count + 1.0) / 2.0;
        }
        ties += count * count * count - count;
        from += tied;
    }
    Ranks { ranks, ties }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn those_that_tie_share_their_mean_rank() {
        let ranked = midranks(&[7.0, 5.0, 7.0, 3.0, 7.0]);
        assert_eq!(ranked.ranks, [4.0, 2.0, 4.0, 1.0, 4.0]);
        assert_eq!(ranked.ties, 24.0);
        assert_eq!(midranks(&[]).ranks, Vec::<f64>::new());
    }

    #[test]
    fn what_differs_by_rounding_alone_ties() {
        assert_eq!(midranks(&[0.1 + 0.2, 0.3, 1.0]).ranks, [1.5, 1.5, 3.0]);
    }

    proptest! {
        #[test]
        fn ranks_add_up_and_keep_the_order(values in prop::collection::vec(1i32..10, 0..30)) {
            let values: Vec<f64> = values.into_iter().map(f64::from).collect();
            let (ranks, n) = (midranks(&values).ranks, values.len() as f64);
            prop_assert_eq!(ranks.iter().sum::<f64>(), n * (n + 1.0) / 2.0);
            for (a, x) in values.iter().enumerate() {
                for (b, y) in values.iter().enumerate() {
                    prop_assert_eq!(x.total_cmp(y), ranks[a].total_cmp(&ranks[b]));
                }
            }
        }
    }
}

//! The steep rule: a list of seconds, then an increment, up to a number of steeps.

/// The seconds of each steep: the `first` ones as listed, then each `then_add_s` longer than the one before,
/// until there are `steeps`. `first` must not be empty and not longer than `steeps`.
pub(crate) fn expand(first: &[u32], then_add_s: u32, steeps: u32) -> Vec<u32> {
    let mut all = first.to_vec();
    while let Some(&last) = all.last()
        && all.len() < steeps as usize
    {
        all.push(last + then_add_s);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::expand;

    #[test]
    fn listed_steeps_come_first_and_then_each_is_longer() {
        assert_eq!(expand(&[40, 25, 30], 10, 7), [40, 25, 30, 40, 50, 60, 70]);
        assert_eq!(expand(&[0], 0, 3), [0, 0, 0]);
        assert_eq!(expand(&[20, 30], 5, 2), [20, 30]);
    }

    /// Rules of the trade: common practice, no source.
    #[test]
    fn the_rules_of_the_trade_can_be_written_down() {
        let short_sitting = [45, 60, 90, 120];
        assert_eq!(expand(&short_sitting, 0, 4), short_sitting);
        assert_eq!(
            expand(&[60, 45, 60, 90, 120], 0, 5),
            [60, 45, 60, 90, 120],
            "60 s in front for ball-rolled leaf"
        );
        assert_eq!(expand(&[15], 5, 6), [15, 20, 25, 30, 35, 40], "long sitting");
        assert_eq!(expand(&[15, 20, 25], 5, 4), [15, 20, 25, 30], "long sitting, listed");
        assert_eq!(expand(&[25, 20], 5, 5), [25, 20, 25, 30, 35], "ball-rolled leaf, long sitting");
    }
}

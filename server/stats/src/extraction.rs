//! How long leaf has to steep to give so much: extraction of the first order, in which a steep of t minutes takes the share
//! 1 − e^(−k·t) of what the leaf still has.

/// What leaf gives in a minute as a share of what it still has, k per minute: fine black leaf, 4 g in 200 ml held at 80 °C and
/// stirred (Spiro, Chemistry in New Zealand 45, 1981, values read from the plot at second hand, k fitted to them: 0.4607). Published
/// figures for other leaf and water go from 0.2 (rolled oolong) to 2 (fine black leaf at 100 °C).
pub const PER_MIN: f64 = 0.46;
/// Leaf that is still dry gives nothing for so long, seconds (15 to 17 s at 85 and 100 °C, published for Taiwan green and black tea).
pub const DRY_S: f64 = 16.0;

/// The seconds after which leaf that has `left` gives `amount` of it, at k `per_min`; `None` if it can't give so much.
pub fn seconds_for(amount: f64, left: f64, per_min: f64) -> Option<f64> {
    (amount < left).then(|| -60.0 * (-amount / left).ln_1p() / per_min)
}

/// The times of all steeps that make each of them `factor` times as strong as `steep_s` makes it, seconds, at k `per_min`: what one
/// steep takes more is not there for the next. Where the leaf is dry at first, the first steep begins to give after [`DRY_S`],
/// if it lasts twice as long at least. It ends with the last steep that the leaf can give.
pub fn ladder(steep_s: &[f64], factor: f64, dry: bool, per_min: f64) -> Vec<f64> {
    let (mut was, mut left) = (1.0, 1.0);
    let mut times = Vec::new();
    for (steep, &seconds) in steep_s.iter().enumerate() {
        let delay = if dry && steep == 0 && seconds >= 2.0 * DRY_S { DRY_S } else { 0.0 };
        let given = was * -(-per_min * (seconds - delay) / 60.0).exp_m1();
        let Some(time) = seconds_for(factor * given, left, per_min) else { break };
        (was, left) = (was - given, left - factor * given);
        times.push(time + delay);
    }
    times
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, known: f64) {
        assert!((ours - known).abs() < 0.005, "{ours} is not {known}");
    }

    /// The ladders for equal strength that were computed apart from this program: seconds after a first steep, k per minute.
    #[test]
    fn a_ladder_of_equal_strength_is_the_one_computed_elsewhere() {
        for (per_min, first, ladder) in [
            (0.46, 30.0, vec![39.03, 55.95, 100.05]),
            (0.46, 20.0, vec![23.63, 28.88, 37.15, 52.15, 88.22, 443.53]),
            (0.50, 30.0, vec![40.09, 60.64, 128.59]),
            (0.99, 15.0, vec![19.98, 30.00, 62.02]),
            (2.07, 10.0, vec![15.39, 34.96]),
        ] {
            let amount = -(-per_min * first / 60.0f64).exp_m1();
            let mut left = 1.0 - amount;
            for known in ladder {
                near(seconds_for(amount, left, per_min).unwrap(), known);
                left -= amount;
            }
            assert_eq!(seconds_for(amount, left, per_min), None, "the leaf is spent");
        }
    }

    #[test]
    fn a_steep_of_another_strength_takes_the_time_computed_elsewhere() {
        let amount = -(-0.46f64 * 0.5).exp_m1();
        for (factor, known) in
            [(0.8, 30.23), (0.9, 34.56), (1.0, 39.03), (1.1, 43.66), (1.25, 50.93), (1.5, 64.03)]
        {
            near(seconds_for(factor * amount, 1.0 - amount, 0.46).unwrap(), known);
        }
    }

    #[test]
    fn the_same_strength_takes_the_same_times_and_more_takes_longer() {
        let steeps = [30.0, 40.0, 50.0];
        for (same, known) in ladder(&steeps, 1.0, false, PER_MIN).into_iter().zip(steeps) {
            near(same, known);
        }
        let longer = ladder(&steeps, 1.25, false, PER_MIN);
        assert!(
            longer.iter().zip(&steeps).all(|(t, was)| t > &(was * 1.25)),
            "the leaf has less and less: {longer:?}"
        );
        let shorter = ladder(&steeps, 0.8, false, PER_MIN);
        assert!(shorter.iter().zip(&steeps).all(|(t, was)| t < &(was * 0.8)), "{shorter:?}");
    }

    #[test]
    fn leaf_that_is_spent_ends_the_ladder_and_dry_leaf_begins_later() {
        assert_eq!(ladder(&[60.0, 120.0, 240.0], 1.5, false, PER_MIN).len(), 1);
        let (dry, wet) = (ladder(&[60.0], 1.25, true, PER_MIN), ladder(&[60.0], 1.25, false, PER_MIN));
        assert!(dry[0] < wet[0] && dry[0] > 60.0, "{dry:?} {wet:?}");
        assert_eq!(
            ladder(&[20.0], 1.25, true, PER_MIN),
            ladder(&[20.0], 1.25, false, PER_MIN),
            "too short to tell"
        );
    }
}

//! What leaf gives to the water and how long it has to steep for it: extraction of the first order, in which a steep of t
//! minutes takes the share 1 − e^(−k·t) of what the leaf still has. What one steep takes is not there for the next.

use super::votes::MOST;

/// What leaf gives in a minute as a share of what it still has, k per minute: fine black leaf, 4 g in 200 ml held at 80 °C and
/// stirred (Spiro, Chemistry in New Zealand 45, 1981, values read from the plot at second hand, k fitted to them: 0.4607). Published
/// figures for other leaf and water go from 0.2 (rolled oolong) to 2 (fine black leaf at 100 °C).
pub const PER_MIN: f64 = 0.46;
/// Leaf that is still dry gives nothing for so long, seconds (15 to 17 s at 85 and 100 °C, published for Taiwan green and black tea).
pub const DRY_S: f64 = 16.0;
/// The most of a first steep that is lost on dry leaf, as a share of it: however short it is, it gives something. Our own rule.
const MOST_LOST: f64 = 0.5;
/// How much faster leaf gives in hotter water, as an energy in joules per mole: about the middle of what was published for the
/// extraction of Taiwan green (18 to 27 kJ/mol) and black tea (7 to 39 kJ/mol). For caffeine alone it was 40.3.
pub const ACTIVATION_J_PER_MOL: f64 = 23_000.0;
/// The gas constant, J/(mol K).
const GAS_J_PER_MOL_K: f64 = 8.314_462_618;
/// 0 °C in kelvins.
const ZERO_C_K: f64 = 273.15;

/// k in water of `to_c`, known in water of `from_c`, °C: the law of Arrhenius, k·e^(E/R·(1/T₁ − 1/T₂)).
pub fn per_min_at(per_min: f64, from_c: f64, to_c: f64, j_per_mol: f64) -> f64 {
    per_min * (j_per_mol / GAS_J_PER_MOL_K * ((from_c + ZERO_C_K).recip() - (to_c + ZERO_C_K).recip())).exp()
}

/// Leaf that is steeped again and again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaf {
    left: f64,
    dry: bool,
}

impl Leaf {
    /// Leaf that has given nothing yet; dry, or already wet.
    pub fn new(dry: bool) -> Self {
        Self { left: 1.0, dry }
    }

    /// The share of all it had that it still has, 0 to 1.
    pub fn left(&self) -> f64 {
        self.left
    }

    /// Steeps it for so many seconds at k `per_min` and says what it gives, as a share of all it had. Dry leaf begins to give after
    /// [`DRY_S`] or half of the steep, whichever is sooner; then it is wet.
    pub fn give(&mut self, seconds: f64, per_min: f64) -> f64 {
        let lost = if self.dry { DRY_S.min(MOST_LOST * seconds) } else { 0.0 };
        let given = self.left * -(-per_min * (seconds - lost) / 60.0).exp_m1();
        *self = Self { left: self.left - given, dry: false };
        given
    }

    /// The seconds after which it has given `amount`, a share of all it had, at k `per_min`; `None` if it can't give so much.
    pub fn seconds_for(&self, amount: f64, per_min: f64) -> Option<f64> {
        let wet_s = (amount < self.left).then(|| -60.0 * (-amount / self.left).ln_1p() / per_min)?;
        Some(if self.dry { wet_s + DRY_S.min(wet_s * MOST_LOST / (1.0 - MOST_LOST)) } else { wet_s })
    }
}

/// Times for all steeps of a leaf, and whether one of them would have gone further had it not been held back.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// Whole seconds; it ends with the last steep that the leaf can give.
    pub steep_s: Vec<u32>,
    /// Whether the strength asked for takes more than one step of [`MOST`].
    pub cut_short: bool,
}

/// The times of all steeps that make each of them `factor` times as strong as `steep_s` makes it, seconds, at k `per_min`, of leaf
/// that is dry at first or not; none is more than [`MOST`] times as long as it was, or as short.
pub fn ladder(steep_s: &[u32], factor: f64, dry: bool, per_min: f64) -> Ladder {
    let (mut was, mut leaf) = (Leaf::new(dry), Leaf::new(dry));
    let mut found = Ladder { steep_s: Vec::new(), cut_short: false };
    for &seconds in steep_s {
        let seconds = f64::from(seconds);
        let Some(wanted) = leaf.seconds_for(factor * was.give(seconds, per_min), per_min) else { break };
        let (least, most) = ((seconds / MOST).ceil(), (seconds * MOST).floor());
        let takes = wanted.round().clamp(least, most.max(least));
        found.cut_short |= takes != wanted.round();
        leaf.give(takes, per_min);
        found.steep_s.push(takes as u32);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(ours: f64, known: f64) {
        assert!((ours - known).abs() < 0.005, "{ours} is not {known}");
    }

    fn given(mut leaf: Leaf, seconds: f64, per_min: f64) -> f64 {
        leaf.give(seconds, per_min)
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
            let mut leaf = Leaf::new(false);
            let amount = leaf.give(first, per_min);
            for known in ladder {
                let seconds = leaf.seconds_for(amount, per_min).unwrap();
                near(seconds, known);
                near(leaf.give(seconds, per_min), amount);
            }
            assert_eq!(leaf.seconds_for(amount, per_min), None, "the leaf is spent");
        }
    }

    #[test]
    fn a_steep_of_another_strength_takes_the_time_computed_elsewhere() {
        let mut leaf = Leaf::new(false);
        let amount = leaf.give(30.0, 0.46);
        for (factor, known) in
            [(0.8, 30.23), (0.9, 34.56), (1.0, 39.03), (1.1, 43.66), (1.25, 50.93), (1.5, 64.03)]
        {
            near(leaf.seconds_for(factor * amount, 0.46).unwrap(), known);
        }
    }

    /// Computed apart from this program, from a published k of 0.99 at 80 °C and 40.3 kJ/mol.
    #[test]
    fn hotter_water_takes_faster_as_computed_elsewhere() {
        for (c, known) in [(70.0, 0.6636), (85.0, 1.1991), (90.0, 1.4447), (95.0, 1.7318), (100.0, 2.0659)] {
            let ours = per_min_at(0.99, 80.0, c, 40_300.0);
            assert!((ours - known).abs() < 1e-3, "{c} °C: {ours} is not {known}");
        }
        assert_eq!(per_min_at(0.46, 95.0, 95.0, ACTIVATION_J_PER_MOL), 0.46);
    }

    proptest! {
        /// What is given and what is left are all there was, and nothing is given that is not there.
        #[test]
        fn nothing_is_lost_or_made(
            dry: bool,
            steeps in prop::collection::vec((0.0..3600.0, 0.05..5.0), 0..20),
        ) {
            let mut leaf = Leaf::new(dry);
            let given: Vec<f64> = steeps.iter().map(|&(seconds, per_min)| leaf.give(seconds, per_min)).collect();
            prop_assert!((given.iter().sum::<f64>() + leaf.left() - 1.0).abs() < 1e-12);
            prop_assert!(leaf.left() >= 0.0 && given.iter().all(|&amount| amount >= 0.0), "{:?} {:?}", given, leaf);
        }

        #[test]
        fn longer_gives_more_and_the_time_for_what_was_given_is_the_time_it_took(
            dry: bool,
            before in prop::option::of(0.0..60.0),
            seconds in 0.0..300.0,
            more in 0.01..60.0,
            per_min in 0.1..2.0,
        ) {
            let mut leaf = Leaf::new(dry);
            before.into_iter().for_each(|s| { leaf.give(s, per_min); });
            let given = given(leaf, seconds, per_min);
            prop_assert!(given < self::given(leaf, seconds + more, per_min));
            let took = leaf.seconds_for(given, per_min).unwrap();
            prop_assert!((took - seconds).abs() < 1e-6, "{} is not {}", took, seconds);
        }
    }

    #[test]
    fn the_same_strength_takes_the_same_times_and_more_takes_longer() {
        let steeps = [30, 40, 50];
        assert_eq!(ladder(&steeps, 1.0, false, PER_MIN), Ladder { steep_s: steeps.into(), cut_short: false });
        // The leaf has less and less, so that later steeps take more than a tenth longer.
        for (factor, takes, cut_short) in [(1.1, [33, 46, 61], false), (0.8, [23, 29, 34], true)] {
            let found = ladder(&steeps, factor, false, PER_MIN);
            assert_eq!(found, Ladder { steep_s: takes.into(), cut_short }, "{factor}");
        }
    }

    /// As in a held class: a review had a steep of 45 s go to 133 s, and one of 50 s to 125 s.
    #[test]
    fn no_steep_is_made_longer_or_shorter_by_more_than_half_in_one_go() {
        for (factor, takes) in [(1.5, [62, 75]), (1.0 / 1.5, [35, 34])] {
            let found = ladder(&[45, 50], factor, true, PER_MIN);
            assert_eq!(found, Ladder { steep_s: takes.into(), cut_short: true }, "{factor}");
        }
    }

    #[test]
    fn leaf_that_is_spent_ends_the_ladder_and_dry_leaf_begins_later() {
        assert_eq!(ladder(&[60, 120, 240], 1.5, false, PER_MIN).steep_s.len(), 1);
        let (dry, wet) = (ladder(&[60], 1.25, true, PER_MIN), ladder(&[60], 1.25, false, PER_MIN));
        assert!(dry.steep_s[0] < wet.steep_s[0] && dry.steep_s[0] > 60, "{dry:?} {wet:?}");
        for (dry_s, wet_s) in [(60.0, 44.0), (32.0, 16.0), (20.0, 10.0)] {
            let (dry, wet) = (Leaf::new(true), Leaf::new(false));
            assert_eq!(given(dry, dry_s, PER_MIN), given(wet, wet_s, PER_MIN), "{dry_s} s");
        }
    }
}

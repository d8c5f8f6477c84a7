//! How far stamps lie from the instants they were meant for.

use super::Fallible;

/// When every seat acted on every cue, by cue, in nanoseconds of the shared clock.
pub type Stamps = Vec<Vec<i64>>;

/// What the stamps of some cues show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Errors {
    /// The middle of the distances to the true instant, early or late, in milliseconds.
    pub p50_ms: f64,
    /// What 99 of 100 distances do not exceed.
    pub p99_ms: f64,
    /// The greatest distance.
    pub max_ms: f64,
    /// From the first seat to the last of one cue: the middle over the cues.
    pub spread_ms: f64,
    /// The same, of the worst cue.
    pub worst_spread_ms: f64,
    /// Stamps that are missing or too many.
    pub wrong: usize,
}

/// Each stamp to the cue whose instant is nearest.
pub fn by_cue(cues_ns: &[i64], stamps: &[i64]) -> Stamps {
    let mut by_cue = vec![Vec::new(); cues_ns.len()];
    for &at in stamps {
        let nearest = (0..cues_ns.len()).min_by_key(|&i| (cues_ns[i] - at).abs());
        nearest.into_iter().for_each(|i| by_cue[i].push(at));
    }
    by_cue
}

/// The smallest of sorted values that `part` of them do not exceed (nearest rank); `None` of nothing.
pub fn percentile(sorted: &[f64], part: f64) -> Option<f64> {
    let rank = (sorted.len() as f64 * part).ceil() as usize;
    sorted.get(rank.max(1) - 1).copied()
}

/// The middle of some values; `None` of nothing.
pub fn median(values: impl IntoIterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.into_iter().collect();
    values.sort_by(f64::total_cmp);
    percentile(&values, 0.5)
}

impl Errors {
    /// Of `seats` seats at these cues.
    ///
    /// # Errors
    /// When a cue has no stamp at all.
    pub fn of(cues_ns: &[i64], stamps: &Stamps, seats: usize) -> Fallible<Self> {
        let all = cues_ns.iter().zip(stamps).flat_map(|(cue, at)| at.iter().map(move |at| (at - cue).abs()));
        let mut errors: Vec<f64> = all.map(|error| error as f64 / 1e6).collect();
        errors.sort_by(f64::total_cmp);
        let spread = |at: &Vec<i64>| Some((at.iter().max()? - at.iter().min()?) as f64 / 1e6);
        let spreads: Option<Vec<f64>> = stamps.iter().map(spread).collect();
        let spreads = spreads.filter(|_| stamps.len() == cues_ns.len()).ok_or("a cue came to no seat")?;
        let at = |part| percentile(&errors, part).ok_or("no cue came to any seat");
        Ok(Self {
            p50_ms: at(0.5)?,
            p99_ms: at(0.99)?,
            max_ms: at(1.0)?,
            worst_spread_ms: spreads.iter().copied().fold(0.0, f64::max),
            spread_ms: median(spreads).ok_or("no cues")?,
            wrong: stamps.iter().map(|at| at.len().abs_diff(seats)).sum(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentile_is_the_value_of_nearest_rank() {
        let values: Vec<f64> = (1..=200).map(f64::from).collect();
        assert_eq!(
            [0.0, 0.5, 0.99, 1.0].map(|part| percentile(&values, part).unwrap()),
            [1.0, 100.0, 198.0, 200.0]
        );
        assert_eq!(percentile(&[], 0.5), None);
        assert_eq!(median([3.0, 1.0, 2.0]), Some(2.0));
    }

    #[test]
    fn stamps_early_and_late_count_as_far_as_they_lie_from_their_cue() {
        let cues = [0, 3_000_000_000];
        let stamps = by_cue(&cues, &[2_000_000, -1_000_000, 2_999_000_000, 3_003_000_000]);
        let errors = Errors::of(&cues, &stamps, 2).unwrap();
        let Errors { p50_ms, p99_ms, max_ms, spread_ms, worst_spread_ms, wrong } = errors;
        assert_eq!((p50_ms, p99_ms, max_ms), (1.0, 3.0, 3.0));
        assert_eq!((spread_ms, worst_spread_ms, wrong), (3.0, 4.0, 0));
    }

    #[test]
    fn a_seat_that_missed_a_cue_or_rang_twice_is_counted() {
        let stamps = by_cue(&[0, 100], &[0, 1, 2, 100]);
        assert_eq!(Errors::of(&[0, 100], &stamps, 2).unwrap().wrong, 2);
        assert!(Errors::of(&[0, 100], &by_cue(&[0, 100], &[0]), 1).is_err());
    }
}

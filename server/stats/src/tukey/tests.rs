use super::*;
use crate::dist::t_two_sided;
use crate::examples::EIGHT_BY_FOUR;
use crate::two_way::two_way;

#[test]
fn an_interval_leaves_out_zero_exactly_if_p_is_below_the_level() {
    let found = of_two_way(&two_way(&EIGHT_BY_FOUR.map(Vec::from)).unwrap(), 0.95).unwrap();
    assert_eq!((found.df, found.pairs.len()), (21, 6));
    for pair in &found.pairs {
        let outside = pair.interval.low > 0.0 || pair.interval.high < 0.0;
        assert_eq!((outside, pair.p < 0.05), (pair.differs, pair.differs), "{pair:?}");
    }
}

/// q(.05; 4, 30) = 3.845, as printed in a public table of studentized ranges.
#[test]
fn the_honest_difference_is_q_times_the_standard_error_of_a_mean() {
    let found = pairs(&[1.0, 2.0, 3.0, 4.0], 30, 0.95, |_, _| 2f64.sqrt() * 0.5).unwrap();
    let reach = found.pairs[0].interval.high - found.pairs[0].difference;
    assert!((reach - 3.845 * 0.5).abs() < 5e-4, "{found:?}");
}

#[test]
fn two_teas_get_the_p_of_the_paired_t() {
    let rows = EIGHT_BY_FOUR.map(|row| row[..2].to_vec());
    let found = of_two_way(&two_way(&rows).unwrap(), 0.95).unwrap();
    let pair = found.pairs[0];
    let known = t_two_sided(pair.difference / pair.standard_error, 7.0).unwrap();
    assert!((pair.p - known).abs() < 1e-9, "{pair:?}, not {known}");
}

#[test]
fn what_can_not_be_compared_is_said() {
    assert_eq!(pairs(&[1.0], 5, 0.95, |_, _| 1.0), Err(Cannot::Teas(2)));
    assert_eq!(pairs(&[1.0, 2.0], 0, 0.95, |_, _| 1.0), Err(Cannot::NoFreedom));
    assert_eq!(pairs(&[1.0, 2.0], 5, 0.95, |_, _| 0.0), Err(Cannot::NoSpread));
    assert_eq!(pairs(&[1.0, 2.0], 5, 1.0, |_, _| 1.0), Err(Cannot::OutOfRange));
    assert_eq!(pairs(&[1.0, f64::NAN], 5, 0.95, |_, _| 1.0), Err(Cannot::NotFinite));
}

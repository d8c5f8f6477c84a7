use super::*;
use proptest::prelude::*;

fn exchange(t1_us: i64, t2_us: i64, t3_us: i64, t4_us: i64) -> Exchange {
    Exchange { t1_us, t2_us, t3_us, t4_us }
}

/// A question at `own_us` of the seat's clock over a way of `up` and `down`, to a host that is `offset` ahead.
fn asked(own_us: i64, offset: i64, up: i64, down: i64) -> Exchange {
    exchange(own_us, own_us + up + offset, own_us + up + offset, own_us + up + down)
}

/// Equations of RFC 5905 §8; the numbers are a worked example of our own.
#[test]
fn offset_and_delay_follow_rfc_5905() {
    let e = exchange(100_000_000, 100_530_000, 100_532_000, 100_042_000);
    assert_eq!((e.offset_us(), e.delay_us()), (510_000, 40_000));
    let lopsided = exchange(0, 30_000, 30_000, 40_000);
    assert_eq!((lopsided.offset_us(), lopsided.delay_us()), (10_000, 40_000));
}

/// Minimum-delay choice and jitter of RFC 5905 §10 over eight (offset, delay) pairs in µs; the pairs are our own.
#[test]
fn the_exchange_with_the_smallest_delay_is_believed() {
    let pairs = [
        (12_100, 38_400),
        (11_400, 21_900),
        (15_000, 64_200),
        (10_900, 24_800),
        (11_100, 20_300),
        (9_700, 47_000),
        (11_900, 33_500),
        (13_600, 55_100),
    ];
    let mut estimate = Estimate::default();
    assert_eq!((estimate.host_time(0), estimate.bound_us(0), estimate.jitter_us()), (None, None, None));
    for (offset, delay) in pairs {
        // All arrive at one instant of the seat's clock, so that none is older than another.
        estimate.add(asked(-delay, offset, delay / 2, delay / 2));
    }
    assert_eq!(estimate.chosen().map(|e| (e.offset_us(), e.delay_us())), Some((11_100, 20_300)));
    // Half the delay, the microsecond to which clocks are read, and what 100 ppm may do while the answer is on its way.
    assert_eq!(estimate.host_time(0), Some(HostTime(11_100)));
    assert_eq!(estimate.bound_us(0), Some(10_154));
    assert!((estimate.jitter_us().unwrap() - 1_896.99).abs() < 0.01, "{:?}", estimate.jitter_us());
}

#[test]
fn the_fastest_way_there_and_the_fastest_way_back_narrow_the_bounds_together() {
    let mut estimate = Estimate::default();
    estimate.add(asked(-40, 500, 10, 30));
    estimate.add(asked(-40, 500, 30, 10));
    assert_eq!(estimate.host_time(0), Some(HostTime(500)));
    assert_eq!(estimate.bound_us(0), Some(12));
}

#[test]
fn a_lopsided_way_is_off_by_half_the_difference_and_the_bound_says_so() {
    let mut estimate = Estimate::default();
    estimate.add(asked(0, 0, 30_000, 10_000));
    assert_eq!(estimate.host_time(40_000), Some(HostTime(50_000)));
    assert_eq!(estimate.bound_us(40_000), Some(20_005));
}

#[test]
fn the_bound_grows_with_the_age_of_the_last_exchange() {
    let mut estimate = Estimate::default();
    estimate.add(asked(0, 0, 1_000, 1_000));
    let at_s = |s: i64| estimate.bound_us(2_000 + s * 1_000_000).unwrap();
    assert_eq!([at_s(0), at_s(10), at_s(60)], [1_002, 2_002, 7_002], "100 parts per million");
}

#[test]
fn the_skew_is_known_once_the_baseline_allows_it() {
    let mut estimate = Estimate::default();
    // The host gains 40 µs a second on the seat; the way takes 1 ms each way.
    let ask = |s: i64| asked(s * 1_000_000, 7_000_000 + s * 40, 1_000, 1_000);
    estimate.add(ask(0));
    assert_eq!(estimate.skew_ppm(), None);
    for s in (5..=600).step_by(5) {
        estimate.add(ask(s));
    }
    let (skew, within) = estimate.skew_ppm().unwrap();
    assert!((skew - 40.0).abs() < within && within < 5.0, "{skew} ± {within}");
    // Ten minutes without a host: the skew carries on.
    let at_s = 1_200;
    let error_us = estimate.host_time(at_s * 1_000_000).unwrap() - HostTime(7_000_000 + at_s * 1_000_040);
    let bound_us = estimate.bound_us(at_s * 1_000_000).unwrap();
    assert!(error_us.abs() <= bound_us && bound_us < 5_000, "{error_us} ± {bound_us}");
    assert!(error_us.abs() < 1_000, "without the skew it would be off by 24 ms, is {error_us} µs");
}

#[test]
fn an_exchange_that_contradicts_the_others_starts_the_estimate_anew() {
    let mut estimate = Estimate::default();
    for s in 0..10 {
        estimate.add(asked(s * 1_000_000, 100, 1_000, 1_000));
    }
    assert_eq!(estimate.resets(), 0);
    estimate.add(asked(10_000_000, 5_000_100, 1_000, 1_000));
    assert_eq!(estimate.resets(), 1);
    assert_eq!(estimate.host_time(10_002_000), Some(HostTime(15_002_100)));
    // A clock that has jumped is trusted less from then on.
    assert!(estimate.bound_us(20_002_000).unwrap() > 6_000);
}

#[test]
fn only_the_last_eight_and_the_best_of_each_stretch_count_and_an_impossible_one_does_not() {
    let mut estimate = Estimate::default();
    estimate.add(exchange(0, 0, 50, 10));
    assert_eq!(estimate.host_time(0), None, "a negative delay");
    estimate.add(asked(0, 0, 10, 10));
    for _ in 0..WINDOW {
        estimate.add(asked(1_000_000, 0, 500, 500));
    }
    assert_eq!(estimate.chosen().map(Exchange::delay_us), Some(1_000));
    assert!(estimate.bound_us(1_000_000).unwrap() < 200, "the good one of this stretch is not forgotten");
    estimate.reset();
    assert_eq!(estimate.host_time(0), None);
}

#[test]
fn the_skew_between_question_and_answer_widens_the_bound_too() {
    // The host's clock gains 40 ppm, and the answer takes 325 ms: 13 µs, of which the greatest offset must know.
    let mut estimate = Estimate::default();
    estimate.add(exchange(0, 10, 10, 325_000));
    let error_us = estimate.host_time(325_000).unwrap() - HostTime(325_013);
    assert!(error_us.abs() <= estimate.bound_us(325_000).unwrap(), "off by {error_us} µs");
}

proptest! {
    /// The law of the estimate: whatever the ways and whatever the skew of ordinary clocks, host time lies within
    /// the bound, then and later.
    #[test]
    fn the_truth_is_within_the_bound(
        ways in prop::collection::vec((10i64..400_000, 10i64..400_000, 1i64..20_000_000), 1..60),
        offset in -1_000_000_000i64..1_000_000_000,
        skew_ppm in -95i64..95,
        later_us in 0i64..600_000_000,
    ) {
        let host_at = |own: i64| own + offset + (own as i128 * i128::from(skew_ppm) / 1_000_000) as i64;
        let mut estimate = Estimate::default();
        let mut own = 0;
        for (up, down, gap) in ways {
            let (t1, t4) = (own, own + up + down);
            let t2 = host_at(own + up);
            estimate.add(exchange(t1, t2, t2, t4));
            own = t4 + gap;
            for at in [t4, own, own + later_us] {
                let (host, bound) = (estimate.host_time(at).unwrap(), estimate.bound_us(at).unwrap());
                let error = host - HostTime(host_at(at));
                prop_assert!(error.abs() <= bound, "off by {} with a bound of {}", error, bound);
            }
        }
        prop_assert_eq!(estimate.resets(), 0);
    }

    #[test]
    fn own_time_is_host_time_the_other_way_round(
        ways in prop::collection::vec((10i64..40_000, 10i64..40_000), 1..20),
        ahead_us in 0i64..7_200_000_000,
    ) {
        let mut estimate = Estimate::default();
        for (i, (up, down)) in ways.iter().enumerate() {
            estimate.add(asked(i as i64 * 5_000_000, 123_456_789, *up, *down));
        }
        let at = HostTime(123_456_789 + ahead_us);
        let own = estimate.own_us(at).unwrap();
        prop_assert!((estimate.host_time(own).unwrap() - at).abs() <= 1);
    }
}

//! Quantiles of the common tables, computed with scipy 1.17.1, and chances far out.

use super::*;

fn near(ours: f64, known: f64, tolerance: f64, what: &str) {
    assert!((ours - known).abs() <= tolerance, "{what}: {ours}, not {known}");
}

#[test]
fn quantiles_of_t_are_those_of_the_tables() {
    let two_sided_five = [
        (5.0, 2.5706),
        (7.0, 2.3646),
        (9.0, 2.2622),
        (11.0, 2.2010),
        (15.0, 2.1314),
        (19.0, 2.0930),
        (29.0, 2.0452),
        (60.0, 2.0003),
        (120.0, 1.9799),
    ];
    for (df, known) in two_sided_five {
        near(t_quantile(0.975, df).unwrap(), known, 5e-5, &format!("5 %, df {df}"));
        near(t_quantile(0.025, df).unwrap(), -known, 5e-5, &format!("5 %, df {df}, below"));
    }
    for (df, known) in [(5.0, 4.0321), (9.0, 3.2498), (20.0, 2.8453), (30.0, 2.7500)] {
        near(t_quantile(0.995, df).unwrap(), known, 5e-5, &format!("1 %, df {df}"));
    }
}

#[test]
fn quantiles_of_chi_squared_are_those_of_the_tables() {
    let ninety_five = [3.8415, 5.9915, 7.8147, 9.4877, 11.0705, 12.5916, 14.0671, 15.5073, 16.9190, 18.3070];
    let ninety_nine =
        [6.6349, 9.2103, 11.3449, 13.2767, 15.0863, 16.8119, 18.4753, 20.0902, 21.6660, 23.2093];
    for (df, (five, one)) in (1..).zip(ninety_five.into_iter().zip(ninety_nine)) {
        near(chi_squared_quantile(0.95, f64::from(df)).unwrap(), five, 5e-5, &format!("5 %, df {df}"));
        near(chi_squared_quantile(0.99, f64::from(df)).unwrap(), one, 5e-5, &format!("1 %, df {df}"));
    }
}

#[test]
fn quantiles_of_f_are_those_of_the_tables() {
    let ninety_five = [
        (2.0, 10.0, 4.1028),
        (3.0, 15.0, 3.2874),
        (3.0, 21.0, 3.0725),
        (3.0, 27.0, 2.9604),
        (4.0, 20.0, 2.8661),
        (4.0, 28.0, 2.7141),
        (5.0, 25.0, 2.6030),
    ];
    for (df, below, known) in ninety_five {
        near(f_quantile(0.95, df, below).unwrap(), known, 5e-5, &format!("5 %, df {df}, {below}"));
    }
    for (df, below, known) in [(2.0, 10.0, 7.5594), (3.0, 15.0, 5.4170), (4.0, 20.0, 4.4307)] {
        near(f_quantile(0.99, df, below).unwrap(), known, 5e-5, &format!("1 %, df {df}, {below}"));
    }
}

#[test]
fn quantiles_of_the_normal_are_those_of_the_tables() {
    near(normal_quantile(0.975).unwrap(), 1.959963984540054, 1e-12, "5 %");
    near(normal_quantile(0.995).unwrap(), 2.5758293035489004, 1e-12, "1 %");
    near(normal_upper(1.959963984540054).unwrap(), 0.025, 1e-10, "back");
}

/// Where the crate beneath falls short: t with one degree of freedom is the Cauchy distribution, whose tail and quantile
/// have closed forms; the smallest quantiles of chi-squared with one degree of freedom are π·p²/2.
#[test]
fn digits_are_kept_near_zero_and_far_out() {
    for t in [1e-9_f64, 1e-6, 1e-3, 0.3, 0.9999, 1.0001, 50.0, 1e9] {
        let known = std::f64::consts::FRAC_2_PI * (1.0 / t).atan();
        near(t_two_sided(t, 1.0).unwrap() / known, 1.0, 1e-12, &format!("t {t}"));
        near(t_quantile(1.0 - 1e-9, 1.0).unwrap() * 1e-9 * std::f64::consts::PI, 1.0, 1e-6, "far quantile");
    }
    near(t_quantile(1e-9, 1.0).unwrap() * 1e-9 * std::f64::consts::PI, -1.0, 1e-9, "far below");
    near(chi_squared_quantile(1e-6, 1.0).unwrap() / 1.5707963267957187e-12, 1.0, 1e-6, "near zero");
    assert_eq!(t_quantile(0.5, 3.0), Ok(0.0));
}

#[test]
fn what_is_out_of_range_is_refused_and_never_nan() {
    for df in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(t_two_sided(1.0, df), Err(Cannot::OutOfRange));
        assert_eq!(t_quantile(0.9, df), Err(Cannot::OutOfRange));
        assert_eq!(f_upper(1.0, 3.0, df), Err(Cannot::OutOfRange));
        assert_eq!(f_quantile(0.9, df, 3.0), Err(Cannot::OutOfRange));
        assert_eq!(chi_squared_upper(1.0, df), Err(Cannot::OutOfRange));
        assert_eq!(chi_squared_quantile(0.9, df), Err(Cannot::OutOfRange));
    }
    for p in [0.0, 1.0, -0.5, f64::NAN] {
        assert_eq!(normal_quantile(p), Err(Cannot::OutOfRange));
        assert_eq!(t_quantile(p, 3.0), Err(Cannot::OutOfRange));
        assert_eq!(f_quantile(p, 3.0, 3.0), Err(Cannot::OutOfRange));
        assert_eq!(chi_squared_quantile(p, 3.0), Err(Cannot::OutOfRange));
    }
    for huge in [1e150, f64::MAX] {
        assert!(t_two_sided(huge, 2.0).unwrap() < 1e-140 && f_upper(huge, 3.0, 4.0).unwrap() < 1e-140);
        assert!(chi_squared_upper(huge, 3.0).unwrap() < 1e-140 && normal_upper(huge).unwrap() < 1e-140);
    }
    assert_eq!(f_upper(-1.0, 3.0, 3.0), Err(Cannot::OutOfRange));
    assert_eq!(normal_upper(f64::NAN), Err(Cannot::OutOfRange));
}

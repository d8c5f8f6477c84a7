use super::*;

/// Computed with scipy 1.17.1, `scipy.stats.studentized_range.ppf(1 - alpha, k, df)`; q(.05; 4, 30) = 3.845 and
/// q(.05; 4, 40) = 3.791 are also printed in a public table of studentized ranges.
#[test]
fn quantiles_are_those_of_the_tables() {
    let rows: [(f64, [f64; 8]); 7] = [
        (10.0, [3.8768, 4.3266, 4.6543, 4.9120, 5.2702, 5.7686, 6.1361, 6.4275]),
        (15.0, [3.6734, 4.0760, 4.3670, 4.5947, 4.8359, 5.2518, 5.5558, 5.7956]),
        (20.0, [3.5779, 3.9583, 4.2319, 4.4452, 4.6392, 5.0180, 5.2933, 5.5095]),
        (30.0, [3.4864, 3.8454, 4.1021, 4.3015, 4.4549, 4.7992, 5.0476, 5.2418]),
        (40.0, [3.4421, 3.7907, 4.0391, 4.2316, 4.3672, 4.6951, 4.9308, 5.1145]),
        (60.0, [3.3987, 3.7371, 3.9774, 4.1632, 4.2822, 4.5944, 4.8178, 4.9913]),
        (f64::INFINITY, [3.3145, 3.6332, 3.8577, 4.0301, 4.1203, 4.4028, 4.6028, 4.7570]),
    ];
    for (df, known) in rows {
        let (five, one) = known.split_at(4);
        for (means, (five, one)) in (3..).zip(five.iter().zip(one)) {
            let range = StudentizedRange::new(means, df).unwrap();
            for (p, known) in [(0.95, five), (0.99, one)] {
                let q = range.quantile(p).unwrap();
                assert!((q - known).abs() < 6e-5, "{means} means, df {df}, {p}: {q}, not {known}");
            }
        }
    }
}

/// Of two means it is √2·|t|, so that its tail is that of t.
#[test]
fn of_two_means_it_is_students_t() {
    for df in [1.0, 2.0, 5.0, 23.0, 161.0] {
        let range = StudentizedRange::new(2, df).unwrap();
        for t in [0.0, 0.1, 1.0, 2.5, 6.0, 30.0] {
            let ours = range.upper(t * std::f64::consts::SQRT_2).unwrap();
            let known = crate::dist::t_two_sided(t, df).unwrap();
            assert!((ours - known).abs() < 1e-9, "t {t}, df {df}: {ours}, not {known}");
        }
    }
}

/// Computed with scipy 1.17.1, `scipy.stats.studentized_range.sf(q, k, df)`.
#[test]
fn tails_agree_with_another_library() {
    let known = [
        (3, 10.0, 1.0, 0.7648908105787191),
        (4, 21.0, 3.5, 0.09349609130367065),
        (8, 161.0, 6.0, 0.0009538567091497141),
        (2, 1.0, 5.0, 0.1754796560918218),
        (5, 4.0, 20.0, 0.0006957123879065552),
        (20, 30.0, 5.0, 0.10526480594358667),
        (3, f64::INFINITY, 3.0, 0.08554257165495793),
    ];
    for (means, df, q, known) in known {
        let ours = StudentizedRange::new(means, df).unwrap().upper(q).unwrap();
        assert!((ours - known).abs() < 1e-8, "{means} means, df {df}, q {q}: {ours}, not {known}");
    }
}

#[test]
fn what_is_out_of_range_is_refused() {
    assert!(StudentizedRange::new(1, 5.0).is_err());
    assert!(StudentizedRange::new(3, 0.5).is_err());
    assert!(StudentizedRange::new(3, f64::NAN).is_err());
    let range = StudentizedRange::new(3, 5.0).unwrap();
    assert_eq!(range.upper(f64::NAN), Err(Cannot::OutOfRange));
    assert_eq!(range.upper(-1.0), Err(Cannot::OutOfRange));
    assert_eq!(range.quantile(1.0), Err(Cannot::OutOfRange));
}

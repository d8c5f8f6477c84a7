use super::habits::{Leans, habits};
use super::*;
use proptest::prelude::*;

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// The annex on assessors of ISO 8586-1 (national adoption of 2008, annex B): 6 samples in rows, 4 assessors, 3 replicates.
fn annex() -> Vec<Vec<Vec<f64>>> {
    let samples = [
        ["889", "589", "675", "988"],
        ["687", "674", "547", "776"],
        ["455", "523", "435", "555"],
        ["665", "646", "424", "655"],
        ["453", "324", "445", "454"],
        ["566", "427", "546", "757"],
    ];
    let digits = |cell: &str| cell.chars().map(|c| f64::from(c.to_digit(10).unwrap())).collect();
    (0..4).map(|assessor| samples.iter().map(|row| digits(row[assessor])).collect()).collect()
}

/// Mean squares and F of assessors 1 to 3 are printed in the standard (7.42 and 13.36, 7.83 and 2.66, 2.80 and 2.40), the
/// rest computed with scipy 1.17.1; the verdicts are the standard's: 1 and 4 fit, 2 for its residual and 3 for its lack of
/// discrimination don't.
#[test]
fn the_assessors_of_the_standard_are_judged_as_there() {
    let found = performance(&annex()).unwrap();
    let expected = [
        (7.422, 13.36, 0.745, 1.483e-4, 5.89, Verdict::Fits),
        (7.833, 2.66, 1.716, 0.0766, 4.83, Verdict::RepeatsPoorly),
        (2.800, 2.40, 1.080, 0.0994, 4.67, Verdict::DoesNotTellApart),
        (6.133, 13.80, 0.667, 1.265e-4, 6.00, Verdict::Fits),
    ];
    for (taster, (between, f, residual_sd, p, mean, verdict)) in found.iter().zip(expected) {
        let apart = taster.discrimination.as_ref().unwrap();
        near(apart.between, between, 5e-4);
        near(apart.f, f, 5e-3);
        near(apart.p, p, p * 1e-3);
        assert_eq!((apart.n, apart.teas, apart.df), (18, 6, (5, 12)));
        let repeats = taster.repeatability.as_ref().unwrap();
        near(repeats.residual_sd, residual_sd, 5e-4);
        assert_eq!((repeats.teas, repeats.df), (6, 12));
        assert_eq!(taster.beside_others.as_ref().unwrap().df, (12, 36));
        near(taster.mean.unwrap(), mean, 5e-3);
        assert_eq!(taster.verdict, verdict);
    }
}

#[test]
fn verdicts_are_worded_kindly() {
    let words: Vec<String> = performance(&annex()).unwrap().iter().map(|t| t.verdict.to_string()).collect();
    assert_eq!(
        words[..3],
        [
            "repeats well and tells the cups apart (teas and steeps together)",
            "the same tea gets different scores from time to time, more than with the others",
            "no difference between these cups shows in the scores yet",
        ]
    );
}

#[test]
fn tasters_without_the_scores_for_it_get_the_reason() {
    let found = performance(&[
        vec![vec![5.0], vec![7.0], vec![]],
        vec![vec![5.0, 5.0], vec![7.0, 7.0], vec![]],
        vec![vec![6.0, 6.0], vec![6.0], vec![6.0]],
        vec![vec![], vec![], vec![]],
        vec![vec![1.0, 9.0], vec![], vec![]],
    ])
    .unwrap();
    let reasons: Vec<_> = found.iter().map(|t| t.discrimination.unwrap_err()).collect();
    assert_eq!(
        reasons,
        [Cannot::Repeats, Cannot::ExactRepeats, Cannot::AllEqual, Cannot::Teas(2), Cannot::Teas(2)]
    );
    let verdicts: Vec<_> = found.iter().map(|t| t.verdict).collect();
    assert_eq!(
        verdicts,
        [
            Verdict::TooFewToTell,
            Verdict::Fits,
            Verdict::DoesNotTellApart,
            Verdict::TooFewToTell,
            Verdict::TooFewToTell
        ]
    );
    assert_eq!(found[3].mean, None);
    assert_eq!(found[4].beside_others, Err(Cannot::ExactRepeats), "the others repeat every score");
    assert_eq!(found[0].repeatability, Err(Cannot::Repeats));
    assert_eq!(performance(&[vec![vec![f64::NAN]]]), Err(Cannot::NotFinite));
    assert_eq!(performance(&[]), Err(Cannot::Tasters(1)));
}

fn some(rows: &[[i32; 4]]) -> Vec<Vec<Option<f64>>> {
    rows.iter().map(|row| row.iter().map(|&v| (v > 0).then(|| f64::from(v))).collect()).collect()
}

/// Worked by hand: class means 5, 6, 4, 5; the first is 1, 1, 1 and 2 points above them.
#[test]
fn a_taster_who_scores_high_is_told_by_how_much() {
    let found = habits(&some(&[[6, 7, 5, 7], [5, 6, 4, 5], [4, 5, 3, 3]])).unwrap();
    let high = found[0].bias.as_ref().unwrap();
    let test = high.test.as_ref().unwrap();
    assert_eq!((high.teas, high.points, high.leans), (4, 1.25, Leans::High));
    // SD 0.5, standard error 0.25, t(.975; 3) = 3.18245.
    near(test.t, 5.0, 1e-12);
    near(test.interval.low, 1.25 - 3.182_446 * 0.25, 1e-6);
    assert_eq!(test.df, 3.0);
    let level = found[1].bias.as_ref().unwrap();
    assert_eq!((level.points, level.leans, &level.test), (0.0, Leans::NotShown, &Err(Cannot::NoSpread)));
    assert_eq!(found[2].bias.as_ref().unwrap().leans, Leans::Low);
    let spread = found[0].spread.as_ref().unwrap();
    assert_eq!((spread.teas, spread.lowest, spread.highest), (4, 5.0, 7.0));
    near(spread.sd, (2.75f64 / 3.0).sqrt(), 1e-12);
    near(spread.others_mean_sd.unwrap(), ((2.0f64 / 3.0).sqrt() + (2.75f64 / 3.0).sqrt()) / 2.0, 1e-12);
}

#[test]
fn correlation_with_the_others_is_exact_where_it_is_exact() {
    let found = habits(&some(&[[1, 2, 3, 4], [2, 4, 6, 8], [4, 3, 2, 1], [5, 5, 5, 5]])).unwrap();
    assert_eq!(found[3].with_others, Err(Cannot::NoCorrelation));
    let against = found[2].with_others.as_ref().unwrap();
    assert_eq!((against.r, against.p, against.interval, against.teas), (-1.0, 0.0, None, 4));
}

#[test]
fn missing_scores_leave_the_teas_out_that_nobody_shares() {
    let found = habits(&some(&[[6, 7, 0, 7], [5, 0, 4, 0], [0, 0, 0, 0]])).unwrap();
    assert_eq!(found[0].bias.as_ref().unwrap().teas, 1);
    assert_eq!(found[0].bias.as_ref().unwrap().test, Err(Cannot::Teas(2)));
    assert_eq!(found[0].with_others, Err(Cannot::Teas(3)));
    assert_eq!(found[2].bias, Err(Cannot::Teas(1)));
    assert_eq!(found[2].spread, Err(Cannot::Teas(2)));
    assert_eq!(habits(&some(&[[1, 2, 3, 4]])).unwrap()[0].bias, Err(Cannot::Tasters(2)));
}

proptest! {
    #[test]
    fn biases_of_a_full_class_cancel_and_every_figure_is_finite(
        rows in prop::collection::vec([1i32..5, 1..5, 1..5, 1..5], 2..8),
    ) {
        let found = habits(&some(&rows)).unwrap();
        let sum: f64 = found.iter().map(|t| t.bias.as_ref().unwrap().points).sum();
        prop_assert!(sum.abs() < 1e-9);
        for taster in found {
            if let Ok(test) = taster.bias.unwrap().test {
                prop_assert!(test.t.is_finite() && (0.0..=1.0).contains(&test.p));
                prop_assert!(test.interval.low <= test.interval.high);
            }
            if let Ok(c) = taster.with_others {
                prop_assert!((-1.0..=1.0).contains(&c.r) && (0.0..=1.0).contains(&c.p));
                prop_assert!(c.interval.is_none_or(|i| i.contains(c.r)));
            }
        }
    }

    #[test]
    fn a_change_of_level_moves_no_performance(
        shift in -40i32..40,
        rows in prop::collection::vec([1i32..9, 1..9, 1..9, 1..9], 2..6),
    ) {
        let at = |shift: i32| {
            let tea = |repeats: &[i32]| repeats.iter().map(|&v| f64::from(v + shift)).collect();
            let row = |row: &[i32; 4]| row.chunks(2).map(tea).collect();
            performance(&rows.iter().map(row).collect::<Vec<Vec<Vec<f64>>>>()).unwrap()
        };
        for (plain, moved) in at(0).into_iter().zip(at(shift)) {
            prop_assert_eq!(plain.verdict, moved.verdict);
            prop_assert_eq!(plain.discrimination.is_ok(), moved.discrimination.is_ok());
            if let (Ok(a), Ok(b)) = (plain.discrimination, moved.discrimination) {
                prop_assert!((a.f - b.f).abs() <= 1e-9 * a.f.max(1.0) && a.f.is_finite());
            }
        }
    }
}

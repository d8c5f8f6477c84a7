use super::*;
use crate::examples::EIGHT_BY_FOUR;
use crate::examples::table;
use crate::two_way::two_way;

/// No published example with gaps is at hand: the model and its Tukey–Kramer pairs are held to the least squares of
/// statsmodels and SciPy's studentized range on 500 sets (`tests/reference/differences.py`).
#[test]
fn without_gaps_it_is_the_two_way_analysis() {
    let rows = EIGHT_BY_FOUR.map(Vec::from);
    let gapless: Vec<Vec<Option<f64>>> =
        rows.iter().map(|row| row.iter().copied().map(Some).collect()).collect();
    let (known, found) = (two_way(&rows).unwrap(), additive(&gapless, 0.95).unwrap());
    assert!((known.teas.f - found.tea_given_taster.f).abs() < 1e-9, "{found:?}");
    assert!((known.residual.squares - found.residual.squares).abs() < 1e-9, "{found:?}");
    let one = (known.residual.mean_square / 8.0).sqrt();
    for (tea, mean) in found.teas.iter().zip(&known.tea_means) {
        assert!((tea.adjusted_mean - mean).abs() < 1e-9 && (tea.plain_mean - mean).abs() < 1e-9, "{found:?}");
        assert!((tea.standard_error - one).abs() < 1e-9, "{found:?}");
    }
    let pairs = crate::tukey::of_two_way(&known, 0.95).unwrap();
    for (ours, known) in found.pairs.pairs.iter().zip(&pairs.pairs) {
        assert!(
            (ours.p - known.p).abs() < 1e-9 && (ours.q - known.q).abs() < 1e-9,
            "{ours:?}, not {known:?}"
        );
    }
}

/// Strict and mild tasters see about the same difference of one point, but most strict ones did not score the first
/// tea: its plain mean flatters it, its adjusted mean does not.
#[test]
fn a_mild_taster_does_not_flatter_a_tea() {
    let found = additive(&table(&["234", "-34", "-33", "67-", "689"]), 0.95).unwrap();
    let plain = found.teas[0].plain_mean - found.teas[1].plain_mean;
    let adjusted = found.teas[0].adjusted_mean - found.teas[1].adjusted_mean;
    assert!(plain > -0.7 && adjusted < -0.9, "{found:?}");
    assert_eq!(found.teas.iter().map(|tea| tea.n).collect::<Vec<_>>(), [3, 5, 4]);
}

#[test]
fn what_can_not_be_fitted_is_said() {
    assert_eq!(additive(&table(&["12--", "--34", "21--"]), 0.95), Err(Cannot::Disconnected));
    assert_eq!(additive(&table(&["12-", "-23"]), 0.95), Err(Cannot::NoFreedom));
    assert_eq!(additive(&table(&["55-", "-55", "555"]), 0.95), Err(Cannot::AllEqual));
    assert_eq!(additive(&table(&["12-", "-34", "6-8"]), 0.95), Err(Cannot::NothingLeft));
    assert_eq!(additive(&table(&["123", "214"]), 1.0), Err(Cannot::OutOfRange));
    assert_eq!(additive(&[], 0.95), Err(Cannot::Tasters(2)));
}

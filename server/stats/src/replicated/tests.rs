use super::*;
use crate::examples::ISO_8586;

fn table() -> Vec<Vec<Vec<f64>>> {
    ISO_8586.iter().map(|row| row.iter().map(|cell| cell.to_vec()).collect()).collect()
}

fn close(ours: f64, known: f64) {
    assert!((ours - known).abs() < 1e-6, "{ours}, not {known}");
}

/// Means as printed in the standard; the table of variance computed.
#[test]
fn the_standards_example_gives_the_known_table() {
    let found = replicated(&table()).unwrap();
    for (ours, printed) in found.tea_means.iter().zip([7.50, 6.17, 4.25, 4.92, 3.92, 5.33]) {
        assert!((ours - printed).abs() < 0.0051, "{ours}, not {printed}");
    }
    for (ours, printed) in found.taster_means.iter().zip([5.89, 4.83, 4.67, 6.00]) {
        assert!((ours - printed).abs() < 0.0051, "{ours}, not {printed}");
    }
    close(found.teas.squares, 104.902778);
    close(found.tasters.squares, 26.041667);
    close(found.interaction.squares, 16.041667);
    close(found.error.squares, 61.333333);
    assert_eq!((found.teas.df, found.tasters.df, found.interaction.df, found.error.df), (5, 3, 15, 48));
    close(found.teas.f, 16.419565);
    close(found.tasters.f, 6.793478);
    close(found.interaction.f, 0.836957);
    close(found.teas_for_other_tasters.unwrap().f, 19.618182);
}

#[test]
fn tasters_who_see_the_teas_alike_leave_no_interaction_to_test_against() {
    let cell = |mean: f64| vec![mean - 0.5, mean + 0.5];
    let found = replicated(&[vec![cell(4.0), cell(6.0)], vec![cell(5.0), cell(7.0)]]).unwrap();
    assert_eq!(found.teas_for_other_tasters, None);
    assert!(found.interaction.squares < 1e-20 && found.teas.f > 0.0, "{found:?}");
}

#[test]
fn what_can_not_be_analysed_is_said() {
    assert_eq!(replicated(&[]), Err(Cannot::Servings(2)));
    assert_eq!(replicated(&[vec![vec![], vec![]], vec![vec![], vec![]]]), Err(Cannot::Servings(2)));
    let once = vec![vec![vec![1.0], vec![2.0]], vec![vec![3.0], vec![5.0]]];
    assert_eq!(replicated(&once), Err(Cannot::Servings(2)));
    assert_eq!(replicated(&once[..1]), Err(Cannot::Tasters(2)));
    assert_eq!(replicated(&[vec![vec![1.0, 2.0], vec![2.0]]]), Err(Cannot::Uneven));
    let same = |a: f64, b: f64| vec![vec![vec![a, a], vec![b, b]], vec![vec![a, a], vec![a, a]]];
    assert_eq!(replicated(&same(4.0, 4.0)), Err(Cannot::AllEqual));
    assert_eq!(replicated(&same(4.1, 5.3)), Err(Cannot::NothingLeft));
}

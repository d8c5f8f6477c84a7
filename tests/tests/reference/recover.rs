//! A few of the hills that `recover` draws, with fixed seeds. A region that holds the best in 97 % of draws holds it in fewer than 15 of 20
//! in 2 of 100,000 choices of seeds, one that holds it in half of them in 98 of 100; what goes on the right way in 91 % does so in fewer
//! than 13 of 20 in 2 of 10,000, and half of the time in 87 of 100. The bounds of the means are about twice what 200 runs gave and rest on
//! no distribution: of habits least squares alone gave .49.

use summary::spot::fitted::USUAL;
use tests::recover::table::{SIZE, habit, outside, sequence};

#[test]
fn of_peoples_habits_the_way_named_is_near_the_best_and_the_region_holds_it() {
    let row = habit(SIZE, Some(USUAL), 20, 1);
    assert!(row.mean() < 0.3, "{}", row.line());
    assert!(row.covered.0 >= 15 && row.covered.1 + 5 >= row.covered.0, "{}", row.line());
    assert!(row.mean() < row.served.iter().sum::<f64>() / 20.0, "{}", row.line());
}

#[test]
fn classes_chosen_one_after_another_come_nearer_than_habits_do() {
    let row = sequence(3, Some([6.0_f64.ln(), 85.0, 79.0_f64.ln()]), Some(USUAL), 12, 1);
    assert!(row.mean() < 0.15, "{}", row.line());
}

#[test]
fn where_the_best_lies_outside_it_is_said_to_go_on() {
    let row = outside(SIZE, 1.0, Some(USUAL), 20, 1);
    assert!(row.right_way >= 13, "{}", row.line());
}

//! A few of the hills that `recover` draws, with fixed seeds. A region that holds the best in 97 % of draws holds it in fewer than 15 of 20
//! in 2 of 100,000 choices of seeds, one that holds it in half of them in 98 of 100; what goes on the right way in 91 % does so in fewer
//! than 13 of 20 in 2 of 10,000, and half of the time in 87 of 100. The bounds of the means are about twice what 200 runs gave and rest on
//! no distribution: of habits least squares alone gave .49.

use summary::spot::fitted::USUAL;
use tests::recover::run::Crowd;
use tests::recover::table::{SIZE, crowd, flat, habit, outside, sequence};

#[test]
fn of_peoples_habits_the_way_named_is_near_the_best_and_the_region_holds_it() {
    let row = habit(SIZE, Some(USUAL), 20, 1);
    assert!(row.mean() < 0.3, "{}", row.line());
    assert!(row.covered.0 >= 15 && row.covered.1 + 5 >= row.covered.0, "{}", row.line());
    assert!(row.mean() < row.served.iter().sum::<f64>() / 20.0, "{}", row.line());
}

#[test]
fn classes_chosen_one_after_another_come_nearer_than_habits_do() {
    let row = sequence(3, Some([6.0_f64.ln(), 85.0, 79.0_f64.ln()]), Some(USUAL), Crowd::of(SIZE.2), 12, 1);
    assert!(row.mean() < 0.15, "{}", row.line());
}

#[test]
fn where_the_best_lies_outside_it_is_said_to_go_on() {
    let row = outside(SIZE, 1.0, Some(USUAL), 20, 1);
    assert!(row.right_way >= 13, "{}", row.line());
}

/// Binomial of 20: with 5 % false alarms more than 4 come in 3 of 1,000 choices of seeds.
#[test]
fn where_all_ways_are_liked_the_same_nothing_is_shown_and_no_way_to_go() {
    let row = flat((3, 6, 8), 0.0, 20, 1);
    assert!(row.nothing >= 16 && row.go_on + row.inside <= 4, "{}", row.line());
}

/// Binomial of 20: with 5 % false alarms more than 4 come in 3 of 1,000 choices of seeds. Two steps apart groups were seen in 85 % of 60 runs, where
/// a best at the edge did not yet silence them; at 75 % fewer than 9 of 20 come in 1 of 1,000 choices of seeds.
#[test]
fn tasters_of_two_minds_are_seen_and_those_of_one_seldom_are() {
    let one = crowd("one taste", SIZE, Crowd::of(SIZE.2), 20, 1);
    assert!(one.parted <= 4, "{}", one.line());
    let two = crowd("two tastes", SIZE, Crowd { apart: 2.0, ..Crowd::of(SIZE.2) }, 20, 1);
    assert!(two.parted >= 9, "{}", two.line());
    let gained = two.in_groups.iter().filter(|(own, together)| own < together).count();
    assert!(gained * 2 > two.in_groups.len(), "{}", two.line());
}

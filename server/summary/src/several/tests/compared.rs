//! What several classes show of two ways, and what they do not.

use super::*;
use crate::several::decision::For;

/// Classes in which the long way is liked by that many points more than the short one, and half a point more or less by turns.
fn moving(by: &[i32]) -> Pool {
    let of_class = |(i, &by): (usize, &i32)| {
        held("2026-11-28", false, 100 + 10 * i as u16, 6, move |n, tea, steep| {
            let wobble = i32::from(n % 2) * (steep as i32 - 1);
            Some((4 + if tea == 0 { by + wobble } else { 0 }, 0))
        })
    };
    pool(&by.iter().enumerate().map(of_class).collect::<Vec<_>>())
}

#[test]
fn a_difference_that_is_there_in_some_classes_only_is_reported_but_not_called_shown() {
    let found = &moving(&[3, 3, -1]).pairs[0];
    assert!(found.p_of_all.unwrap() < 0.001 && found.moves.unwrap().p < 0.001, "{found:?}");
    assert!(!found.shown() && found.favours.is_none());
    for words in ["the classes do not agree in liking (from −", "look at each class"] {
        assert!(found.words.contains(words), "{}", found.words);
    }
}

#[test]
fn a_difference_that_moves_but_is_always_there_is_shown_by_the_classes_means() {
    let found = &moving(&[1, 3, 2, 4, 3, 2]).pairs[0];
    let means = found.by_class_means.unwrap();
    assert!(found.moves.unwrap().p < 0.001 && means.p_of_all < 0.01, "{found:?}");
    assert_eq!(means.classes, 6);
    assert!(found.shown() && found.words.contains("each class counted once"), "{}", found.words);
}

#[test]
fn classes_that_point_opposite_ways_are_said_to_do_so() {
    let pool = moving(&[3, -3]);
    let found = &pool.pairs[0];
    assert!(found.moves.unwrap().p < 0.001 && !found.shown(), "{found:?}");
    assert!(found.words.contains("the classes do not agree in liking (from −"), "{}", found.words);
    let together = pool.together.iter().find(|t| t.attribute.name == "liking").unwrap();
    assert!(together.moved() && !together.shown(), "{together:?}");
    assert!(together.means.iter().all(|mean| mean.letters == "a"), "{together:?}");
    assert!(
        pool.brief[0].text.contains("but the classes do not agree on how the ways differ"),
        "{:?}",
        pool.brief
    );
}

#[test]
fn what_is_above_in_each_class_is_told_so_in_the_same_direction() {
    let found = &moving(&[-2, -3]).pairs[0];
    let words = &found.words;
    assert!(
        words.starts_with("Lantern slope (way 2) was above Lantern Slope (way 1)")
            && words.contains("in each class"),
        "{words}"
    );
    let three = &moving(&[-2, -3, -2]).pairs[0];
    assert!(
        three.words.contains("(each class counted once, as one of many that might be given: 95 % interval +"),
        "turned as the verdict is: {}",
        three.words
    );
}

#[test]
fn tasters_who_are_all_alike_are_tested_by_their_signed_ranks() {
    let alike =
        |first: u16| held("2026-11-28", false, first, 6, |_, tea, _| Some((if tea == 0 { 6 } else { 5 }, 0)));
    let found = &pool(&[alike(100), alike(200)]).pairs[0];
    assert_eq!(found.test.as_deref(), Some("exact signed ranks"));
    assert!((found.p.unwrap() - 2.0 / 4096.0).abs() < 1e-12 && found.all.low.is_none(), "{found:?}");
}

#[test]
fn classes_of_one_taster_each_are_tested_by_their_means() {
    let one = |first: u16, more: i32| {
        held("2026-11-28", false, first, 1, move |_, tea, _| Some((if tea == 0 { 4 + more } else { 3 }, 0)))
    };
    let found = &pool(&[one(100, 1), one(200, 2), one(300, 2), one(400, 1)]).pairs[0];
    assert_eq!(found.test.as_deref(), Some("t of the classes' means"));
    assert!(found.p.unwrap() < 0.05 && found.by_class_means.unwrap().classes == 4, "{found:?}");
}

#[test]
fn a_third_tea_of_fewer_steeps_takes_nothing_from_two_others() {
    let scored = |n: u8, tea: u16, steep: u32| {
        let points = if steep == 1 { 5 } else { 5 + i32::from(tea == 0) * (3 + i32::from(n % 2)) };
        (tea < 2 || steep == 1).then_some((points, 0))
    };
    let pool = pool(&[held("2026-11-28", false, 100, 6, scored)]);
    let of = |second: usize| pool.pairs.iter().find(|p| (p.first, p.second) == (1, second)).unwrap();
    assert_eq!((of(2).steeps.clone(), of(3).steeps.clone()), (vec![1, 2], vec![1]));
    assert!((of(2).all.mean - 1.75).abs() < 1e-9 && of(3).all.mean == 0.0, "{:?}", pool.pairs);
    assert!(
        of(2).words.contains("at steeps 1 and 2") && of(3).words.contains("at steep 1"),
        "{}",
        of(3).words
    );
}

/// One tea is scored at the first steep only, the other at the second only.
#[test]
fn ways_without_a_common_steep_are_not_compared() {
    let apart = |_: u8, tea: u16, steep: u32| (u32::from(tea) + 1 == steep).then_some((5, 0));
    let pool = pool(&[held("2026-11-28", false, 100, 6, apart)]);
    assert!(pool.pairs.is_empty() && pool.together.iter().all(|t| t.by_points.is_none()), "{pool:?}");
    assert!(!serde_json::to_string(&pool).unwrap().contains("\"mean\":null"));
}

#[test]
fn a_class_in_which_the_difference_was_larger_widens_nothing() {
    let width = |pool: &Pool| pool.pairs[0].all.high.unwrap() - pool.pairs[0].all.low.unwrap();
    assert!((width(&moving(&[2, 2])) - width(&moving(&[1, 3]))).abs() < 1e-9);
}

/// However many tasters each class has: three classes in which a way is above by 1, 3 and 6 points are three, and say little of a
/// fourth.
#[test]
fn with_three_classes_a_way_is_called_better_only_against_how_it_moves_from_class_to_class() {
    let pool = moving(&[1, 3, 6]);
    let pair = &pool.pairs[0];
    let decision = pair.decision.unwrap();
    assert!(pair.p_of_all.unwrap() < 0.001 && decision.p > 0.1, "{pair:?}");
    assert_eq!((decision.speaks_for, pair.shown(), pair.favours), (For::ClassesLikeThese, false, None));
    let together = pool.together.iter().find(|t| t.attribute.name == "liking").unwrap();
    assert!(together.p_of_all.unwrap() < 0.001 && !together.shown(), "{together:?}");
    assert!(together.means.iter().all(|mean| mean.letters == "a"), "{together:?}");
    assert!(pool.brief[0].text.starts_with("Highest mean liking"), "{:?}", pool.brief);
}

#[test]
fn what_holds_against_way_and_class_is_shown_for_classes_like_these() {
    let pool = moving(&[2, 3, 2]);
    let together = pool.together.iter().find(|t| t.attribute.name == "liking").unwrap();
    let over = together.over_classes.unwrap();
    assert_eq!((over.df, over.df_below), (2, Some(4)), "ways less one, times classes less one");
    assert!(together.shown() && together.for_others() && over.p < 0.01, "{together:?}");
    let letters: Vec<(usize, &str)> = together.means.iter().map(|m| (m.way, m.letters.as_str())).collect();
    assert_eq!(letters, [(1, "a"), (2, "b"), (3, "b")]);
    let at =
        |words: &str| together.words.find(words).unwrap_or_else(|| panic!("{words}: {}", together.words));
    assert!(at("each class counted once") < at("in these classes alone"), "what decides comes first");
    let pair = &pool.pairs[0].words;
    let at = |words: &str| pair.find(words).unwrap_or_else(|| panic!("{words}: {pair}"));
    assert!(at("each class counted once") < at("In these classes alone, by their tasters"), "{pair}");
    assert!(pool.brief[0].text.starts_with("Liked best: "), "{:?}", pool.brief);
}

#[test]
fn two_classes_speak_for_themselves_and_it_is_said() {
    let pool = moving(&[2, 2]);
    let pair = &pool.pairs[0];
    assert_eq!(pair.decision.unwrap().speaks_for, For::TheseClasses);
    assert!(
        pair.shown() && pair.words.contains("points at steeps 1 and 2 in these classes ("),
        "{}",
        pair.words
    );
    assert!(
        pool.together[0].words.contains("the ways differ in these classes;"),
        "{}",
        pool.together[0].words
    );
    assert!(pool.brief[0].text.starts_with("Liked best in these classes: "), "{:?}", pool.brief);
}

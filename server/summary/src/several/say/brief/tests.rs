//! Every kind of finding in one list, which stays short however much there is.

use super::*;
use crate::several::digest::Digest;
use crate::several::pool;
use fixtures::several::{held, leaves};
use room::light::ClassScores;
use room::{Entry, Room};
use std::collections::BTreeSet;

/// So many lines are read in a minute.
const MOST: usize = 8;

/// The classes of [`fixtures::several::leaves`] pooled.
fn pooled(
    size: (u16, u16, u16, usize),
    points: impl Fn(u16, u16, u16, usize) -> i32,
    vote: impl Fn(u16, u16) -> i8,
) -> Pool {
    let classes: Vec<(ClassScores, Digest)> = leaves(size, points, vote).into_iter().map(read).collect();
    pool(&classes)
}

fn read(entries: Vec<Entry>) -> (ClassScores, Digest) {
    let record = ClassScores::of(&Room::replay(entries).unwrap());
    let digest = Digest::of(&record);
    (record, digest)
}

fn texts(pool: &Pool) -> Vec<&str> {
    pool.brief.iter().map(|line| line.text.as_str()).collect()
}

#[test]
fn what_was_liked_best_comes_first_and_ways_have_their_teas_names() {
    let points = |class: u16, leaf: u16, way: u16, _: usize| {
        1 + 3 * i32::from(way) + 2 * i32::from(leaf) + i32::from(class == 0 && way == 0)
    };
    let pool = pooled((6, 2, 2, 1), points, |_, _| 0);
    let said = texts(&pool);
    assert!(
        said[0].starts_with("Liked best: Leaf 1 by 1, ")
            && said[0].contains("more than every other (48 tasters in 6 classes). Then"),
        "{said:#?}"
    );
    assert!(
        said.iter().any(|line| line.starts_with(
            "Steeped several ways, liking differs for Leaf 0 (Leaf 0 by 1 above Leaf 0 by 0 by "
        )),
        "{said:#?}"
    );
    assert!(!said.iter().any(|line| line.contains("way 1") || line.contains("way 2")), "{said:#?}");
}

#[test]
fn where_all_are_ways_of_one_leaf_they_are_told_once() {
    let points =
        |class: u16, _: u16, way: u16, _: usize| 1 + 2 * i32::from(way) + i32::from(class == 0 && way == 0);
    let pool = pooled((3, 1, 3, 0), points, |_, _| 0);
    let said = texts(&pool);
    let liked = "Leaf 0, 3 ways. Liked best: Leaf 0 by 2 (5 g in 100 ml, 95 °C, 40 s), ";
    assert!(said[0].starts_with(liked), "{said:#?}");
    assert!(
        said[1].starts_with(
            "Next time: Leaf 0 by 2, liked 3.8 points more than Leaf 0 by 0. Leave Leaf 0 by 2: "
        ) && !said.iter().any(|line| line.starts_with("Leaf 0:")),
        "{said:#?}"
    );
}

#[test]
fn with_many_leaves_and_attributes_there_are_eight_lines_at_most_and_no_two_alike() {
    for (classes, leaves, ways) in [(1, 4, 2), (2, 5, 2), (3, 6, 2), (3, 2, 5), (4, 1, 1), (3, 8, 1)] {
        for lift in [0, 1, 2] {
            let pool = pooled(
                (classes, leaves, ways, 8),
                |class, leaf, way, at| {
                    1 + lift * i32::from(way + leaf % 2) + i32::from((class + leaf) as usize == at)
                },
                |leaf, way| [0, 1, -1][usize::from(leaf + way) % 3],
            );
            let said = texts(&pool);
            assert!(said.len() <= MOST, "{said:#?}");
            assert_eq!(said.iter().collect::<BTreeSet<_>>().len(), said.len(), "{said:#?}");
            assert!(said.iter().all(|line| !line.contains("  ") && !line.contains(" ,")), "{said:#?}");
        }
    }
}

#[test]
fn leaves_of_which_nothing_is_found_share_a_line() {
    let pool = pooled((2, 3, 2, 0), |_, _, _, _| 5, |_, _| 0);
    let said = texts(&pool);
    let alike: Vec<&&str> = said.iter().filter(|line| line.contains("Leaf 1")).collect();
    assert!(
        alike.iter().any(|line| **line
            == "By liking of leaves steeped several ways, for Leaf 0, Leaf 1 and Leaf 2 no difference is shown."),
        "{said:#?}"
    );
}

/// A tea that all find too thin in every steep, in every class.
#[test]
fn votes_are_told_over_the_steeps_with_how_many_and_what_to_try() {
    let thin = |_: u8, tea: u16, _: u32| Some((5, if tea == 0 { -1 } else { 0 }));
    let pool = pool(
        &[("2026-11-28", 100), ("2026-12-05", 300)]
            .map(|(date, first)| read(held(date, false, first, 6, thin))),
    );
    let votes = &pool.strength[0];
    assert_eq!((votes.hint.tasters, votes.hint.family, votes.shown), (12, 3, true), "{votes:?}");
    assert!((votes.hint.signed_rank_p - 2.0 / 4096.0).abs() < 1e-12, "each taster once: {votes:?}");
    assert!(
        texts(&pool).iter().any(|line| line.starts_with(
            "Next time: Lantern Slope (way 1) longer (too thin in both steeps, 24 of 24 votes in 2 classes). A first step: try "
        ) && line.contains("in place of 45 and 60 s")
            && line.ends_with("Leave Lantern slope (way 2) and Pier: most found that just right.")),
        "{:#?}",
        texts(&pool)
    );
    assert!(
        votes.words.starts_with(
            "Lantern Slope (way 1): steep it longer. It is too thin in both steeps, 24 of 24 votes: shown in these classes (12 of 12 tasters \
             in 2 classes find it rather too thin, none the other way round; exact signed rank test, n 12, "
        ),
        "{}",
        votes.words
    );
}

/// Four who all agree: no number of votes on a steep makes them more.
#[test]
fn it_is_said_where_no_votes_could_have_shown_anything() {
    let pool = pooled((1, 2, 2, 0), |_, _, _, _| 5, |_, _| -1);
    assert_eq!((pool.tasters_needed, pool.strength[0].hint.tasters), (8, 8));
    assert!(pool.strength.iter().all(|votes| votes.shown), "{:?}", pool.strength);
    let few = crate::several::pool(&[read(held("2026-11-28", false, 100, 4, |_, _, _| Some((5, -1))))]);
    assert!(
        texts(&few).contains(
            &"Next time: too few voted to say what to steep longer or shorter: 4 tasters, and 7 are needed."
        ),
        "{:#?}",
        texts(&few)
    );
    assert!(
        few.strength[0]
            .words
            .contains("no votes of so few could have shown anything: 7 tasters who all agree are needed"),
        "{}",
        few.strength[0].words
    );
}

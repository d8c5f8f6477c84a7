use super::coding::What;
use super::rows::{Cup, Ladder, Leaf, Place, Tasted};
use super::*;
use crate::several::digest::Digest;
use fixtures::several::{held, leaves};
use room::Room;

pub(super) const NINE: Scale = Scale { low: 1.0, high: 9.0 };
const WIDE: Scale = Scale { low: 0.0, high: 100.0 };

/// The classes that some ledgers hold.
fn read(ledgers: Vec<Vec<room::Entry>>) -> Vec<(ClassScores, Digest)> {
    let class = |entries: Vec<room::Entry>| {
        let record = ClassScores::of(&Room::replay(entries).unwrap());
        let digest = Digest::of(&record);
        (record, digest)
    };
    ledgers.into_iter().map(class).collect()
}

fn tasted(place: Place, votes: [usize; 3]) -> Tasted {
    Tasted {
        called: "way".into(),
        dose_g_per_100_ml: place[0].exp(),
        temp_c: place[1],
        seconds: place[2].exp(),
        classes: vec![1],
        cups: 1,
        mean: None,
        lost: None,
        votes,
        place,
    }
}

/// A leaf of one class: ways coded by steps of dose and temperature, each with a liking for each taster.
pub(super) fn leaf(ways: &[([f64; 2], Vec<f64>)], votes: &[[usize; 3]]) -> Leaf {
    let place = |x: &[f64; 2]| [3.0_f64.ln() + x[0] * 1.5_f64.ln(), 80.0 + 10.0 * x[1], 60.0_f64.ln()];
    let record = &read(vec![held("2026-11-28", false, 100, 1, |_, _, _| Some((5, 0)))])[0].0;
    let cup = |(way, (x, likings)): (usize, &([f64; 2], Vec<f64>))| {
        let cup = |(taster, &liking): (usize, &f64)| Cup {
            class: 0,
            taster,
            way,
            place: place(x),
            liking: Some(liking),
            vote: None,
        };
        likings.iter().enumerate().map(cup).collect::<Vec<_>>()
    };
    let votes = |way: usize| votes.get(way).copied().unwrap_or_default();
    Leaf {
        name: "Lantern Slope".into(),
        cups: ways.iter().enumerate().flat_map(cup).collect(),
        ways: ways.iter().enumerate().map(|(n, (x, _))| tasted(place(x), votes(n))).collect(),
        ladder: Ladder { times: vec![1.0, 1.5], hotter_c: vec![0.0, 0.0], tasted: 2 },
        water_ml: 100.0,
        last: (0, record.class.teas[0].clone()),
    }
}

/// Carbon monoxide by two factors (Box, Hunter & Hunter 2005, table 10.17, as in Lenth 2009): a rising ridge whose stationary point
/// lies fourteen steps outside what was tried. Two runs stand for two tasters.
#[test]
fn of_a_published_rising_ridge_no_best_way_far_outside_is_named() {
    let scores = [
        [61.9, 65.6, 80.9, 78.0, 89.7, 93.8],
        [72.1, 67.3, 80.1, 81.4, 77.8, 74.8],
        [66.4, 68.2, 68.9, 66.0, 60.2, 57.9],
    ];
    let way = |n: usize| {
        let (row, column) = (n / 3, n % 3);
        ([column as f64 - 1.0, row as f64 - 1.0], scores[row][2 * column..2 * column + 2].to_vec())
    };
    let ways: Vec<_> = (0..9).map(way).collect();
    let spot = spot(leaf(&ways, &[]), WIDE, None);
    let fit = spot.fit.as_ref().unwrap();
    let printed = [4.391667, -6.858333, -9.0625, -4.575, -4.125];
    for (own, value) in fit.terms.iter().zip(printed) {
        assert!((own.coded.value - value).abs() < 1e-6, "{own:?}");
    }
    assert_eq!(spot.answer.kind, AnswerKind::GoOn, "it rises, and no best is named");
    let at = spot.answer.at.as_ref().unwrap();
    assert!(at[0] > 0.5 && at[1] < -0.5, "where the scores are highest: {at:?}");
    assert!(!spot.answer.go_on.is_empty());
    let place = spot.behind.coding.code(&spot.answer.best.as_ref().unwrap().place());
    assert!(spot.behind.fitted.as_ref().unwrap().tried.holds(&place));
}

/// Three ways by ten votes, computed apart by another program: the cumulative probit model.
#[test]
fn votes_on_three_ways_balance_where_another_program_has_it() {
    let ways = [-1.0, 0.0, 1.0].map(|x| ([x, 0.0], vec![5.0, 6.0]));
    let spot = spot(leaf(&ways, &[[7, 3, 0], [3, 5, 2], [0, 4, 6]]), NINE, Some(fitted::USUAL));
    let votes = spot.votes.as_ref().unwrap();
    let near = |value: f64, known: f64| assert!((value - known).abs() < 1e-5, "{value} is not {known}");
    near(votes.thresholds[0], -0.685215);
    near(votes.thresholds[1], 0.973073);
    near(votes.slopes[0].value, 1.266548);
    near(votes.balanced[0].coded.value, 0.113639);
    near(votes.balanced[0].coded.standard_error, 0.17549);
    near(votes.log_likelihood, -23.719062);
    assert!(
        spot.answer
            .words
            .iter()
            .any(|words| words.contains("as many find it too thin as too strong at 3.1 g")),
        "{:?}",
        spot.answer.words
    );
}

/// A hill over dose and temperature whose top lies at a place in steps, with a little wobble from taster to taster.
pub(super) fn hill(top: [f64; 2], cross: f64) -> Leaf {
    let liking = |x: [f64; 2], n: usize| {
        let off = [x[0] - top[0], x[1] - top[1]];
        let wobble = [0.5, -0.5, 0.2, -0.3, 0.1][(n * 7 + (x[0] * 2.0 + x[1] * 3.0).abs() as usize) % 5];
        7.0 - off[0] * off[0] - off[1] * off[1] - cross * off[0] * off[1] + wobble
    };
    let way = |n: usize| {
        let x = [(n % 3) as f64 - 1.0, (n / 3) as f64 - 1.0];
        (x, (0..6).map(|taster| liking(x, taster)).collect())
    };
    leaf(&(0..9).map(way).collect::<Vec<_>>(), &[])
}

#[test]
fn a_top_inside_is_named_in_amounts_that_can_be_poured() {
    for assumed in [Some(fitted::USUAL), None] {
        let spot = spot(hill([0.3, -0.2], 0.0), NINE, assumed);
        assert_eq!(spot.answer.kind, AnswerKind::Top);
        let best = spot.answer.best.as_ref().unwrap();
        assert!(
            (best.leaf_g - 3.0 * 1.5_f64.powf(0.3)).abs() < 0.15 && (best.temp_c[0] - 78.0).abs() <= 1.0,
            "{best:?}"
        );
        assert_eq!(best.steep_s, [60, 90], "by the leaf's own ladder");
        let lost: Vec<f64> = spot.ways.iter().map(|way| way.lost.unwrap().value).collect();
        assert!(lost.iter().all(|lost| *lost > -0.05) && lost[8] > 1.0, "{lost:?}");
        let region = spot.answer.region.as_ref().unwrap();
        assert!(region.share > 0.0 && region.share < 0.3, "{region:?}");
        assert!(
            region.factors[0].low < best.dose_g_per_100_ml && best.dose_g_per_100_ml < region.factors[0].high
        );
    }
}

#[test]
fn where_the_best_lies_outside_it_is_said_which_way_to_go_and_nothing_outside_is_named() {
    for assumed in [Some(fitted::USUAL), None] {
        let spot = spot(hill([2.5, 0.0], 0.0), NINE, assumed);
        assert_eq!(spot.answer.kind, AnswerKind::GoOn);
        let go: Vec<(What, bool)> = spot.answer.go_on.iter().map(|go| (go.what, go.more)).collect();
        assert_eq!(go, [(What::Dose, true)]);
        let (best, next) = (spot.answer.best.as_ref().unwrap(), spot.answer.next.as_ref().unwrap());
        assert!(best.leaf_g <= 4.5 && best.leaf_g > 4.3, "{best:?}");
        assert!(next.leaf_g > 5.0 && next.leaf_g <= 4.5 * 1.5 + 0.1, "{next:?}");
        assert!(spot.answer.words[0].contains("still rises with more leaf"), "{:?}", spot.answer.words);
    }
}

/// Every taster likes the ways in another order, so that their means hardly differ.
#[test]
fn where_ways_differ_by_chance_alone_no_direction_is_given_and_the_best_is_called_a_guess() {
    let way = |n: usize| {
        let liking = |taster: usize| 5.0 + [0.0, 2.0, 1.0, 3.0][(n + taster) % 4];
        ([(n % 3) as f64 - 1.0, (n / 3) as f64 - 1.0], (0..8).map(liking).collect())
    };
    for assumed in [Some(fitted::USUAL), None] {
        let spot = spot(leaf(&(0..9).map(way).collect::<Vec<_>>(), &[]), NINE, assumed);
        assert_eq!(spot.answer.kind, AnswerKind::NothingChanges);
        assert!(spot.answer.shown_p.unwrap() > 0.5 && spot.answer.go_on.is_empty(), "{:?}", spot.answer);
        assert!(
            spot.answer.words[0].starts_with("Nothing that was varied is shown to change the liking")
                && spot.answer.words[0].contains("A guess"),
            "{:?}",
            spot.answer.words
        );
    }
}

#[test]
fn a_saddle_has_no_best_way_inside() {
    let spot = spot(hill([0.0, 0.0], 6.0), NINE, None);
    assert_eq!(spot.answer.kind, AnswerKind::GoOn);
    assert_eq!(format!("{:?}", spot.fit.unwrap().canonical.kind), "Saddle");
}

/// Two leaves, each in two ways of one dose a step apart: nothing but the dose was varied, and two ways are no hill.
#[test]
fn too_few_ways_say_what_they_can_answer() {
    let ledgers = leaves((2, 2, 2, 0), |_, leaf, way, _| 4 + i32::from(leaf) + i32::from(way), |_, _| 0);
    let found = spots(&read(ledgers), Some(fitted::USUAL));
    assert_eq!(found.leaves.len(), 2);
    for spot in &found.leaves {
        assert_eq!((spot.answer.kind, spot.ways.len(), spot.tasters), (AnswerKind::TooFew, 2, 16));
        assert_eq!(
            spot.answer.alone.iter().map(|alone| (alone.what, alone.levels)).collect::<Vec<_>>(),
            [(What::Dose, 2)]
        );
        assert!(spot.answer.words[0].starts_with("Too few ways to tell the dose apart: 2 ways were tasted, and 3 ways would answer it; the dose can be answered by itself, but only whether more or less of it."), "{:?}", spot.answer.words);
    }
}

/// A tea of two steeps is one cup, at the seconds of its first steep; another ladder lies where its steeps do in the middle.
#[test]
fn steeps_of_one_tea_are_one_row_at_the_place_of_the_first() {
    let found = spots(
        &read(vec![held("2026-11-28", false, 100, 4, |n, tea, steep| {
            Some((4 + i32::from(n % 2) + steep as i32 + i32::from(tea), 1))
        })]),
        Some(fitted::USUAL),
    );
    let slope = &found.leaves[0];
    assert_eq!((slope.leaf.as_str(), slope.cups, slope.tasters), ("Lantern Slope", 8, 4));
    // 45 and 60 s, 15 and 20 s: both keep the ladder of a third more.
    let seconds: Vec<f64> = slope.ways.iter().map(|way| (way.seconds * 10.0).round() / 10.0).collect();
    assert_eq!(seconds, [45.0, 15.0]);
    assert_eq!(slope.ways[0].mean, Some(6.0), "the mean of two steeps");
    assert_eq!(slope.ways[0].votes, [0, 0, 4], "one vote for each taster");
    assert_eq!(slope.behind.leaf.ladder.times.len(), 2);
}

/// From three classes on it is judged by how ways differ from class to class.
#[test]
fn with_three_classes_ways_within_classes_are_the_error() {
    let ledgers = |classes: u16| {
        leaves(
            (classes, 1, 4, 0),
            |class, _, way, _| 3 + i32::from(4 - (way as i16 - 2).pow(2)) + i32::from(class * way % 2),
            |_, _| 0,
        )
    };
    for (classes, error) in [(2, fitted::Error::Cups), (3, fitted::Error::WaysInClasses)] {
        let found = spots(&read(ledgers(classes)), Some(fitted::USUAL));
        let spot = &found.leaves[0];
        assert_eq!(spot.fit.as_ref().unwrap().error, error);
        let words = &spot.answer.words[1];
        assert!(
            words.contains(if classes == 2 { "in these classes" } else { "in classes like these" }),
            "{words}"
        );
    }
}

#[test]
fn another_scale_stretches_the_prior_and_changes_nothing_else() {
    let wide = |leaf: &Leaf| {
        let cups = leaf.cups.iter().map(|cup| Cup { liking: cup.liking.map(|l| 10.0 * l), ..cup.clone() });
        Leaf { cups: cups.collect(), ..leaf.clone() }
    };
    let leaf = hill([0.3, -0.2], 0.3);
    let (usual, wide) = (
        spot(leaf.clone(), NINE, Some(fitted::USUAL)),
        spot(wide(&leaf), Scale { low: 10.0, high: 90.0 }, Some(fitted::USUAL)),
    );
    assert_eq!((usual.answer.best, usual.answer.kind), (wide.answer.best, wide.answer.kind));
    let share = |spot: &Option<region::RegionFound>| spot.as_ref().unwrap().share;
    assert!((share(&usual.answer.region) - share(&wide.answer.region)).abs() < 1e-9);
}

/// Six tasters like it best a step and a half further in dose than six others do: both bests are told, and what one way costs.
#[test]
fn tasters_who_like_it_in_two_ways_are_never_averaged_away() {
    let of = |apart: f64| {
        let way = |n: usize| {
            let x = [(n % 3) as f64 - 1.0, (n / 3) as f64 - 1.0];
            let liking = |taster: usize| {
                let top = if taster < 6 { -apart } else { apart };
                let wobble = [0.4, -0.5, 0.2, -0.3, 0.2, 0.6, -0.6][(n * n + 3 * taster * (n + 1)) % 7];
                7.0 - (x[0] - top).powi(2) - x[1] * x[1] + wobble
            };
            (x, (0..12).map(liking).collect())
        };
        spot(leaf(&(0..9).map(way).collect::<Vec<_>>(), &[]), NINE, Some(fitted::USUAL))
    };
    let parted = of(0.75);
    let groups = &parted.groups.as_ref().unwrap().groups;
    assert_eq!(groups.each_ref().map(|group| group.tasters), [6, 6]);
    assert!((groups[0].at[0] - groups[1].at[0]).abs() > 1.0, "{groups:?}");
    assert!(groups.iter().all(|group| group.loses.value > 0.2), "{groups:?}");
    let said = |spot: &Spot| spot.answer.words.iter().any(|words| words.starts_with("Not all like the same"));
    assert!(said(&parted), "{:?}", parted.answer.words);
    assert!(of(0.0).groups.is_none() && !said(&of(0.0)));
}

/// A leaf whose tasters sat in three classes.
fn in_three_classes(mut leaf: Leaf) -> Leaf {
    leaf.cups.iter_mut().for_each(|cup| cup.class = cup.taster / 2);
    leaf.cups.sort_by_key(|cup| (cup.class, cup.taster));
    leaf.ways.iter_mut().for_each(|way| way.classes = vec![1, 2, 3]);
    leaf
}

/// The same leaf with votes that balance so many steps of leaf above the middle.
fn voted(mut leaf: Leaf, balance: f64) -> Leaf {
    for (n, way) in leaf.ways.iter_mut().enumerate() {
        let stronger = (n % 3) as f64 - 1.0 - balance;
        let thin = (30.0 - 18.0 * stronger).clamp(1.0, 59.0) as usize;
        way.votes = [thin, 20, 60 - thin];
    }
    leaf
}

#[test]
fn votes_that_agree_with_the_liking_draw_the_best_towards_their_balance() {
    let of = |leaf: Leaf| spot(in_three_classes(leaf), NINE, Some(fitted::USUAL));
    let (plain, both) = (of(hill([0.0, 0.0], 0.0)), of(voted(hill([0.0, 0.0], 0.0), 0.4)));
    let dose = |spot: &Spot| spot.behind.fitted.as_ref().unwrap().surface.slopes(&[0.0, 0.0]).0[0];
    assert_eq!(both.votes.as_ref().unwrap().with_liking, WithLiking::Joined);
    assert!(dose(&both) > dose(&plain), "{} {}", dose(&both), dose(&plain));
    let words = both.answer.words.join(" ");
    assert!(words.contains("count in the best way"), "{words}");
}

#[test]
fn where_votes_and_liking_disagree_the_liking_goes_first_and_it_is_told() {
    let of = |leaf: Leaf| spot(in_three_classes(leaf), NINE, Some(fitted::USUAL));
    let plain = of(hill([0.0, 0.0], 0.0));
    for (balance, with, words) in [
        (1.8, WithLiking::Stronger, "ask for it stronger, the liking for it lighter"),
        (-1.8, WithLiking::Lighter, "ask for it lighter, the liking for it stronger"),
    ] {
        let found = of(voted(hill([0.0, 0.0], 0.0), balance));
        assert_eq!(found.votes.as_ref().unwrap().with_liking, with);
        assert_eq!((&found.answer.best, &found.fit), (&plain.answer.best, &plain.fit));
        assert!(found.answer.words.join(" ").contains(words), "{:?}", found.answer.words);
    }
}

#[test]
fn where_nothing_is_assumed_or_of_one_class_votes_stand_apart() {
    let hill = || hill([0.0, 0.0], 0.0);
    for (leaf, assumed) in [(in_three_classes(hill()), None), (hill(), Some(fitted::USUAL))] {
        let (plain, found) = (spot(leaf.clone(), NINE, assumed), spot(voted(leaf, 0.4), NINE, assumed));
        assert_eq!(found.votes.as_ref().unwrap().with_liking, WithLiking::Apart);
        assert_eq!((&found.answer, &found.fit), (&plain.answer, &plain.fit));
    }
}

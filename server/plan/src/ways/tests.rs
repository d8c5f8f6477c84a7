use super::*;
use proptest::prelude::*;

const FIVE: &str = include_str!("../../../../demo/ways.toml");

fn of(text: &str) -> Compared {
    compare(&class::read::ways(text).unwrap())
}

/// Ways as (grams per 100 ml, °C, seconds of each steep).
fn group_of(ways: &[(f64, f64, &[u32])]) -> Group {
    let one = |(i, (dose, c, steep_s)): (usize, &(f64, f64, &[u32]))| {
        format!("[[way]]\nwho = \"w{i}\"\ndose_g_per_100_ml = {dose}\ntemp_c = {c}\nsteep_s = {steep_s:?}\n")
    };
    let text: String = ways.iter().enumerate().map(one).collect();
    of(&text).groups.remove(0)
}

#[test]
fn the_middle_of_ways_is_the_median_of_each_thing() {
    let five = of(FIVE);
    assert_eq!(five.groups.len(), 1, "one kind of leaf");
    let group = &five.groups[0];
    assert_eq!(group.leaf, "ball-rolled, half oxidised, roasted");
    let middle = Middle {
        dose_g_per_100_ml: 5.0,
        temp_c: vec![92.0, 92.0, 95.0, 95.0],
        steep_s: vec![25, 20, 25, 30],
        rinse_s: Some(5),
    };
    assert_eq!(group.middle, middle);
    for (ways, dose, steep_s) in [
        // Between 2 and 8 lies 4, not 5: people differ in folds.
        (&[(2.0, 90.0, &[20u32][..]), (8.0, 90.0, &[45])][..], 4.0, vec![30]),
        (&[(5.0, 90.0, &[0, 0]), (5.0, 90.0, &[0, 10]), (5.0, 90.0, &[20, 20])], 5.0, vec![0, 10]),
        (&[(5.0, 90.0, &[70]), (5.0, 90.0, &[73])], 5.0, vec![70]),
        (&[(5.23, 91.5, &[61])], 5.23, vec![61]),
    ] {
        let group = group_of(ways);
        assert_eq!((group.middle.dose_g_per_100_ml, group.middle.steep_s), (dose, steep_s));
    }
}

/// By hand: k of rolled leaf is 0.23 per minute in the middle way's water; dry leaf loses 16 s or half of the first steep.
#[test]
fn a_cup_is_so_many_times_as_strong_as_the_middle_ways() {
    let group = group_of(&[(4.0, 90.0, &[40, 40]), (8.0, 90.0, &[40, 40])]);
    assert_eq!(group.middle.dose_g_per_100_ml, 5.7);
    let strength: Vec<f64> = group.ways.iter().map(|way| way.strength[0].unwrap()).collect();
    assert!((strength[0] - 4.0 / 5.7).abs() < 1e-12 && (strength[1] - 8.0 / 5.7).abs() < 1e-12);
    let rolled = |s: u32| {
        let way = format!("form = \"ball-rolled\"\ndose_g_per_100_ml = 5\ntemp_c = 95\nsteep_s = [{s}]\n");
        format!("[[way]]\nwho = \"{s}\"\n{way}")
    };
    let group = of(&(rolled(20) + &rolled(45) + &rolled(100))).groups.remove(0);
    let gives = |s: f64| 1.0 - (-0.23 * (s - 16f64.min(s / 2.0)) / 60.0).exp();
    for (way, s) in group.ways.iter().zip([20.0, 45.0, 100.0]) {
        let found = way.strength[0].unwrap();
        assert!((found - gives(s) / gives(45.0)).abs() < 1e-12, "{s} s: {found}");
    }
}

#[test]
fn each_difference_is_told_by_itself_and_by_what_it_does_to_the_cup() {
    let five = of(FIVE);
    let group = &five.groups[0];
    let spans: Vec<(Factor, f64, bool)> =
        group.differences.iter().map(|d| (d.factor, (d.span * 100.0).round() / 100.0, d.agree)).collect();
    assert_eq!(
        spans,
        [
            (Factor::Leaf, 3.0, false),
            (Factor::Water, 30.0, false),
            (Factor::FirstSteep, 4.0, false),
            (Factor::LaterSteeps, 4.0, false)
        ]
    );
    assert_eq!(group.differ_most_in().unwrap().factor, Factor::LaterSteeps);
    assert!((group.differences[0].strength_fold - 3.0).abs() < 1e-9, "leaf counts as it is");
    let agreed = group_of(&[(5.0, 90.0, &[20, 20]), (5.5, 95.0, &[24, 22])]);
    assert!(agreed.differences.iter().all(|one| one.agree) && agreed.differ_most_in().is_none());
    assert!(group_of(&[(5.0, 90.0, &[20])]).differences.is_empty(), "one way differs from nothing");
    let short = group_of(&[(5.0, 90.0, &[20]), (5.5, 95.0, &[24, 22])]);
    assert_eq!(short.differences.len(), 3, "no second steep in common");
}

#[test]
fn who_lies_far_from_the_others_stands_apart_and_only_then() {
    let plain: (f64, f64, &[u32]) = (5.0, 90.0, &[20, 20]);
    let apart = |last: (f64, f64, &[u32]), others: usize| {
        let mut ways = vec![plain; others];
        ways.push(last);
        let group = group_of(&ways);
        assert!(group.ways[..others].iter().all(|way| way.apart.is_empty()));
        group.ways[others].apart.iter().map(|apart| apart.factor).collect::<Vec<_>>()
    };
    for (last, others, factors) in [
        ((5.0, 90.0, &[20u32, 20][..]), 4, vec![]),
        ((7.4, 90.0, &[20, 20]), 4, vec![]),
        ((7.6, 90.0, &[20, 20]), 4, vec![Factor::Leaf]),
        ((7.6, 90.0, &[20, 20]), 2, vec![]),
        ((3.0, 79.0, &[60, 40]), 3, Factor::ALL.to_vec()),
        ((5.0, 80.0, &[20, 20]), 3, vec![]),
    ] {
        assert_eq!(apart(last, others), factors, "{last:?}");
    }
    let spread = group_of(&[plain, (6.0, 90.0, &[20, 20]), (7.5, 90.0, &[20, 20]), (9.0, 90.0, &[20, 20])]);
    assert!(spread.ways.iter().all(|way| way.apart.is_empty()), "where all differ nobody is apart");
}

#[test]
fn ways_for_another_kind_of_leaf_are_compared_among_themselves() {
    let way = |who: &str, form: &str| {
        format!(
            "[[way]]\nwho = \"{who}\"\nform = \"{form}\"\ndose_g_per_100_ml = 5\ntemp_c = 90\nsteep_s = [20]\n"
        )
    };
    let all = of(&(way("a", "open") + &way("b", "twisted") + &way("c", "open")));
    let groups: Vec<(&str, usize)> = all.groups.iter().map(|g| (g.leaf.as_str(), g.ways.len())).collect();
    assert_eq!(groups, [("open", 2), ("twisted", 1)]);
}

proptest! {
    /// Whatever people say, the middle lies among them, and twice the leaf is twice the strength.
    #[test]
    fn the_middle_lies_among_the_ways(
        ways in prop::collection::vec((5u32..90, 60u32..=100, prop::collection::vec(0u32..300, 1..6)), 2..9),
    ) {
        let ways: Vec<(f64, f64, &[u32])> =
            ways.iter().map(|(dose, c, s)| (f64::from(*dose) / 10.0, f64::from(*c), s.as_slice())).collect();
        let group = group_of(&ways);
        let within = |value: f64, all: &mut dyn Iterator<Item = f64>, slack: f64| {
            let all: Vec<f64> = all.collect();
            let least = all.iter().copied().fold(f64::INFINITY, f64::min);
            let most = all.iter().copied().fold(0.0, f64::max);
            (least - slack..=most + slack).contains(&value)
        };
        prop_assert!(within(group.middle.dose_g_per_100_ml, &mut ways.iter().map(|w| w.0), 0.05));
        prop_assert!(within(group.middle.temp_c[0], &mut ways.iter().map(|w| w.1), 0.5));
        prop_assert!(within(group.middle.steep_s[0].into(), &mut ways.iter().map(|w| w.2[0].max(5).into()), 5.0)
            || group.middle.steep_s[0] == 0);
        prop_assert!(group.ways.iter().all(|way| way.strength[0].unwrap() > 0.0));
        let doubled: Vec<(f64, f64, &[u32])> = ways.iter().map(|&(dose, c, s)| (dose * 2.0, c, s)).collect();
        let doubled = group_of(&doubled);
        let (folds, same) = (group.first_cups().unwrap(), doubled.first_cups().unwrap());
        prop_assert!((folds.1 / folds.0 - same.1 / same.0).abs() < 1e-6);
    }
}

fn group_at(at: &[(f64, f64, u32)]) -> Group {
    let steeps: Vec<[u32; 1]> = at.iter().map(|one| [one.2]).collect();
    let ways: Vec<(f64, f64, &[u32])> =
        at.iter().zip(&steeps).map(|(one, steep_s)| (one.0, one.1, steep_s.as_slice())).collect();
    group_of(&ways)
}

#[test]
fn ways_far_from_the_middle_on_every_side_tell_more_than_those_near_it() {
    // Four near the middle, and six at the ends of each thing.
    let near = [(5.0, 90.0, 30), (5.1, 91.0, 30), (4.9, 89.0, 31), (5.0, 90.0, 29)];
    let ends = [
        (2.2, 90.0, 30),
        (11.0, 90.0, 30),
        (5.0, 72.0, 30),
        (5.0, 100.0, 30),
        (5.0, 90.0, 13),
        (5.0, 90.0, 67),
    ];
    let group = group_at(&[&near[..], &ends[..]].concat());
    assert_eq!(group.telling(6).unwrap(), [4, 5, 6, 7, 8, 9]);
    assert_eq!(group.telling(10).unwrap().len(), 10, "all, where there are no more");
    let two = group.telling(2).unwrap();
    assert!(two.len() == 2 && two.iter().all(|way| *way >= 4), "{two:?}");
    let same = group_at(&[(5.0, 90.0, 30), (5.0, 90.0, 30), (5.0, 90.0, 30), (9.0, 90.0, 30)]);
    assert_eq!(same.telling(3).unwrap().len(), 3, "one way of several people");
}

#[test]
fn a_way_that_can_not_be_served_gives_place_to_another_or_to_none_and_it_is_said() {
    let group =
        group_at(&[(2.0, 90.0, 30), (5.0, 70.0, 30), (8.0, 90.0, 30), (5.0, 90.0, 60), (5.0, 90.0, 15)]);
    let cool = |said: &'static str| {
        move |ways: &[usize]| Ok(if ways.contains(&1) { vec![said.into()] } else { vec![] })
    };
    let left = |choice: &choose::Choice| {
        choice.left_out.iter().map(|out| (out.way, out.instead)).collect::<Vec<_>>()
    };
    let swapped = group.feasible(vec![0, 1, 2], cool("waits"));
    assert_eq!((swapped.ways.as_slice(), left(&swapped)), (&[0, 2, 3][..], vec![(1, Some(3))]));
    assert_eq!(swapped.left_out[0].why, Ok(vec!["waits".to_string()]));
    let dropped = group.feasible(vec![0, 1, 2, 3, 4], cool("waits"));
    assert_eq!((dropped.ways.as_slice(), left(&dropped)), (&[0, 2, 3, 4][..], vec![(1, None)]));
    // Nothing that is changed helps: nothing is changed.
    let always = group.feasible(vec![0, 1, 2, 3, 4], |_| Ok(vec!["few seats".into()]));
    assert_eq!((always.ways.len(), always.left_out.len()), (5, 0));
    // What is refused loses one way after the other until it can be planned.
    let few =
        group.feasible(
            vec![0, 1, 2, 3, 4],
            |ways| if ways.len() > 2 { Err("too many".into()) } else { Ok(vec![]) },
        );
    assert_eq!((few.ways.len(), few.left_out.len()), (2, 3));
    let never = group.feasible(vec![0, 1, 2], |_| Err("no".into()));
    assert_eq!(never.ways.len(), 1, "and ends");
}

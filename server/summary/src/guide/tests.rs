use super::*;
use crate::several::digest::Digest;
use crate::several::pool;
use class::start::spec;
use fixtures::several::held;
use room::Room;
use room::light::ClassScores;

/// A guide of classes in which a taster gave a tea (the long way, the short way, the other leaf) so many points.
fn guide_of(classes: usize, known: Known<'_>, points: impl Fn(u8, u16) -> i32 + Copy) -> Guide {
    let classes: Vec<(ClassScores, Digest)> = (0..classes)
        .map(|n| {
            let date = format!("2026-11-{:02}", 20 + n);
            let first = 100 + 10 * n as u16;
            let entries = held(&date, false, first, 8, |seat, tea, _| Some((points(seat, tea), 0)));
            let record = ClassScores::of(&Room::replay(entries).unwrap());
            let digest = Digest::of(&record);
            (record, digest)
        })
        .collect();
    let teas: Vec<&Tea> = classes.iter().flat_map(|(record, _)| &record.class.teas).collect();
    guide(&pool(&classes), &teas, known, &Table::compiled_in().unwrap())
}

fn group<'a>(guide: &'a Guide, leaf: &str) -> &'a Group {
    guide.groups.iter().find(|group| group.leaf == leaf).unwrap_or_else(|| panic!("{leaf}: {guide:?}"))
}

fn tasted(line: &Option<Line>) -> Option<(usize, usize, By)> {
    match &line.as_ref()?.sure {
        Sure::Tasted(of) => Some((of.classes, of.seats, of.by)),
        _ => None,
    }
}

#[test]
fn what_was_shown_to_be_liked_better_stands_under_the_sitting_of_its_dose() {
    let guide = guide_of(2, Known::default(), |seat, tea| {
        [4, 7, 6][tea as usize] + i32::from(seat * (tea as u8 + 1) % 3)
    });
    let slope = group(&guide, "Lantern Slope");
    assert_eq!(tasted(&slope.long), Some((2, 16, By::Shown)));
    let long = slope.long.as_ref().unwrap();
    assert_eq!((long.dose_g_per_100_ml, long.steep_s.as_slice()), (6.0, &[15, 20][..]));
    assert_eq!(slope.short, None, "nobody said what leaf it is, and the other sitting is not tasted by that");
    let pier = group(&guide, "Copper Pier");
    assert_eq!(tasted(&pier.short), Some((2, 16, By::Only)), "4 g is nearer to 3 than to 6");
    assert_eq!((guide.classes, guide.days), (2, Some(("2026-11-20".into(), "2026-11-21".into()))));
}

#[test]
fn where_nothing_is_shown_it_is_the_middle_of_what_was_liked() {
    // Both ways alike: 6 and 7 in turn.
    let guide = guide_of(1, Known::default(), |seat, tea| {
        [6, 6, 2][tea as usize] + i32::from((u16::from(seat) + tea) % 2)
    });
    let slope = group(&guide, "Lantern Slope");
    let line = [&slope.short, &slope.long].into_iter().find(|line| tasted(line).is_some()).unwrap();
    assert_eq!(tasted(line), Some((1, 8, By::Middle(2))));
    let line = line.as_ref().unwrap();
    assert_eq!((line.dose_g_per_100_ml, line.steep_s.as_slice()), (4.2, &[26, 35][..]));
    let pier = group(&guide, "Copper Pier");
    assert_eq!(
        (&pier.short, &pier.long, pier.not_liked.as_slice()),
        (&None, &None, &["Copper Pier".to_string()][..])
    );
    assert!(slope.not_liked.is_empty());
}

#[test]
fn leaves_of_one_kind_share_their_lines_and_are_no_surer_than_the_least_sure() {
    let leaves = [
        spec::tea("lantern slope, form=ball-rolled, roasted").unwrap(),
        spec::tea("Copper Pier, form=ball-rolled, roasted").unwrap(),
    ];
    let known = Known { leaves: &leaves, spots: &[] };
    let guide =
        guide_of(1, known, |seat, tea| [7, 4, 6][tea as usize] + i32::from(seat * (tea as u8 + 1) % 3));
    let one = group(&guide, "ball-rolled, half oxidised, roasted");
    assert_eq!(one.tasted, ["Lantern Slope", "Copper Pier"]);
    assert_eq!(tasted(&one.short), Some((1, 8, By::Only)));
    assert_eq!(one.short.as_ref().unwrap().dose_g_per_100_ml, 3.5, "between 3 and 4 in folds");
    assert_eq!(one.long.as_ref().unwrap().sure, Sure::Practice, "by its kind");
    assert!(
        !guide.groups.iter().any(|group| group.leaf == "Oolong, rolled, roasted"),
        "it stands there already"
    );
    assert_eq!(guide.groups.len(), 1 + 7);
}

#[test]
fn a_best_way_that_was_found_elsewhere_goes_before_what_the_classes_say() {
    let way =
        Middle { dose_g_per_100_ml: 7.5, temp_c: vec![88.0, 90.0], steep_s: vec![18, 22], rinse_s: None };
    let spots = [Spot { leaf: "LANTERN SLOPE".into(), way, sure: "the best of 7 ways".into() }];
    let guide = guide_of(2, Known { leaves: &[], spots: &spots }, |_, tea| [5, 8, 6][tea as usize]);
    let line = group(&guide, "Lantern Slope").long.as_ref().unwrap();
    assert_eq!((line.dose_g_per_100_ml, line.first_c, line.last_c), (7.5, 88.0, 90.0));
    assert_eq!(line.sure, Sure::Spot("the best of 7 ways".into()));
}

#[test]
fn without_classes_every_line_is_the_starting_point_and_says_so() {
    let guide = guide(&pool(&[]), &[], Known::default(), &Table::compiled_in().unwrap());
    assert_eq!((guide.classes, guide.days, guide.groups.len()), (0, None, 8));
    let table = Table::compiled_in().unwrap();
    for (group, leaf) in guide.groups.iter().zip(usual()) {
        for (line, sitting) in [(&group.short, Sitting::Short), (&group.long, Sitting::Long)] {
            let (line, start) = (line.as_ref().unwrap(), choose::start(&table, &leaf, sitting));
            assert_eq!((line.dose_g_per_100_ml, &line.steep_s), (start.dose, &start.all_s()));
            assert_eq!(line.sure, Sure::Practice);
        }
    }
}

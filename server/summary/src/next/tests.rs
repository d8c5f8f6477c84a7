use crate::several::digest::Digest;
use crate::several::pool;
use crate::spot::fitted::USUAL;
use crate::spot::spots;
use class::{Class, read};
use fixtures::several::{held, leaves, plain};
use room::light::ClassScores;
use room::{Entry, Room};

/// The next class of some ledgers, whose last class had so many seconds to taste.
fn written(ledgers: Vec<Vec<Entry>>, taste_s: u32) -> (String, Class) {
    let class = |entries: Vec<Entry>| {
        let mut record = ClassScores::of(&Room::replay(entries).unwrap());
        record.class.taste_s = taste_s;
        let digest = Digest::of(&record);
        (record, digest)
    };
    let classes: Vec<(ClassScores, Digest)> = ledgers.into_iter().map(class).collect();
    let records: Vec<&ClassScores> = classes.iter().map(|(record, _)| record).collect();
    let text = super::next(&pool(&classes), &spots(&classes, Some(USUAL)), &records, "2027-01-09", None);
    let text = text.unwrap().text;
    let class = read::class(&text).unwrap_or_else(|faults| panic!("{faults:?}"));
    (text, class)
}

/// The lines above each tea.
fn why<'a>(text: &'a str, name: &str) -> &'a str {
    let before = text.split(&format!("name = \"{name}\"")).next().unwrap();
    before.rsplit("\n\n").next().unwrap()
}

#[test]
fn where_there_is_room_other_amounts_and_temperatures_are_tried_and_each_says_why() {
    let ledgers = || vec![held("2026-11-28", false, 100, 6, plain), held("2026-12-05", false, 300, 6, plain)];
    let (text, class) = written(ledgers(), 90);
    assert_eq!(class.teas.len(), 6);
    let further: Vec<_> = class.teas.iter().filter(|tea| why(&text, &tea.name).contains("# new")).collect();
    assert!(further.len() >= 3, "{text}");
    assert!(further.iter().any(|tea| tea.temp_c[0] < 90.0) && further.iter().any(|tea| tea.leaf_g > 3.5));
    // As many cups as the last class had time for.
    assert_eq!(written(ledgers(), 60).1.teas.len(), 4);
}

#[test]
fn two_leaves_that_are_open_share_the_further_ways_and_it_is_said() {
    let ledgers = leaves((1, 2, 2, 0), |_, leaf, way, _| 4 + i32::from((leaf + way) % 2), |_, _| 0);
    let (text, class) = written(ledgers, 120);
    let of = |leaf: &str| class.teas.iter().filter(|tea| tea.leaf == leaf).count();
    assert_eq!([of("Leaf 0"), of("Leaf 1")], [3, 3], "{text}");
    assert!(text.contains("shared among these leaves by how much they tell"), "{text}");
}

#[test]
fn where_the_best_way_is_known_ways_that_tell_more_of_it_come_instead_of_pairs() {
    let liking =
        |class: u16, _: u16, way: u16, _: usize| 3 + 4 - (way as i32 - 2).pow(2) + i32::from(class * way % 2);
    let (text, class) = written(leaves((3, 1, 4, 0), liking, |_, _| 0), 120);
    let tried = [3.0, 4.0, 5.0, 6.0];
    assert!(class.teas.iter().any(|tea| !tried.contains(&tea.leaf_g)), "{text}");
    assert!(!text.contains("it may still be there") && text.contains("Further ways of Leaf 0"), "{text}");
}

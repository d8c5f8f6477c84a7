//! Ways of steeping one leaf: asked once, behind the teas, and never code by code.

use super::*;
use crate::find::differences::{DecidingTest, Difference};
use crate::sentence::About;
use fixtures::{At, Filled, class_file, room};

const LIKING: &str = "[sheet]\nattributes = [\"liking\"]";

fn found(room: &Room) -> Findings {
    find(room, room.last_at)
}

fn about(found: &Findings, about: About) -> Vec<&Sentence> {
    found.sentences.iter().filter(|s| s.about == about).collect()
}

fn liked(value: usize) -> Option<Filled> {
    Some(Filled { values: vec![Some(value as i32)], ..Filled::default() })
}

/// Scattered but fixed, from 0 to 3.
fn scattered(seat: usize, tea: usize) -> usize {
    (((seat * 41 + tea * 97 + 7) * 2_654_435_761) >> 16) % 4
}

/// The classes of the fixtures with every tea of one leaf, `ways` grams of it.
fn one_leaf(teas: usize, ways: usize) -> String {
    let mut text = class_file(teas, 1, LIKING);
    for tea in 0..teas {
        let (leaf, grams) = (tea / 2 + 1, 3 + tea % 2 * 2);
        let of = format!("leaf = \"Leaf {leaf}\"\ncode = \"{}\"\nleaf_g = {grams}", 211 + tea * 13);
        let one = format!("leaf = \"Leaf 1\"\ncode = \"{}\"\nleaf_g = {}", 211 + tea * 13, 3 + tea % ways);
        text = text.replace(&of, &one);
    }
    text
}

fn letters(d: &Difference) -> Vec<String> {
    d.teas.iter().map(|&tea| d.letters(tea).unwrap()).collect()
}

#[test]
fn a_class_of_one_leaf_is_asked_once_whether_its_ways_differ() {
    let found = found(&room(&one_leaf(4, 4), 8, &[0, 1, 2, 3], |At { seat, tea, .. }| {
        liked(3 + scattered(seat, tea))
    }));
    let [leaf] = &found.figures.leaves[..] else { panic!("{:?}", found.figures.leaves) };
    let (own, teas) =
        (leaf.comparisons[0].test.get().unwrap(), found.figures.differences[0].test.get().unwrap());
    assert!(leaf.whole && leaf.ways.len() == 4 && own == teas, "{own:?} {teas:?}");
    assert!(about(&found, About::Ways).is_empty());
    let said = &about(&found, About::Difference)[0].text;
    assert!(said.contains("between the 4 ways of Leaf 1"), "{said}");
    assert!(found.brief[0].text.contains("the ways of Leaf 1"), "{:?}", found.brief);
}

/// Of two leaves the ways of the one differ, those of the other do not.
#[test]
fn ways_differ_only_behind_the_teas_and_letters_say_the_same() {
    let found = found(&room(&class_file(4, 1, LIKING), 12, &[0, 1, 2, 3], |At { seat, tea, .. }| {
        liked([6, 2, 4, 4][tea] + scattered(seat, tea) / 2 + seat % 2)
    }));
    let teas = &found.figures.differences[0];
    let shown: Vec<bool> = found.figures.leaves.iter().map(|leaf| leaf.comparisons[0].shown()).collect();
    assert_eq!((teas.shown(), shown), (true, vec![true, false]), "{:?}", found.figures.leaves);
    for leaf in &found.figures.leaves {
        let test = leaf.comparisons[0].test.get().unwrap();
        assert!(test.p_holm >= teas.test.get().unwrap().p_holm && test.family == 2, "{test:?}");
    }
    let letters = letters(teas);
    let share = |i: usize, j: usize| letters[i].chars().any(|letter| letters[j].contains(letter));
    assert!(!share(0, 1) && share(2, 3), "{letters:?}");
    let over = |s: &&Sentence| s.evidence.steep.is_none();
    let said: Vec<&Sentence> = about(&found, About::Ways).into_iter().filter(over).collect();
    assert!(
        said[0].text.starts_with("Leaf 1 steeped two ways, liking: they differ (12 tasters;"),
        "{}",
        said[0].text
    );
    assert!(
        said[1].text.starts_with("Leaf 2 steeped two ways, liking: no difference is shown"),
        "{}",
        said[1].text
    );
}

/// Where no difference between the teas is shown none between two of them is, whatever their own test says.
#[test]
fn no_ways_differ_where_no_teas_do() {
    let rows =
        ["65555655", "65556555", "65565555", "65655555", "66555555", "65555556", "65555565", "65555655"];
    let found =
        found(&room(&class_file(8, 1, LIKING), 8, &[0, 1, 2, 3, 4, 5, 6, 7], |At { seat, tea, .. }| {
            let value = usize::from(rows[seat].as_bytes()[tea] - b'0');
            liked(if tea == 0 || seat % 2 == 0 { value } else { 11 - value + tea % 2 })
        }));
    let teas = &found.figures.differences[0];
    let held: Vec<_> = found.figures.leaves.iter().map(|leaf| &leaf.comparisons[0]).collect();
    for c in held {
        assert!(teas.shown() || !c.shown(), "{c:?}");
        assert_eq!(
            c.held_by_teas,
            c.test.get().is_some_and(|t| t.p_holm == teas.test.get().unwrap().p_holm),
            "{c:?}"
        );
    }
}

/// Three ways, each under two codes: the F against way × taster, which balanced scores have from either model.
#[test]
fn one_way_under_two_codes_is_compared_as_one_against_how_tasters_see_it() {
    let found = found(&room(&one_leaf(6, 3), 14, &[0, 1, 2, 3, 4, 5], |At { seat, tea, .. }| {
        liked(2 + (tea % 3) + scattered(seat, tea % 3) + scattered(seat + 3, tea) / 2)
    }));
    let d = &found.figures.differences[0];
    let test = d.test.get().unwrap();
    let repeated = d.repeated.as_ref().unwrap().get().unwrap().teas_for_other_tasters.unwrap();
    assert_eq!((test.name, test.n), (DecidingTest::AdditiveF, 14));
    assert!((test.p - repeated.p).abs() < 1e-12, "{test:?} {repeated:?}");
    let over = d.by_ways.as_ref().unwrap();
    assert_eq!(over.ways.iter().map(Vec::len).collect::<Vec<_>>(), [2, 2, 2]);
    let by_points = over.by_points.get().unwrap();
    assert!((by_points.f - repeated.f).abs() < 1e-9, "{by_points:?}");
    let letters = letters(d);
    assert_eq!(letters[..3], letters[3..], "a way has its letters, not its codes");
    assert_eq!(d.tukey.get().unwrap().letters, letters);
    let said = &about(&found, About::Difference)[0].text;
    assert!(said.contains("14 tasters, 3 ways of Leaf 1 under 6 codes"), "{said}");
}

#[test]
fn one_way_alone_has_nothing_to_be_compared_with() {
    let found =
        found(&room(&one_leaf(2, 1), 8, &[0, 1], |At { seat, tea, .. }| liked(4 + scattered(seat, tea))));
    assert!(found.figures.differences[0].test.get().is_none());
    assert!(found.figures.leaves.is_empty());
    let said = &about(&found, About::Difference)[0].text;
    assert!(said.contains("all of them are one leaf steeped in one way"), "{said}");
}

//! What chance or an uneven class must not be reported as a finding.

use super::*;
use crate::sentence::{About, Sentence};
use fixtures::{At, Filled, class_file, room};

const LIKING: &str = "[sheet]\nattributes = [\"liking\"]";

fn found(room: &Room) -> Findings {
    find(room, room.last_at)
}

fn about(found: &Findings, about: About) -> Vec<&Sentence> {
    found.sentences.iter().filter(|s| s.about == about).collect()
}

fn points(value: i32) -> Option<Filled> {
    Some(Filled { values: vec![Some(value)], ..Filled::default() })
}

/// Two teas of one leaf, every cup liked a point less than the one before; one tea has six steeps, the other three.
#[test]
fn a_tea_is_not_found_worse_for_having_later_steeps() {
    let class = class_file(2, 3, LIKING).replacen("steeps = 3", "steeps = 6", 1);
    let falling = |At { seat, steep, .. }: At| points(9 - steep as i32 + seat as i32 % 2);
    let found = found(&room(&class, 8, &[0, 1], falling));
    let over = &found.figures.differences[0];
    assert_eq!(over.steeps, [1, 2, 3]);
    assert!(over.means.len() == 2 && over.means[0] == over.means[1], "{over:?}");
    assert!(found.figures.ways[0].comparisons[0].mean_difference == Some(0.0), "{:?}", found.figures.ways);
    assert!(!found.sentences.iter().any(|sentence| sentence.shown), "{:?}", found.sentences);
    let six = found.figures.described.iter().find(|d| d.tea.is_some() && d.steep.is_none()).unwrap();
    assert_eq!(six.mean, Some(6.0), "its own mean is still that of all its steeps");
    let ways = &about(&found, About::Difference)[0].text;
    assert!(ways.contains("no taster scored the two differently"), "{ways}");
}

/// Thirds and sevenths: what is made up must not end in a difference of rounding, which signed ranks would count.
#[test]
fn a_steep_made_up_is_no_difference() {
    let class = class_file(3, 3, LIKING);
    let found = found(&room(&class, 8, &[0, 1, 2], |At { seat, tea, steep }| {
        let missing = tea == 0 && steep as usize == 1 + seat % 3;
        let liking = 9 - (steep * steep) as i32 + (seat % 3) as i32 + if tea == 2 { 3 } else { 0 };
        points(liking).filter(|_| !missing)
    }));
    let both = &found.figures.ways[0].comparisons[0];
    assert_eq!((both.n, both.wilcoxon.get().is_none()), (8, true), "{both:?}");
}

#[test]
fn where_nothing_is_shown_over_all_teas_no_two_of_them_are_told_apart() {
    // One attribute falls from tea to tea; five more of chance make Holm's line too high for what would count alone.
    let names: Vec<String> = (0..6).map(|n| format!("\"a{n}\"")).collect();
    let sheet = format!("[sheet]\nattributes = [{}]", names.join(", "));
    let class = class_file(4, 1, &sheet);
    let found = found(&room(&class, 8, &[], |At { seat, tea, .. }| {
        let scattered = |k: usize| (((seat * 41 + tea * 97 + k * 59) * 2_654_435_761) >> 16) % 5;
        let mut values: Vec<Option<i32>> = (0..6).map(|k| Some(3 + scattered(k) as i32)).collect();
        values[0] = Some(3 + (scattered(9) as i32 + [2, 1, 0, 0][tea]).min(6));
        Some(Filled { values, ..Filled::default() })
    }));
    let by_itself_only =
        found.figures.differences.iter().filter(|d| d.test.get().is_some_and(|t| t.p_holm > found.level));
    let mut intervals_beyond_0 = 0;
    for tukey in by_itself_only.filter_map(|d| d.tukey.get()) {
        intervals_beyond_0 += tukey.pairs.iter().filter(|pair| !pair.interval.contains(0.0)).count();
        assert!(tukey.pairs.iter().all(|pair| !pair.differs), "{tukey:?}");
        assert!(tukey.letters.iter().all(|letters| letters == "a"), "{tukey:?}");
    }
    assert!(intervals_beyond_0 > 0, "a class in which the pairs alone would have shown something");
}

#[test]
fn an_exact_test_is_called_exact_and_nothing_else() {
    let rows = ["123", "231", "312", "123", "213", "132", "321", "312"];
    let found = found(&room(&class_file(3, 1, LIKING), 8, &[], |At { seat, tea, .. }| {
        points(i32::from(rows[seat].as_bytes()[tea] - b'0'))
    }));
    let text = &about(&found, About::Difference)[0].text;
    assert!(text.contains("Friedman's test, exact, p"), "{text}");
}

/// Three of eight tick one tea only: 3 / 3³ = 0.11 exactly, though chi-squared says 0.0498.
#[test]
fn a_word_that_three_tick_is_not_shown() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nwords = [\"floral\"]";
    let found = found(&room(&class_file(3, 1, sheet), 8, &[], |At { seat, tea, .. }| {
        let words = if seat < 3 && tea == 0 { vec!["floral".to_string()] } else { Vec::new() };
        Some(Filled { values: vec![Some(5)], words, ..Filled::default() })
    }));
    let test = found.figures.words[0].cochran.get().unwrap();
    assert!((test.p - 1.0 / 9.0).abs() < 1e-12 && test.p_chi_squared < 0.05, "{test:?}");
    assert!(
        about(&found, About::Words).iter().all(|s| !s.shown && s.text.contains("the 1 word is not shown"))
    );
}

/// All eight find one cup of four too strong: by itself p 0.0078, of eight tests 0.0625.
#[test]
fn advice_on_one_cup_of_many_is_a_hint() {
    let vote = |strong: bool| {
        move |At { seat, tea, .. }: At| {
            let strength = Some(if strong && tea == 0 && seat < 8 { 1 } else { [0, 0, -1, 1][seat % 4] });
            Some(Filled { values: vec![Some(5)], strength, ..Filled::default() })
        }
    };
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let hint = found(&room(&class_file(4, 1, sheet), 8, &[], vote(true)));
    let cup = hint.figures.strength.as_ref().unwrap().cups[0].hint.get().copied().unwrap();
    assert!((cup.p() - 0.007_812_5).abs() < 1e-12 && (cup.p_holm - 0.0625).abs() < 1e-12, "{cup:?}");
    let said = about(&hint, About::Strength);
    assert!(!said[0].shown && said[0].text.contains("a hint to steep shorter"), "{}", said[0].text);
    let alone = found(&room(&class_file(2, 1, sheet), 8, &[], vote(true)));
    let said = about(&alone, About::Strength);
    assert!(said[0].shown && said[0].text.contains(": steep shorter next time"), "{}", said[0].text);
}

/// Leaf 1 stands under two codes in one way; whoever gives the one a point more than the other is a point apart.
#[test]
fn how_far_repeats_lie_apart_is_told_as_the_distance_of_two_scores() {
    let class = class_file(2, 3, LIKING).replace("leaf_g = 5", "leaf_g = 3");
    let apart = |At { seat, tea, steep }: At| {
        points(5 + steep as i32 % 2 + if seat == 0 { 2 * tea as i32 } else { tea as i32 })
    };
    let found = found(&room(&class, 4, &[0, 1], apart));
    let said =
        |seat: usize| found.figures.seats[seat].sentences.iter().map(|s| s.text.clone()).collect::<String>();
    assert!(said(0).contains("lie about 2.0 points apart"), "{}", said(0));
    assert!(said(1).contains("lie about 1.0 point apart"), "{}", said(1));
}

#[test]
fn who_can_be_compared_with_nobody_is_told_so() {
    let found = found(&room(&class_file(3, 1, LIKING), 1, &[], |_| points(5)));
    let said = &found.figures.seats[0].sentences[0].text;
    assert!(said.contains("too few teas that you and somebody else have both scored"), "{said}");
}

/// A hundred tasters, of whom a few more like one tea: beyond chance, and no agreement.
#[test]
fn a_tiny_agreement_is_none_however_small_its_p() {
    let found = found(&room(&class_file(3, 1, LIKING), 100, &[], |At { seat, tea, .. }| {
        let order = [[2, 1, 0], [2, 0, 1], [1, 2, 0], [1, 0, 2], [0, 1, 2], [0, 2, 1]][seat % 6];
        points(5 + if seat < 18 { [2, 1, 0][tea] } else { order[tea] })
    }));
    let (agreement, test) = (&found.figures.agreement[0], found.figures.differences[0].test.get().unwrap());
    let w = agreement.kendall.get().unwrap().w;
    assert!(test.p_holm < 0.05 && w < 0.1, "{test:?}, {w}");
    let said = about(&found, About::Agreement)[0];
    assert!(!said.shown && said.text.contains("no common order of the teas to speak of"), "{}", said.text);
}

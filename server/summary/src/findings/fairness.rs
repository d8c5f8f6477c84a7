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

/// All eight find one tea of eight too strong: by itself p 0.0078, of eight teas 0.0625.
#[test]
fn what_votes_on_one_tea_of_many_do_not_show_is_no_advice() {
    let vote = |At { seat, tea, .. }: At| {
        let strength = Some(if tea == 0 { 1 } else { [0, 0, -1, 1][seat % 4] });
        Some(Filled { values: vec![Some(5)], strength, ..Filled::default() })
    };
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let hint = found(&room(&class_file(8, 1, sheet), 8, &[], vote));
    let tea = hint.figures.strength.as_ref().unwrap().teas[0].hint.get().copied().unwrap();
    assert!((tea.p() - 0.007_812_5).abs() < 1e-12 && (tea.p_holm - 0.0625).abs() < 1e-12, "{tea:?}");
    let said = about(&hint, About::Strength);
    assert!(
        !said[0].shown && said[0].text.contains("the votes lean to too strong, which is not shown"),
        "{}",
        said[0].text
    );
    let texts = hint.brief.iter().map(|line| &line.text).chain(said.iter().map(|s| &s.text));
    for text in texts.filter(|text| !text.contains("longer or shorter")) {
        assert!(!text.contains("shorter") && !text.contains("estimate"), "{text}");
    }
    assert!(hint.figures.strength.as_ref().unwrap().to_try(said[0].evidence.teas[0]).is_none());
    assert!(said.iter().all(|s| s.evidence.steep.is_none()), "a tea of one steep is told once: {said:?}");
    let four = found(&room(&class_file(4, 1, sheet), 8, &[], vote));
    let said = about(&four, About::Strength);
    assert!(said[0].shown && said[0].text.contains(": steep it shorter next time"), "{}", said[0].text);
}

/// The votes of nine on three steeps of one tea of three, one of them left out; all too thin.
#[test]
fn the_votes_on_all_steeps_of_a_tea_are_told_together_and_each_taster_counts_once() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let vote = |At { seat, tea, steep }: At| {
        let strength = (seat != 8 || steep != 3 || tea != 0).then_some(if tea == 0 {
            -1
        } else {
            [0, 0, -1, 1][(seat + steep as usize) % 4]
        });
        Some(Filled { values: vec![Some(5)], strength, ..Filled::default() })
    };
    let found = found(&room(&class_file(3, 3, sheet), 9, &[0], vote));
    let said = about(&found, About::Strength);
    let text = &said[0].text;
    assert!(said[0].shown && said[0].evidence.steep.is_none(), "{said:?}");
    assert!(
        text.starts_with(
            "211 Tea 1: steep it longer next time. Over steeps 1 to 3, 9 of 9 tasters find it rather too thin, none the other way \
             round (of 26 votes 26 too thin; exact signed rank test over the tasters, n 9, p 0.004; p 0.012 allowing for 3 tests)."
        ),
        "{text}"
    );
    assert!(
        text.contains("An estimate: 1.5 times as strong") && text.contains("4.5 g of leaf in place of 3 g"),
        "{text}"
    );
    let cups = said.iter().filter(|s| s.evidence.steep.is_some()).count();
    assert_eq!(cups, 0, "cups that say the same are not told again: {said:?}");
}

/// Half of the steeps too thin, half too strong: over the steeps that is nothing, cup by cup it is.
#[test]
fn a_cup_that_its_tea_does_not_speak_for_is_told_by_itself() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let vote = |At { steep, .. }: At| {
        let strength = Some(if steep == 1 { -1 } else { 1 });
        Some(Filled { values: vec![Some(5)], strength, ..Filled::default() })
    };
    let found = found(&room(&class_file(1, 2, sheet), 10, &[0], vote));
    let said = about(&found, About::Strength);
    let shown: Vec<(bool, Option<u32>)> = said.iter().map(|s| (s.shown, s.evidence.steep)).collect();
    assert_eq!(shown, [(true, Some(1)), (true, Some(2)), (false, None)], "{said:?}");
    assert!(said[0].text.contains("steep 1: steep longer next time (it was 30 s)"), "{}", said[0].text);
}

#[test]
fn when_no_votes_could_have_shown_anything_it_is_said() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let vote = |_: At| Some(Filled { values: vec![Some(5)], strength: Some(-1), ..Filled::default() });
    let text = |teas: usize, seats: usize| -> String {
        let found = found(&room(&class_file(teas, 2, sheet), seats, &[], vote));
        about(&found, About::Strength).iter().map(|s| s.text.clone()).collect()
    };
    let needed = "no votes could have shown that a tea is too thin or too strong, even if all had agreed: 8 tasters are needed";
    assert!(text(4, 7).contains(needed), "{}", text(4, 7));
    assert!(!text(4, 8).contains("no votes could have"), "{}", text(4, 8));
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

/// Of one other, and of two, every figure beside them would tell what they gave; of three it does not.
#[test]
fn a_seat_is_not_set_beside_fewer_than_three_others() {
    for seats in 2..=4 {
        let found = found(&room(&class_file(4, 2, LIKING), seats, &[], |At { seat, tea, steep }| {
            points(4 + (2 * seat as i32 + tea as i32 * steep as i32) % 5)
        }));
        let page = found.figures.seat(&found.figures.seats[0].seat).unwrap();
        let own = &page.attributes[0];
        let told = seats > 3;
        assert_eq!(own.bias.get().is_some(), told, "{seats}");
        assert_eq!(own.with_others.get().is_some(), told, "{seats}");
        assert_eq!(own.spread.get().unwrap().others_mean_sd.is_some(), told, "{seats}");
        assert!(page.scores.iter().all(|score| score.others_mean.is_some() == told), "{seats}");
        let said: Vec<&str> = page.sentences.iter().map(|s| s.text.as_str()).collect();
        assert_eq!(said == ["Too few others to set you beside them."], !told, "{said:?}");
    }
}

/// One who finds it just right is nobody to set the others beside; three of eight are.
#[test]
fn a_wrong_strength_is_set_beside_three_tasters_and_a_fifth_of_the_votes_at_least() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nstrength = true";
    let of = |seats: usize, right: usize| {
        let vote = |At { seat, .. }: At| {
            let strength = Some(if seat < right { 0 } else { -1 });
            Some(Filled { values: vec![Some(3 + seat as i32 % 4)], strength, ..Filled::default() })
        };
        let found = found(&room(&class_file(1, 2, sheet), seats, &[0], vote));
        let strength = found.figures.strength.unwrap();
        (strength.cups[0].penalty.clone(), strength.over_steeps[0].penalty.clone())
    };
    for (seats, right, known) in [(8, 1, false), (8, 2, false), (8, 3, true), (15, 3, true), (16, 3, false)] {
        let (cup, tea) = of(seats, right);
        assert_eq!((cup.get().is_some(), tea.get().is_some()), (known, known), "{right} of {seats}");
    }
    let said = serde_json::to_string(&of(8, 1).1).unwrap();
    assert!(said.contains("too few found it just right: 2 of 16 votes, by 1 taster"), "{said}");
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

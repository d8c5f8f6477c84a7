//! The lines in short of classes whose answers are known, and of any.

use super::*;
use class::difference::{Asking, Side};
use fixtures::{At, Filled, class_file, room};
use proptest::prelude::*;
use protocol::SeatId;
use room::Room;
use room::difference_test::{SeatAnswer, TestAnswers, TestTea};
use uuid::Uuid;

const SHEET: &str = "[sheet]\nattributes = [\"liking\"]\nwords = [\"floral\", \"nutty\"]";

fn all(room: &Room, tests: &[TestAnswers]) -> Vec<Line> {
    let data = Data::of(room, room.last_at);
    let figures = Figures::of(&data, crate::findings::difference_tests(tests));
    let sentences = crate::say::all(&data, &figures);
    lines(&data, &figures, &sentences)
}

fn of(lines: &[Line], matter: Matter) -> Vec<&str> {
    lines.iter().filter(|line| line.matter == matter).map(|line| line.text.as_str()).collect()
}

/// A triangle of two teas, of so many answers.
fn triangle(teas: [u16; 2], correct: usize, n: usize) -> TestAnswers {
    let answers = (0..n).map(|i| SeatAnswer {
        seat: SeatId(Uuid::from_u128(i as u128 + 1)),
        picked: if i < correct { Side::First } else { Side::Second },
        correct: Some(i < correct),
    });
    TestAnswers {
        number: 1,
        asking: Asking::Triangle,
        teas: teas.map(|code| TestTea { code: Code::new(code), name: Some(format!("Tea {code}")) }),
        steep: 1,
        open: true,
        seats: n,
        answers: answers.collect(),
    }
}

/// Four teas of two leaves, scored a little otherwise by each of eight.
fn evening() -> Room {
    room(&class_file(4, 1, SHEET), 8, &[0, 1, 2, 3], |At { seat, tea, .. }| {
        let words = if tea < 2 { vec!["floral".to_string()] } else { Vec::new() };
        let values = vec![Some(4 + ((seat * 3 + tea * 5) % 4) as i32)];
        Some(Filled { values, words, strength: Some([-1, 0, 0, 1][seat % 4]) })
    })
}

#[test]
fn ways_of_a_leaf_and_the_test_on_them_are_one_line() {
    let own = all(&evening(), &[triangle([211, 224], 6, 8)]);
    assert_eq!(
        of(&own, Matter::Ways)[0],
        "Leaf 1, two ways: 6 of 8 picked out the odd cup (about 3 by guessing), so the difference can be tasted; the scores show no \
         difference."
    );
    assert!(of(&own, Matter::Tests).is_empty());
    let other = all(&evening(), &[triangle([211, 237], 3, 8)]);
    assert_eq!(
        of(&other, Matter::Tests),
        [
            "Test 1: of 211 Tea 211 and 237 Tea 237, 3 of 8 picked out the odd cup (about 3 by guessing), which does not show that they can be \
          told apart."
        ]
    );
    assert!(of(&other, Matter::Ways).iter().all(|line| !line.contains("odd cup")), "{other:?}");
}

#[test]
fn words_stand_with_the_teas_that_they_belong_to() {
    assert_eq!(of(&all(&evening(), &[]), Matter::Words), ["Words that tell the teas apart: Leaf 1: floral."]);
}

/// The first tea by so many points above the others, tasters alike or not.
#[test]
fn which_tea_is_liked_best_is_said_with_whether_it_is_sure() {
    let said = |liking: [i32; 3], scattered: bool| {
        let room = room(&class_file(3, 1, SHEET), 8, &[0, 1, 2], |At { seat, tea, .. }| {
            let noise = if scattered { ((seat * 7 + tea * 5) % 3) as i32 } else { 0 };
            Some(Filled { values: vec![Some(liking[tea] + noise)], ..Filled::default() })
        });
        of(&all(&room, &[]), Matter::Liked)[0].to_string()
    };
    assert!(said([7, 2, 2], true).contains("more than every other"), "{}", said([7, 2, 2], true));
    assert!(said([7, 5, 3], false).contains("more than every other"), "every taster alike");
    assert!(said([5, 5, 5], true).ends_with("but too close to call."), "{}", said([5, 5, 5], true));
    assert!(said([7, 7, 2], true).contains("liked more than 237 Tea 3"), "{}", said([7, 7, 2], true));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn whatever_is_scored_there_are_few_lines_no_two_alike_and_the_last_says_how_far_it_goes(
        (teas, steeps, seats) in (1usize..9, 1u32..4, 1usize..12),
        (open, seed) in (0usize..9, any::<u64>()),
    ) {
        let mut rng = fastrand::Rng::with_seed(seed);
        let draws: Vec<i32> = (0..teas * steeps as usize * seats).map(|_| rng.i32(0..100)).collect();
        let revealed: Vec<usize> = (0..teas.min(open)).collect();
        let room = room(&class_file(teas, steeps, SHEET), seats, &revealed, |At { seat, tea, steep }| {
            let draw = draws[(seat * teas + tea) * steeps as usize + steep as usize - 1];
            let words = if draw % 3 == 0 { vec!["nutty".to_string()] } else { Vec::new() };
            let strength = Some((draw % 5 - 2) as i8);
            (draw < 95).then(|| Filled { values: vec![Some(1 + draw % 9)], strength, words })
        });
        let lines = all(&room, &[triangle([211, 224], seats / 2, seats)]);
        prop_assert!((1..=MOST).contains(&lines.len()), "{:?}", lines);
        for (i, line) in lines.iter().enumerate() {
            prop_assert!(line.text.ends_with('.') && !line.text.contains("..") && !line.text.contains("  "), "{}", line.text);
            prop_assert!(line.short.len() <= line.text.len() && line.short.ends_with('.'), "{:?}", line);
            prop_assert!(lines[..i].iter().all(|other| other.text != line.text), "{:?}", lines);
        }
        prop_assert_eq!(lines.last().unwrap().matter, Matter::Reach);
    }
}

#[test]
fn many_leaves_in_several_ways_share_a_line_and_no_test_is_lost_for_it() {
    let class = class_file(6, 1, "[sheet]\nattributes = [\"liking\"]");
    let shown: Vec<usize> = (0..6).collect();
    // Of two leaves everybody likes one way better; the ways of the third are scored alike.
    let room = room(&class, 10, &shown, |At { seat, tea, .. }| {
        let points = [7, 3, 8, 4, 5, 5][tea] + (seat as i32 + tea as i32) % 2;
        Some(Filled { values: vec![Some(points)], ..Filled::default() })
    });
    let lines = all(&room, &[triangle([263, 276], 9, 10)]);
    let ways = of(&lines, Matter::Ways);
    assert_eq!(
        ways,
        [
            "Steeped several ways, the scores differ for Leaf 1 (liking: 211 above 224) and Leaf 2 (liking: 237 above 250); for Leaf 3 no \
             difference is shown."
        ]
    );
    let short = lines.iter().find(|line| line.matter == Matter::Ways).unwrap();
    assert_eq!(
        short.short,
        "Steeped several ways: Leaf 1 211 above 224 in liking; Leaf 2 237 above 250 in liking; no difference is shown for 1 more."
    );
    let tests = of(&lines, Matter::Tests);
    assert!(tests.len() == 1 && tests[0].contains("9 of 10 picked out the odd cup"), "{lines:?}");
}

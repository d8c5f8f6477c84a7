use super::*;
use crate::findings::difference_tests;
use crate::say::difference_tests::sentences;
use crate::sentence::Sentence;
use class::difference::Asking;
use protocol::{Code, SeatId};
use room::difference_test::SeatAnswer;
use room::difference_test::TestTea;
use uuid::Uuid;

fn given(asking: Asking, correct: usize, n: usize, seats: usize) -> TestAnswers {
    let two_sided = matches!(asking, Asking::Paired { one_sided: false, .. });
    let tea = |n, name: &str| TestTea { code: Code::new(n), name: Some(name.into()) };
    let answers = (0..n).map(|i| SeatAnswer {
        seat: SeatId(Uuid::from_u128(i as u128)),
        picked: if i < correct { Side::First } else { Side::Second },
        correct: (!two_sided).then_some(i < correct),
    });
    TestAnswers {
        number: 1,
        asking,
        teas: [tea(417, "Lantern Slope"), tea(862, "Copper Pier")],
        steep: 1,
        open: true,
        seats,
        answers: answers.collect(),
    }
}

fn difference_test(given: &TestAnswers) -> TestFound {
    difference_tests(std::slice::from_ref(given)).remove(0)
}

fn paired(one_sided: bool) -> Asking {
    Asking::Paired { ask: "stronger".into(), one_sided }
}

#[test]
fn eight_of_twelve_in_a_triangle_are_told_with_chance_share_and_power() {
    let found = difference_test(&given(Asking::Triangle, 8, 12, 14));
    assert_eq!((found.n, found.correct, found.kind), (12, 8, TestKind::Triangle));
    assert_eq!(
        found.words,
        [
            "8 of 12 found the odd cup; guessing brings 4.0 on average.",
            "This many or more come by guessing alone in 1.9 % of such classes: it is shown that the class can tell the two \
             apart (level 5 %).",
            "An estimated 50 % of the tasters truly tell them apart, at least 8.6 % (exact, 95 % sure).",
            "Of 12 answers 8 right show a difference (level 5 %, really 1.9 %). If half of the tasters truly tell the two \
             apart, the chance of that is 63 %; 16 answers would have a chance of 87 %.",
            "2 of 14 seats have not answered.",
        ]
    );
}

#[test]
fn a_two_sided_comparison_names_both_teas_and_counts_no_discriminators() {
    let found = difference_test(&given(paired(false), 5, 6, 6));
    assert_eq!(
        found.words[0],
        "5 of 6 called 417 Lantern Slope stronger, 1 called 862 Copper Pier so; guessing brings 3.0 on average."
    );
    assert!(
        found.words[1].contains("A split this uneven comes by chance alone in 22 %"),
        "{}",
        found.words[1]
    );
    assert!(found.words[1].contains("it is not shown that the two differ in this, though it may be so"));
    assert!(found.words.iter().all(|words| !words.contains("truly tell them apart")));
    assert!(found.words[2].contains("6 for one of the two show a difference"), "{}", found.words[2]);
}

#[test]
fn a_one_sided_comparison_counts_the_expected_tea_only() {
    let [one, two] = [true, false].map(|one_sided| difference_test(&given(paired(one_sided), 7, 8, 8)));
    let p = |found: &TestFound| found.outcome.get().unwrap().p;
    assert!((p(&two) - 2.0 * p(&one)).abs() < 1e-12);
    assert!(one.outcome.get().unwrap().discriminators.is_some());
}

#[test]
fn each_opened_test_gives_one_sentence_and_one_that_was_not_opened_gives_none() {
    let mut closed = given(Asking::Triangle, 0, 0, 5);
    closed.open = false;
    let found = [difference_test(&given(Asking::Triangle, 8, 12, 12)), difference_test(&closed)];
    let said: Vec<Sentence> = sentences(&found).collect();
    assert_eq!(said.len(), 1);
    let start = "Test 1 (triangle, 417 Lantern Slope and 862 Copper Pier): 8 of 12 found the odd cup; guessing brings";
    assert!(said[0].text.starts_with(start) && said[0].shown, "{}", said[0].text);
}

#[test]
fn without_answers_there_are_words_and_no_figures() {
    let mut none = given(Asking::DuoTrio { balanced: true }, 0, 0, 5);
    let found = difference_test(&none);
    assert!(found.outcome.get().is_none() && found.power.get().is_none());
    assert_eq!(found.words, ["Nobody has answered."]);
    none.open = false;
    assert_eq!(difference_test(&none).words, ["The test was not opened."]);
}

/// P(X ≥ 8) of 12 by guessing one of three is 0.0188, three times that 0.056; P(X ≥ 9) is 0.0039.
#[test]
fn three_tests_of_a_class_share_the_level_and_what_is_said_of_each_agrees_with_it() {
    let of = |correct: [usize; 3]| {
        difference_tests(&correct.map(|correct| given(Asking::Triangle, correct, 12, 12)))
    };
    let said = |test: &TestFound| test.words.join(" ");
    let open = of([8, 4, 4]).remove(0);
    assert!(!open.shown() && open.family == 3 && (open.p_holm.unwrap() - 0.0564).abs() < 0.001, "{open:?}");
    assert!(
        said(&open).contains("in 1.9 % of such classes, 5.6 % allowing for 3 tests: it is not shown"),
        "{}",
        said(&open)
    );
    assert!(said(&open).contains("it may be nobody") && said(&open).contains("9 right show a difference"));
    let all = of([8, 9, 9]);
    assert!(
        all.iter().all(TestFound::shown),
        "two that are shown leave all of the level to the third: {all:?}"
    );
    assert!(said(&all[0]).contains("at least 8.6 %") && said(&all[0]).contains("8 right show a difference"));
    assert!(sentences(&all).all(|sentence| sentence.shown && sentence.evidence.p_adjusted.is_some()));
}

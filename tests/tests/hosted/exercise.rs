//! What a class can ask beside its scores, through the model seat in paused time: words to tick, and
//! difference tests from their opening to what they show.

use report::csv;
use room::Teacher;
use serde_json::{Value, json};
use std::time::Duration;
use summary::findings::difference_tests;
use tests::desk::InProcess;
use tests::model::ModelSeat;

const CLASS: &str = include_str!("../../classes/exercise.toml");

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

/// A class whose first round is in the cups, and a seat that has come back after it.
async fn after_round_one(desk: &InProcess, name: &str) -> ModelSeat {
    let seat = desk.connect().await.join(name, None).await;
    teacher(desk, Teacher::Start { anyway: false }).await;
    tokio::time::sleep(Duration::from_secs(200)).await;
    desk.connect().await.join(name, Some(&seat.token)).await
}

#[tokio::test(start_paused = true)]
async fn words_are_offered_ticked_kept_and_told_again() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = after_round_one(&desk, "Ann").await;
    assert_eq!(ann.welcome["sheet"]["words"], json!(["floral", "nutty", "warm bread"]));
    let id = ann.tick("417", 1, 1, &["warm bread", "floral"]).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    for (words, revision) in [(vec!["smoky"], 2), (vec!["floral", "floral"], 3), (vec![], 4)] {
        let id = ann.tick("417", 1, revision, &words).await;
        ann.until(|s| s.declined.contains_key(&id)).await;
        assert_eq!(ann.declined[&id], "bad_score", "{words:?}");
    }
    let again = desk.connect().await.join("Ann", Some(&ann.token)).await;
    let words: Vec<&Value> =
        again.welcome["scores"].as_array().unwrap().iter().map(|s| &s["words"]).collect();
    assert_eq!(words, [&json!(["warm bread", "floral"])]);
    let room = desk.host.handle.room().await.unwrap();
    let table = csv::long_form([&*room], false);
    let cells = |line: &str| line.split(',').skip(8).take(3).map(String::from).collect::<Vec<_>>();
    let rows: Vec<Vec<String>> = table.lines().skip(1).map(cells).collect();
    assert_eq!(rows, [["word", "1", "warm bread"], ["word", "1", "floral"]]);
}

#[tokio::test(start_paused = true)]
async fn a_seat_that_knows_no_words_scores_as_before() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut old = after_round_one(&desk, "Old").await;
    let id = old.score("417", 1, 1, "liking", 7).await;
    old.until(|s| s.accepted.contains_key(&id)).await;
    let stored = desk.host.handle.room().await.unwrap().scores.all()[0].score.clone();
    let stored = serde_json::to_value(stored).unwrap();
    assert_eq!(stored.get("words"), None, "as an old ledger has it");
}

async fn open_test(desk: &InProcess, test: u32) {
    teacher(desk, Teacher::Test(test)).await;
}

#[tokio::test(start_paused = true)]
async fn a_test_is_asked_of_every_seat_with_cups_of_its_own_and_answered_once_whatever_is_sent_again() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = after_round_one(&desk, "Ann").await;
    let mut bob = desk.connect().await.join("Bob", None).await;
    let early = ann.answer(1, "384", 1).await;
    ann.until(|s| s.declined.contains_key(&early)).await;
    assert_eq!(ann.declined[&early], "not_open");
    let refused = desk.host.handle.teacher(Teacher::Test(3)).await.unwrap().unwrap_err();
    assert!(refused.reason.contains("steep 3 is not in the cup yet"), "{}", refused.reason);
    open_test(&desk, 1).await;
    ann.until(|s| s.tests.contains_key(&1)).await;
    bob.until(|s| s.tests.contains_key(&1)).await;
    assert_eq!(ann.tests[&1]["kind"], "triangle");
    let (mine, others) = (ann.cups(1), bob.cups(1));
    assert_eq!((mine.len(), others.len()), (3, 3));
    assert!(mine.iter().all(|code| !others.contains(code)), "neighbours can't compare");
    let foreign = ann.answer(1, &others[0], 1).await;
    let unknown = ann.answer(9, &mine[0], 1).await;
    ann.until(|s| s.declined.len() == 3).await;
    assert_eq!((&*ann.declined[&foreign], &*ann.declined[&unknown]), ("bad_answer", "unknown_test"));
    for _ in 0..3 {
        let id = ann.answer(1, &mine[0], 1).await;
        let before = ann.accepted.get(&id).copied().unwrap_or(0);
        ann.until(|s| s.accepted.get(&id).is_some_and(|&n| n > before)).await;
    }
    let id = ann.answer(1, &mine[2], 2).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!(room.answers.all().len(), 2, "sent four times, two of them other answers");
    let given = &room.test_answers()[0];
    assert_eq!((given.answers.len(), given.seats), (1, 2), "the last one counts");
}

#[tokio::test(start_paused = true)]
async fn whoever_comes_late_or_back_is_asked_what_is_open_and_told_its_answer() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = after_round_one(&desk, "Ann").await;
    open_test(&desk, 1).await;
    ann.until(|s| s.tests.contains_key(&1)).await;
    let (mine, since) = (ann.cups(1), ann.seq);
    let id = ann.answer(1, &mine[1], 1).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    open_test(&desk, 2).await;
    let back = desk.connect().await.join_since("Ann", &ann.token, since).await;
    assert_eq!(back.tests.keys().collect::<Vec<_>>(), [&2], "only what was missed");
    assert_eq!(back.back["answers"], json!([{"id": id, "test": 1, "pick": mine[1]}]));
    let reference = back.tests[&2]["reference"].as_str().unwrap().to_string();
    assert!(!back.cups(2).contains(&reference));
    assert!(back.tests[&2]["question"].as_str().unwrap().contains(&reference));
    let whole = desk.connect().await.join("Ann", Some(&ann.token)).await;
    assert_eq!((whole.tests.len(), whole.cups(1)), (2, mine), "and the cups stay the same");
    let late = desk.connect().await.join("Cy", None).await;
    assert_eq!((late.tests.len(), late.welcome.get("answers")), (2, None));
}

#[tokio::test(start_paused = true)]
async fn answers_are_there_after_a_crash_and_until_the_close_and_show_what_the_class_can_tell() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = after_round_one(&desk, "Ann").await;
    open_test(&desk, 1).await;
    ann.until(|s| s.tests.contains_key(&1)).await;
    let (mine, token) = (ann.cups(1), ann.token.clone());
    let id = ann.answer(1, &mine[0], 1).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    let InProcess { host, folder } = desk;
    host.crash().await;
    let host = tests::desk::host_in(folder.path(), CLASS, 1.0, 300_000_000);
    let desk = InProcess { host, folder };
    let mut ann = desk.connect().await.join("Ann", Some(&token)).await;
    assert_eq!((ann.cups(1), &ann.welcome["answers"][0]["id"]), (mine.clone(), &json!(id)));
    let mut seats = Vec::new();
    for n in 0..5 {
        seats.push(desk.connect().await.join(&format!("Seat {n}"), None).await);
    }
    // Everybody finds the odd cup: the room knows which one it is.
    let room = desk.host.handle.room().await.unwrap();
    let odd = |place: usize| {
        let test = &room.class.tests[0];
        let set = test.set(place).unwrap();
        set.cups.iter().find(|cup| Some(cup.tea) == test.right(set)).unwrap().code.to_string()
    };
    let id = ann.answer(1, &odd(0), 2).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    for (n, seat) in seats.iter_mut().enumerate() {
        let id = seat.answer(1, &odd(n + 1), 1).await;
        seat.until(|s| s.accepted.contains_key(&id)).await;
    }
    teacher(&desk, Teacher::Close { last_call_s: 0 }).await;
    let late = ann.answer(1, &mine[0], 3).await;
    ann.until(|s| s.declined.contains_key(&late)).await;
    assert_eq!(ann.declined[&late], "class_closed");
    let room = desk.host.handle.room().await.unwrap();
    let found = difference_tests(&room.test_answers()).remove(0);
    assert_eq!((found.correct, found.n), (6, 6));
    // (1/3)^6
    assert!((found.outcome.get().unwrap().p - 1.0 / 729.0).abs() < 1e-12);
    assert!(
        found.words[1].contains("it is shown that the class can tell the two apart"),
        "{:?}",
        found.words
    );
}

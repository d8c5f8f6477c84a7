//! What a class can ask beside its scores, through the model seat in paused time: words to tick.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use serde_json::{Value, json};
use server::report::csv;
use server::room::Teacher;
use std::time::Duration;
use tests::desk::InProcess;
use tests::model::ModelSeat;

const CLASS: &str = include_str!("../classes/exercise.toml");

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.desk.teacher(wish).await.unwrap().unwrap();
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
    let room = desk.host.desk.room().await.unwrap();
    let table = csv::long_form(&room, false);
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
    let stored = desk.host.desk.room().await.unwrap().scores.all()[0].score.clone();
    let stored = serde_json::to_value(stored).unwrap();
    assert_eq!(stored.get("words"), None, "as an old ledger has it");
}

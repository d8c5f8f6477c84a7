//! Gone and back: a seat that had a link before is told what it missed, and nothing else.

use protocol::Code;
use room::Teacher;
use serde_json::{Value, json};
use tests::desk::InProcess;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

#[tokio::test(start_paused = true)]
async fn whoever_missed_nothing_is_told_nothing() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let back = desk.connect().await.join_since("Ann", &ann.token, ann.seq).await;
    assert!(back.welcome.is_null());
    let said: Vec<&String> = back.back.as_object().unwrap().keys().collect();
    assert_eq!(said, ["clock", "link", "pace", "phase", "seq", "type"]);
    assert_eq!(back.back["clock"], ann.welcome["clock"], "the same clock");
}

#[tokio::test(start_paused = true)]
async fn a_seat_is_told_the_newest_timetable_the_revealed_teas_and_its_scores_from_after_its_number() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let (token, since) = (ann.token.clone(), ann.seq);
    drop(ann);
    teacher(&desk, Teacher::Start { anyway: false }).await;
    teacher(&desk, Teacher::Reveal(Code::new(417))).await;
    teacher(&desk, Teacher::Hold).await;
    let back = desk.connect().await.join_since("Ann", &token, since).await;
    assert_eq!((back.phase.as_str(), back.revision), ("held", 2));
    assert_eq!(back.revealed.keys().collect::<Vec<_>>(), ["417"], "only what was revealed");
    let since = back.seq;
    teacher(&desk, Teacher::Resume).await;
    tokio::time::sleep(std::time::Duration::from_secs(200)).await;
    let mut back = desk.connect().await.join_since("Ann", &token, since).await;
    assert_eq!((back.phase.as_str(), back.revision, back.back.get("teas")), ("running", 3, None));
    let id = back.score("417", 1, 1, "liking", 7).await;
    back.until(|s| s.accepted.contains_key(&id)).await;
    let again = desk.connect().await.join_since("Ann", &token, back.seq).await;
    let ids: Vec<&Value> = again.back["scores"].as_array().unwrap().iter().map(|s| &s["id"]).collect();
    assert_eq!((ids, again.back.get("timetable")), (vec![&json!(id)], None));
}

#[tokio::test(start_paused = true)]
async fn a_number_from_another_ledger_or_another_place_at_the_table_gets_a_whole_welcome() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let stranger = desk.connect().await.join_since("Ann", &ann.token, ann.seq + 1_000).await;
    assert!(stranger.back.is_null() && stranger.welcome["seq"] == json!(ann.seq));
    let new = desk.connect().await.join_since("Ben", "00000000-0000-0000-0000-0000000000b5", 1).await;
    assert!(new.back.is_null(), "nobody has sat there before");
}

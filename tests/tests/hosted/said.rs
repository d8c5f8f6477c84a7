//! What a teacher says reaches whom it is said to, and who was away hears it when they are back.

use protocol::Code;
use room::Teacher;
use serde_json::{Value, json};
use std::time::Duration;
use tests::desk::InProcess;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

fn words(said: &Value) -> Vec<&str> {
    said.as_array().map_or_else(Vec::new, |all| all.iter().filter_map(|one| one["words"].as_str()).collect())
}

#[tokio::test(start_paused = true)]
async fn what_is_said_reaches_all_or_one_and_a_seat_that_was_away_when_it_is_back() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = desk.connect().await.join("Ann", None).await;
    let ben = desk.connect().await.join("Ben", None).await;
    let (token, since) = (ben.token.clone(), ben.seq);
    drop(ben);
    teacher(&desk, Teacher::Say("pour slowly".into())).await;
    teacher(&desk, Teacher::SayTo("Ben the lid".into())).await;
    teacher(&desk, Teacher::Reveal(Code::new(417))).await;
    ann.until(|s| !s.revealed.is_empty()).await;
    assert_eq!(words(&json!(ann.said)), ["pour slowly"]);
    let back = desk.connect().await.join_since("Ben", &token, since).await;
    assert_eq!(words(&back.back["said"]), ["pour slowly", "the lid"]);
    assert_eq!(back.back["said"][1]["to_you"], json!(true));
    let again = desk.connect().await.join_since("Ben", &token, back.seq).await;
    assert_eq!(again.back.get("said"), None, "once");
    tokio::time::sleep(Duration::from_secs(1)).await;
    let late = desk.connect().await.join("Cy", None).await;
    assert_eq!(late.welcome.get("said"), None, "it was said before Cy came");
}

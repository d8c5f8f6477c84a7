//! A cup that is voided while the class goes on: whom it concerns is told, and who was away when they are back.

use protocol::Code;
use room::{Correction, Teacher};
use serde_json::{Value, json};
use std::time::Duration;
use tests::desk::InProcess;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn void(desk: &InProcess, seat: Option<&str>) {
    let (code, seat, reason) = (Code::new(417).unwrap(), seat.map(String::from), "spilled".into());
    let wish = Teacher::Correct(Correction::Void { code, steep: 1, seat, reason });
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

fn only_yours(void: &Value) -> bool {
    void.get("only_yours").is_some_and(|only| only == &json!(true))
}

#[tokio::test(start_paused = true)]
async fn whom_a_voided_cup_concerns_is_told_and_who_was_away_gets_a_whole_welcome() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = desk.connect().await.join("Ann", None).await;
    let ben = desk.connect().await.join("Ben", None).await;
    desk.host.handle.teacher(Teacher::Start { anyway: true }).await.unwrap().unwrap();
    for _ in 0..40 {
        tokio::time::sleep(Duration::from_secs(10)).await;
        ann.say(json!({"type": "ping", "t1_us": 1})).await;
    }
    let (token, since) = (ben.token.clone(), ben.seq);
    drop(ben);
    let id = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    void(&desk, Some("Ann")).await;
    ann.until(|s| !s.cups.is_null()).await;
    assert!(only_yours(&ann.cups["voided"][0]) && ann.cups["scores"] == json!([]), "{}", ann.cups);
    ann.cups = Value::Null;
    void(&desk, None).await;
    ann.until(|s| !s.cups.is_null()).await;
    assert!(!only_yours(&ann.cups["voided"][0]), "{}", ann.cups);
    let back = desk.connect().await.join_since("Ben", &token, since).await;
    assert_eq!(back.welcome["voided"], json!([{"code": "417", "steep": 1, "reason": "spilled"}]));
    let again = desk.connect().await.join_since("Ben", &token, back.seq).await;
    assert!(again.welcome.is_null(), "it knows already");
}

//! A sheet is opened again over the wire: whom it concerns hears of it, and who was away when they are back.

use protocol::Code;
use room::{Steering, Teacher};
use serde_json::json;
use std::time::Duration;
use tests::desk::InProcess;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

#[tokio::test(start_paused = true)]
async fn whom_a_sheet_that_is_open_again_concerns_is_told_and_its_score_is_kept() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let ben = desk.connect().await.join("Ben", None).await;
    let (token, since) = (ben.token.clone(), ben.seq);
    let teacher = async |wish| desk.host.handle.teacher(wish).await.unwrap();
    teacher(Teacher::Start { anyway: true }).await.unwrap();
    drop((ann, ben));
    tokio::time::sleep(Duration::from_secs(200)).await;
    let mut ann = desk.connect().await.join("Cy", None).await;
    let mut ben = desk.connect().await.join_since("Ben", &token, since).await;
    let id = ben.score("417", 1, 1, "liking", 7).await;
    ben.until(|s| s.accepted.contains_key(&id)).await;
    let seat = Some("Ben".to_string());
    let code = Code::new(417).unwrap();
    teacher(Teacher::Reopen { code, round: Some(1), seat }).await.unwrap();
    ben.until(|s| !s.reopened.is_null()).await;
    assert_eq!(ben.reopened["reopened"][0]["code"], json!("417"));
    let back = desk.connect().await.join_since("Ben", &token, since).await;
    assert_eq!(back.back["reopened"], ben.reopened["reopened"], "who was away hears it when they are back");
    let none = desk.connect().await.join_since("Ben", &token, ben.seq).await;
    assert_eq!(none.back.get("reopened"), None, "once");
    let mut ben = desk.connect().await.join("Ben", Some(&token)).await;
    assert_eq!(ben.welcome["reopened"], back.back["reopened"]);
    assert_eq!(ben.welcome["scores"][0]["id"], json!(id), "and the score that counts until then");
    let again = ben.score("417", 1, 2, "liking", 3).await;
    ben.until(|s| s.accepted.contains_key(&again)).await;
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!((room.scores.all().len(), room.open_sheets(room.seat_named("Ben").unwrap()).len()), (2, 0));
    teacher(Teacher::Steer(Steering::Undo)).await.unwrap();
    ann.say(json!({"type": "ping", "t1_us": 1})).await;
    ann.until(|s| !s.pongs.is_empty()).await;
    assert!(ann.reopened.is_null(), "nobody else is told");
}

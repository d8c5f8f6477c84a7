//! The last call in paused time, through the model seat: who is writing, who has come, and a host that goes down in between.

use protocol::{HostTime, Phase};
use room::Teacher;
use room::last_call::LAST_CALL_S;
use serde_json::json;
use std::time::Duration;
use tests::desk::{InProcess, host_in};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
const CLOSE: Teacher = Teacher::Close { last_call_s: LAST_CALL_S };

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

/// A class whose first round is in the cups and which is held.
async fn tasting() -> InProcess {
    let desk = InProcess::open(CLASS, 1.0);
    teacher(&desk, Teacher::Start { anyway: true }).await;
    tokio::time::sleep(Duration::from_secs(110)).await;
    teacher(&desk, Teacher::Hold).await;
    desk
}

async fn phase(desk: &InProcess) -> Phase {
    desk.host.handle.view(0).await.unwrap().phase
}

#[tokio::test(start_paused = true)]
async fn the_teacher_sees_who_is_writing_and_the_class_closes_by_itself_when_the_call_has_ended() {
    let desk = tasting().await;
    let mut ann = desk.connect().await.join("Ann", None).await;
    ann.say(json!({"type": "writing", "sheets": 2})).await;
    ann.say(json!({"type": "ping", "t1_us": 1})).await;
    ann.until(|s| s.pongs.len() == 1).await;
    let writing = async || desk.host.handle.view(0).await.unwrap().seats[0].writing;
    assert!(writing().await);
    let now = desk.host.clock.now();
    teacher(&desk, CLOSE).await;
    ann.until(|s| s.last_call_us.is_some()).await;
    let until = HostTime(ann.last_call_us.unwrap());
    assert!((until - now - 30_000_000).abs() < 10_000, "{now:?} {until:?}");
    ann.say(json!({"type": "writing", "sheets": 0})).await;
    let id = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    assert!(!writing().await);
    drop(ann);
    assert_eq!(phase(&desk).await, Phase::Held);
    tokio::time::sleep(desk.host.clock.instant_of(until.plus_s(2)) - tokio_now()).await;
    assert_eq!(phase(&desk).await, Phase::Held, "what was sent at the end is still on its way");
    tokio::time::sleep(Duration::from_millis(1_100)).await;
    assert_eq!(phase(&desk).await, Phase::Closed);
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!(room.last_at, until.plus_s(3));
}

#[expect(clippy::disallowed_methods, reason = "paused time is what this test measures")]
fn tokio_now() -> tokio::time::Instant {
    tokio::time::Instant::now()
}

#[tokio::test(start_paused = true)]
async fn a_host_that_goes_down_in_the_last_call_takes_what_is_sent_when_it_is_back_and_closes_then() {
    let desk = tasting().await;
    let ann = desk.connect().await.join("Ann", None).await;
    teacher(&desk, CLOSE).await;
    let token = ann.token.clone();
    let InProcess { host, folder } = desk;
    let closed_at_s = (host.clock.now().0 / 1_000_000) + 600;
    host.crash().await;
    drop(ann);
    // Ten minutes later, by the wall clock of a host that opened at nought.
    let host = host_in(folder.path(), CLASS, 1.0, closed_at_s * 1_000_000);
    let desk = InProcess { host, folder };
    let mut ann = desk.connect().await.join("Ann", Some(&token)).await;
    assert!(ann.last_call_us.is_some() && ann.phase == "held", "{}", ann.welcome);
    let id = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    drop(ann);
    tokio::time::sleep(Duration::from_secs(19)).await;
    assert_eq!(phase(&desk).await, Phase::Held);
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(phase(&desk).await, Phase::Closed);
}

#[tokio::test]
async fn in_the_lobby_all_hear_who_has_come_by_name_up_to_forty() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = desk.connect().await.join("Ann", None).await;
    ann.until(|s| s.here["names"] == json!(["Ann"])).await;
    let mut bob = desk.connect().await.join("Bob", None).await;
    for seat in [&mut ann, &mut bob] {
        seat.until(|s| s.here["names"] == json!(["Ann", "Bob"]) && s.here["seats"] == json!(2)).await;
    }
    let mut back = desk.connect().await.join("Bob", Some(&bob.token.clone())).await;
    back.until(|s| s.here["seats"] == json!(2)).await;
    let mut more = Vec::new();
    for n in 3..=45 {
        more.push(desk.connect().await.join(&format!("Seat {n}"), None).await);
    }
    ann.until(|s| s.here["seats"] == json!(41)).await;
    assert_eq!(ann.here["names"], json!([]), "a large class is not told by name");
    let last = more.last_mut().unwrap();
    last.until(|s| s.here["seats"] == json!(45)).await;
    assert_eq!(last.here["names"], json!([]));
    teacher(&desk, Teacher::Start { anyway: true }).await;
    let late = desk.connect().await.join("Late", None).await;
    assert_eq!(late.here, json!(null), "the lobby is over");
}

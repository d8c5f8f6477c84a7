//! Seats are sent away and let back, over the wire.

use room::{Steering, Teacher, Who};
use tests::desk::InProcess;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn teacher(desk: &InProcess, wish: Teacher) {
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

async fn away(desk: &InProcess, names: &str, reason: &str) {
    let (who, reason) = (Who::Named(names.into()), reason.into());
    teacher(desk, Teacher::Away { who, without_scores: false, reason }).await;
}

#[tokio::test(start_paused = true)]
async fn a_squatter_that_joins_again_and_again_keeps_nobody_from_the_name_that_is_theirs() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut squatter = desk.connect().await.join("Ann", None).await;
    let token = squatter.token.clone();
    assert_eq!(desk.connect().await.join("Ann", None).await.refusal.unwrap().0, "name_taken");
    away(&desk, "Ann", "another one is Ann").await;
    squatter.until_ended().await;
    let (code, words) = squatter.refusal.unwrap();
    assert_eq!(code, "sent_away");
    assert!(
        words.starts_with("the teacher has sent this seat away (another one is Ann); ask the teacher"),
        "{words}"
    );
    // The squatter's program dials in a loop, and every fifth time Ann does.
    let mut ann = None;
    for dial in 0..100 {
        let back = desk.connect().await.join("Ann", Some(&token)).await;
        assert_eq!(back.refusal.map(|refusal| refusal.0).as_deref(), Some("sent_away"));
        if dial % 5 == 4 {
            let seat = desk.connect().await.join("Ann", ann.as_deref()).await;
            assert_eq!((seat.refusal, seat.welcome["name"].as_str()), (None, Some("Ann")));
            ann = Some(seat.token);
        }
    }
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!((room.persons(), room.seats.len()), (1, 2));
}

#[tokio::test(start_paused = true)]
async fn a_wave_is_told_and_unlinked_by_one_act_and_comes_back_by_one() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let mut wave = Vec::new();
    for n in 0..12 {
        wave.push(desk.connect().await.join(&format!("stranger-{n}"), None).await);
    }
    teacher(&desk, Teacher::Start { anyway: true }).await;
    let since = desk.host.handle.room().await.unwrap().seq;
    away(&desk, "stranger-*", "").await;
    for seat in &mut wave {
        seat.until_ended().await;
        assert_eq!(seat.refusal.as_ref().unwrap().0, "sent_away");
    }
    let view = desk.host.handle.view(0).await.unwrap();
    let linked: Vec<&str> = view.seats.iter().filter(|s| s.linked).map(|s| s.name.as_str()).collect();
    assert_eq!((linked, view.seats.iter().filter(|s| s.away).count()), (vec!["Ann"], 12));
    let refused = desk.connect().await.join("stranger-3", Some(&wave[3].token)).await;
    assert_eq!(refused.refusal.unwrap().0, "sent_away");
    teacher(&desk, Teacher::Steer(Steering::Undo)).await;
    let back = desk.connect().await.join_since("stranger-3", &wave[3].token, since).await;
    assert_eq!((back.back["owes_from_us"].is_i64(), back.refusal), (true, None), "it hears what it owes");
    drop(ann);
}

//! The next steep follows the class, in paused time and through the door: by the teacher's word, and by the class file's.

use room::{Adapted, Steering, Teacher};
use serde_json::{Value, json};
use std::time::Duration;
use tests::desk::{InProcess, host_in};
use tests::model::ModelSeat;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
/// Who find every first steep too thin.
const SEATS: [&str; 4] = ["Ann", "Bob", "Cleo", "Dan"];

fn class(adapt: &str) -> String {
    format!("adapt = \"{adapt}\"\n{CLASS}")
}

/// Lets time pass; a seat that says nothing for long is not linked any more.
async fn pass(seats: &mut [ModelSeat], mut us: i64) {
    while us > 0 {
        let step_us = us.min(10_000_000);
        tokio::time::sleep(Duration::from_micros(step_us as u64)).await;
        for seat in &mut *seats {
            seat.say(json!({"type": "ping", "t1_us": 1})).await;
        }
        us -= step_us;
    }
}

fn at_us(cues: &[Value], action: &str, round: u64) -> i64 {
    let of_round = |cue: &&Value| cue["action"] == action && cue["steep"].as_u64() == Some(round);
    cues.iter().filter(of_round).filter_map(|cue| cue["at_us"].as_i64()).max().unwrap()
}

/// A class in the tasting of its first round, in which all who have come found one tea too thin. Nobody has scored the rest.
async fn tasted(desk: &InProcess) -> (Vec<ModelSeat>, protocol::Code) {
    let mut seats = Vec::new();
    for name in SEATS {
        seats.push(desk.connect().await.join(name, None).await);
    }
    desk.host.handle.teacher(Teacher::Start { anyway: true }).await.unwrap().unwrap();
    for seat in &mut seats {
        seat.until(|s| s.revision == 1).await;
    }
    let tastes_us = at_us(&seats[0].cues, "taste", 1) + 1_000_000;
    pass(&mut seats, tastes_us).await;
    // The first two are ways of one leaf.
    let code = protocol::Code::new(862).unwrap();
    for (n, seat) in seats.iter_mut().enumerate() {
        let id = format!("00000000-0000-4000-8000-{n:012}");
        let score = json!({"type": "score", "id": id, "code": code.to_string(), "steep": 1, "revision": 1,
            "values": {}, "strength": -1, "note": ""});
        seat.say(score).await;
        seat.until(|s| s.accepted.len() == 1).await;
    }
    (seats, code)
}

fn steep_s(seat: &ModelSeat, code: protocol::Code) -> Option<u64> {
    let pours =
        |cue: &&Value| cue["action"] == "pour" && cue["code"] == code.to_string() && cue["steep"] == 2;
    seat.cues.iter().find(pours).and_then(|cue| cue["steep_s"].as_u64())
}

/// What is kept of the steep that was given another time, over a restart.
async fn kept(desk: InProcess, text: &str) -> Vec<Adapted> {
    let InProcess { host, folder } = desk;
    let live = host.handle.room().await.unwrap();
    host.stop().await.unwrap();
    let back = host_in(folder.path(), text, 1.0, 0).handle.room().await.unwrap();
    assert_eq!((&back.course, &back.adapted), (&live.course, &live.adapted));
    live.adapted.clone()
}

#[tokio::test(start_paused = true)]
async fn what_is_suggested_waits_for_the_teacher_and_silence_leaves_the_plan() {
    let text = class("suggest");
    let desk = InProcess::open(&text, 1.0);
    let (mut seats, code) = tasted(&desk).await;
    let offers = desk.host.handle.view(0).await.unwrap().suggestions;
    assert_eq!(offers.len(), 1, "nobody has voted on the others");
    let line = offers[0].suggestion.to_string();
    assert!(line.starts_with(&format!("{code}: 4 of 4 voted · too thin (4 thin) · planned ")), "{line}");
    let closes_us = at_us(&seats[0].cues, "sheet_closes", 1) - at_us(&seats[0].cues, "taste", 1);
    pass(&mut seats, closes_us).await;
    assert_eq!(desk.host.handle.room().await.unwrap().adapted, [], "silence leaves the plan");
    let wish = Steering::Follow { codes: vec![code], steep_s: None };
    desk.host.handle.teacher(Teacher::Steer(wish)).await.unwrap().unwrap();
    seats[0].until(|s| s.revision == 2).await;
    let takes_s = offers[0].takes_s().unwrap();
    assert_eq!(steep_s(&seats[0], code), Some(takes_s.into()));
    let kept = kept(desk, &text).await;
    assert_eq!((kept.len(), kept[0].taken_s, kept[0].followed), (1, takes_s, false));
}

#[tokio::test(start_paused = true)]
async fn what_is_followed_is_taken_when_the_sheet_closes_and_not_before() {
    let text = class("follow");
    let desk = InProcess::open(&text, 1.0);
    let (mut seats, code) = tasted(&desk).await;
    let offer = desk.host.handle.view(0).await.unwrap().suggestions[0];
    assert!(offer.follows);
    let now = desk.host.handle.view(0).await.unwrap().now;
    let left_us = offer.follows_at.unwrap().0 - now.0;
    pass(&mut seats, left_us - 1_000_000).await;
    assert_eq!(desk.host.handle.room().await.unwrap().adapted, [], "the teacher may still say no");
    pass(&mut seats, 1_100_000).await;
    seats[0].until(|s| s.revision == 2).await;
    assert_eq!(steep_s(&seats[0], code), Some(offer.takes_s().unwrap().into()));
    let kept = kept(desk, &text).await;
    assert_eq!((kept.len(), kept[0].votes.thin(), kept[0].followed), (1, 4, true));
}

#[tokio::test(start_paused = true)]
async fn what_the_teacher_leaves_is_not_followed_not_even_after_a_restart() {
    let text = class("follow");
    let desk = InProcess::open(&text, 1.0);
    let (mut seats, code) = tasted(&desk).await;
    desk.host.handle.teacher(Teacher::Steer(Steering::Leave(code))).await.unwrap().unwrap();
    let closes_us = at_us(&seats[0].cues, "sheet_closes", 1) - at_us(&seats[0].cues, "taste", 1);
    pass(&mut seats, closes_us + 2_000_000).await;
    assert_eq!(kept(desk, &text).await, []);
}

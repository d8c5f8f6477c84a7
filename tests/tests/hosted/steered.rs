//! A class that runs is steered in paused time: what the seats and the teacher hear of it, and that a restart changes nothing.

use host::Happening;
use room::{Steering, Teacher};
use serde_json::{Value, json};
use std::time::Duration;
use tests::desk::{InProcess, host_in};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

fn cue<'a>(cues: &'a [Value], action: &str, code: &str, round: u64) -> Option<&'a Value> {
    let of_round = |cue: &Value| cue.get("round").unwrap_or(&cue["steep"]).as_u64() == Some(round);
    cues.iter().find(|cue| cue["action"] == action && cue["code"] == code && of_round(cue))
}

async fn steer(desk: &InProcess, wish: Steering) {
    desk.host.handle.teacher(Teacher::Steer(wish)).await.unwrap().unwrap();
}

#[tokio::test(start_paused = true)]
async fn seats_hear_of_an_act_in_one_revision_and_the_teacher_of_what_follows() {
    let mut desk = InProcess::open(CLASS, 1.0);
    let mut ann = desk.connect().await.join("Ann", None).await;
    desk.host.handle.teacher(Teacher::Start { anyway: true }).await.unwrap().unwrap();
    ann.until(|s| s.revision == 1).await;
    let pours = ann.cues.iter().filter(|cue| cue["action"] == "pour" && cue["steep"] == 1);
    let pour = pours.max_by_key(|pour| pour["steep_s"].as_u64()).unwrap().clone();
    let code = pour["code"].as_str().unwrap().to_string();
    let wet_us = pour["at_us"].as_i64().unwrap() + 9_000_000;
    let mut left_us = u64::try_from(wet_us).unwrap();
    while left_us > 0 {
        // A seat that says nothing for long is not linked any more.
        let step_us = left_us.min(10_000_000);
        tokio::time::sleep(Duration::from_micros(step_us)).await;
        ann.say(json!({"type": "ping", "t1_us": 1})).await;
        left_us -= step_us;
    }
    let before = ann.cues.clone();
    let tea = code.parse().unwrap();
    steer(&desk, Steering::Longer { codes: vec![tea], by_s: 20 }).await;
    ann.until(|s| s.revision == 2).await;
    let decant = |cues: &[Value]| cue(cues, "decant", &code, 1).unwrap().clone();
    let (was, is) = (decant(&before), decant(&ann.cues));
    assert_eq!(is["at_us"].as_i64().unwrap() - was["at_us"].as_i64().unwrap(), 20_000_000);
    assert_eq!((is["moved_in"].as_u64(), was.get("moved_in")), (Some(2), None));
    let tastes_us = |cues: &[Value]| {
        let taste = cues.iter().find(|cue| cue["action"] == "taste" && cue["steep"] == 1);
        taste.unwrap()["at_us"].as_i64().unwrap()
    };
    let later_s = (tastes_us(&ann.cues) - tastes_us(&before)) / 1_000_000;
    steer(&desk, Steering::Again { code: tea, round: None }).await;
    ann.until(|s| s.revision == 3).await;
    let again = cue(&ann.cues, "pour", &code, 4).unwrap();
    assert_eq!((again["steep"].as_u64(), again["round"].as_u64()), (Some(1), Some(4)));
    let mut heard = Vec::new();
    while let Ok(happening) = desk.host.happenings.try_recv() {
        heard.extend(match happening {
            Happening::Follows(words) => Some(words),
            _ => None,
        });
    }
    assert_eq!(heard.len(), 2);
    let said = format!("round 1 is tasted {later_s} s later, round 2 begins {later_s} s later, ");
    assert!(later_s > 0 && heard[0].starts_with(&said), "{heard:?}");
    assert!(heard[1].starts_with("the class ends"), "{heard:?}");
    // Another host on the same ledger has the same timetable and the same course.
    let InProcess { host, folder } = desk;
    let live = host.handle.room().await.unwrap();
    host.stop().await.unwrap();
    let back = host_in(folder.path(), CLASS, 1.0, 0).handle.room().await.unwrap();
    assert_eq!(back.course, live.course);
    let told = |room: &room::Room| room.timetable.find(protocol::Action::Decant, Some(tea), 1).cloned();
    assert_eq!(told(&back), told(&live), "what is wet ends when the teacher said");
}

//! Every sentence with which the door refuses somebody, in one place: to be read as the person reads it who hears it.

use protocol::wire::PROTOCOL;
use room::{Teacher, Who};
use serde_json::{Value, json};
use std::time::Duration;
use tests::desk::InProcess;
use tests::model::ModelSeat;
use tokio::time::sleep;
use tokio_tungstenite::tungstenite::Message;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
const WRONG: &str = "2222-2222";

/// Who heard what.
#[derive(Default)]
struct Told(String);

impl Told {
    /// Waits until the connection is over, and notes why.
    async fn ended(&mut self, who: &str, mut seat: ModelSeat) {
        if !seat.ended {
            seat.until_ended().await;
        }
        let (code, reason) = seat.refusal.unwrap();
        self.0 += &format!("{who}: {code}\n  {reason}\n");
    }

    fn on(&mut self, heading: &str) {
        self.0 += &format!("\n{heading}\n");
    }
}

/// A stranger that says this first.
async fn says(desk: &InProcess, message: Message) -> ModelSeat {
    let mut seat = desk.stranger().await;
    seat.send(message).await;
    seat
}

fn hello(protocol: u32, code: Option<&str>) -> Message {
    Message::text(json!({"type": "hello", "protocol": protocol, "join_code": code}).to_string())
}

/// Somebody with the right code, who asks for a place.
async fn joins(desk: &InProcess, name: &str, more: Value) -> ModelSeat {
    desk.connect().await.join_as(name, None, more).await
}

async fn away(desk: &InProcess, name: &str, reason: &str) {
    let (who, reason) = (Who::Named(name.into()), reason.into());
    let wish = Teacher::Away { who, without_scores: false, reason };
    desk.host.handle.teacher(wish).await.unwrap().unwrap();
}

#[tokio::test(start_paused = true)]
async fn who_is_refused_reads_why_and_what_to_do() {
    let mut told = Told::default();
    let desk = InProcess::open(CLASS, 1.0);
    let text = |text: &str| Message::text(text.to_string());

    told.on("BEFORE THE RIGHT CODE");
    told.ended("nothing said", desk.stranger().await).await;
    told.ended("no code", says(&desk, hello(PROTOCOL, None)).await).await;
    for n in 1..=11 {
        let mut wrong = says(&desk, hello(PROTOCOL, Some(WRONG))).await;
        wrong.until_ended().await;
        if n % 10 == 1 {
            told.ended(&format!("wrong code number {n}"), wrong).await;
        }
    }
    told.ended("no code at all", says(&desk, hello(PROTOCOL, Some("KX0M-QR4T"))).await).await;
    for protocol in [2, 3, PROTOCOL + 1] {
        told.ended(&format!("a seat of protocol {protocol}"), says(&desk, hello(protocol, None)).await).await;
    }
    told.ended("a ping first", says(&desk, text(r#"{"type":"ping","t1_us":1}"#)).await).await;
    told.ended("no JSON", says(&desk, text("{")).await).await;
    told.ended("bytes", says(&desk, Message::binary(vec![1, 2, 3])).await).await;
    told.ended("a heap of text", says(&desk, text(&"x".repeat(20_000))).await).await;
    let first = desk.stranger().await;
    let mut crowd = Vec::new();
    for _ in 0..2_048 {
        crowd.push(desk.stranger().await);
    }
    told.ended("the longest silent of 2,049", first).await;
    drop(crowd);

    told.on("WITH THE RIGHT CODE");
    let mut three = desk.connect().await;
    for _ in 0..3 {
        let code = three.code.clone();
        three.send(hello(PROTOCOL, code.as_deref())).await;
    }
    told.ended("three hellos without a place", three).await;
    let mut ann = joins(&desk, "Ann", json!({})).await;
    for name in ["", "A\u{1b}[2J", &"x".repeat(41), "a\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}"] {
        told.ended(
            &format!("a name such as {:?}", name.chars().take(12).collect::<String>()),
            joins(&desk, name, json!({})).await,
        )
        .await;
    }
    told.ended("a name that is taken", joins(&desk, "ann", json!({})).await).await;
    told.ended("one that looks like it", joins(&desk, "A n n", json!({})).await).await;
    for name in ["\u{410}nn", "all", "Bob, Cy", "Ann (away)"] {
        told.ended(&format!("a name like {name:?}"), joins(&desk, name, json!({})).await).await;
    }
    told.ended("a pourer where each seat brews", joins(&desk, "Bob", json!({"pourer": 1})).await).await;
    told.ended("a pourer who watches", joins(&desk, "Bob", json!({"pourer": 1, "role": "watches"})).await)
        .await;
    let table = InProcess::open(&CLASS.replace("\"each seat\"", "2"), 1.0);
    let _ann = joins(&table, "Ann", json!({"pourer": 1})).await;
    told.ended("the third pourer of two", joins(&table, "Bob", json!({"pourer": 3})).await).await;
    told.ended("a pourer whose place is taken", joins(&table, "Bob", json!({"pourer": 1})).await).await;
    desk.host.handle.places(1).await.unwrap();
    told.ended("one more than there is room for", joins(&desk, "Bob", json!({})).await).await;
    desk.host.handle.places(4).await.unwrap();
    let _others = [joins(&desk, "Cy", json!({})).await, joins(&desk, "Di", json!({})).await];
    let _fourth = joins(&desk, "Eve", json!({})).await;
    told.ended("one more than there is room for", joins(&desk, "Bob", json!({})).await).await;
    desk.host.handle.places(400).await.unwrap();

    told.on("WHERE PEOPLE ARE LET IN BY NAME");
    desk.host.handle.lobby(Some(true)).await.unwrap();
    told.ended("somebody new", joins(&desk, "Bob", json!({})).await).await;
    told.ended("another one of that name", joins(&desk, "bob", json!({})).await).await;
    told.ended("one whose name reads like that of one who waits", joins(&desk, "B o b", json!({})).await)
        .await;
    for n in 1..200 {
        joins(&desk, &format!("stranger {n}"), json!({})).await;
    }
    told.ended("somebody new behind 200", joins(&desk, "Flo", json!({})).await).await;
    desk.host.handle.lobby(Some(false)).await.unwrap();

    told.on("SEATS OF THE CLASS");
    let again = desk.connect().await.join("Ann", Some(&ann.token)).await;
    told.ended("one that has joined elsewhere", ann).await;
    ann = again;
    let token = ann.token.clone();
    let back = async || desk.connect().await.join("Ann", Some(&token)).await;
    ann.send(hello(PROTOCOL, None)).await;
    told.ended("one that says hello again", ann).await;
    let mut seat = back().await;
    seat.say(json!({"type": "sing"})).await;
    told.ended("one that says what nobody knows", seat).await;
    let mut seat = back().await;
    for revision in 1..=400 {
        seat.score("417", 1, revision, "liking", 7).await;
    }
    told.ended("one that sends 400 scores at once", seat).await;
    let seat = back().await;
    sleep(Duration::from_secs(21)).await;
    told.ended("one that is silent", seat).await;
    let seat = back().await;
    away(&desk, "Ann", "").await;
    told.ended("one that is sent away", seat).await;
    desk.host.handle.teacher(Teacher::Back("Ann".into())).await.unwrap().unwrap();
    away(&desk, "Ann", "sit with Bob").await;
    told.ended("one that was sent away, and why", back().await).await;
    let InProcess { host, folder: _folder } = desk;
    let (near, far) = tokio::io::duplex(64 * 1024);
    tokio::spawn(host.door.clone().serve(far, None));
    let code = tests::desk::join_code(&host).await;
    let cy = ModelSeat::connect(near).await.with(&code).join("Cyril", None).await;
    tokio::spawn(host.stop());
    told.ended("one whose host goes down", cy).await;
    insta::assert_snapshot!(told.0);
}

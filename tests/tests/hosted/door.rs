//! Whoever knocks: strangers, broken programs and crowds. The class goes on; the offender is told or let go.

use futures_util::future::join_all;
use proptest::prelude::*;
use room::Teacher;
use serde_json::json;
use std::net::IpAddr;
use std::time::Duration;
use tests::desk::{InProcess, join_code};
use tests::model::ModelSeat;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{sleep_until, timeout};
use tokio_tungstenite::tungstenite::Message;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn refused(mut seat: ModelSeat) -> (String, String) {
    seat.until_ended().await;
    seat.refusal.unwrap_or_default()
}

/// Joins, sends one message and gives the refusal's code.
async fn refused_after(desk: &InProcess, name: &str, message: Message) -> String {
    let mut seat = desk.connect().await.join(name, None).await;
    seat.send(message).await;
    refused(seat).await.0
}

#[tokio::test(start_paused = true)]
async fn a_seat_joins_pings_scores_and_hears_of_the_course() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut ann = desk.connect().await;
    ann.knock().await;
    assert_eq!((&ann.greeting["protocol"], &ann.class["title"]), (&json!(5), &json!("Four by three")));
    ann = ann.join("Ann", None).await;
    assert_eq!((ann.phase.as_str(), ann.revealed.len()), ("lobby", 0), "blind");
    ann.say(json!({"type": "ping", "t1_us": 77})).await;
    ann.until(|s| s.pongs.len() == 1).await;
    assert_eq!(ann.pongs[0]["t1_us"], 77);
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until(|s| s.phase == "running").await;
    let early = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.declined.contains_key(&early)).await;
    assert_eq!(ann.declined[&early], "not_poured");
    tokio::time::sleep(Duration::from_secs(200)).await;
    // Paused time flew past the silence limit; the seat was let go and comes back with its token.
    ann.until_ended().await;
    let mut ann = desk.connect().await.join("Ann", Some(&ann.token)).await;
    let id = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    desk.host.handle.teacher(Teacher::Reveal(protocol::Code::new(417))).await.unwrap().unwrap();
    ann.until(|s| s.revealed.get("417").is_some_and(|n| n == "Lantern Slope, short")).await;
    assert_eq!(ann.revealed.len(), 1, "the others stay blind");
}

#[tokio::test]
async fn every_kind_of_nonsense_gets_its_reason_and_the_class_goes_on() {
    let desk = InProcess::open(CLASS, 1.0);
    let good = desk.connect().await.join("Ann", None).await;
    let text = |t: &str| Message::text(t.to_string());
    for (name, message, code) in [
        ("a", text("{"), "bad_message"),
        ("b", text("not JSON"), "bad_message"),
        ("c", text("{\"type\":\"score\"}"), "bad_message"),
        ("d", text("{\"type\":\"sing\"}"), "unknown_message"),
        ("e", Message::binary(vec![1, 2, 3]), "bad_message"),
        ("f", text(&format!("\"{}\"", "x".repeat(20_000))), "too_large"),
        ("g", text("{\"type\":\"hello\",\"protocol\":3,\"join_code\":\"KX7M-QR4T\"}"), "hello_expected"),
        ("h", text(&"[".repeat(10_000)), "bad_message"),
    ] {
        assert_eq!(refused_after(&desk, name, message).await, code, "{name}");
    }
    let mut early = desk.connect().await;
    early.say(json!({"type": "ping", "t1_us": 1})).await;
    assert_eq!(refused(early).await.0, "hello_expected");
    let mut old = desk.connect().await;
    old.say(json!({"type": "hello", "protocol": 0, "name": "old", "token": "00000000-0000-0000-0000-000000000001"})).await;
    let (code, reason) = refused(old).await;
    assert_eq!(code, "protocol_version");
    assert!(reason.contains("update the seat's program"), "{reason}");
    for name in ["A\u{1b}[2J", "A\u{202e}nn", "", "\u{200f}", &"x".repeat(41)] {
        let seat = desk.connect().await.join(name, None).await;
        assert_eq!(seat.refusal.unwrap().0, "bad_name", "{name:?}");
    }
    assert_eq!(desk.connect().await.join("ann", None).await.refusal.unwrap().0, "name_taken");
    let mut still_there = good;
    still_there.say(json!({"type": "ping", "t1_us": 5})).await;
    still_there.until(|s| !s.pongs.is_empty()).await;
}

#[tokio::test]
async fn in_a_blind_class_those_who_only_taste_do_not_learn_how_hot_and_how_long() {
    let desk = InProcess::open(&CLASS.replace("\"each seat\"", "1"), 1.0);
    let mut taster = desk.connect().await.join("Ann", None).await;
    desk.host.handle.teacher(Teacher::Start { anyway: true }).await.unwrap().unwrap();
    taster.until(|s| !s.cues.is_empty()).await;
    let again = desk.connect().await.join("Ann", Some(&taster.token)).await;
    for cue in taster.cues.iter().chain(&again.cues) {
        assert!(cue.get("temp_c").is_none() && cue.get("steep_s").is_none(), "{cue}");
    }
    let mut brewer = InProcess::open(CLASS, 1.0);
    let mut ann = brewer.connect().await.join("Ann", None).await;
    brewer.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until(|s| s.cues.iter().any(|c| c["temp_c"].is_number() && c["steep_s"].is_number())).await;
    brewer.host.happenings.close();
}

/// The disk says no: a rule is put into the ledger from outside that refuses scores.
#[tokio::test]
async fn a_score_that_can_not_be_written_is_never_acknowledged_and_the_seat_is_told() {
    // Fast, so that the first cup is not long in coming.
    let InProcess { mut host, folder } = InProcess::open(CLASS, 100.0);
    let (near, far) = tokio::io::duplex(64 * 1024);
    tokio::spawn(host.door.clone().serve(far, None));
    let mut ann = ModelSeat::connect(near).await.with(&join_code(&host).await).join("Ann", None).await;
    host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    let cues = host.handle.room().await.unwrap().timetable.clone();
    let first = cues.cues.iter().find(|c| c.action == protocol::Action::Decant).unwrap().clone();
    let ledger = rusqlite::Connection::open(folder.path().join("class.ledger")).unwrap();
    let rule = "CREATE TRIGGER no_room BEFORE INSERT ON event WHEN NEW.kind = 'scored' BEGIN SELECT RAISE(ABORT, 'no room'); END";
    ledger.execute_batch(rule).unwrap();
    sleep_until(host.clock.instant_of(first.end())).await;
    let id = ann.score(&first.code.unwrap().to_string(), 1, 1, "liking", 5).await;
    ann.until_ended().await;
    assert!(!ann.accepted.contains_key(&id), "nothing is acknowledged that is not on disk");
    assert_eq!(ann.refusal.unwrap().0, "host_stopping");
    assert!(host.failed().await.to_string().contains("no room"));
}

#[expect(clippy::disallowed_methods, reason = "paused time is what this test measures")]
#[tokio::test(start_paused = true)]
async fn who_says_nothing_is_let_go_with_a_reason_and_who_talks_is_kept() {
    let desk = InProcess::open(CLASS, 1.0);
    assert_eq!(refused(desk.connect().await).await.0, "hello_late");
    let started = tokio::time::Instant::now();
    let silent = desk.connect().await.join("Ann", None).await;
    assert_eq!(refused(silent).await.0, "silent");
    assert!((20..22).contains(&started.elapsed().as_secs()), "{:?}", started.elapsed());
    let mut talker = desk.connect().await.join("Bob", None).await;
    for n in 0..10 {
        tokio::time::sleep(Duration::from_secs(15)).await;
        talker.say(json!({"type": "ping", "t1_us": n})).await;
        talker.until(|s| s.pongs.len() == n + 1).await;
    }
}

#[tokio::test]
async fn a_second_connection_of_a_seat_takes_its_place_over() {
    let desk = InProcess::open(CLASS, 1.0);
    let first = desk.connect().await.join("Ann", None).await;
    let token = first.token.clone();
    let mut second = desk.connect().await.join("Ann", Some(&token)).await;
    assert_eq!(second.welcome["seat"], first.welcome["seat"]);
    assert_eq!(refused(first).await.0, "replaced");
    second.say(json!({"type": "ping", "t1_us": 1})).await;
    second.until(|s| !s.pongs.is_empty()).await;
    assert!(
        desk.host.handle.view(0).await.unwrap().seats[0].linked,
        "the old connection's end changes nothing"
    );
}

#[tokio::test]
async fn a_stopping_host_says_so_and_holds_the_class() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    let InProcess { host, folder } = desk;
    host.stop().await.unwrap();
    let mut ann = ann;
    ann.until(|s| s.phase == "held").await;
    assert_eq!(refused(ann).await.0, "host_stopping");
    let again = tests::desk::host_in(folder.path(), CLASS, 1.0, 0);
    assert_eq!(again.handle.view(0).await.unwrap().phase, protocol::Phase::Held);
}

/// Raw bytes over TCP: what no WebSocket library would send.
#[tokio::test]
async fn broken_frames_end_one_connection_and_nothing_else() {
    let mut desk = InProcess::open(CLASS, 1.0);
    let address = desk.host.listen(TcpListener::bind("127.0.0.1:0").await.unwrap()).unwrap();
    let upgrade = "GET / HTTP/1.1\r\nHost: localhost\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n\
                   Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n";
    let frames: [&[u8]; 7] = [
        &[0x81, 0x05, b'h', b'e'],                                     // unmasked and cut off
        &[0x81, 0xfe, 0xff],                                           // cut off in its length
        &[0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff],             // reserved bits, endless length
        &[0x81, 0x82, 1, 2, 3, 4, 0xc3 ^ 1, 0x28 ^ 2],                 // not UTF-8
        &[0x81, 0xff, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff], // nine exabytes announced
        &[0x80, 0x80, 1, 2, 3, 4],                                     // a continuation of nothing
        b"GET / HTTP/1.1\r\n\r\n",
    ];
    for frame in frames {
        let mut stream = TcpStream::connect(address).await.unwrap();
        stream.write_all(upgrade.as_bytes()).await.unwrap();
        stream.write_all(frame).await.unwrap();
        stream.shutdown().await.unwrap();
        let mut rest = Vec::new();
        // It ends by itself, whatever it says.
        timeout(Duration::from_secs(20), stream.read_to_end(&mut rest)).await.unwrap().ok();
    }
    for junk in [&b""[..], b"\r\n\r\n", b"\x16\x03\x01\x02\x00\x01", b"POST /x HTTP/1.1\r\nHost: x\r\n\r\n"] {
        let mut stream = TcpStream::connect(address).await.unwrap();
        stream.write_all(junk).await.unwrap();
        stream.shutdown().await.unwrap();
        let mut rest = Vec::new();
        timeout(Duration::from_secs(20), stream.read_to_end(&mut rest)).await.unwrap().ok();
    }
    let ann = ModelSeat::dial(&address.to_string())
        .await
        .with(&join_code(&desk.host).await)
        .join("Ann", None)
        .await;
    assert_eq!(ann.phase, "lobby");
}

#[tokio::test]
async fn a_thousand_connections_that_say_nothing_do_not_keep_a_seat_out() {
    host::door::limits::allow_many_connections();
    let mut desk = InProcess::open(CLASS, 1.0);
    let address = desk.host.listen(TcpListener::bind("127.0.0.1:0").await.unwrap()).unwrap();
    let mut crowd = Vec::new();
    for _ in 0..1000 {
        // One by one: a queue that overflows in the system would leave connections that only one end knows of.
        crowd.push(TcpStream::connect(address).await.unwrap());
    }
    let mut ann = ModelSeat::dial(&address.to_string())
        .await
        .with(&join_code(&desk.host).await)
        .join("Ann", None)
        .await;
    desk.host.handle.teacher(Teacher::Start { anyway: false }).await.unwrap().unwrap();
    ann.until(|s| s.phase == "running").await;
    let let_go = crowd.into_iter().map(|mut silent| async move {
        // An end or a reset: what matters is that the host has let go by itself.
        silent.read(&mut [0; 64]).await.unwrap_or(0)
    });
    let ends = timeout(Duration::from_secs(30), join_all(let_go)).await.expect("the silent ones are let go");
    assert!(ends.iter().all(|&bytes| bytes == 0));
    ann.say(json!({"type": "ping", "t1_us": 1})).await;
    ann.until(|s| !s.pongs.is_empty()).await;
}

/// When strangers could hold every place before the hello, whoever came after them heard `busy`.
#[tokio::test(start_paused = true)]
async fn strangers_who_hold_all_places_lose_them_to_people_and_the_longest_silent_first() {
    let desk = InProcess::open(CLASS, 1.0);
    let silent = |door: host::door::Door| {
        let (near, far) = tokio::io::duplex(1024);
        (near, tokio::spawn(door.serve(far, Some(IpAddr::from([192, 0, 2, 9])))))
    };
    let mut spoke = desk.stranger().await;
    let crowd: Vec<_> = (0..3_000).map(|_| silent(desk.host.door.clone())).collect();
    let ann = desk.connect().await.join("Ann", None).await;
    assert_eq!(ann.phase, "lobby");
    tokio::task::yield_now().await;
    let let_go = crowd.iter().filter(|(_, served)| served.is_finished()).count();
    assert!((952..=960).contains(&let_go), "{let_go} of those beyond 2,048");
    assert!(crowd[..950].iter().all(|(_, served)| served.is_finished()), "the longest silent");
    spoke.say(json!({"type": "hello", "protocol": 5})).await;
    assert_eq!(refused(spoke).await.0, "join_code_wanted", "another address keeps its place");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn whatever_a_seat_says_the_host_answers_the_next_one(messages in prop::collection::vec(
        prop_oneof![
            any::<String>(),
            "\\{\"type\":\"(score|ping|hello|pong)\",\"[a-z_0-9]{1,9}\":[0-9\"a-z{}\\[\\]]{0,9}\\}",
            Just(r#"{"type":"score","id":"00000000-0000-0000-0000-000000000003","code":"417","steep":4294967295,"revision":1,"values":{"liking":-2147483648}}"#.to_string()),
            Just(r#"{"type":"ping","t1_us":-9223372036854775808}"#.to_string()),
        ], 1..6)) {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        runtime.block_on(async {
            let desk = InProcess::open(CLASS, 1.0);
            let mut odd = desk.connect().await.join("odd", None).await;
            for message in messages {
                odd.send(Message::text(message)).await;
            }
            let next = desk.connect().await.join("next", None).await;
            assert_eq!(next.phase, "lobby");
        });
    }
}

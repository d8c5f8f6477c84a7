//! The join code: nothing is told before it, wrong ones are counted, and who is seated needs none.

use host::stored;
use ledger::{Ledger, Sqlite};
use protocol::JoinCode;
use room::{Event, Kind, Room, Teacher};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tests::desk::{InProcess, host_in, join_code};
use tests::model::{ModelSeat, Pipe};
use tests::program::{Running, path};
use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex, split};
use tokio_tungstenite::tungstenite::Message;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
const WRONG: &str = "2222-2222";

/// Whether bytes hold a text.
fn hold(bytes: &[u8], text: &str) -> bool {
    bytes.windows(text.len()).any(|part| part == text.as_bytes())
}

/// A model seat on a connection of which all is kept that the host sends.
async fn overheard(desk: &InProcess) -> (ModelSeat, Arc<Mutex<Vec<u8>>>) {
    let ((near, middle), (beyond, far)) = (duplex(64 * 1024), duplex(64 * 1024));
    tokio::spawn(desk.host.door.clone().serve(far, None));
    let heard = Arc::new(Mutex::new(Vec::new()));
    let ((mut from_seat, mut to_seat), (mut from_host, mut to_host)) = (split(middle), split(beyond));
    tokio::spawn(async move { tokio::io::copy(&mut from_seat, &mut to_host).await });
    let kept = heard.clone();
    tokio::spawn(async move {
        let mut bytes = [0; 4096];
        while let Ok(count @ 1..) = from_host.read(&mut bytes).await {
            kept.lock().unwrap().extend_from_slice(&bytes[..count]);
            if to_seat.write_all(&bytes[..count]).await.is_err() {
                break;
            }
        }
    });
    let pipe: Box<dyn Pipe> = Box::new(near);
    (ModelSeat::connect(pipe).await, heard)
}

/// All bytes to a seat that brews, one that came late, one that looks on and one that came back.
#[tokio::test(start_paused = true)]
async fn the_names_of_blind_teas_go_to_no_seat_before_they_are_revealed() {
    let desk = InProcess::open(CLASS, 1.0);
    let teacher = async |wish| desk.host.handle.teacher(wish).await.unwrap().unwrap();
    let room = desk.host.handle.room().await.unwrap();
    let names: Vec<String> =
        room.class.teas.iter().flat_map(|tea| [tea.name.clone(), tea.leaf.clone()]).collect();
    let code = join_code(&desk.host).await;
    let (seat, first) = overheard(&desk).await;
    let mut ann = seat.with(&code).join("Ann", None).await;
    teacher(Teacher::Start { anyway: true }).await;
    ann.until(|s| s.phase == "running").await;
    let (watcher, second) = overheard(&desk).await;
    let watcher = watcher.with(&code).join_as("Board", None, json!({"role": "watches"})).await;
    // To the end of the last tasting; whoever says nothing meanwhile is let go, and comes back.
    tokio::time::sleep(Duration::from_secs(3_600)).await;
    let (seat, third) = overheard(&desk).await;
    let mut ann = seat.with(&code).join("Ann", Some(&ann.token)).await;
    let id = ann.score("417", 1, 1, "liking", 7).await;
    ann.until(|s| s.accepted.contains_key(&id)).await;
    teacher(Teacher::Say("to all".into())).await;
    teacher(Teacher::Close { last_call_s: 0 }).await;
    ann.until(|s| s.phase == "closed").await;
    for heard in [&first, &second, &third] {
        let heard = heard.lock().unwrap();
        assert!(heard.len() > 1_000, "{} bytes", heard.len());
        for name in &names {
            assert!(!hold(&heard, name), "{name}");
        }
    }
    teacher(Teacher::Reveal(None)).await;
    ann.until(|s| s.revealed.len() == 4).await;
    let third = third.lock().unwrap();
    assert!(names.iter().all(|name| hold(&third, name)), "and all of them after it");
    drop(watcher);
}

#[tokio::test(start_paused = true)]
async fn before_a_right_code_no_byte_tells_anything_of_the_class() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Annabel", None).await;
    let room = desk.host.handle.room().await.unwrap();
    let mut secrets = vec!["Annabel".to_string(), room.class.title.clone(), room.class_id.to_string()];
    secrets.push(room.class_id.simple().to_string());
    secrets.push(room.seats[0].id.0.to_string());
    secrets.extend(room.class.teas.iter().flat_map(|tea| [tea.name.clone(), tea.leaf.clone()]));
    secrets.extend(room.class.coded().map(|(code, _)| format!("\"{code}\"")));
    let (stranger, class_id) = (host::clock::fresh_id(), &ann.class["class_id"]);
    let join =
        |class_id: &Value, token: &str| json!({"class_id": class_id, "name": "Annabel", "token": token});
    let hello = |code: Option<&str>, join: Option<Value>| {
        Message::text(json!({"type": "hello", "protocol": 5, "join_code": code, "join": join}).to_string())
    };
    let old = json!({"type": "hello", "protocol": 2, "name": "Annabel", "token": ann.token});
    let made_elsewhere = json!({"class_id": class_id, "name": "Annabel",
        "proofs": ann.proofs(class_id.as_str().unwrap(), &ann.token)});
    let cases = [
        ("silence", None),
        ("a hello without a code", Some(hello(None, None))),
        ("a wrong code", Some(hello(Some(WRONG), None))),
        ("the class and another token", Some(hello(None, Some(join(class_id, &stranger.to_string()))))),
        ("the same with a wrong code", Some(hello(Some(WRONG), Some(join(class_id, &stranger.to_string()))))),
        ("another class and Ann's token", Some(hello(None, Some(join(&json!(stranger), &ann.token))))),
        ("Ann's proof, for another connection", Some(hello(None, Some(made_elsewhere)))),
        ("an older hello", Some(Message::text(old.to_string()))),
        ("a ping", Some(Message::text(json!({"type": "ping", "t1_us": 1}).to_string()))),
        ("nonsense", Some(Message::text("{"))),
        ("bytes", Some(Message::binary(vec![1, 2, 3]))),
    ];
    for (case, message) in cases {
        let (mut seat, heard) = overheard(&desk).await;
        if let Some(message) = message {
            seat.send(message).await;
        }
        seat.until_ended().await;
        let heard = heard.lock().unwrap();
        assert!(hold(&heard, "refusal"), "{case}");
        for secret in &secrets {
            assert!(!hold(&heard, secret), "{case}: {secret}");
        }
    }
    let (seat, heard) = overheard(&desk).await;
    seat.with(&join_code(&desk.host).await).join("Bob", None).await;
    let heard = heard.lock().unwrap();
    assert!(hold(&heard, &room.class.title) && hold(&heard, &room.class_id.to_string()));
}

#[tokio::test(start_paused = true)]
async fn a_neighbours_wrong_codes_keep_nobody_with_the_right_one_out() {
    let mut desk = InProcess::open(CLASS, 1.0);
    let mut refused = Vec::new();
    for _ in 0..40 {
        let mut wrong = desk.stranger().await.with(WRONG);
        wrong.knock().await;
        refused.push(wrong.refusal.unwrap().0);
    }
    let (first, rest) = refused.split_at(10);
    assert!(first.iter().all(|code| code == "join_code_wrong"), "{first:?}");
    assert!(rest.iter().all(|code| code == "join_code_too_often"), "{rest:?}");
    let ann = desk.connect().await.join("Ann", None).await;
    assert_eq!(ann.phase, "lobby");
    let mut told = Vec::new();
    while let Ok(happening) = desk.host.happenings.try_recv() {
        if let host::Happening::Guesses(words) = happening {
            told.push(words);
        }
    }
    let words =
        "many wrong join codes come from somewhere; nobody comes in by them. `code new` draws another code";
    assert_eq!(told, [words], "the teacher hears of it once");
    tokio::time::sleep(Duration::from_secs(6)).await;
    let mut again = desk.stranger().await.with(WRONG);
    again.knock().await;
    assert_eq!(again.refusal.unwrap().0, "join_code_wrong", "after the wait it is looked at again");
}

#[tokio::test(start_paused = true)]
async fn a_new_code_shuts_the_old_one_out_and_who_is_seated_comes_back_by_the_proof_alone() {
    let desk = InProcess::open(CLASS, 1.0);
    let ann = desk.connect().await.join("Ann", None).await;
    let old = join_code(&desk.host).await;
    let new: JoinCode = "9999-9999".parse().unwrap();
    desk.host.handle.teacher(Teacher::JoinCode(new)).await.unwrap().unwrap();
    let mut late = desk.stranger().await.with(&old);
    late.knock().await;
    assert_eq!(late.refusal.unwrap().0, "join_code_wrong");
    let bob = desk.stranger().await.with("99999999").join("Bob", None).await;
    assert_eq!(bob.phase, "lobby");
    let mut back = desk.stranger().await;
    back.until(|s| !s.greeting.is_null()).await;
    let class_id = ann.welcome["class_id"].as_str().unwrap();
    let join = json!({"class_id": class_id, "name": "Ann", "proofs": back.proofs(class_id, &ann.token)});
    back.say(json!({"type": "hello", "protocol": 5, "join": join})).await;
    back.until(|s| !s.welcome.is_null()).await;
    assert_eq!((&back.welcome["seat"], back.class.is_null()), (&ann.welcome["seat"], true));
}

#[tokio::test(start_paused = true)]
async fn a_seat_of_an_earlier_protocol_hears_the_hosts_version_first_and_nothing_else() {
    let desk = InProcess::open(CLASS, 1.0);
    let mut old = desk.stranger().await;
    old.until(|s| !s.greeting.is_null()).await;
    let nil = "00000000-0000-0000-0000-000000000000";
    let nonce = old.greeting["nonce"].as_str().unwrap();
    assert!(nonce.len() == 32 && nonce.bytes().all(|digit| digit.is_ascii_hexdigit()), "{nonce}");
    assert_eq!(
        old.greeting,
        json!({"type": "greeting", "protocol": 5, "nonce": nonce, "class_id": nil, "title": ""})
    );
    old.until_ended().await;
    assert_eq!(old.refusal.unwrap().0, "hello_late");
}

#[tokio::test]
async fn a_code_stays_over_a_restart_is_another_for_each_ledger_and_an_older_ledger_gets_one() {
    let codes: BTreeSet<String> = {
        let mut codes = BTreeSet::new();
        for _ in 0..8 {
            let InProcess { host, folder } = InProcess::open(CLASS, 1.0);
            let code = join_code(&host).await;
            host.stop().await.unwrap();
            let again = host_in(folder.path(), CLASS, 1.0, 0);
            assert_eq!(join_code(&again).await, code);
            codes.insert(code);
        }
        codes
    };
    assert_eq!(codes.len(), 8, "each class draws its own");

    let InProcess { host, folder } = InProcess::open(CLASS, 1.0);
    host.stop().await.unwrap();
    let path = folder.path().join("class.ledger");
    let mut older = stored::read(&path).unwrap();
    older.retain(|entry| entry.event.kind() != Kind::JoinCodeDrawn);
    (1..).zip(&mut older).for_each(|(seq, entry)| entry.seq = seq);
    std::fs::remove_file(&path).unwrap();
    let mut ledger = Sqlite::open(&path).unwrap();
    stored::append(&mut ledger, &older).unwrap();
    ledger.settle().unwrap();
    drop(ledger);
    assert_eq!(Room::replay(stored::read(&path).unwrap()).unwrap().join_code, None);
    let host = host_in(folder.path(), CLASS, 1.0, 0);
    let code = join_code(&host).await;
    let drawn = stored::read(&path).unwrap();
    let drawn: Vec<_> = drawn.iter().filter(|e| matches!(e.event, Event::JoinCodeDrawn { .. })).collect();
    assert_eq!(drawn.len(), 1);
    let bob = ModelSeat::connect(desk_pipe(&host)).await.with(&code).join("Bob", None).await;
    assert_eq!(bob.phase, "lobby");
}

fn desk_pipe(host: &host::Host) -> impl Pipe + 'static {
    let (near, far) = duplex(64 * 1024);
    tokio::spawn(host.door.clone().serve(far, None));
    near
}

/// The same host by its other name.
fn by_another_address(address: &str) -> String {
    address.replace("127.0.0.1", "localhost")
}

struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
        Self { folder }
    }

    fn host(&self, more: &[&str]) -> (Running, String) {
        let class = self.folder.path().join("class.toml");
        let anywhere: &[&str] = if more.contains(&"--listen") { &[] } else { &["--listen", "127.0.0.1:0"] };
        let host =
            Running::start("kettlecall", &[&["open", class.to_str().unwrap()], more, anywhere].concat());
        let address = host.wait_for("listening: ").trim_start_matches("listening: ").to_string();
        (host, address)
    }

    fn seat(&self, address: &str, more: &[&str]) -> Running {
        let keep = self.folder.path().join("ann.json");
        let args = [address, "--name", "Ann", "--plain", "--keep", keep.to_str().unwrap()];
        Running::start("kettleseat", &[&args, more].concat())
    }
}

#[test]
fn a_seat_that_nobody_can_be_asked_at_ends_with_a_sentence_and_3_and_one_that_had_the_code_remembers_it() {
    let place = Place::new();
    let (mut host, address) = place.host(&[]);
    let (code, lines) = place.seat(&address, &[]).end();
    let words = "refused: a join code is needed here; it is on the teacher's screen; give it with --code";
    assert_eq!((code, lines.as_slice()), (3, [words.to_string()].as_slice()));
    let (code, lines) = place.seat(&address, &["--code", WRONG]).end();
    let words =
        "refused: that join code is not right; the right one is on the teacher's screen; give it with --code";
    assert_eq!((code, lines.as_slice()), (3, [words.to_string()].as_slice()));
    let mut seat = place.seat(&address, &["--code", &host.code().to_lowercase().replace('-', "")]);
    seat.wait_for("seated as Ann");
    seat.type_in("leave");
    assert_eq!(seat.end().0, 0);
    // The code is another one by now; the token leads back.
    host.type_in("code new");
    host.wait_for("the join code is ");
    let mut seat = place.seat(&address, &[]);
    seat.wait_for("seated as Ann");
    seat.type_in("leave");
    assert_eq!(seat.end().0, 0);
    host.type_in("code");
    host.wait_for_count("join: kettleseat ", 2);
    // By another address the class is not known, and the code that the seat remembers is no longer right.
    let elsewhere = by_another_address(&address);
    assert_eq!(place.seat(&elsewhere, &[]).end().0, 3);
    let shown = host.wait_for("the join code is ");
    let new = shown.trim_start_matches("the join code is ").split(' ').next().unwrap();
    place.seat(&elsewhere, &["--code", new]).wait_for("seated as Ann");
}

#[test]
fn at_another_address_a_seat_gives_no_code_that_it_remembers_and_by_one_that_is_typed_finds_its_class_again()
{
    let place = Place::new();
    let (host, address) = place.host(&[]);
    let mut seat = place.seat(&address, &["--code", &host.code()]);
    seat.wait_for("seated as Ann");
    seat.type_in("leave");
    assert_eq!(seat.end().0, 0);
    let there = by_another_address(&address);
    let (ended, lines) = place.seat(&there, &[]).end();
    assert_eq!((ended, lines.len()), (3, 1), "{lines:?}");
    assert!(lines[0].contains("give it with --code"), "{lines:?}");
    place.seat(&there, &["--code", &host.code()]).wait_for("seated as Ann");
    host.wait_for_count("linked: Ann", 2);
    let seats = host.lines().iter().filter(|line| line.starts_with("seated: ")).count();
    assert_eq!(seats, 1, "it is the same seat");
}

#[test]
fn the_next_class_at_the_same_address_asks_for_its_own_code_and_the_old_one_is_no_wrong_try() {
    let place = Place::new();
    let (mut monday, address) = place.host(&[]);
    let mut seat = place.seat(&address, &["--code", &monday.code()]);
    seat.wait_for("seated as Ann");
    seat.type_in("leave");
    seat.end();
    monday.type_in("stop");
    monday.end();
    let friday = place.folder.path().join("friday.ledger");
    let friday = ["--ledger", friday.to_str().unwrap(), "--listen", &address];
    let (host, _) = place.host(&friday);
    for _ in 0..11 {
        let (code, lines) = place.seat(&address, &[]).end();
        assert_eq!((code, lines.len()), (3, 1), "{lines:?}");
        assert!(lines[0].starts_with("refused: a join code is needed here"), "{lines:?}");
    }
    place.seat(&address, &["--code", &host.code()]).wait_for("seated as Ann");
    assert!(!host.lines().iter().any(|line| line.contains("wrong join codes")), "{:?}", host.lines());
}

#[test]
fn behind_an_open_door_nobody_is_asked_and_the_teacher_is_told_that_it_is_open() {
    let place = Place::new();
    let (mut host, address) = place.host(&["--open-door"]);
    host.wait_for(
        "notice: the door is open: whoever can reach this machine may take a seat, without a join code",
    );
    assert!(!host.wait_for("join: ").contains("--code"));
    place.seat(&address, &[]).wait_for("seated as Ann");
    host.type_in("code new");
    host.wait_for("the door is open: no join code is asked");
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread")]
async fn in_a_terminal_the_code_is_asked_for_until_it_is_right() {
    let place = Place::new();
    let (host, address) = place.host(&[]);
    for (name, more) in [("Ann", None), ("Bob", Some("--plain"))] {
        let mut seat = Command::new(path("kettleseat"));
        seat.args([&address, "--name", name, "--keep", &format!("{name}.json")]).args(more);
        let seat = seat.current_dir(place.folder.path()).env("TERM", "xterm");
        let mut terminal = crate::terminal::Terminal::start(seat);
        terminal.until("a join code is needed here; it is on the teacher's screen").await;
        terminal.press("KX0M\r");
        terminal.until("a join code has no 0").await;
        terminal.press(&format!("{WRONG}\r"));
        terminal.until("that join code is not right").await;
        terminal.press(&format!("{}\r", host.code().to_lowercase()));
        terminal.until("seated as").await;
    }
}

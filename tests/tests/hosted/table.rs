//! At the table, with real programs: a last call with two drafts, a pourer who does not score, a name on paper that nobody
//! has, and a rehearsal before its class.

use host::stored;
use protocol::{Phase, Role};
use room::{Room, Teacher};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;
use tests::desk::InProcess;
use tests::model::ModelSeat;
use tests::program::{Running, path};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");
const TWO_POURERS: &str = include_str!("../../../server/tests/classes/five-teas.toml");

/// A folder with a class file in it.
fn folder(class: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("class.toml"), class).unwrap();
    folder
}

fn room(ledger: &Path) -> Room {
    Room::replay(stored::read(ledger).unwrap()).unwrap()
}

/// What a program says: its exit code, then standard output and standard error.
fn says(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let out = Command::new(path("kettlecall")).current_dir(folder).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

/// A host on a class file without a ledger of its own choice.
fn open(named: &Path, more: &[&str]) -> (Running, String) {
    let args = ["open", named.to_str().unwrap(), "--listen", "127.0.0.1:0"];
    let host = Running::start("kettlecall", &[&args, more].concat());
    let line = host.wait_for("listening: ");
    (host, line.trim_start_matches("listening: ").to_string())
}

/// Hears until the class is closed; on the way, at the end of the last call, sends the sheet that it has begun.
async fn writing(mut seat: ModelSeat, code: &str, value: i32) -> (String, ModelSeat) {
    seat.say(json!({"type": "writing", "sheets": 1})).await;
    seat.until(|s| s.last_call_us.is_some()).await;
    // By the host's own clock: this seat has none.
    let mut n = 0;
    while seat.pongs.last().is_none_or(|pong| pong["t2_us"].as_i64() < seat.last_call_us) {
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        seat.say(json!({"type": "ping", "t1_us": n})).await;
        n += 1;
        seat.until(|s| s.pongs.len() == n).await;
    }
    let id = seat.score(code, 1, 1, "liking", value).await;
    seat.until(|s| s.phase == "closed").await;
    (id, seat)
}

#[tokio::test(flavor = "multi_thread")]
async fn two_drafts_are_sent_at_the_end_of_the_last_call_and_then_the_class_closes_by_itself() {
    let folder = folder(CLASS);
    let ledger = folder.path().join("class.ledger");
    let (mut host, address) = Running::host(&folder.path().join("class.toml"), &ledger, "127.0.0.1:0", 100);
    let ann = ModelSeat::dial(&address).await.with(&host.code()).join("Ann", None).await;
    let bob = ModelSeat::dial(&address).await.with(&host.code()).join("Bob", None).await;
    let (host, [(ann_id, ann), (bob_id, bob)]) = {
        let seats = tokio::spawn(async move {
            let (ann, bob) = tokio::join!(writing(ann, "417", 7), writing(bob, "238", 3));
            [ann, bob]
        });
        let host = tokio::task::spawn_blocking(move || {
            host.type_in("start");
            host.wait_for("cue: taste round 1");
            host.type_in("hold");
            host.wait_for("held: ");
            // Of two seconds: the bells of real programs ring by real clocks.
            host.type_in("close 2");
            host.wait_for("Still blind: ");
            host.wait_for("last call: ");
            host.type_in("y");
            host.wait_for("the names are told when the class has closed");
            host.wait_for("revealed: ");
            let (code, lines) = host.end();
            assert_eq!(code, 0, "{lines:#?}");
            lines
        });
        (host.await.unwrap(), seats.await.unwrap())
    };
    assert!(ann.accepted.contains_key(&ann_id) && bob.accepted.contains_key(&bob_id), "nothing is lost");
    assert!(host.iter().any(|line| line.starts_with("closed: ")), "{host:#?}");
    assert_eq!(host.iter().filter(|line| line.starts_with("Still blind: ")).count(), 1, "{host:#?}");
    let room = room(&ledger);
    assert_eq!((room.phase, room.scores.counting().count()), (Phase::Closed, 2));
    assert_eq!(
        room.revealed.len(),
        room.class.teas.len(),
        "who said yes in the last call has revealed at its end"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_pourer_who_does_not_score_owes_nothing_and_is_told_so() {
    let folder = folder(&CLASS.replace("\"each seat\"", "1"));
    let ledger = folder.path().join("class.ledger");
    let (mut host, address) = Running::host(&folder.path().join("class.toml"), &ledger, "127.0.0.1:0", 200);
    let pours = json!({"pourer": 1, "role": "pours_only"});
    let mut pia = ModelSeat::dial(&address).await.with(&host.code()).join_as("Pia", None, pours).await;
    let keep = folder.path().join("ann.json");
    let mut ann = Running::start(
        "kettleseat",
        &[&address, "--code", &host.code(), "--name", "Ann", "--plain", "--keep", keep.to_str().unwrap()],
    );
    ann.wait_for("seated as Ann");
    pia.until(|s| s.here["names"] == json!(["Pia", "Ann"])).await;
    assert_eq!((&pia.welcome["role"], &pia.welcome["hands"]), (&json!("pours_only"), &json!(1)));
    let ann = tokio::task::spawn_blocking(move || {
        host.type_in("start");
        ann.wait_for("now: taste round 1");
        ann.type_in("417/1 5 6");
        ann.wait_for("kept: 417 steep 1");
        (host, ann)
    });
    let (mut host, ann) = ann.await.unwrap();
    let id = pia.score("417", 1, 1, "liking", 9).await;
    pia.until(|s| s.declined.contains_key(&id)).await;
    assert_eq!(pia.declined[&id], "not_scoring");
    host.type_in("who");
    host.wait_for("Pia, pourer 1: linked");
    host.type_in("hold");
    host.type_in("close now");
    assert_eq!(host.end().0, 0);
    assert_eq!(ann.end().0, 0);
    assert_eq!(room(&ledger).seat_named("Pia").unwrap().role, Role::PoursOnly);
    let (_, text, _) = says(folder.path(), &["review", "class.ledger"]);
    assert!(text.contains("1 of 4 sheets are in") && !text.contains("Pia:"), "{text}");
}

/// A closed class in which Bob has scored.
fn given(folder: &Path) -> PathBuf {
    let ledger = folder.join("class.ledger");
    let (mut host, address) = Running::host(&folder.join("class.toml"), &ledger, "127.0.0.1:0", 200);
    let keep = folder.join("bob.json");
    let mut bob = Running::start(
        "kettleseat",
        &[&address, "--code", &host.code(), "--name", "Bob", "--plain", "--keep", keep.to_str().unwrap()],
    );
    bob.wait_for("seated as Bob");
    host.type_in("start");
    bob.wait_for("now: taste round 1");
    bob.type_in("417/1 5 6");
    bob.wait_for("kept: 417 steep 1");
    host.type_in("hold");
    host.wait_for("held: ");
    host.type_in("close now");
    assert_eq!((host.end().0, bob.end().0), (0, 0));
    ledger
}

#[test]
fn a_name_on_paper_that_nobody_has_is_asked_about_and_what_went_wrong_is_put_right() {
    let folder = folder(CLASS);
    let (ledger, folder) = (given(folder.path()), folder.path());
    let paper =
        "seat,code,steep,attribute,value\nBobb,417,1,liking,8\nBobb,238,1,liking,2\nZoe,417,1,liking,4\n";
    std::fs::write(folder.join("paper.csv"), paper).unwrap();
    let (code, _, words) = says(folder, &["enter", "class.ledger", "paper.csv"]);
    assert_eq!(code, 3);
    assert!(words.contains("no seat is named Bobb; did you mean Bob?"), "{words}");
    assert!(words.contains("2 faults: nothing was entered"), "one for each name: {words}");
    let new = ["enter", "class.ledger", "paper.csv", "--new-seat", "Zoe", "--new-seat", "Bobb"];
    let (code, entered, _) = says(folder, &new);
    assert_eq!(
        (code, entered.as_str()),
        (0, "entered: 3 new scores, 0 there already; seats added: Bobb, Zoe\n")
    );
    // It was Bob all the same, and Zoe's cup was spilled.
    let correct = |args: &[&str]| says(folder, &[&["correct", "class.ledger"], args].concat());
    let (code, checked, _) = correct(&["--check", "join", "Bobb", "Bob"]);
    assert_eq!(
        (code, checked.as_str()),
        (0, "checked, nothing put right: Bobb and Bob are one person: Bob\n")
    );
    assert_eq!(correct(&["join", "Bobb", "Bob"]).0, 0);
    assert_eq!(correct(&["join", "Bobb", "Bob"]).1, "it is so already\n");
    assert_eq!(correct(&["void", "417/1", "--seat", "Zoe", "--reason", "spilled"]).0, 0);
    let (code, _, words) = correct(&["rename", "Zo", "Zoey"]);
    assert_eq!((code, words.trim()), (2, "no seat is named Zo; did you mean Zoe?"));
    let (code, _, words) = correct(&["void", "417", "--reason", "spilled"]);
    assert_eq!(code, 2);
    assert!(words.contains("for example 417/1"), "{words}");
    let room = room(&ledger);
    let bob = room.seat_named("Bob").unwrap().id;
    let likings: Vec<i32> = room.scores.of_seat(bob).map(|kept| kept.score.values["liking"]).collect();
    assert_eq!(likings, [2, 8], "the later of the two counts");
    let (_, text, _) = says(folder, &["review", "class.ledger"]);
    let first: Vec<&str> = text.lines().take(6).collect();
    assert!(first.contains(&"Bobb and Bob are one person: Bob."), "{first:#?}");
    assert!(first.contains(&"417 steep 1 of Zoe does not count: spilled."), "{first:#?}");
    let (_, without, _) = says(folder, &["review", "class.ledger", "--without", "zoe"]);
    assert!(without.contains("Zoe is left out of this review."), "{without}");
    let (code, _, words) = says(folder, &["review", "class.ledger", "--without", "Zo"]);
    assert_eq!(code, 2);
    assert!(words.starts_with("no seat is named Zo; did you mean Zoe?"), "{words}");
    let (code, _, words) = says(folder, &["review", "class.ledger", "--seat", "Bop"]);
    assert_eq!(code, 2);
    assert!(words.starts_with("no seat is named Bop; did you mean Bob?"), "{words}");
}

#[test]
fn a_rehearsal_has_a_ledger_of_its_own_and_the_class_begins_beside_it() {
    let folder = folder(CLASS);
    let (class, folder) = (folder.path().join("class.toml"), folder.path());
    let (rehearsal, real) = (folder.join("class.rehearsal.ledger"), folder.join("class.ledger"));
    let (mut host, _) = open(&class, &["--pace", "200"]);
    host.wait_for("notice: rehearsal: the class runs 200 times as fast");
    host.type_in("start");
    host.wait_for("cue: taste round 1");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    assert!(rehearsal.is_file() && !real.exists());
    assert_eq!(room(&rehearsal).rehearsal(), Some(200.0));
    let (_, text, _) = says(folder, &["review", "class.rehearsal.ledger"]);
    assert!(text.lines().nth(2).unwrap().starts_with("A rehearsal"), "{text}");
    // Opened at pace 1 it says so, and the class itself begins.
    let (mut host, _) = open(&rehearsal, &[]);
    host.wait_for("class.rehearsal.ledger is a rehearsal's; the class itself begins in");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    let begun = room(&real);
    assert_eq!((begun.rehearsal(), begun.phase), (None, Phase::Lobby));
    assert_ne!(begun.class_id, room(&rehearsal).class_id);
    let (mut host, _) = open(&rehearsal, &[]);
    host.wait_for("the class itself goes on in");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    // Neither is opened as the other by its name.
    let refused = |args: &[&str]| says(folder, &[&["open"], args, &["--listen", "127.0.0.1:0"]].concat());
    let (code, _, words) = refused(&["class.ledger", "--pace", "60"]);
    assert_eq!(code, 4);
    assert!(words.contains("is the ledger of a class and no rehearsal"), "{words}");
    let (code, _, words) = refused(&["class.toml", "--ledger", "class.rehearsal.ledger"]);
    assert_eq!(code, 4);
    assert!(words.contains("is the ledger of a rehearsal"), "{words}");
    let (mut host, _) = open(&class, &["--pace", "150"]);
    host.type_in("stop");
    assert_eq!(host.end().0, 0, "a rehearsal goes on at any pace but that of the room");
}

fn asks_for(pourer: Option<u8>) -> Value {
    pourer.map_or(json!({}), |pourer| json!({"pourer": pourer}))
}

/// In a blind class whoever only tastes does not learn how hot and how long.
#[tokio::test(start_paused = true)]
async fn who_takes_over_a_pourers_place_joins_again_and_is_cued_as_a_pourer() {
    let desk = InProcess::open(&TWO_POURERS.replace("pourers = 1", "pourers = 2"), 1.0);
    let mut seats = Vec::new();
    for (name, pourer) in [("Ann", Some(1)), ("Ben", Some(2)), ("Cy", None)] {
        seats.push(desk.connect().await.join_as(name, None, asks_for(pourer)).await);
    }
    let teacher = async |wish| desk.host.handle.teacher(wish).await.unwrap().unwrap();
    teacher(Teacher::Start { anyway: false }).await;
    teacher(Teacher::PourerIs { pourer: "Ann".into(), name: "Cy".into() }).await;
    for (seat, name, hands) in [(2, "Cy", json!(1)), (0, "Ann", json!(null))] {
        seats[seat].until_ended().await;
        let (code, reason) = seats[seat].refusal.clone().unwrap();
        assert_eq!(code, "other");
        assert_eq!(reason, "the teacher has changed who pours; this seat joins again by itself");
        let asks = (seat == 0).then_some(1);
        let again = desk.connect().await.join_as(name, Some(&seats[seat].token), asks_for(asks)).await;
        assert_eq!(again.welcome["hands"], hands, "{name}");
        let told_heat = again.cues.iter().any(|cue| cue["temp_c"].is_number());
        assert_eq!(told_heat, name == "Cy", "{name}");
    }
}

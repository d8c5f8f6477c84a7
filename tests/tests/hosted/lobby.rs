//! The teacher lets people in by name.

use crate::overheard::{Program, There, tokens};
use host::Happening::AtDoor;
use room::{Teacher, Who};
use seat::app::Happening;
use std::time::Duration;
use tests::desk::{InProcess, host_in, join_code};
use tests::model::ModelSeat;
use tests::program::Running;
use tokio::time::sleep;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

async fn by_name() -> InProcess {
    let desk = InProcess::open(CLASS, 1.0);
    desk.host.handle.lobby(Some(true)).await.unwrap();
    desk
}

async fn waiting(desk: &InProcess) -> Vec<String> {
    desk.host.handle.lobby(None).await.unwrap().names
}

/// Who was said to be at the door since it was asked last.
fn told(desk: &mut InProcess) -> Vec<String> {
    let happenings = std::iter::from_fn(|| desk.host.happenings.try_recv().ok());
    let said = |happening| if let AtDoor { called, why } = happening { Some(called + &why) } else { None };
    happenings.filter_map(said).collect()
}

#[tokio::test(start_paused = true)]
async fn who_is_new_waits_at_the_door_and_sits_down_soon_after_the_teacher_has_said_the_name() {
    let mut desk = by_name().await;
    let there = There::Host(desk.host.door.clone());
    let mut ann = Program::start(there.clone(), &join_code(&desk.host).await, None);
    let at_door = |what: &Happening| matches!(what, Happening::AtDoor { reason } if reason.starts_with("you are at the door as Ann; the teacher lets"));
    ann.until(at_door).await;
    sleep(Duration::from_secs(300)).await;
    assert_eq!((waiting(&desk).await, told(&mut desk)), (vec!["Ann".to_string()], vec!["Ann".to_string()]));
    assert_eq!(desk.host.handle.admit("Zoe").await.unwrap(), Ok(true), "for when she comes");
    assert_eq!(desk.host.handle.admit("ann").await.unwrap(), Ok(true));
    sleep(Duration::from_secs(2)).await;
    let room = desk.host.handle.room().await.unwrap();
    assert_eq!((room.seats.len(), waiting(&desk).await.len()), (1, 0));
    ann.seated().await;
    let said = tokens(&ann.said());
    assert_eq!(said, [room.seats[0].token], "however often it asked, it said its token once");
    // Who is of the class comes back by itself.
    ann.unlinked().await;
    ann.there.send_replace(there);
    ann.linked_again().await;
    assert_eq!(told(&mut desk), Vec::<String>::new());
}

#[tokio::test(start_paused = true)]
async fn a_name_at_the_door_is_its_own_until_it_is_left_and_what_was_refused_before_is_refused_there() {
    let mut desk = by_name().await;
    let refused =
        async |desk: &InProcess, name: &str| desk.connect().await.join(name, None).await.refusal.unwrap();
    assert_eq!(refused(&desk, "Ann").await.0, "not_admitted");
    assert_eq!(refused(&desk, "ANN").await.0, "not_admitted", "the first locks nobody out");
    assert_eq!(refused(&desk, "A n n").await.0, "not_admitted");
    assert_eq!(refused(&desk, "\u{410}nn").await.0, "bad_name");
    assert_eq!(
        told(&mut desk),
        [
            "Ann",
            "ANN 2 (another ANN: one waits there already)",
            "A n n 3 (came as A n n, which reads like Ann, who waits there)",
        ]
    );
    desk.host.handle.admit("all").await.unwrap().unwrap();
    assert_eq!(refused(&desk, "Ann").await.0, "name_taken", "it is for the one who waits");
    sleep(Duration::from_secs(31)).await;
    assert_eq!(waiting(&desk).await, Vec::<String>::new());
    let ann = desk.connect().await.join("Ann", None).await;
    assert_eq!(ann.phase, "lobby");
    assert_eq!(refused(&desk, "Ann").await.0, "name_taken");
    assert_eq!(refused(&desk, "Bob").await.0, "not_admitted");
    desk.host.handle.lobby(Some(false)).await.unwrap();
    sleep(Duration::from_secs(31)).await;
    assert_eq!(desk.connect().await.join("Bob", None).await.phase, "lobby");
}

#[tokio::test(start_paused = true)]
async fn who_was_let_in_ahead_is_listed_until_they_come_or_it_is_taken_back() {
    let desk = by_name().await;
    let handle = desk.host.handle.clone();
    let ahead = async || handle.lobby(None).await.unwrap().ahead;
    handle.admit("Zoe, Bob, stranger one, stranger two").await.unwrap().unwrap();
    assert_eq!(ahead().await, ["Bob", "stranger one", "stranger two", "Zoe"]);
    assert_eq!(desk.connect().await.join("Bob", None).await.phase, "lobby");
    let away = async |names: &str| {
        let (who, reason) = (Who::Named(names.into()), String::new());
        handle.teacher(Teacher::Away { who, without_scores: false, reason }).await.unwrap()
    };
    assert_eq!(away("zoe").await, Ok(true));
    assert_eq!((away("stranger*").await, ahead().await), (Ok(true), Vec::<String>::new()));
    let refused = desk.connect().await.join("Zoe", None).await.refusal.unwrap();
    assert_eq!(refused.0, "not_admitted");
    assert_eq!(away("Zed").await.unwrap_err().reason, "no seat is named Zed");
    // Of one who waits and is let in, that is taken back too.
    handle.admit("Zoe").await.unwrap().unwrap();
    assert_eq!(ahead().await, Vec::<String>::new(), "she is at the door");
    assert_eq!(away("Zoe").await, Ok(true));
    assert_eq!(desk.connect().await.join("Zoe", None).await.refusal.unwrap().0, "not_admitted");
}

#[tokio::test(start_paused = true)]
async fn who_was_let_in_sits_down_after_a_restart_of_the_host_too() {
    let desk = by_name().await;
    let code = join_code(&desk.host).await;
    assert_eq!(desk.connect().await.join("Ann", None).await.refusal.unwrap().0, "not_admitted");
    desk.host.handle.admit("Ann").await.unwrap().unwrap();
    let InProcess { host, folder } = desk;
    host.crash().await;
    let host = host_in(folder.path(), CLASS, 1.0, 0);
    host.handle.lobby(Some(true)).await.unwrap();
    let seat = async || {
        let (near, far) = tokio::io::duplex(64 * 1024);
        tokio::spawn(host.door.clone().serve(far, None));
        ModelSeat::connect(near).await.with(&code)
    };
    assert_eq!(seat().await.join("Ann", None).await.phase, "lobby");
    assert_eq!(seat().await.join("Bob", None).await.refusal.unwrap().0, "not_admitted");
}

#[tokio::test(start_paused = true)]
async fn places_are_raised_while_the_class_is_open() {
    let desk = InProcess::open(CLASS, 1.0);
    desk.host.handle.places(1).await.unwrap();
    assert_eq!(desk.connect().await.join("Ann", None).await.phase, "lobby");
    assert_eq!(desk.connect().await.join("Bob", None).await.refusal.unwrap().0, "class_full");
    desk.host.handle.places(2).await.unwrap();
    assert_eq!(desk.connect().await.join("Bob", None).await.phase, "lobby");
}

#[test]
fn a_teacher_lets_people_in_by_typing_their_names() {
    let folder = tempfile::tempdir().unwrap();
    let class = folder.path().join("class.toml");
    std::fs::write(&class, CLASS).unwrap();
    let mut host = Running::start(
        "kettlecall",
        &["open", class.to_str().unwrap(), "--lobby", "--listen", "127.0.0.1:0"],
    );
    let address = host.wait_for("listening: ").trim_start_matches("listening: ").to_string();
    host.wait_for("notice: people are let in by name: who is new waits at the door until you type admit");
    let code = host.code();
    let seat = |name: &str| {
        let keep = folder.path().join(format!("{name}.json"));
        let args = [&address, "--name", name, "--plain", "--code", &code, "--keep", keep.to_str().unwrap()];
        Running::start("kettleseat", &args)
    };
    let (mut ann, bob) = (seat("Ann"), seat("Bob"));
    ann.wait_for("you are at the door as Ann; the teacher lets people in by name. Stay here: this seat asks");
    host.wait_for("Ann is at the door; type: admit Ann");
    host.wait_for("Bob is at the door; type: admit Bob");
    host.type_in("lobby");
    host.wait_for("who is new is let in by name; at the door: ");
    host.type_in("admit Zoe");
    host.wait_for("let in: Zoe, whose seat sits down within some seconds of coming to the door");
    host.type_in("lobby");
    host.wait_for("let in, not yet here: Zoe; `away Zoe` takes that back");
    host.type_in("away Zoe");
    host.wait_for("taken back: Zoe is not let in on coming");
    host.type_in("admit Ann");
    host.wait_for("let in: Ann, whose seat sits down within some seconds");
    ann.wait_for("seated as Ann");
    host.type_in("places 1");
    host.wait_for("1 seat may be taken from now on");
    host.type_in("lobby off");
    host.wait_for("who is new is let in by the join code alone");
    bob.wait_for(
        "refused: the one place is taken; ask the teacher, who can type `places` and a greater number",
    );
    ann.type_in("leave");
    assert_eq!(ann.end().0, 0);
}

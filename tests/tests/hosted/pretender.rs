//! Somebody who says that they are the host of the class: what a seat tells them opens nothing at the real one.

use crate::overheard::{Program, There, tokens};
use protocol::wire::{HostMessage, RefusalCode};
use seat::app::{End, Fill, Happening, SeatInput};
use serde_json::Value;
use std::time::Duration;
use tests::desk::{InProcess, host_in, join_code};
use tests::model::ModelSeat;
use tokio::time::sleep;
use uuid::Uuid;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

/// What the real host gives to somebody who says a hello that was heard elsewhere: the seat, or nothing.
async fn tried(desk: &InProcess, hello: &str) -> Option<Value> {
    let mut stranger = desk.stranger().await;
    stranger.say(serde_json::from_str(hello).unwrap()).await;
    stranger.until(|s| !s.welcome.is_null() || !s.class.is_null() || s.ended).await;
    Some(stranger.welcome["seat"].clone()).filter(|seat| !seat.is_null())
}

#[tokio::test(start_paused = true)]
async fn whoever_pretends_to_be_the_class_hears_nothing_that_opens_a_seat_of_it_and_the_seat_finds_back() {
    let desk = InProcess::open(CLASS, 1.0);
    let (code, door) = (join_code(&desk.host).await, desk.host.door.clone());
    let mut ann = Program::start(There::Host(door.clone()), &code, None);
    ann.seated().await;
    let seats = async || desk.host.handle.room().await.unwrap().seats.clone();
    let before = seats().await;
    assert_eq!(tokens(&ann.said()), [before[0].token], "a new seat says its token");
    let class_id = desk.host.handle.room().await.unwrap().class_id;
    let class = HostMessage::Class { class_id, title: "Four by three".into() };
    let other = HostMessage::Class { class_id: Uuid::from_u128(9), title: "Another one".into() };
    let wanted = HostMessage::refusal(RefusalCode::JoinCodeWanted, "a code, please");
    let busy = HostMessage::refusal(RefusalCode::Busy, "once more");
    let welcome = ann.welcome();
    for answers in [
        vec![welcome.clone()],
        vec![class.clone(), welcome.clone()],
        vec![class.clone(), class.clone()],
        vec![class.clone(), busy],
        vec![other, class.clone(), welcome],
        vec![wanted],
    ] {
        ann.unlinked().await;
        ann.said();
        ann.there.send_replace(There::Pretender(answers));
        sleep(Duration::from_secs(60)).await;
        let said = ann.said();
        assert!(said.iter().any(|text| text.contains("\"proofs\"")), "{said:?}");
        assert!(!said.concat().contains(&before[0].token.0.to_string()), "{said:?}");
        let hellos = said.iter().filter(|text| text.contains("\"hello\""));
        for hello in hellos {
            assert_eq!(tried(&desk, hello).await, None, "{hello}");
        }
        for token in tokens(&said) {
            let proves = desk.stranger().await.with(&code).join("Ann", Some(&token.0.to_string())).await;
            assert_eq!(proves.refusal.unwrap().0, "name_taken");
        }
        ann.there.send_replace(There::Host(door.clone()));
        ann.linked_again().await;
        let said = ann.said();
        assert_eq!(tokens(&said), [], "what was told to somebody else is not said again: {said:?}");
    }
    assert_eq!(seats().await, before);
}

#[tokio::test(start_paused = true)]
async fn a_seat_that_a_stranger_welcomed_first_says_the_class_another_token() {
    let desk = InProcess::open(CLASS, 1.0);
    let (code, door) = (join_code(&desk.host).await, desk.host.door.clone());
    let mut ben = Program::start(There::Host(door.clone()), &code, None);
    ben.seated().await;
    let class_id = desk.host.handle.room().await.unwrap().class_id;
    let class = HostMessage::Class { class_id, title: "Four by three".into() };
    let pretender = There::Pretender(vec![class, ben.welcome()]);
    ben.say.send(SeatInput::Leave).await.unwrap();
    assert_eq!(ben.end.await.unwrap(), End::Left);
    desk.host.handle.teacher(room::Teacher::Release("Ann".into())).await.unwrap().unwrap();

    let mut ann = Program::start(pretender, &code, None);
    ann.seated().await;
    let told = tokens(&ann.said());
    ann.unlinked().await;
    ann.there.send_replace(There::Host(door));
    ann.linked_again().await;
    let said = tokens(&ann.said());
    assert!(told.len() == 1 && said.len() == 1 && told != said);
    assert_eq!(desk.host.handle.room().await.unwrap().seats[0].token, said[0]);
}

#[tokio::test(start_paused = true)]
async fn at_a_host_that_has_lost_the_end_of_its_ledger_a_seat_sits_down_anew_and_its_scores_come_in_again() {
    let desk = InProcess::open(CLASS, 1.0);
    let code = join_code(&desk.host).await;
    let bob = desk.connect().await.join("Bob", None).await;
    desk.host.handle.teacher(room::Teacher::Start { anyway: true }).await.unwrap().unwrap();
    // To the end of the first tasting.
    sleep(Duration::from_secs(200)).await;
    let InProcess { host, folder } = desk;
    host.stop().await.unwrap();
    let (path, earlier) = (folder.path().join("class.ledger"), folder.path().join("earlier"));
    std::fs::copy(&path, &earlier).unwrap();

    let host = host_in(folder.path(), CLASS, 1.0, 0);
    let mut ann = Program::start(There::Host(host.door.clone()), &code, None);
    ann.seated().await;
    let tea = host.handle.room().await.unwrap().class.coded().next().unwrap().0;
    let fill = Fill { steep: Some(1), values: vec![Some(5)], ..Fill::of(tea) };
    ann.say.send(SeatInput::Fill(fill)).await.unwrap();
    ann.until(|what| matches!(what, Happening::Kept { .. })).await;
    ann.unlinked().await;
    let lost = host.handle.room().await.unwrap();
    host.stop().await.unwrap();
    std::fs::remove_file(&path).unwrap();
    std::fs::copy(&earlier, &path).unwrap();

    let host = host_in(folder.path(), CLASS, 1.0, 3_600_000_000);
    ann.said();
    ann.there.send_replace(There::Host(host.door.clone()));
    ann.linked_again().await;
    let said = tokens(&ann.said());
    let room = host.handle.room().await.unwrap();
    let (names, new): (Vec<&str>, _) = (room.seats.iter().map(|s| s.name.as_str()).collect(), &room.seats[1]);
    assert_eq!((names, said), (vec!["Bob", "Ann"], vec![new.token]));
    assert_ne!(new.token, lost.seats[1].token, "a token is said once");
    let kept = async || host.handle.room().await.unwrap().scores.all().len();
    sleep(Duration::from_secs(5)).await;
    assert_eq!((kept().await, lost.scores.all().len()), (1, 1));
    drop(bob);
}

#[tokio::test(start_paused = true)]
async fn a_seats_file_of_the_first_form_leads_to_the_same_seat_and_is_of_the_new_form_from_then_on() {
    let desk = InProcess::open(CLASS, 1.0);
    let class_id = desk.host.handle.room().await.unwrap().class_id;
    let secret = Uuid::from_u128(77);
    let mut earlier = desk.connect().await;
    earlier.knock().await;
    let token = Uuid::new_v5(&secret, class_id.as_bytes());
    let join = serde_json::json!({"class_id": class_id, "name": "Ann", "token": token});
    earlier
        .say(serde_json::json!({"type": "hello", "protocol": 5, "join_code": earlier.code, "join": join}))
        .await;
    earlier.until(|s: &ModelSeat| !s.welcome.is_null()).await;
    let seat = &earlier.welcome["seat"];
    let file = serde_json::json!({"form": 1, "secret": secret, "classes": [
        {"class_id": class_id, "seat": seat, "name": "Ann", "outbox": [], "address": "tea:4177"}]});
    let path = desk.folder.path().join("ann.json");
    std::fs::write(&path, file.to_string()).unwrap();
    let mut ann = Program::start(There::Host(desk.host.door.clone()), "", Some(path.clone()));
    ann.seated().await;
    let HostMessage::Welcome(welcome) = ann.welcome() else { panic!("a welcome") };
    assert_eq!((&serde_json::json!(welcome.seat), tokens(&ann.said()).len()), (seat, 0));
    let kept: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
    assert_eq!((&kept["form"], &kept["tokens"][0]["welcomed"][0]), (&2.into(), &serde_json::json!(token)));
}

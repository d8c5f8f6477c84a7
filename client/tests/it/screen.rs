//! The program on a whole screen: a real process in a terminal of its own, seated at a scripted host.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use crate::host::{Host, welcome};
use crate::terminal::{BEFORE, Terminal};
use protocol::wire::{HostMessage, Welcome};
use protocol::{Action, Code, Cue, HostTime, Phase, TeaCard, Timetable};
use std::path::Path;
use std::process::Command;
use tokio::net::TcpListener;

fn code(number: u16) -> Code {
    Code::new(number).unwrap()
}

/// Two teas of one steep: 417 is ready two seconds after the seat has come, 238 some seconds later. This seat tastes 238
/// first, so that an untouched sheet of 417 would give way to it.
fn two_teas() -> Welcome {
    let cue = |at_s: i64, action, number, length_s| {
        Cue::new(HostTime(at_s * 1_000_000), action, Some(code(number)), 1, 1, length_s)
    };
    let cues = vec![
        cue(10, Action::Pour, 417, 5),
        cue(12, Action::Pour, 238, 5),
        cue(31, Action::Decant, 417, 1),
        cue(35, Action::Decant, 238, 1),
    ];
    let card = |number| TeaCard { code: code(number), steeps: 1, name: None, leaf: None, recipe: None };
    let teas = vec![card(417), card(238)];
    Welcome { order: vec![code(238), code(417)], ..welcome(teas, Timetable::new(1, cues)) }
}

async fn seated(directory: &Path) -> (Terminal, Host) {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let mut command = Command::new(env!("CARGO_BIN_EXE_kettleseat"));
    command.args([&address, "--name", "Ann", "--keep", "seat.json", "--keep-notes", "notes.txt"]);
    let terminal = Terminal::start(command.current_dir(directory).env("TERM", "xterm"));
    let mut host = Host::take(&listener).await;
    host.joined().await;
    host.send(HostMessage::Welcome(Box::new(two_teas()))).await;
    (terminal, host)
}

fn points(score: &protocol::Score) -> (String, u32, Vec<i32>) {
    let values = ["aroma", "taste", "aftertaste", "liking"].iter();
    let values = values.filter_map(|name| score.values.get(*name).copied());
    (score.code.to_string(), score.revision, values.collect())
}

#[tokio::test]
async fn a_decant_that_falls_while_somebody_types_takes_no_key_away_and_a_last_call_sends_two_begun_sheets() {
    let directory = tempfile::tempdir().unwrap();
    let (mut terminal, mut host) = seated(directory.path()).await;
    // The host answers all the while.
    let first = tokio::spawn(async move {
        let score = host.score().await;
        (host, score)
    });
    terminal.until("SHEET  417 steep 1").await;
    assert!(!terminal.shown().contains(BEFORE), "{}", terminal.shown());
    terminal.press("\t");
    // What is typed within half a second of a sheet that came by itself is left out: the host's time is a second further.
    terminal.until("in 0:02  decant 238").await;
    terminal.press("76");
    terminal.until("[6]").await;
    terminal.until("238 is ready: Tab").await;
    assert!(terminal.shown().contains("SHEET  417 steep 1 · draft"), "{}", terminal.shown());
    terminal.press("58\r");
    let (mut host, score) = first.await.unwrap();
    assert_eq!(points(&score), ("417".into(), 1, vec![7, 6, 5, 8]));
    host.send(HostMessage::Accepted { seq: 4, id: score.id, link: String::new() }).await;
    terminal.until("417 steep 1 is kept · 1 line blank · now 238 steep 1").await;
    // What comes just after Enter is left out, but not at a cup that was asked for.
    terminal.press("/238/1\r43");
    host.writing(1).await;
    terminal.press("/417/1\r");
    terminal.until("SHEET  417 steep 1 · kept").await;
    // A sheet that was sent takes no key before Enter has opened it.
    terminal.press("\r9");
    host.writing(2).await;
    let until = host.at + 4_000_000;
    host.send(HostMessage::LastCall { seq: 5, until }).await;
    terminal.until("last call 0:0").await;
    let last = [host.score().await, host.score().await];
    assert_eq!(points(&last[0]), ("238".into(), 1, vec![4, 3]));
    assert_eq!(points(&last[1]), ("417".into(), 2, vec![9, 6, 5, 8]));
    for (seq, score) in (6..).zip(&last) {
        host.send(HostMessage::Accepted { seq, id: score.id, link: String::new() }).await;
    }
    let timetable = two_teas().timetable;
    host.send(HostMessage::Course { seq: 8, phase: Phase::Closed, timetable }).await;
    terminal.until("The class is closed.").await;
    terminal.until("Your scores and notes are kept in `notes.txt`.").await;
    let notes = std::fs::read_to_string(directory.path().join("notes.txt")).unwrap();
    assert!(notes.contains("steep 1: aroma 9, taste 6, aftertaste 5, liking 8"), "{notes}");
    terminal.press("\u{3}");
    // The page is gone with the screen, and what stood there before is back.
    terminal.until("your scores and notes are kept in `notes.txt`").await;
    assert!(terminal.shown().contains(BEFORE), "{}", terminal.shown());
    assert_eq!(terminal.child.wait().unwrap().code(), Some(0));
}

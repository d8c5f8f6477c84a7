//! Both real programs, the seat on a whole screen: somebody tabs, types and waits while decants fall, and a last call ends with
//! two sheets begun.

use crate::terminal::Terminal;
use host::stored;
use protocol::Phase;
use room::Room;
use std::process::Command;
use tests::program::{Running, path};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

/// The cup whose sheet is on the screen: `417`.
fn on_the_sheet(terminal: &Terminal) -> String {
    let shown = terminal.shown();
    let (_, from) = shown.split_once("SHEET  ").unwrap_or_else(|| panic!("no sheet is there:\n{shown}"));
    from.chars().take(3).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn decants_fall_while_somebody_tabs_and_types_and_a_last_call_sends_two_begun_sheets() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
    let ledger = folder.path().join("class.ledger");
    let (mut host, address) = Running::host(&folder.path().join("class.toml"), &ledger, "127.0.0.1:0", 60);
    let mut seat = Command::new(path("kettleseat"));
    seat.args([&address, "--code", &host.code(), "--name", "Ann", "--keep", "seat.json"]);
    let mut ann = Terminal::start(seat.current_dir(folder.path()).env("TERM", "xterm"));
    ann.until("You are seated as Ann").await;
    host.type_in("start");
    // The first cup: Ann takes it up with a key, so that it is hers until she leaves it.
    ann.until("SHEET  ").await;
    let first = on_the_sheet(&ann);
    ann.press(&format!("/{first}/1\r5"));
    ann.until(&format!("SHEET  {first} steep 1 · draft")).await;
    host.wait_for("cue: taste round 1");
    host.type_in("hold");
    ann.until("ready: Tab").await;
    assert_eq!(on_the_sheet(&ann), first, "three decants later the keys are for the same cup");
    ann.press("6\r");
    host.wait_for(&format!("scored: {first} steep 1 by Ann"));
    // Two more sheets are begun: of the cup that came by itself, and of the one that Tab leads to.
    let others: Vec<&str> = ["417", "238", "862", "305"].into_iter().filter(|code| *code != first).collect();
    for (code, value) in [(others[0], "7"), (others[1], "8")] {
        ann.press(&format!("/{code}/1\r{value}"));
        ann.until(&format!("SHEET  {code} steep 1 · draft")).await;
    }
    host.type_in("close 2");
    ann.until("last call 0:0").await;
    assert_eq!(on_the_sheet(&ann), others[1]);
    for code in &others[..2] {
        host.wait_for(&format!("scored: {code} steep 1 by Ann"));
    }
    // Nothing more is on its way that the host would wait for.
    host.type_in("close now");
    let (code, lines) = host.end();
    assert_eq!(code, 0, "{lines:#?}");
    ann.until("The class is closed.").await;
    let room = Room::replay(stored::read(&ledger).unwrap()).unwrap();
    let scores = room.scores.counting().map(|kept| {
        let points = ["aroma", "liking"].map(|name| kept.score.values.get(name).copied());
        (kept.score.code.to_string(), kept.score.steep, points)
    });
    let mut found: Vec<_> = scores.collect();
    found.sort();
    let mut sent = vec![
        (first, 1, [Some(5), Some(6)]),
        (others[0].to_string(), 1, [Some(7), None]),
        (others[1].to_string(), 1, [Some(8), None]),
    ];
    sent.sort();
    assert_eq!((room.phase, found), (Phase::Closed, sent));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_board_shows_the_whole_class_asks_for_nothing_and_tells_no_name_while_teas_are_blind() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
    let ledger = folder.path().join("class.ledger");
    let (mut host, address) = Running::host(&folder.path().join("class.toml"), &ledger, "127.0.0.1:0", 60);
    let mut board = Command::new(path("kettleseat"));
    board.args([&address, "--code", &host.code(), "--board", "--keep", "board.json"]);
    let mut board = Terminal::start(board.current_dir(folder.path()).env("TERM", "xterm"));
    host.wait_for("seated: board");
    board.until("to come · 3 steeps").await;
    host.type_in("start");
    board.until("steeping · steep 1 of 3").await;
    // Letters of a sheet do nothing here.
    board.press("7\r5\t");
    board.until("then decant ").await;
    let shown = board.shown();
    assert!(!shown.contains("SHEET") && !shown.contains("WARNING"), "{shown}");
    let names: Vec<String> =
        CLASS.lines().filter_map(|l| l.strip_prefix("name = ")).map(|n| n.trim_matches('"').into()).collect();
    assert!(names.len() > 3 && names.iter().all(|name| !shown.contains(name)), "{shown}");
    board.press("q");
    host.wait_for("link lost: board");
    host.type_in("stop");
    let (code, lines) = host.end();
    assert_eq!(code, 0, "{lines:#?}");
    let room = Room::replay(stored::read(&ledger).unwrap()).unwrap();
    assert_eq!((room.scores.counting().count(), room.seats[0].role), (0, protocol::Role::Watches));
}

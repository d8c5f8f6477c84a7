//! A whole class through pseudo-terminals: the host on its screen and three seats, steered all the way, and one seat's program
//! that dies and comes back.

use crate::terminal::Terminal;
use host::stored;
use protocol::Phase;
use room::Room;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use summary::summarise;
use tests::program::path;

const CLASS: &str = r#"title = "Steered evening"
date = 2026-11-28
seats = 3
pourers = "each seat"
blind = false
pour_s = 8
decant_s = 6
taste_s = 600
pause_s = 10
[sheet]
attributes = ["aroma", "liking"]
[[tea]]
name = "Lantern Slope"
code = 417
leaf_g = 3
water_ml = 100
temp_c = 95
steep_s = [45, 60]
[[tea]]
name = "Snow Gully"
code = 238
leaf_g = 3
water_ml = 100
temp_c = 95
steep_s = [50, 30]
[[tea]]
name = "Copper Pier"
code = 862
leaf_g = 3
water_ml = 100
temp_c = 95
steep_s = [60, 40]
"#;
const NAMES: [&str; 3] = ["Ann", "Ben", "Cy"];

fn host(folder: &Path) -> Terminal {
    let mut host = Command::new(path("kettlecall"));
    host.args(["open", "class.toml", "--ledger", "class.ledger", "--listen", "127.0.0.1:0", "--pace", "10"]);
    Terminal::start(host.current_dir(folder).env("TERM", "xterm"))
}

fn seat(folder: &Path, name: &str, how: &[String]) -> Terminal {
    let mut seat = Command::new(path("kettleseat"));
    seat.args(how).args(["--name", name, "--keep", &format!("{name}.json")]);
    Terminal::start(seat.current_dir(folder).env("TERM", "xterm"))
}

/// Whether the host's table has a tea in this state.
fn is(shown: &str, code: &str, state: &str) -> bool {
    shown.lines().any(|line| line.starts_with(&format!(" {code} ")) && line.contains(state))
}

/// The teacher types a line, and waits for what comes of it.
async fn teach(host: &mut Terminal, line: &str, words: &str) {
    host.press(&format!("{line}\r"));
    host.until(words).await;
}

/// Everybody scores a cup, each with points of their own.
async fn score(host: &mut Terminal, seats: &mut [Terminal], code: &str, round: u32) {
    for ((seat, name), points) in seats.iter_mut().zip(NAMES).zip(["56", "67", "78"]) {
        seat.press(&format!("/{code}/{round}\r"));
        // A repeat is called by its steep, with its round behind.
        let (sheet, in_round) = (format!("SHEET  {code} steep "), format!(" in round {round}"));
        let is = |line: &str| line.contains(&format!("{sheet}{round}")) || line.contains(&in_round);
        let words = format!("the sheet of {code} in round {round}");
        seat.until_so(&words, |shown| shown.lines().any(|line| line.contains(&sheet) && is(line))).await;
        seat.press(&format!("{points}\r"));
        host.until(&format!("scored: {code} steep {round} by {name}")).await;
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_steered_class_with_a_seat_that_dies_keeps_every_score_under_the_steep_as_served() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
    let mut host = host(folder.path());
    host.until("--name YOUR-NAME").await;
    let shown = host.shown();
    let join = shown.split("kettleseat ").nth(1).and_then(|rest| rest.split(" --name").next()).unwrap();
    let how: Vec<String> = join.split_whitespace().map(String::from).collect();
    let mut seats: Vec<Terminal> = NAMES.iter().map(|name| seat(folder.path(), name, &how)).collect();
    for (seat, name) in seats.iter_mut().zip(NAMES) {
        seat.until(&format!("You are seated as {name}")).await;
    }
    teach(&mut host, "start", "started: ").await;

    // A wet steep is made longer, and a tea is dropped that stays in the cup.
    host.until_so("862 is steeping", |shown| is(shown, "862", "steeping")).await;
    teach(&mut host, "longer 862 40", "862 steeps 100 s in round 1").await;
    teach(&mut host, "drop 862", "862 is served no more from round 2 on").await;
    // A hold while it is wet: it is decanted all the same.
    host.press(" ");
    host.until("held: ").await;
    host.until_so("862 is decanted", |shown| is(shown, "862", "dropped")).await;
    teach(&mut host, "resume", "resumed: ").await;
    seats[0].until("NOW   taste round 1").await;
    for code in ["417", "238", "862"] {
        score(&mut host, &mut seats, code, 1).await;
    }
    // One steep again at the end, and one act that is taken back.
    teach(&mut host, "again 417", "417 steep 1 is steeped in round 3, 45 s").await;
    teach(&mut host, "skip 238 2", "238 is left out of round 2").await;
    teach(&mut host, "undo", "undone: ").await;
    teach(&mut host, "taste end", "round 1 is tasted").await;

    // A seat's program dies in the second round, and is started again with nothing but the address.
    host.until_so("417 is steeping", |shown| is(shown, "417", "steeping")).await;
    seats[2].child.kill().unwrap();
    host.until("link lost: Cy").await;
    seats[2] = seat(folder.path(), "Cy", &how[..1]);
    host.until("linked: Cy").await;
    seats[0].until("NOW   taste round 2").await;
    for code in ["417", "238"] {
        score(&mut host, &mut seats, code, 2).await;
    }
    teach(&mut host, "taste end", "round 2 is tasted").await;
    seats[0].until("NOW   taste round 3").await;
    score(&mut host, &mut seats, "417", 3).await;
    host.press("close now\r");
    for seat in &mut seats {
        seat.until("The class is closed.").await;
    }

    let room = Room::replay(stored::read(&folder.path().join("class.ledger")).unwrap()).unwrap();
    assert_eq!(room.phase, Phase::Closed);
    let review = summarise(&room, room.last_at);
    let mut cups = Vec::new();
    for tea in &review.teas {
        for cup in &tea.steeps {
            let turn = tea.course.iter().find(|turn| turn.round == cup.steep).unwrap();
            assert_eq!(cup.missing, [], "{} round {}", tea.code, cup.steep);
            cups.push((tea.code.to_string(), cup.steep, turn.steep, turn.steep_s, turn.left_out));
        }
    }
    let cup = |code: &str, round, steep, steep_s| (code.to_string(), round, steep, Some(steep_s), false);
    let served = [
        cup("417", 1, 1, 45),
        cup("417", 2, 2, 60),
        cup("417", 3, 1, 45),
        cup("238", 1, 1, 50),
        cup("238", 2, 2, 30),
        cup("862", 1, 1, 100),
    ];
    assert_eq!(cups.iter().cloned().collect::<BTreeSet<_>>(), BTreeSet::from(served));
    let likings = room.scores.counting().map(|kept| {
        let name = room.seat_of(kept.seat).map(|seat| seat.name.clone()).unwrap();
        let points = ["aroma", "liking"].map(|line| kept.score.values[line]);
        (kept.score.code.to_string(), kept.score.steep, name, points)
    });
    let wanted = cups.iter().flat_map(|(code, round, ..)| {
        let points = NAMES.iter().zip([[5, 6], [6, 7], [7, 8]]);
        points.map(|(name, points)| (code.clone(), *round, name.to_string(), points))
    });
    assert_eq!(likings.collect::<BTreeSet<_>>(), wanted.collect::<BTreeSet<_>>());
}

//! A whole class with the real programs as processes: four teas, three rounds, six seats, one late, one killed and
//! rejoined, one that never scores. Instants are only reported here; `instants.rs` asserts them in paused time.

use host::stored;
use protocol::{Action, Cue, Timetable};
use room::Room;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use tests::program::{Running, path};

/// A folder with the class file in it.
struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("class.toml"), include_str!("../../classes/four-by-three.toml"))
            .unwrap();
        Self { folder }
    }

    fn class(&self) -> PathBuf {
        self.folder.path().join("class.toml")
    }

    fn ledger(&self) -> PathBuf {
        self.folder.path().join("class.ledger")
    }

    fn room(&self) -> Room {
        Room::replay(stored::read(&self.ledger()).unwrap()).unwrap()
    }

    fn seat(&self, host: &Running, address: &str, name: &str) -> Running {
        let (keep, code) = (self.folder.path().join(format!("{name}.json")), host.code());
        let keep = keep.to_str().unwrap();
        let args = [address, "--code", &code, "--name", name, "--plain", "--stamp", "--keep", keep];
        let seat = Running::start("kettleseat", &args);
        seat.wait_for("seated as ");
        seat
    }
}

/// The cues a seat printed, in its words without the stamp, each with its stamp in seconds.
fn cues(lines: &[String]) -> Vec<(String, f64)> {
    let cue = |line: &String| {
        let (stamp, words) = line.strip_prefix('[')?.split_once("] ")?;
        let is_cue = words.starts_with("now: ") || words.starts_with("the sheet of round");
        is_cue.then(|| (words.to_string(), stamp.trim().parse().unwrap()))
    };
    lines.iter().filter_map(cue).collect()
}

/// Whether a printed cue is this one.
fn is(cue: &Cue, words: &str) -> bool {
    match cue.action {
        Action::SheetCloses => words == format!("the sheet of round {} closes", cue.steep),
        Action::Taste => words.starts_with(&format!("now: taste round {} ", cue.steep)),
        Action::PourOff => {
            cue.code.is_some_and(|code| words.starts_with(&format!("now: pour off the rinse of {code}")))
        }
        Action::Lid => words == format!("now: {cue}"),
        _ => words.starts_with(&format!("now: {cue} ")) && words.contains(&format!("(steep {}", cue.steep)),
    }
}

/// Asserts that what a seat printed is one unbroken run of the timetable, in order and without a repeat; gives where the
/// run begins and ends, and the largest distance between a stamp and its instant in host seconds.
fn unbroken(timetable: &Timetable, lines: &[String]) -> (usize, usize, f64) {
    let seen = cues(lines);
    let begin = timetable.cues.iter().position(|c| is(c, &seen[0].0)).unwrap();
    let end = begin + seen.len();
    let mut furthest: f64 = 0.0;
    for (cue, (words, stamp)) in timetable.cues[begin..].iter().zip(&seen) {
        assert!(is(cue, words), "expected {cue} steep {}, saw `{words}` in {seen:#?}", cue.steep);
        furthest = furthest.max((stamp - cue.at.0 as f64 / 1e6).abs());
    }
    assert!(end <= timetable.cues.len(), "more cues than there are: {seen:#?}");
    (begin, end, furthest)
}

/// Types a sheet for every cup of a round; `shift` makes the seats differ.
fn score(seat: &mut Running, round: u32, shift: i32) {
    for (i, code) in ["417", "238", "862", "305"].iter().enumerate() {
        let value = 1 + (i as i32 + shift + round as i32) % 9;
        seat.type_in(&format!("{code}/{round} {value} {} strength 1 note {code} round {round}", 10 - value));
    }
}

/// (code, steep, attribute) → value of everything the host acknowledged, from `kept: 417 steep 1 (aroma 5, liking 6, …)`.
fn acknowledged(lines: &[String]) -> BTreeMap<(String, String, String), String> {
    let mut all = BTreeMap::new();
    for line in lines {
        let Some((_, words)) = line.split_once("kept: ") else { continue };
        let (cup, content) = words.split_once(" (").unwrap();
        let (code, steep) = cup.split_once(" steep ").unwrap();
        for attribute in ["aroma", "liking"] {
            let (_, rest) = content.split_once(&format!("{attribute} ")).unwrap();
            let value: String = rest.chars().take_while(char::is_ascii_digit).collect();
            all.insert((code.to_string(), steep.to_string(), attribute.to_string()), value);
        }
    }
    all
}

fn review(ledger: &Path, format: &str) -> String {
    let out = Command::new(path("kettlecall"))
        .args(["review", ledger.to_str().unwrap(), "--format", format])
        .output();
    let out = out.unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

/// (code, steep, attribute) → value of one seat in the CSV.
fn reviewed(csv: &str, seat: &str) -> BTreeMap<(String, String, String), String> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let heads = reader.headers().unwrap().clone();
    let column = |row: &csv::StringRecord, name: &str| {
        let at = heads.iter().position(|head| head == name).unwrap();
        row[at].to_string()
    };
    let rows = reader.records().map(Result::unwrap).filter(|row| column(row, "seat") == seat);
    let scores = rows.filter(|row| matches!(column(row, "attribute").as_str(), "aroma" | "liking"));
    scores
        .map(|row| {
            ((column(&row, "code"), column(&row, "steep"), column(&row, "attribute")), column(&row, "value"))
        })
        .collect()
}

#[test]
fn a_class_of_four_teas_three_rounds_and_six_seats_runs_from_lobby_to_review() {
    let place = Place::new();
    let (mut host, address) = Running::host(&place.class(), &place.ledger(), "127.0.0.1:0", 75);
    let mut seats: BTreeMap<&str, Running> =
        ["Ann", "Bob", "=Cy"].map(|n| (n, place.seat(&host, &address, n))).into();
    let (mut eve, finn) = (place.seat(&host, &address, "Eve"), place.seat(&host, &address, "Finn"));
    host.wait_for_count("linked: ", 5);
    host.type_in("start");
    let mut late = None;
    let mut eve_before = Vec::new();
    for round in 1..=3 {
        for (shift, seat) in seats.values_mut().chain([&mut eve]).enumerate() {
            seat.wait_for(&format!("now: taste round {round}"));
            score(seat, round, shift as i32 * 2);
        }
        seats.values().chain([&eve]).for_each(|s| s.wait_for_count("kept: ", 4));
        if round == 1 {
            late = Some(place.seat(&host, &address, "Dee"));
            eve_before = eve.kill();
            host.wait_for("link lost: Eve");
            eve = place.seat(&host, &address, "Eve");
        } else {
            let late = late.as_mut().unwrap();
            late.wait_for(&format!("now: taste round {round}"));
            score(late, round, 3);
        }
    }
    // A changed mind: the last revision counts.
    let ann = seats.get_mut("Ann").unwrap();
    ann.wait_for_count("kept: ", 12);
    ann.type_in("417/1 9 9");
    ann.wait_for_count("kept: ", 13);
    seats.values().chain([&finn]).for_each(|s| drop(s.wait_for("the sheet of round 3 closes")));
    seats.values().for_each(|s| s.wait_for_count("kept: ", 12));
    eve.wait_for_count("kept: ", 8);
    let late = late.unwrap();
    late.wait_for_count("kept: ", 8);
    late.wait_for("the sheet of round 3 closes");
    eve.wait_for("the sheet of round 3 closes");
    host.type_in("close now");
    let (code, host_lines) = host.end();
    assert_eq!(code, 0, "{host_lines:#?}");

    let timetable = place.room().timetable;
    let csv = review(&place.ledger(), "csv");
    let last = timetable.cues.len();
    let mut furthest: f64 = 0.0;
    let mut all: Vec<(&str, Vec<String>)> = Vec::new();
    for (name, seat) in seats.into_iter().chain([("Dee", late), ("Eve", eve), ("Finn", finn)]) {
        let (code, lines) = seat.end();
        assert_eq!(code, 0, "{name}: {lines:#?}");
        all.push((name, lines));
    }
    for (name, lines) in &all {
        let (begin, end, off) = unbroken(&timetable, lines);
        furthest = furthest.max(off);
        assert_eq!(end, last, "{name} saw every cue to the last");
        assert_eq!(begin == 0, !matches!(*name, "Dee" | "Eve"), "{name} began at cue {begin}");
        // What a spreadsheet would run is inert in the file.
        let shown = if *name == "=Cy" { "'=Cy" } else { name };
        let mut expected = acknowledged(lines);
        if *name == "Eve" {
            expected.extend(acknowledged(&eve_before));
        }
        assert_eq!(reviewed(&csv, shown), expected, "{name}");
        let sheets = match *name {
            "Dee" => 8,
            "Finn" => 0,
            _ => 12,
        };
        assert_eq!(expected.len(), sheets * 2, "{name}");
    }
    let (begin, end, _) = unbroken(&timetable, &eve_before);
    assert!(begin == 0 && end < last);
    assert!(csv.contains("\r\n") && csv.starts_with("class_id,title,date,seat,code,"));
    assert_eq!(reviewed(&csv, "Ann")[&("417".into(), "1".into(), "liking".into())], "9");

    let text = review(&place.ledger(), "text");
    assert!(text.contains("Finn: all 12") && text.contains("came later: Dee"), "{text}");
    assert!(text.contains("Still blind: 238, 305, 417, 862") && !text.contains("Lantern"), "{text}");
    let json: serde_json::Value = serde_json::from_str(&review(&place.ledger(), "json")).unwrap();
    assert_eq!(
        (&json["format"], &json["sheets"]["n"], &json["sheets"]["of"]),
        (&3.into(), &56.into(), &68.into())
    );
    println!(
        "furthest stamp from its instant: {furthest:.3} host s at pace 75, {:.1} ms of the room",
        furthest / 0.075
    );
}

#[test]
fn a_host_killed_in_the_middle_of_a_round_loses_no_acknowledged_score_and_wet_steeps_end_on_time() {
    let place = Place::new();
    let (mut host, address) = Running::host(&place.class(), &place.ledger(), "127.0.0.1:0", 30);
    let mut ann = place.seat(&host, &address, "Ann");
    let bob = place.seat(&host, &address, "Bob");
    host.wait_for_count("linked: ", 2);
    host.type_in("start");
    // The first cup is there, and the other teas are still under water.
    let ready = ann.wait_for("ready: ");
    let first = ready.split("ready: ").nth(1).unwrap().split(' ').next().unwrap();
    ann.type_in(&format!("{first}/1 5 6"));
    ann.wait_for(&format!("kept: {first} steep 1"));
    let before = place.room();
    host.kill();
    // The seats go on by their own clocks while no host is there.
    ann.wait_for("no link: ");
    ann.type_in(&format!("{first}/1 7 7"));
    ann.wait_for(&format!("waits for the link: {first} steep 1"));
    let (mut host, _) = Running::host(&place.class(), &place.ledger(), &address, 30);
    let after = place.room();
    assert_eq!(after.timetable, before.timetable, "what is wet ends when it would have ended");
    assert_eq!(before.scores.all().len(), 1);
    assert!(after.scores.all().starts_with(before.scores.all()), "no acknowledged score is lost");
    for seat in [&ann, &bob] {
        seat.wait_for("the link is back");
        for code in [417, 238, 862, 305] {
            seat.wait_for(&format!("now: decant {code} (steep 2)"));
        }
        seat.wait_for("now: taste round 2");
    }
    ann.wait_for_count(&format!("kept: {first} steep 1"), 2);
    host.wait_for("cue: taste round 1");
    host.type_in("hold");
    host.wait_for("held: ");
    host.type_in("close now");
    let (code, lines) = host.end();
    assert_eq!(code, 0, "{lines:#?}");
    let room = place.room();
    assert_eq!(room.scores.all().len(), 2);
    assert_eq!(room.scores.counting().count(), 1, "the revision sent while the host was away counts");
    let mut furthest: f64 = 0.0;
    for seat in [ann, bob] {
        let (code, lines) = seat.end();
        assert_eq!(code, 0, "{lines:#?}");
        furthest = furthest.max(unbroken(&before.timetable, &lines).2);
    }
    println!(
        "furthest stamp over the restart: {furthest:.3} host s at pace 30, {:.1} ms of the room",
        furthest / 0.03
    );
}

#[cfg(unix)]
#[test]
fn ctrl_c_asks_once_then_closes_cleanly_and_open_on_the_ledger_alone_continues() {
    use rustix::process::Signal;
    let place = Place::new();
    let (mut host, address) = Running::host(&place.class(), &place.ledger(), "127.0.0.1:0", 100);
    let seat = place.seat(&host, &address, "Ann");
    host.type_in("start");
    host.wait_for("cue: pour 417, ");
    host.signal(Signal::INT);
    host.wait_for("Ctrl-C again stops it");
    host.signal(Signal::INT);
    let (code, lines) = host.end();
    assert_eq!(code, 0, "{lines:#?}");
    assert!(lines.iter().any(|l| l.contains("goes on with `kettlecall open`")), "{lines:#?}");
    assert_eq!(place.room().phase, protocol::Phase::Held);
    seat.wait_for("the class holds");
    seat.wait_for("now: decant 417 (steep 1)");
    let (mut host, _) = Running::host(&place.ledger(), &place.ledger(), &address, 100);
    seat.wait_for("the link is back");
    host.type_in("resume");
    host.wait_for("cue: taste round 1");
    host.signal(Signal::TERM);
    assert_eq!(host.end().0, 0, "a request to end is not asked about");
    drop(seat);
}

#[test]
fn a_second_host_on_the_same_ledger_is_turned_away() {
    let place = Place::new();
    let (_host, _) = Running::host(&place.class(), &place.ledger(), "127.0.0.1:0", 1);
    let out = Command::new(path("kettlecall"))
        .args(["open", place.class().to_str().unwrap(), "--listen", "127.0.0.1:0"])
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(4));
    assert!(String::from_utf8_lossy(&out.stderr).contains("open in another host"));
    let ledger = place.ledger();
    let correct = ["correct", ledger.to_str().unwrap(), "rename", "Ann", "Anna"];
    let out = Command::new(path("kettlecall")).args(correct).output().unwrap();
    assert_eq!(out.status.code(), Some(4), "nor is anything put right meanwhile");
}

#[test]
fn a_host_whose_output_nobody_reads_any_more_goes_on_with_the_class() {
    use std::io::{BufRead, BufReader, Write};
    let place = Place::new();
    let class = place.class();
    let mut child = Command::new(path("kettlecall"))
        .args(["open", class.to_str().unwrap(), "--listen", "127.0.0.1:0", "--pace", "200", "--ledger"])
        .arg(place.ledger())
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let mut line = String::new();
    // The reader is dropped after one line, and with it the pipe.
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let mut typed = child.stdin.take().unwrap();
    typed.write_all(b"who\nstart\nhelp\nhold\nreveal 417\nclose now\nclose now\n").unwrap();
    // Something may still be wet just after the start: keep asking until the class is closed.
    while child.try_wait().unwrap().is_none() {
        if typed.write_all(b"close now\n").is_err() {
            break;
        }
        std::thread::yield_now();
    }
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert_eq!(place.room().phase, protocol::Phase::Closed);
}

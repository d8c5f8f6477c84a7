//! What becomes of a ledger that is taken away, replaced by an older one, or held by another program, with real programs.

use host::stored;
use ledger::inspect;
use rusqlite::Connection;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use tempfile::TempDir;
use tests::program::Running;

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

struct Place(TempDir);

impl Place {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
        Self(folder)
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn host(&self, listen: &str) -> (Running, String) {
        Running::host(&self.file("class.toml"), &self.file("class.ledger"), listen, 300)
    }

    fn seat(&self, host: &Running, address: &str, name: &str) -> Running {
        let keep = self.file(&format!("{name}.json"));
        let seat = Running::start(
            "kettleseat",
            &[address, "--code", &host.code(), "--name", name, "--plain", "--keep", keep.to_str().unwrap()],
        );
        seat.wait_for("seated as ");
        seat
    }
}

fn scores(ledger: &Path) -> usize {
    room::Room::replay(stored::read(ledger).unwrap()).unwrap().scores.all().len()
}

/// A class in its first round with one score.
fn begun(place: &Place) -> (Running, Running) {
    let (mut host, address) = place.host("127.0.0.1:0");
    let mut ann = place.seat(&host, &address, "Ann");
    host.type_in("start");
    ann.wait_for("now: taste round 1");
    ann.type_in("417/1 5 6");
    ann.wait_for("kept: 417 steep 1");
    (host, ann)
}

#[test]
fn a_ledger_that_is_removed_under_a_running_host_is_written_again_and_no_score_is_lost() {
    let place = Place::new();
    let (mut host, mut ann) = begun(&place);
    assert!(host.lines().iter().any(|line| line.contains("notice: a new ledger begins: ")));
    for ending in ["", "-wal", "-shm", "-mark"] {
        std::fs::remove_file(place.file(&format!("class.ledger{ending}"))).unwrap();
    }
    // Nobody does anything, and it is noticed all the same.
    let notice = host.wait_for("notice: ");
    host.wait_for("class.ledger was removed or moved while the host had it open");
    let moved = host.wait_for_begun("ledger: ", "rescued.ledger");
    assert!(moved.ends_with("class.rescued.ledger"), "{notice} {moved}");
    ann.wait_for("it has written everything again, and no score is lost");
    ann.type_in("238/1 4 4");
    ann.wait_for("kept: 238 steep 1");
    host.type_in("hold");
    host.type_in("stop");
    let (code, lines) = host.end();
    assert_eq!(code, 0, "{lines:#?}");
    assert!(lines.last().unwrap().contains("class.rescued.ledger"), "{lines:#?}");
    assert_eq!(scores(&place.file("class.rescued.ledger")), 2);
    assert!(!place.file("class.ledger").exists());
}

#[test]
fn a_host_on_an_older_ledger_says_so_and_the_seats_send_again_what_it_has_lost() {
    let place = Place::new();
    let (mut host, address) = place.host("127.0.0.1:0");
    let mut ann = place.seat(&host, &address, "Ann");
    host.type_in("start");
    ann.wait_for("now: taste round 1");
    host.type_in("hold");
    host.wait_for("held: ");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    std::fs::copy(place.file("class.ledger"), place.file("older.ledger")).unwrap();
    let (host, _) = place.host(&address);
    ann.wait_for("the link is back");
    ann.type_in("417/1 5 6");
    ann.wait_for("kept: 417 steep 1");
    ann.type_in("238/1 4 4");
    ann.wait_for("kept: 238 steep 1");
    host.kill();
    for ending in ["-wal", "-shm", "-mark"] {
        std::fs::remove_file(place.file(&format!("class.ledger{ending}"))).unwrap();
    }
    std::fs::rename(place.file("older.ledger"), place.file("class.ledger")).unwrap();
    let (mut host, _) = place.host(&address);
    host.wait_for("entries are missing: the ledger ended with entry ");
    ann.wait_for("the host has lost 2 scores of yours that it had kept; they are sent again now");
    ann.wait_for_count("kept: 417 steep 1", 2);
    ann.wait_for_count("kept: 238 steep 1", 2);
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    let room = room::Room::replay(stored::read(&place.file("class.ledger")).unwrap()).unwrap();
    assert_eq!((room.scores.all().len(), room.amendments.len()), (2, 1));
    assert!(room.amendments[0].to_string().starts_with("entries are missing: the ledger ended with entry"));
}

/// A class whose ledger another program holds while a score comes.
fn held_up(place: &Place) -> (Running, Running, Connection) {
    let (host, mut ann) = begun(place);
    let other = Connection::open(place.file("class.ledger")).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    ann.type_in("238/1 4 4");
    host.wait_for("is held by another program");
    (host, ann, other)
}

#[test]
fn a_lock_that_another_program_takes_for_a_while_only_delays() {
    let place = Place::new();
    let (mut host, ann, other) = held_up(&place);
    other.execute_batch("ROLLBACK").unwrap();
    drop(other);
    host.wait_for("the ledger can be written again, and nothing was lost");
    ann.wait_for("kept: 238 steep 1");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
    assert_eq!(scores(&place.file("class.ledger")), 2);
    assert_eq!(inspect(&place.file("class.ledger"), |_| Ok(())).unwrap().broken, None);
}

#[test]
fn a_ledger_that_is_damaged_or_half_there_never_begins_a_new_class_in_silence() {
    let place = Place::new();
    let (host, ann) = begun(&place);
    host.kill();
    drop(ann);
    let open = || {
        let mut host = std::process::Command::new(tests::program::path("kettlecall"))
            .args(["open", place.file("class.toml").to_str().unwrap(), "--listen", "127.0.0.1:0"])
            .args(["--ledger", place.file("class.ledger").to_str().unwrap(), "--pace", "300"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // It says nothing there unless it opens.
        let mut opened = String::new();
        BufReader::new(host.stdout.take().unwrap()).read_line(&mut opened).unwrap();
        if !opened.is_empty() {
            host.kill().unwrap();
        }
        let out = host.wait_with_output().unwrap();
        assert_eq!(opened, "");
        (out.status.code(), String::from_utf8(out.stderr).unwrap())
    };
    let hidden = |ending: &str, words: &str| {
        let (there, away) = (place.file(&format!("class.ledger{ending}")), place.file("away"));
        std::fs::rename(&there, &away).unwrap();
        let (code, said) = open();
        assert_eq!(code, Some(4), "{said}");
        assert!(said.contains(words), "{said}");
        std::fs::rename(away, there).unwrap();
    };
    hidden("", "the ledger itself is gone, while what a host keeps beside it still lies here");
    hidden("-wal", "its -wal is not beside it");
    std::fs::write(place.file("empty"), "").unwrap();
    let (there, away) = (place.file("class.ledger"), place.file("away"));
    std::fs::rename(&there, &away).unwrap();
    std::fs::rename(place.file("empty"), &there).unwrap();
    assert_eq!(open().0, Some(4));
    std::fs::rename(away, &there).unwrap();
    assert_eq!(scores(&there), 1, "nothing of all that has changed it");
}

#[test]
fn a_ledger_that_is_written_over_in_its_place_is_saved_before_the_host_leaves_it() {
    for ending in ["", "-wal"] {
        let place = Place::new();
        let (mut host, ann) = begun(&place);
        let file = place.file(&format!("class.ledger{ending}"));
        let zeros = vec![0; std::fs::metadata(&file).unwrap().len() as usize];
        std::fs::write(&file, zeros).unwrap();
        host.type_in("stop");
        let (code, lines) = host.end();
        assert_eq!(code, 0, "{lines:#?}");
        // What stands in the -wal makes good what was written over in the file itself.
        let name = if ending.is_empty() { "class.ledger" } else { "class.rescued.ledger" };
        assert!(lines.last().unwrap().contains(name), "{lines:#?}");
        assert_eq!(scores(&place.file(name)), 1);
        drop(ann);
    }
}

#[test]
fn a_host_whose_ledger_is_held_by_another_program_can_be_stopped() {
    let place = Place::new();
    let (mut host, _ann, other) = held_up(&place);
    host.type_in("stop");
    let (code, lines) = host.end();
    assert_eq!(code, 4, "{lines:#?}");
    other.execute_batch("ROLLBACK").unwrap();
    drop(other);
    assert_eq!(scores(&place.file("class.ledger")), 1, "what was acknowledged is there");
}

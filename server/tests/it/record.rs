//! Records, and what is said and read of a class whose file was damaged, by the program itself.

use ledger::{Ledger, Record, Sqlite};
use protocol::HostTime;
use room::{Entry, Event, Room};
use serde_json::Value;
use server::commands::salvage::Events;
use std::fs;
use std::path::Path;
use std::process::Command;

/// A folder with the ledger of a small class.
fn place() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    write(&folder.path().join("a.ledger"), include_str!("../stored/class-1.jsonl"));
    folder
}

fn write(path: &Path, text: &str) {
    write_then(path, text, || {});
}

/// The same, and does something while it is open.
fn write_then(path: &Path, text: &str, then: impl Fn()) {
    let mut ledger = Sqlite::open(path).unwrap();
    for (last, line) in text.lines().enumerate() {
        let value: Value = serde_json::from_str(line).unwrap();
        let event: Event = serde_json::from_value(value["event"].clone()).unwrap();
        let (kind, json) = (event.kind().name().into(), event.to_json().unwrap().into());
        let at = HostTime(value["at_us"].as_i64().unwrap());
        ledger.append(last as u64, &[Record { seq: last as u64 + 1, at, kind, json, once: None }]).unwrap();
    }
    then();
}

/// The class of a ledger, if all of it is whole.
fn class(path: &Path) -> Result<Room, String> {
    let mut entries = Vec::new();
    let found = ledger::inspect(path, |record| {
        let event = Event::read(&record.kind, &record.json)?;
        entries.push(Entry::new(record.seq, record.at, event));
        Ok(())
    });
    found.and_then(|found| found.whole(path)).map_err(|e| e.to_string())?;
    Room::replay(entries)
}

/// What the program says, standard output and error, and its exit code.
fn run(folder: &Path, words: &str) -> (String, String, i32) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_kettlecall"));
    let out = program.current_dir(folder).args(words.split(' ')).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(out.stdout), text(out.stderr), out.status.code().unwrap())
}

#[test]
fn a_class_is_not_begun_anew_beside_what_a_host_has_rescued_of_it() {
    let folder = place();
    fs::rename(folder.path().join("a.ledger"), folder.path().join("class.rescued.ledger")).unwrap();
    fs::write(folder.path().join("class.toml"), include_str!("../classes/two-ways.toml")).unwrap();
    let (out, words, code) = run(folder.path(), "open class.toml --listen 127.0.0.1:0");
    assert_eq!((out.as_str(), code), ("", 4), "{words}");
    assert!(words.contains("kettlecall open class.rescued.ledger"), "{words}");
    assert!(!folder.path().join("class.ledger").exists());
}

#[test]
fn a_ledger_beside_which_a_host_has_rescued_more_of_its_class_is_not_gone_on_with() {
    let folder = place();
    let [old, rescued] = ["a.ledger", "a.rescued.ledger"].map(|name| folder.path().join(name));
    fs::copy(&old, &rescued).unwrap();
    let (out, _, code) = run(folder.path(), "check a.ledger");
    assert!(code == 0 && !out.contains("lacks"), "{out}");
    assert_eq!(run(folder.path(), "correct a.rescued.ledger rename Ann Anna").2, 0);
    let before = fs::read(&old).unwrap();
    for words in ["open a.ledger --pace 60 --listen 127.0.0.1:0", "correct a.ledger rename Ann Anne"] {
        let (_, err, code) = run(folder.path(), words);
        let says = err.contains("a.ledger lacks ") && err.contains("kettlecall open a.rescued.ledger");
        assert!(code == 4 && says, "{words}: {err}");
        assert!(fs::read(&old).unwrap() == before, "{words}");
    }
    let (out, _, code) = run(folder.path(), "check a.ledger");
    assert!(code == 0 && out.contains("a.ledger lacks entry "), "{out}");
    for words in ["review a.ledger", "record a.ledger"] {
        let (_, err, code) = run(folder.path(), words);
        assert!(code == 0 && err.contains("a.ledger lacks entry "), "{words}: {err}");
    }
    fs::remove_file(&rescued).unwrap();
    assert_eq!(run(folder.path(), "correct a.ledger rename Ann Anne").2, 0);
}

/// Changes something in a file, always to something of the same length.
fn change(path: &Path, from: &str, to: &str) {
    let mut bytes = fs::read(path).unwrap();
    let places: Vec<usize> =
        (0..bytes.len()).filter(|&at| bytes[at..].starts_with(from.as_bytes())).collect();
    assert!(!places.is_empty() && from.len() == to.len());
    places.iter().for_each(|&at| bytes[at..at + to.len()].copy_from_slice(to.as_bytes()));
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_record_is_reviewed_pooled_planned_and_restored_like_its_ledger() {
    let folder = place();
    let said = |words: &str| {
        let (out, err, code) = run(folder.path(), words);
        assert_eq!(code, 0, "{words}: {err}");
        out
    };
    said("record a.ledger -o a.record");
    said("restore a.record -o b.ledger");
    assert_eq!(said("record b.ledger"), fs::read_to_string(folder.path().join("a.record")).unwrap());
    for words in
        ["review a.ledger", "review a.ledger --seat Ann", "review a.ledger --format csv", "plan a.ledger"]
    {
        assert_eq!(said(words), said(&words.replace("a.ledger", "a.record")), "{words}");
    }
    let (_, words, code) = run(folder.path(), "review a.ledger a.record");
    assert!(code == 4 && words.contains("one and the same class"), "both are the class: {words}");
    for (words, why) in [
        ("record a.ledger -o a.ledger --force", "never overwritten"),
        ("record a.ledger -o a.record", "--force"),
        ("restore a.record -o a.ledger", "there already"),
    ] {
        let (_, err, code) = run(folder.path(), words);
        assert!(code == 1 && err.contains(why), "{words}: {err}");
    }
    let (_, err, code) = run(folder.path(), "correct a.record rename Ann Anna");
    assert!(code == 4 && err.contains("kettlecall restore a.record"), "{err}");
}

#[test]
fn what_is_whole_before_a_break_is_read_when_that_is_wished_and_what_is_missing_is_said() {
    let folder = place();
    let path = folder.path().join("a.ledger");
    assert_eq!(run(folder.path(), "check a.ledger").2, 0);
    change(&path, "\"kind\":\"closed\"", "\"kind\":\"closer\"");
    let (checked, words, code) = run(folder.path(), "check a.ledger");
    assert!(
        code == 4 && checked.contains("is damaged: entries 1 to ") && words.contains("--salvage"),
        "{checked}{words}"
    );
    assert_eq!(run(folder.path(), "review a.ledger").2, 4);
    for words in [
        "review a.ledger",
        "review a.ledger --seat Ann",
        "review a.ledger --format json",
        "review a.ledger --format html",
    ] {
        let (out, err, code) = run(folder.path(), &format!("{words} --up-to-break"));
        let head = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 0 && err.contains("a.ledger is damaged: entries 1 to "), "{words}: {err}");
        assert!(head.contains("Not all of this class could be read: entries 1 to "), "{words}: {head}");
    }
}

#[test]
fn several_classes_are_pooled_up_to_the_break_of_one_and_that_is_said_at_their_head() {
    let folder = place();
    write(&folder.path().join("b.ledger"), include_str!("../stored/class-2.jsonl"));
    change(&folder.path().join("a.ledger"), "\"kind\":\"closed\"", "\"kind\":\"closer\"");
    assert_eq!(run(folder.path(), "review a.ledger b.ledger").2, 4);
    for format in ["text", "json"] {
        let words = format!("review a.ledger b.ledger --up-to-break --format {format}");
        let (out, err, code) = run(folder.path(), &words);
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 0 && err.contains("a.ledger is damaged: entries 1 to "), "{format}: {err}");
        assert!(out.contains("Not all of this class could be read: entries 1 to "), "{format}: {out}");
    }
    let (_, err, code) = run(folder.path(), "review a.ledger b.ledger --up-to-break --format csv");
    assert!(code == 0 && err.matches("is damaged").count() == 1, "{err}");
}

#[test]
fn a_record_whose_line_ends_a_mail_program_has_changed_is_read_and_saved_whole_and_that_is_said() {
    let folder = place();
    let [path, saved] = ["a.record", "saved.ledger"].map(|name| folder.path().join(name));
    assert_eq!(run(folder.path(), "record a.ledger -o a.record").2, 0);
    fs::write(&path, fs::read_to_string(&path).unwrap().replace('\n', "\r\n")).unwrap();
    let (out, _, code) = run(folder.path(), "check a.record");
    assert!(code == 4 && out.contains("nothing else in it was changed"), "{out}");
    assert_eq!(run(folder.path(), "review a.record").2, 4);
    let (out, err, code) = run(folder.path(), "review a.record --up-to-break");
    assert!(code == 0 && err.contains("All that was written is read here"), "{err}");
    assert_eq!(out, run(folder.path(), "review a.ledger").0, "nothing of it is missing");
    let (out, err, code) = run(folder.path(), "check a.record --salvage saved.ledger");
    assert!(code == 0 && out.starts_with("All ") && out.contains("Its line ends were changed"), "{out}{err}");
    assert_eq!(class(&saved).unwrap(), class(&folder.path().join("a.ledger")).unwrap());
}

/// What a host leaves that went down.
fn killed(folder: &Path) {
    let (path, away) = (folder.join("open.ledger"), folder.join("killed.ledger"));
    write_then(&path, include_str!("../stored/class-1.jsonl"), || {
        for ending in ["", "-wal", "-mark"] {
            fs::copy(with(&path, ending), with(&away, ending)).unwrap();
        }
    });
}

fn with(path: &Path, ending: &str) -> std::path::PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

#[test]
fn of_a_ledger_that_is_gone_every_command_says_so_and_what_its_wal_holds_is_saved() {
    let folder = place();
    let whole = class(&folder.path().join("a.ledger")).unwrap();
    killed(folder.path());
    fs::remove_file(folder.path().join("killed.ledger")).unwrap();
    fs::write(folder.path().join("paper.csv"), "seat,code,steep\n").unwrap();
    for words in [
        "check killed.ledger",
        "review killed.ledger",
        "record killed.ledger",
        "correct killed.ledger rename Ann Anna",
        "enter killed.ledger paper.csv",
        "enter killed.ledger paper.csv --check",
    ] {
        let (_, err, code) = run(folder.path(), words);
        let says =
            err.contains("killed.ledger: the ledger itself is gone") && err.contains("--salvage NEW.ledger");
        assert!(code == 4 && says, "{words}: {err}");
    }
    let (out, err, code) = run(folder.path(), "check killed.ledger --salvage saved.ledger");
    assert!(code == 0 && out.starts_with("All "), "{out}{err}");
    assert_eq!(class(&folder.path().join("saved.ledger")).unwrap(), whole);
}

#[test]
fn what_was_saved_of_a_ledger_whose_end_nothing_tells_says_so_for_good() {
    let folder = place();
    killed(folder.path());
    fs::remove_file(folder.path().join("killed.ledger-mark")).unwrap();
    fs::remove_file(folder.path().join("killed.ledger")).unwrap();
    let (said, ..) = run(folder.path(), "check killed.ledger --salvage saved.ledger");
    assert!(said.contains("of the new ledger says so"), "{said}");
    let (_, err, code) = run(folder.path(), "correct saved.ledger rename Ann Anna");
    assert_eq!(code, 0, "{err}");
    run(folder.path(), "record saved.ledger -o saved.record");
    run(folder.path(), "check saved.ledger --salvage again.ledger");
    write(&folder.path().join("b.ledger"), include_str!("../stored/class-2.jsonl"));
    for words in [
        "check saved.ledger",
        "review saved.ledger",
        "review saved.record",
        "review again.ledger",
        "review saved.ledger b.ledger",
        "review saved.ledger --seat Anna",
    ] {
        let (out, err, code) = run(folder.path(), words);
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        let times = out.matches("More may have been written after entry").count();
        assert!(code == 0 && times == 1, "{words}: {times} times; {err}");
    }
    let (out, ..) = run(folder.path(), "check a.ledger --salvage whole.ledger");
    assert!(out.starts_with("All ") && !out.contains("Nothing tells"), "{out}");
    assert!(!run(folder.path(), "review whole.ledger").0.contains("More may have been written"));
}

#[test]
fn where_nothing_vouches_for_the_end_of_a_ledger_every_command_says_so_beside_what_it_gives() {
    let folder = place();
    killed(folder.path());
    fs::write(folder.path().join("paper.csv"), "seat,code,steep\n").unwrap();
    let words = [
        "review killed.ledger",
        "review killed.ledger --seat Ann --format json",
        "correct killed.ledger --check rename Ann Anna",
        "enter killed.ledger paper.csv --check",
        "enter killed.ledger paper.csv",
        // What is written to is closed again, and then vouches for itself.
        "correct killed.ledger rename Ann Anna",
    ];
    let all = |words: &str| {
        let place = tempfile::tempdir().unwrap();
        for file in fs::read_dir(folder.path()).unwrap().map(Result::unwrap) {
            fs::copy(file.path(), place.path().join(file.file_name())).unwrap();
        }
        run(place.path(), words)
    };
    let marked = words.map(all);
    fs::remove_file(folder.path().join("killed.ledger-mark")).unwrap();
    for (words, (out, err, code)) in words.iter().zip(marked) {
        let unmarked = all(words);
        assert_eq!((&unmarked.0, unmarked.2), (&out, code), "{words}");
        let says =
            |err: &str| err.contains("killed.ledger: ") && err.contains("whether the last entries are there");
        assert!(says(&unmarked.1) && !says(&err), "{words}: {err}{}", unmarked.1);
    }
}

#[test]
fn what_is_copied_of_a_ledger_for_whose_end_nothing_vouches_says_so_for_good() {
    let folder = place();
    killed(folder.path());
    let lines = |words| run(folder.path(), words).0.lines().count();
    let marked = lines("record killed.ledger");
    fs::remove_file(folder.path().join("killed.ledger-mark")).unwrap();
    assert_eq!(lines("record killed.ledger"), marked + 1);
    let (_, err, code) = run(folder.path(), "record killed.ledger -o killed.record");
    assert!(code == 0 && err.contains("whether the last entries are there"), "{err}");
    assert_eq!(run(folder.path(), "restore killed.record -o restored.ledger").2, 0);
    assert_eq!(run(folder.path(), "restore killed.ledger -o copied.ledger").2, 0);
    for words in
        ["check killed.record", "review killed.record", "check restored.ledger", "review copied.ledger"]
    {
        let (out, err, code) = run(folder.path(), words);
        let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
        let times = out.matches("More may have been written after entry").count();
        assert!(code == 0 && times == 1, "{words}: {times} times; {err}");
    }
}

#[test]
fn what_is_written_behind_an_end_that_nothing_vouched_for_says_so_for_good_and_what_is_refused_changes_nothing()
 {
    let folder = place();
    killed(folder.path());
    fs::remove_file(folder.path().join("killed.ledger-mark")).unwrap();
    let files =
        || ["", "-wal"].map(|ending| fs::read(with(&folder.path().join("killed.ledger"), ending)).unwrap());
    let before = files();
    let (_, err, code) = run(folder.path(), "correct killed.ledger rename Nobody Anna");
    assert!(code == 2 && files() == before, "{err}");
    run(folder.path(), "correct killed.ledger rename Ann Anna");
    let (said, err, code) = run(folder.path(), "review killed.ledger");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        code == 0 && err.is_empty() && said.contains("More may have been written after entry"),
        "{said}{err}"
    );
}

#[test]
fn a_whole_ledger_is_never_called_damaged_while_another_program_opens_and_closes_it() {
    let folder = place();
    std::thread::scope(|scope| {
        let corrects = scope.spawn(|| {
            for name in ["Anna", "Ann"].repeat(15) {
                let from = if name == "Ann" { "Anna" } else { "Ann" };
                let (_, err, code) = run(folder.path(), &format!("correct a.ledger rename {from} {name}"));
                assert_eq!(code, 0, "{err}");
            }
        });
        while !corrects.is_finished() {
            let (out, err, code) = run(folder.path(), "check a.ledger");
            assert!(code == 0 && !out.contains("-mark is not beside it"), "{out}{err}");
            let (_, err, code) = run(folder.path(), "review a.ledger --format csv");
            assert_eq!((err.as_str(), code), ("", 0));
        }
    });
}

#[test]
fn nothing_is_put_right_or_entered_in_an_empty_file_and_it_stays_empty() {
    let folder = place();
    fs::write(folder.path().join("paper.csv"), "seat,code,steep\n").unwrap();
    fs::write(folder.path().join("empty.ledger"), "").unwrap();
    for words in ["correct empty.ledger rename Ann Anna", "enter empty.ledger paper.csv"] {
        let (_, err, code) = run(folder.path(), words);
        assert!(code == 4 && err.contains("empty.ledger is empty"), "{words}: {err}");
        assert_eq!(fs::metadata(folder.path().join("empty.ledger")).unwrap().len(), 0, "{words}");
    }
}

/// In the suite some places are tried, or as many as KETTLECALL_TRIALS says.
#[test]
fn of_a_class_with_one_changed_byte_all_is_read_or_all_is_saved_but_what_that_byte_touched() {
    let folder = place();
    let [path, hurt, saved] =
        ["a.ledger", "hurt.ledger", "saved.ledger"].map(|name| folder.path().join(name));
    let whole = class(&path).unwrap();
    let bytes = fs::read(&path).unwrap();
    let wished = std::env::var("KETTLECALL_TRIALS").ok().and_then(|number| number.parse().ok());
    let step = (bytes.len() / wished.unwrap_or(25)).max(1);
    let (mut tried, mut read, mut mended, mut lost, mut changed) = (0, 0, 0, 0, 0);
    for at in (0..bytes.len()).step_by(step) {
        let mut one = bytes.clone();
        one[at] ^= 1 << (at % 8);
        fs::write(&hurt, one).unwrap();
        tried += 1;
        if let Ok(room) = class(&hurt) {
            assert_eq!(room, whole, "byte {at}");
            read += 1;
            continue;
        }
        let done =
            ledger::salvage::salvage(&hurt, &saved, &Events).unwrap().unwrap_or_else(|| panic!("byte {at}"));
        assert!(done.lost.len() + done.changed.len() <= 1 && done.unproven.len() <= 1, "byte {at}: {done:?}");
        let room = class(&saved).unwrap_or_else(|e| panic!("byte {at}: {e}"));
        assert!(
            room.seq == whole.seq + u64::from(!done.end_known)
                && room.damage.lost().count() == done.lost.len() + usize::from(!done.end_known),
            "byte {at}: {done:?}"
        );
        (lost, changed) = (lost + done.lost.len(), changed + done.changed.len());
        mended += done.mended.len();
        fs::remove_file(&saved).unwrap();
    }
    println!(
        "{tried} changed bytes: {read} read equal, else saved: {mended} entries put right, {lost} lost, {changed} taken as they read"
    );
}

#[test]
fn a_damaged_class_is_saved_and_its_review_says_what_is_lost() {
    let folder = place();
    let path = folder.path().join("a.ledger");
    let (all, ..) = run(folder.path(), "review a.ledger");
    change(&path, "\"kind\":\"closed\"", "\"kind\":\"clos\"\"\"");
    let (said, err, code) = run(folder.path(), "check a.ledger --salvage b.ledger");
    assert!(code == 0 && said.contains(" is lost: ") && err.contains("written: b.ledger"), "{said}{err}");
    let (out, err, code) = run(folder.path(), "review b.ledger");
    assert!(code == 0 && out.contains(" was damaged and is lost."), "{out}{err}");
    assert_eq!(out.lines().count(), all.lines().count() + 1);
    assert!(run(folder.path(), "check b.ledger").0.contains("is whole"));
    let (_, err, code) = run(folder.path(), "check a.ledger --salvage b.ledger");
    assert!(code == 1 && err.contains("there already"), "{err}");
    fs::write(folder.path().join("c.ledger"), [0; 5000]).unwrap();
    let (_, err, code) = run(folder.path(), "check c.ledger --salvage d.ledger");
    assert!(
        code == 4 && err.contains("nothing was written") && !folder.path().join("d.ledger").exists(),
        "{err}"
    );
}

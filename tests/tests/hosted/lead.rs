//! A class led from elsewhere by real programs: keys, turns, lost links and tricks.

use host::stored;
use room::{Console, Kind};
use serde_json::json;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;
use tests::model::ModelSeat;
use tests::program::{Running, path};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

/// A class that is held, in a folder of its own.
struct Held {
    folder: TempDir,
    host: Running,
    address: String,
}

impl Held {
    fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("class.toml"), CLASS).unwrap();
        let (host, address) = Running::host(&class(&folder), &ledger(&folder), "127.0.0.1:0", 100);
        host.wait_for("caution: Local codes");
        Self { folder, host, address }
    }

    /// The same class once more at the same address, after its host was killed.
    fn again(self) -> Self {
        let Self { folder, host, address } = self;
        host.kill();
        let (host, address) = Running::host(&class(&folder), &ledger(&folder), &address, 100);
        host.wait_for("caution: Local codes");
        Self { folder, host, address }
    }

    fn keys(&self) -> PathBuf {
        self.folder.path().join("class.ledger-keys")
    }

    /// A file with the observer's key alone.
    fn observers_key(&self) -> PathBuf {
        let both = std::fs::read_to_string(self.keys()).unwrap();
        let file = self.folder.path().join("observer.key");
        std::fs::write(&file, both.lines().find(|line| line.starts_with("observer: ")).unwrap()).unwrap();
        file
    }

    /// A console with the key of a file, once it is linked.
    fn lead(&self, key: &Path, name: &str) -> Running {
        let key = key.to_str().unwrap();
        let lead = Running::start("kettlecall", &["lead", &self.address, "--key", key, "--name", name]);
        lead.wait_for("linked: you ");
        lead.wait_for("caution: Local codes");
        lead
    }

    /// What the ledger says was done, and at which console.
    fn done(&self) -> Vec<(Kind, Option<Console>)> {
        let entries = stored::read(&ledger(&self.folder)).unwrap();
        entries.into_iter().map(|entry| (entry.event.kind(), entry.by)).collect()
    }
}

fn class(folder: &TempDir) -> PathBuf {
    folder.path().join("class.toml")
}

fn ledger(folder: &TempDir) -> PathBuf {
    folder.path().join("class.ledger")
}

fn console(name: &str) -> Option<Console> {
    Some(Console::Lead(name.into()))
}

/// What a console says that does not come in: its exit code, standard output and standard error.
fn refused(address: &str, key: &Path) -> (i32, String, String) {
    let mut command = Command::new(path("kettlecall"));
    command.args(["lead", address, "--key", key.to_str().unwrap(), "--name", "Eve"]).stdin(Stdio::null());
    let out = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

#[test]
fn a_wrong_key_and_a_file_without_one_are_refused_in_one_sentence_and_the_class_is_not_told() {
    let held = Held::open();
    let other = Held::open();
    let (code, out, err) = refused(&held.address, &other.keys());
    assert_eq!((code, out.as_str()), (1, ""));
    assert_eq!(
        err,
        "that key is none of this class's, or the teacher has drawn new ones since; ask the teacher for the file beside the ledger\n"
    );
    let file = held.folder.path().join("class.toml");
    let (code, out, err) = refused(&held.address, &file);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("class.toml: a line in it is no key; a key is a line such as `teacher: "), "{err}");
    let (code, _, err) = refused(&held.address, &held.folder.path().join("none"));
    assert!(code == 2 && err.contains("none: no such file; the keys lie beside the ledger"), "{err}");
    let said = held.host.lines();
    assert!(!said.iter().any(|line| line.contains("Eve")), "{said:?}");
}

#[tokio::test(flavor = "multi_thread")]
async fn two_strangers_without_a_key_neither_lead_nor_type() {
    let held = tokio::task::spawn_blocking(Held::open).await.unwrap();
    let nothing = "0".repeat(32);
    let lead = json!({"type": "lead", "protocol": protocol::wire::PROTOCOL, "name": "Eve", "key": &nothing[..16], "proof": nothing});
    let typed = json!({"type": "typed", "line": "close now"});
    for (said, code) in [(lead, "key_wrong"), (typed.clone(), "hello_expected")] {
        let mut stranger = ModelSeat::dial(&held.address).await;
        stranger.say(said).await;
        stranger.say(typed.clone()).await;
        stranger.until_ended().await;
        let (refusal, words) = stranger.refusal.unwrap();
        assert_eq!(refusal, code);
        assert!(!words.is_empty() && !words.contains('\n') && !words.contains("Four by three"), "{words}");
    }
    // Nor does a seat of the class.
    let mut seat = ModelSeat::dial(&held.address).await.with(&held.host.code()).join("Ann", None).await;
    seat.say(typed).await;
    seat.until_ended().await;
    assert_eq!(seat.refusal.unwrap().0, "unknown_message");
    assert!(held.done().iter().all(|(kind, by)| *kind != Kind::Closed && *by != console("Eve")));
}

#[test]
fn an_observer_sees_all_and_changes_nothing() {
    let mut held = Held::open();
    let mut observer = held.lead(&held.observers_key(), "Olga");
    observer.wait_for("linked: you look on as Olga");
    for (line, answer) in [
        ("start anyway", "not done: an observer's key sees and changes nothing"),
        ("stop", "not done: only the host's own terminal stops the host"),
        ("keys", "not done: the keys are shown and drawn on the host's own terminal alone"),
        ("who", "0 of 6 expected seats"),
    ] {
        observer.type_in(line);
        observer.wait_for(answer);
    }
    held.host.type_in("start anyway");
    observer.wait_for("started: ");
    observer.wait_for("cue: pour ");
    let consoles: Vec<Console> = held.done().into_iter().filter_map(|(_, by)| by).collect();
    assert!(consoles.iter().all(|by| *by == Console::Host), "{consoles:?}");
}

#[test]
fn the_host_is_told_from_where_a_console_leads_or_looks_on() {
    let held = Held::open();
    let ann = held.lead(&held.keys(), "Ann");
    held.host.wait_for("somebody leads from 127.0.0.1 with the teacher's key, as Ann");
    assert!(!ann.lines().iter().any(|line| line.contains("somebody leads")));
    let held = Held::open();
    let olga = held.lead(&held.observers_key(), "Olga");
    held.host.wait_for("somebody looks on from 127.0.0.1 with the observer's key, as Olga");
    drop(olga);
}

#[test]
fn two_leads_and_the_host_act_in_turn_and_each_hears_whose_act_it_was() {
    let mut held = Held::open();
    let mut ann = held.lead(&held.keys(), "Ann");
    let mut bob = held.lead(&held.keys(), "Bob");
    ann.type_in("start anyway");
    held.host.wait_for("in 10 s · at Ann's console");
    bob.wait_for("in 10 s · at Ann's console");
    let started = ann.wait_for("started: ");
    assert!(!started.contains("Ann's console"), "{started}");
    bob.type_in("taste +30");
    ann.wait_for_begun("", "· at Bob's console");
    held.host.type_in("undo");
    for console in [&held.host, &ann, &bob] {
        console.wait_for("what was taken back was done at Bob's console");
    }
    ann.wait_for("undone: the last change is taken back · at the host's console");
    held.host.type_in("hold");
    ann.wait_for("held: nothing dry is started; what is wet ends on time · at the host's console");
    // An answer is for whoever typed, and for nobody else.
    bob.type_in("hold");
    bob.wait_for("it is so already");
    assert!(!ann.lines().iter().any(|line| line.contains("it is so already")));
    // A question is asked over there, and answered over there.
    bob.type_in("reveal");
    bob.wait_for("Reveal now? Enter or y: yes");
    bob.type_in("y");
    held.host.wait_for_begun("revealed: ", "· at Bob's console");
    // A name that is taken gets a number.
    let second = held.lead(&held.keys(), "ann");
    second.wait_for("linked: you lead as ann 2");
    assert_eq!(
        held.done().into_iter().filter(|(_, by)| by.is_some()).collect::<Vec<_>>(),
        [
            (Kind::KeysDrawn, Some(Console::Host)),
            (Kind::Started, console("Ann")),
            (Kind::Steered, console("Bob")),
            (Kind::Steered, Some(Console::Host)),
            (Kind::Held, Some(Console::Host)),
            (Kind::Revealed, console("Bob")),
        ]
    );
    held.host.type_in("stop");
    ann.wait_for("no link: the host is going down; the class can be continued");
    let ledger = ledger(&held.folder);
    let (code, _) = held.host.end();
    let check = Command::new(path("kettlecall")).arg("check").arg(&ledger).output().unwrap();
    let said = String::from_utf8(check.stdout).unwrap();
    assert!(code == 0 && said.contains("Done at Ann's console: ") && said.contains(" started."), "{said}");
}

#[test]
fn leads_come_back_to_a_host_that_was_killed_and_the_class_goes_on() {
    let held = Held::open();
    let mut ann = held.lead(&held.keys(), "Ann");
    ann.type_in("start anyway");
    ann.wait_for("started: ");
    let held = held.again();
    ann.wait_for("no link: the link broke; the class goes on, and this console dials again by itself");
    ann.wait_for_count("linked: you lead as Ann", 2);
    ann.type_in("hold");
    held.host.wait_for("held: nothing dry is started; what is wet ends on time · at Ann's console");
    let keys: Vec<String> = held.host.lines().into_iter().filter(|l| l.starts_with("keys: ")).collect();
    assert!(keys.len() == 1 && keys[0].contains("which is for you alone; `keys` shows them"), "{keys:?}");
}

#[test]
fn where_the_file_of_keys_is_gone_new_ones_are_drawn_and_the_old_ones_are_void() {
    let held = Held::open();
    let old = held.folder.path().join("old.keys");
    std::fs::rename(held.keys(), &old).unwrap();
    let held = held.again();
    held.host.wait_for("keys: those of this class were not beside its ledger, or were others");
    let (code, _, err) = refused(&held.address, &old);
    assert!(code == 1 && err.starts_with("that key is none of this class's"), "{err}");
    held.lead(&held.keys(), "Ann");
}

#[test]
fn new_keys_end_the_links_of_the_old_ones() {
    let mut held = Held::open();
    let ann = held.lead(&held.keys(), "Ann");
    let olga = held.lead(&held.observers_key(), "Olga");
    held.host.type_in("keys new");
    held.host.wait_for("Ann and Olga came in by the keys and are let go. Draw new ones? Enter or y: yes");
    held.host.type_in("no");
    held.host.wait_for("not done");
    held.host.type_in("keys new");
    held.host.wait_for_count("Ann and Olga came in by the keys and are let go. Draw new ones?", 2);
    held.host.type_in("y");
    held.host.wait_for("the new keys are in ");
    assert_eq!((ann.end().0, olga.end().0), (1, 1));
    let shown = held.host.lines();
    assert_eq!(shown.iter().filter(|line| line.starts_with("teacher: ")).count(), 0, "{shown:?}");
    held.host.type_in("keys new");
    // Nobody is there to be let go.
    held.host.wait_for("no other console was there to be let go");
    held.host.type_in("keys");
    held.host.wait_for("Whoever sees the keys can lead the class. Show them here?");
    held.host.type_in("y");
    held.host.wait_for_count("teacher: ", 1);
    held.lead(&held.keys(), "Ann");
}

#[test]
fn a_lead_closes_the_class_and_its_wish_for_the_names_is_kept() {
    let mut held = Held::open();
    let mut ann = held.lead(&held.keys(), "Ann");
    ann.type_in("start anyway");
    held.host.wait_for("cue: taste round 1");
    ann.type_in("hold");
    ann.wait_for("held: ");
    ann.type_in("close 2");
    ann.wait_for("Still blind: ");
    ann.type_in("y");
    ann.wait_for("the names are told when the class has closed");
    held.host.wait_for_begun("revealed: ", "· at Ann's console");
    let (code, said) = ann.end();
    assert_eq!(code, 0, "{said:?}");
    assert_eq!(said.last().map(String::as_str), Some("the class is closed, and the host has ended"));
    held.host.type_in("");
    assert_eq!(held.host.end().0, 0);
}

#[test]
fn a_heap_of_lines_and_lines_with_controls_hold_up_nobody_and_reach_no_terminal() {
    let mut held = Held::open();
    let mut ann = held.lead(&held.keys(), "Ann");
    for n in 0..1_000 {
        ann.type_in(&format!("say number {n}"));
    }
    ann.wait_for("left out: lines come faster than anybody types");
    held.host.type_in("say from the host");
    ann.wait_for("said to all: from the host · at the host's console");
    // The first twenty at once, and then five in a second.
    ann.wait_for_count("said to all: number ", 20);
    let said = held.done().iter().filter(|(kind, by)| *kind == Kind::Said && *by == console("Ann")).count();
    assert!(said < 200, "{said} of 1,000 lines were carried out");
    // Once it is quiet it is heard again, and what acts on a terminal is not.
    let (bell, osc) = ("say a \u{1b}[2J\u{7}bell\u{9b}31m \u{202e}turned", "\u{1b}]52;c;AAAA\u{7}");
    let shown = |console: &Running, words: &str| console.lines().iter().any(|line| line.contains(words));
    let mut tries = 0;
    for (line, words) in [(bell, "bell"), (osc, "is not understood")] {
        while !shown(&ann, words) {
            tries += 1;
            ann.type_in(line);
            ann.type_in(&"x".repeat(1_025));
            ann.wait_for_count("not sent: a line may have 1024 bytes", tries);
        }
    }
    for line in [held.host.wait_for("bell"), ann.wait_for("bell"), ann.wait_for("is not understood")] {
        assert!(!line.chars().any(protocol::text::acts), "{line:?}");
    }
}

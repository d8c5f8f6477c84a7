//! The same ledgers give the same bytes, however often they are asked and however many threads read them: what is added up
//! is added in one order. Twice in one process is as good as in two: every hash map has an order of its own.

use crate::pinned;
use class::read;
use host::stored;
use ledger::Sqlite;
use protocol::HostTime;
use report::{csv, json, page, tables, text, xlsx};
use room::{Entry, Event, Room};
use server::commands::enter::entering::enter;
use server::commands::review::Part;
use server::commands::review::read::read_by;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use summary::spot::fitted::USUAL;
use summary::spot::spots;
use summary::{next, several, summarise};
use uuid::Uuid;

/// How wide text is.
const WIDTH: usize = 80;
const SHEET: &str = "[sheet]\nwords = [\"fruity\", \"roasted\", \"warm bread\", \"smoky\", \"grassy\"]\n";

/// Six teas of three steeps, scored by twelve seats with words, strengths and gaps, all drawn from a seed.
fn large(folder: &Path) -> PathBuf {
    let path = folder.join("large.ledger");
    let class = Box::new(read::class(&fixtures::class_file(6, 3, SHEET)).unwrap());
    let codes: Vec<String> = class.teas.iter().map(|tea| tea.code.unwrap().to_string()).collect();
    let attributes: Vec<String> = class.sheet.attributes.iter().map(|a| a.name.clone()).collect();
    let first = Entry::new(1, HostTime(0), Event::Class { class_id: Uuid::from_u128(5), seed: 3, class });
    let revealed = codes.iter().map(|code| code.parse().unwrap()).collect();
    let second = Entry::new(2, HostTime(0), Event::Revealed { codes: revealed });
    let room = Room::replay([first.clone(), second.clone()]).unwrap();
    let mut draw = fastrand::Rng::with_seed(11);
    let mut scores = String::from("seat,code,steep,attribute,value,text\n");
    for (seat, (tea, code)) in (1..=12).flat_map(|seat| codes.iter().enumerate().map(move |t| (seat, t))) {
        for steep in 1..=3 {
            if draw.u8(..20) == 0 {
                continue;
            }
            for attribute in &attributes {
                let points = 3 + (tea as i32 + draw.i32(0..3)) % 5;
                writeln!(scores, "Seat {seat},{code},{steep},{attribute},{points},").unwrap();
            }
            writeln!(scores, "Seat {seat},{code},{steep},strength,{},", draw.i8(-2..=2)).unwrap();
            for word in ["fruity", "roasted", "warm bread", "smoky", "grassy"] {
                if draw.u8(..3) == 0 {
                    writeln!(scores, "Seat {seat},{code},{steep},word,1,{word}").unwrap();
                }
            }
        }
    }
    let mut ids = (100..).map(Uuid::from_u128);
    let names: Vec<String> = (1..=12).map(|seat| format!("Seat {seat}")).collect();
    let entering = enter(&room, scores.as_bytes(), &names, &mut || ids.next().unwrap()).unwrap();
    let entries: Vec<Entry> = [first, second].into_iter().chain(entering.entries).collect();
    stored::append(&mut Sqlite::open(&path).unwrap(), &entries).unwrap();
    path
}

type Forms = BTreeMap<String, Vec<u8>>;

/// One class in every form.
fn alone(ledger: &Path) -> Forms {
    let room = Room::replay(stored::read(ledger).unwrap()).unwrap();
    let summary = summarise(&room, room.last_at);
    let all = tables::with_scores(tables::tables(&summary), tables::ledger([&room], true));
    let mut forms: Forms = csv::files(&all).map(|(name, text)| (name, text.into_bytes())).collect();
    forms.extend([
        ("text".into(), text::within(&summary, WIDTH).into_bytes()),
        ("json".into(), json(&summary).into_bytes()),
        ("html".into(), page::html(&summary).into_bytes()),
        ("xlsx".into(), xlsx::workbook(&room.class.title, &room.class.date, &all).unwrap()),
    ]);
    forms
}

/// Several classes in every form, read by so many threads.
fn together(ledgers: &[PathBuf], threads: usize) -> Forms {
    let classes = read_by(threads, ledgers, Part::default()).unwrap();
    let pool = several::pool(&classes);
    let rooms: Vec<Room> =
        ledgers.iter().map(|path| Room::replay(stored::read(path).unwrap()).unwrap()).collect();
    let all = tables::with_scores(tables::pooled(&pool), tables::ledger(&rooms, true));
    let records: Vec<_> = classes.iter().map(|(record, _)| record).collect();
    let mut forms: Forms = csv::files(&all).map(|(name, text)| (name, text.into_bytes())).collect();
    forms.extend([
        ("text".into(), text::several::within(&pool, WIDTH).into_bytes()),
        ("json".into(), json(&pool).into_bytes()),
        (
            "next".into(),
            next::next(&pool, &spots(&classes, Some(USUAL)), &records, "2026-11-28", None)
                .map_or_else(|why| why, |next| next.text)
                .into_bytes(),
        ),
        ("xlsx".into(), xlsx::workbook("Several classes", "2026-11-28", &all).unwrap()),
    ]);
    forms
}

fn assert_same(first: &Forms, again: &Forms, what: &str) {
    let names = |forms: &Forms| forms.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(first), names(again), "{what}");
    for (name, old) in first {
        assert!(*old == again[name], "{what}, {name}: {}", pinned::difference(old, &again[name]));
    }
}

#[test]
fn one_class_gives_the_same_bytes_in_every_form_each_time() {
    let folder = pinned::place();
    for ledger in pinned::ledgers(folder.path()).into_iter().chain([large(folder.path())]) {
        let first = alone(&ledger);
        for _ in 0..2 {
            assert_same(&first, &alone(&ledger), &ledger.display().to_string());
        }
    }
}

#[test]
fn several_classes_give_the_same_bytes_in_every_form_by_however_many_threads_they_are_read() {
    let folder = pinned::place();
    let mut ledgers = pinned::ledgers(folder.path());
    ledgers.push(large(folder.path()));
    let first = together(&ledgers, 1);
    for threads in [1, 2, 7] {
        assert_same(&first, &together(&ledgers, threads), &format!("{threads} threads"));
    }
}

//! What is entered, what is refused, and that an export is entered as it was.

use super::super::fault;
use super::*;
use class::read;
use proptest::prelude::*;
use protocol::{Code, Phase, Strength};
use report::csv::long_form;
use room::{Command, Correction, Teacher};

pub(super) fn fresh() -> impl FnMut() -> Uuid {
    let mut last = 1000;
    move || {
        last += 1;
        Uuid::from_u128(last)
    }
}

fn entry(seq: u64, at: i64, event: Event) -> Entry {
    Entry::new(seq, HostTime(at), event)
}

const WORDS: [&str; 3] = ["floral", "=warm bread", "smoke"];

fn begun() -> Entry {
    let mut class = Box::new(read::class(include_str!("../../../../tests/classes/two-ways.toml")).unwrap());
    class.sheet.words = WORDS.map(String::from).to_vec();
    entry(1, 0, Event::Class { class_id: Uuid::from_u128(1), seed: 7, class })
}

pub(super) fn room() -> Room {
    Room::replay([begun()]).unwrap()
}

pub(super) fn take(room: &Room, file: &str) -> Result<Entering, Vec<Fault>> {
    enter(room, file.as_bytes(), &[], &mut fresh())
}

/// The same with names that may be added.
pub(super) fn take_new(room: &Room, file: &str, new_seats: &[&str]) -> Result<Entering, Vec<Fault>> {
    let new_seats: Vec<String> = new_seats.iter().map(|name| name.to_string()).collect();
    enter(room, file.as_bytes(), &new_seats, &mut fresh())
}

pub(super) fn with(room: &Room, entering: &Entering) -> Room {
    let mut room = room.clone();
    entering.entries.iter().for_each(|e| room.fold(e.seq, e.at, e.event.clone()));
    room
}

const PLAIN: &str = "seat,code,steep,attribute,value,text\n\
    Ann,417,1,aroma,5,\nAnn,417,1,strength,-1,\nAnn,417,1,note,,\"sweet, \"\"green\"\"\"\nBob,238,3,Liking,9,\nBob,238,3,taste,,\n";

#[test]
fn words_are_ticked_a_row_each() {
    let file = "seat,code,steep,attribute,value,text\nAnn,417,1,word,1,Floral\nAnn,417,1,word,,smoke\nAnn,417,2,word,0,smoke\n";
    let entering = take(&room(), file).unwrap();
    assert_eq!(entering.to_string(), "1 new score, 0 there already, 1 blank; seats added: Ann");
    let room = with(&room(), &entering);
    let kept = room.scores.counting().next().unwrap();
    assert_eq!(kept.score.words, ["floral", "smoke"]);
    let bad = "seat,code,steep,attribute,value,text\nAnn,417,1,word,1,tar\nAnn,417,1,word,2,smoke\nAnn,417,1,word,1,\n";
    let words: Vec<String> =
        take(&super::tests::room(), bad).unwrap_err().iter().map(|f| format!("{f:?}")).collect();
    assert_eq!(words.len(), 3, "{words:?}");
    assert!(words[0].contains("floral, =warm bread, smoke"), "{words:?}");
}

#[test]
fn a_plain_file_seats_its_tasters_and_scores_their_cups() {
    let entering = take(&room(), PLAIN).unwrap();
    assert_eq!(entering.to_string(), "2 new scores, 0 there already, 1 blank; seats added: Ann, Bob");
    let room = with(&room(), &entering);
    let ann = room.scores.of(room.seat_named("ann").unwrap().id, (Code::new(417).unwrap(), 1)).unwrap();
    assert_eq!((ann.score.values["aroma"], ann.score.strength), (5, Some(Strength::TooThin)));
    assert_eq!(ann.score.note, "sweet, \"green\"");
    let paper = |e: &&Entry| matches!(e.event, Event::Scored { on_paper: true, .. });
    assert_eq!(entering.entries.iter().filter(paper).count(), 2, "the ledger can tell");
    let tokens: Vec<Token> = room.seats.iter().map(|s| s.token).collect();
    assert_ne!(tokens[0], tokens[1]);
}

#[test]
fn semicolons_line_ends_marks_and_order_of_rows_make_no_difference() {
    let expected = with(&room(), &take(&room(), PLAIN).unwrap());
    let semicolons = PLAIN.replace("sweet, ", "sweet_ ").replace(',', ";").replace("sweet_ ", "sweet, ");
    let mut rows: Vec<&str> = PLAIN.lines().collect();
    rows[1..].reverse();
    for file in [
        PLAIN.replace('\n', "\r\n"),
        format!("\u{feff}{PLAIN}"),
        semicolons,
        format!("{}\n,,,,,\n\n", PLAIN.trim_end()),
        PLAIN.replace("-1", "\u{2212}1"),
        PLAIN.replace("seat,code", " Seat ,CODE"),
        rows.join("\n"),
    ] {
        let got = with(&room(), &take(&room(), &file).unwrap());
        let scores = |room: &Room| -> Vec<(String, Score)> {
            let name = |s: SeatId| room.seat_of(s).unwrap().name.clone();
            let mut all: Vec<_> = room.scores.all().iter().map(|k| (name(k.seat), k.score.clone())).collect();
            all.sort_by_key(|(name, score)| (name.clone(), score.id));
            all
        };
        assert_eq!(scores(&got), scores(&expected), "{file:?}");
    }
}

#[test]
fn every_fault_is_named_with_its_line_and_column_and_nothing_is_entered() {
    let file = "seat,code,steep,attribute,value,text,revision,score_id,host_s,class_id\n\
        Ann,417,1,aroma,10,,,,,\n\
        Ann,417,1,arma,5,,,,,\n\
        ,999,0,aroma,5,,,,,\n\
        Ann,41,x,aroma,5,,0,nine,-1,00000000-0000-0000-0000-000000000002\n\
        Bob,417,1,aroma,5.5,,,,,\n\
        Cy,417,1,strength,3,,,,,\n\
        Cy,417,9,taste,3,,,,,\n\
        Dora,417,2,taste,3,,,,,\n\
        Dora,417,2,taste,4,,,,,\n\
        Eve,417,2,note,4,words,,,,\n\
        Eve,417,2,taste,4,words,,,,\n\
        \u{1}Fay,417,2,taste,4,,,,,\n";
    insta::assert_snapshot!(fault::render("scores.csv", &take(&room(), file).unwrap_err()));
}

#[test]
fn a_file_that_is_no_table_of_scores_is_refused_in_words() {
    let mut pages = Vec::new();
    for file in [
        &b""[..],
        b"\xff\xfes\0e\0",
        b"seat,code\nAnn,\xff\n",
        b"seat;cod;steep;atribute;value\nAnn;417;1;aroma;5\n",
        b"seat,code,steep,attribute,value,seat\n",
        b"seat,code,steep,attribute,value\nAnn,417,1,aroma\nAnn,417,1,aroma,5,6\n",
        b"seat,code,steep,attribute,value\nAnn,417,1,aroma,\"5\nBob,417,1,aroma,5\n",
    ] {
        pages.push(fault::render("scores.csv", &enter(&room(), file, &[], &mut fresh()).unwrap_err()));
    }
    insta::assert_snapshot!(pages.join("\n"));
}

#[test]
fn a_file_entered_twice_adds_nothing_and_a_changed_score_needs_a_revision() {
    let first = take(&room(), PLAIN).unwrap();
    let after = with(&room(), &first);
    let again = take(&after, PLAIN).unwrap();
    assert_eq!((again.entries.len(), again.scores, again.there), (0, 0, 2));
    let changed = PLAIN.replace("Liking,9", "Liking,8");
    let fault = &take(&after, &changed).unwrap_err()[0];
    assert!(fault.to_string().contains("write 2 in the column `revision`"), "{fault}");
    let mut voided = after.clone();
    let mixed_up = Correction::Void {
        code: Code::new(238).unwrap(),
        steep: 3,
        seat: Some("Bob".into()),
        reason: "mixed up".into(),
    };
    for event in voided.correct(&mixed_up).unwrap() {
        voided.fold(voided.seq + 1, voided.last_at, event);
    }
    let fault = &take(&voided, &changed).unwrap_err()[0];
    assert!(fault.to_string().contains("voided since") && fault.to_string().contains("write 2"), "{fault}");
    let revised = "seat,code,steep,attribute,value,revision\nBob,238,3,liking,8,2\n";
    let after = with(&after, &take(&after, revised).unwrap());
    let liking: Vec<i32> =
        after.scores.counting().filter_map(|k| k.score.values.get("liking")).copied().collect();
    assert_eq!(liking, [8]);
}

fn tell(room: &mut Room, command: Command, at_s: i64) {
    let at = HostTime(at_s * 1_000_000);
    for event in room.decide(command, at, &plan::plan_rounds(&room.class)).unwrap() {
        room.fold(room.seq + 1, at, event);
    }
}

/// A class that was held: one seat, one score over its link, closed while its later rounds were still to come.
fn closed() -> Room {
    let mut room = room();
    let token = Token(Uuid::nil());
    let (join, comer) = (Join::new(room.class_id, "Ann", token), Comer::Says(token));
    let (fresh_seat, letting) = (SeatId(Uuid::from_u128(2)), Letting::default());
    tell(&mut room, Command::Join { join, comer, fresh_seat, letting }, 1);
    tell(&mut room, Command::Teacher(Teacher::Start { anyway: false }), 2);
    let values = [("aroma".to_string(), 4)].into();
    let score = Score {
        id: Uuid::from_u128(3),
        code: Code::new(417).unwrap(),
        steep: 1,
        revision: 1,
        values,
        strength: None,
        note: String::new(),
        words: Vec::new(),
    };
    tell(&mut room, Command::Score { seat: SeatId(Uuid::from_u128(2)), score }, 170);
    let taste = room.timetable.find(protocol::Action::Taste, None, 1).unwrap().at;
    tell(&mut room, Command::Teacher(Teacher::Close { last_call_s: 0 }), taste.0 / 1_000_000);
    assert_eq!(room.phase, Phase::Closed);
    room
}

const ZOE: &str = "seat,code,steep,attribute,value,host_s\nZoe,417,1,aroma,5,9000\n";

#[test]
fn a_name_that_no_seat_has_is_one_fault_that_says_who_may_be_meant() {
    let file = "seat,code,steep,attribute,value\nAnne,417,1,aroma,5\nAnne,238,1,aroma,5\nZoe,417,1,aroma,5\nann,238,1,aroma,6\n";
    let words = fault::render("scores.csv", &take(&closed(), file).unwrap_err());
    insta::assert_snapshot!(words, @r"
    scores.csv, line 2, seat (column 1): no seat is named Anne; did you mean Ann? For somebody who has no seat yet add: --new-seat Anne
    scores.csv, line 4, seat (column 1): no seat is named Zoe; mend the name. For somebody who has no seat yet add: --new-seat Zoe
    2 faults: nothing was entered
    ");
    let entering = take_new(&closed(), file, &["Zoe", "ANNE"]).unwrap();
    assert_eq!(entering.seats, ["Anne", "Zoe"]);
    let unused = take_new(&closed(), ZOE, &["Zo"]).unwrap_err();
    assert!(unused.iter().any(|fault| fault.problem.contains("no score is of Zo,")), "{unused:?}");
}

#[test]
fn where_nobody_sat_any_name_is_new_but_not_two_that_are_nearly_one() {
    let file = "seat,code,steep,attribute,value\nZoe,417,1,aroma,5\nZo,238,1,aroma,5\nAnn,417,1,aroma,5\n";
    let faults = take(&room(), file).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(faults[0].to_string().contains("did you mean Zoe?"), "{}", faults[0]);
    assert_eq!(take_new(&room(), file, &["Zo"]).unwrap().seats, ["Zoe", "Zo", "Ann"]);
}

#[test]
fn paper_under_the_name_a_seat_had_is_its_own_unless_that_is_said_to_be_somebody_new() {
    let mut before = closed();
    let (seq, at, ann) = (before.seq, before.last_at, before.seat_named("Ann").unwrap().id);
    before.fold(seq + 1, at, Event::Renamed { seat: ann, name: "Anna".into() });
    let file = "seat,code,steep,attribute,value\nAnn,238,1,aroma,5\n";
    let taken = take(&before, file).unwrap();
    assert_eq!((taken.scores, taken.seats.len()), (1, 0));
    assert_eq!(with(&before, &taken).scores.of_seat(ann).count(), 2);
    assert_eq!(take_new(&before, file, &["Ann"]).unwrap().seats, ["Ann"]);
}

#[test]
fn a_closed_class_takes_paper_and_its_time_stands_still() {
    let before = closed();
    let after = with(&before, &take_new(&before, ZOE, &["Zoe"]).unwrap());
    assert_eq!((after.phase, after.scores.all().len()), (Phase::Closed, 2));
    let decant = before.timetable.find(protocol::Action::Decant, Code::new(417), 1).unwrap().end();
    assert!(after.seat_named("Zoe").unwrap().joined_at <= decant, "who hands in paper was there");
    // The room was never opened by a host, so that the file's instants are the only ones; an opened one keeps its own.
    let mut opened = before.clone();
    opened.fold(
        before.seq + 1,
        before.last_at,
        Event::Opened { unix_us: 0, pace: 1.0, boot: None, door: Default::default() },
    );
    let entering = take_new(&opened, ZOE, &["zoe"]).unwrap();
    assert!(entering.entries.iter().all(|e| e.at == before.last_at));
}

#[test]
fn paper_does_not_silently_replace_what_a_seat_has_sent() {
    let fault =
        take(&closed(), "seat,code,steep,attribute,value\nann,417,1,aroma,5\n").unwrap_err()[0].to_string();
    assert!(fault.contains("has scored 417 steep 1 already"), "{fault}");
    let same = take(&closed(), "seat,code,steep,attribute,value\nann,417,1,aroma,4\n").unwrap();
    assert_eq!((same.there, same.entries.len()), (1, 0));
}

/// Seat, tea, steep, revision, points, strength, note and words.
type Drawn = (u8, u8, u32, u32, [Option<i32>; 4], Option<i8>, String, Vec<String>);

fn a_score() -> impl Strategy<Value = Drawn> {
    let values = prop::array::uniform4(prop::option::of(1i32..=9));
    let note = "['=+@;,\" a-\u{e9}\u{4e00}-]{0,8}";
    let words = prop::sample::subsequence(WORDS.map(String::from).to_vec(), 0..=3);
    (0u8..4, 0u8..4, 1u32..=3, 1u32..4, values, prop::option::of(-2i8..=2), note, words)
}

proptest! {
    #[test]
    fn an_export_entered_into_a_fresh_ledger_of_the_class_gives_the_same_export(
        scores in prop::collection::vec((a_score(), 0i64..5_000_000), 0..40), revisions: bool, revealed: bool,
    ) {
        let mut before = vec![begun()];
        if revealed {
            let codes = [417, 238].map(|n| Code::new(n).unwrap()).to_vec();
            before.push(entry(2, 0, Event::Revealed { codes }));
        }
        let mut full = Room::replay(before.clone()).unwrap();
        let names = ["Ann", "O'Neil", "=Bob", "'@Zoe, \"Z\""];
        let mut at = 0;
        let mut ids = fresh();
        for (n, name) in names.into_iter().enumerate() {
            let seat = SeatId(Uuid::from_u128(n as u128 + 1));
            full.fold(full.seq + 1, HostTime(at), Event::Seated { seat, name: name.into(), token: Token(ids()), pourer: None, role: protocol::Role::Scores });
        }
        for ((seat, tea, steep, revision, points, strength, note, words), passed) in scores {
            at += passed;
            let sheet = full.class.sheet.attributes.iter();
            let values = sheet.zip(points).filter_map(|(a, v)| Some((a.name.clone(), v?))).collect();
            let code = Code::new([417, 238, 862, 305][tea as usize]).unwrap();
            let strength = strength.map(|s| s.try_into().unwrap());
            let score = Score { id: ids(), code, steep, revision, values, strength, note, words }.inert();
            // What the room would refuse was never in a ledger.
            let seat = SeatId(Uuid::from_u128(u128::from(seat) + 1));
            for event in full.enter(seat, score).unwrap_or_default() {
                full.fold(full.seq + 1, HostTime(at), event);
            }
        }
        let export = long_form([&full], revisions);
        let fresh_room = Room::replay(before).unwrap();
        let entered = with(&fresh_room, &take(&fresh_room, &export).map_err(|f| TestCaseError::fail(format!("{f:?}")))?);
        prop_assert_eq!(&long_form([&entered], revisions), &export);
        let again = take(&entered, &export).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
        prop_assert_eq!(again.entries.len(), 0);
    }

    #[test]
    fn no_file_makes_entering_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), cells in "[a-z0-9,;\"\n=']{0,80}") {
        let _ = enter(&room(), &bytes, &[], &mut fresh());
        let _ = take(&room(), &format!("seat,code,steep,attribute,value\n{cells}"));
        let _ = take(&room(), &format!("{PLAIN}{cells}"));
    }
}

#[test]
fn a_new_name_whose_rows_have_faults_is_in_the_file_and_stands_first_for_a_numbered_seat() {
    let file = "seat,code,steep,attribute,value,text\nAda,417,1,liking,99,\nSeat 1,417,1,liking,5,\n";
    let rows = |new: &[&str]| fault::render("scores.csv", &take_new(&closed(), file, new).unwrap_err());
    let said = rows(&["Ada"]);
    assert!(!said.contains("which --new-seat names"), "{said}");
    let mend = "write Ada in every row of theirs. If Seat 1 is somebody else, add: --new-seat \"Seat 1\"";
    assert!(said.contains(mend), "{said}");
    assert!(rows(&["Ada", "Zoe"]).contains("no score is of Zoe, which --new-seat names"));
}

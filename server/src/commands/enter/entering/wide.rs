//! The wide form: one row a cup, one column for each line of the sheet, and what spreadsheet programs make of it.

use super::super::fault::{render, render_sheet};
use super::tests::{fresh, room, take, take_new, with};
use super::*;
use proptest::prelude::*;
use protocol::{Code, Strength};
use report::csv::long_form;
use rust_xlsxwriter::{Format, Workbook};

const WIDE: &str = "seat,code,steep,aroma,taste,aftertaste,liking,strength,words,note\n\
    Ann,417,1,5,,,,too thin,\"floral, smoke\",\"sweet, \"\"green\"\"\"\nAnn,238,1,,,,,,,\nBob,238,3,,,,9,0,,\nBob,417,2,,,,,,,\n";
const LONG: &str = "seat,code,steep,attribute,value,text\n\
    Ann,417,1,aroma,5,\nAnn,417,1,strength,-1,\nAnn,417,1,word,1,floral\nAnn,417,1,word,1,smoke\nAnn,417,1,note,,\"sweet, \"\"green\"\"\"\n\
    Bob,238,3,liking,9,\nBob,238,3,strength,0,\n";

/// What a file enters into the class, as an export shows it.
fn entered(file: &[u8]) -> String {
    let entering =
        enter(&room(), file, &[], &mut fresh()).unwrap_or_else(|faults| panic!("{}", render("f", &faults)));
    long_form([&with(&room(), &entering)], false)
}

#[test]
fn a_row_a_cup_is_the_same_as_a_row_an_answer() {
    assert_eq!(entered(WIDE.as_bytes()), entered(LONG.as_bytes()));
    let entering = take(&room(), WIDE).unwrap();
    assert_eq!(
        entering.to_string(),
        "2 new scores, 0 there already, 2 rows left empty; seats added: Ann, Bob"
    );
    let again = take(&with(&room(), &entering), WIDE).unwrap();
    assert_eq!((again.entries.len(), again.scores, again.there, again.empty), (0, 0, 2, 2));
    let after_long = with(&room(), &take(&room(), LONG).unwrap());
    assert_eq!(take(&after_long, WIDE).unwrap().entries.len(), 0, "the forms know each other's scores");
}

#[test]
fn what_spreadsheet_programs_do_to_a_file_makes_no_difference() {
    let semicolons = |text: &str| {
        let mut out = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
        csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(text.as_bytes())
            .records()
            .for_each(|record| out.write_record(&record.unwrap()).unwrap());
        String::from_utf8(out.into_inner().unwrap()).unwrap()
    };
    for (what, file) in [
        ("a byte order mark", format!("\u{feff}{WIDE}")),
        ("CRLF", WIDE.replace('\n', "\r\n")),
        ("semicolons", semicolons(WIDE)),
        ("semicolons that the first line names", format!("sep=;\r\n{}", semicolons(WIDE))),
        ("decimal commas", semicolons(WIDE).replace(";417;1;5;", ";417,0;1,0;5,00;")),
        ("decimal points", WIDE.replace(",417,1,5,", ",417.0,1.0,5.0,").replace(",9,0,", ",9.00,-0.0,")),
        ("leading zeros", WIDE.replace(",417,1,5,", ",00417,01,005,")),
        ("strengths as numbers", WIDE.replace("too thin", "-1").replace(",9,0,", ",9,just right,")),
        ("a typographic minus", WIDE.replace("too thin", "\u{2212}1")),
        ("another word", WIDE.replace("too thin", "weak")),
        ("capitals and short words", WIDE.replace("too thin", "Thin").replace("seat,code", "Seat, CODE ")),
        ("words parted by semicolons", WIDE.replace("floral, smoke", "Floral; smoke;")),
        (
            "columns that nobody knows",
            WIDE.replace("steep,aroma", "steep,weather,aroma")
                .replace(",1,5,", ",1,rain,5,")
                .replace(",238,1,", ",238,1,,")
                .replace(",238,3,", ",238,3,,")
                .replace(",417,2,", ",417,2,,"),
        ),
    ] {
        assert_eq!(entered(file.as_bytes()), entered(WIDE.as_bytes()), "{what}: {file}");
    }
}

#[test]
fn a_western_windows_file_is_read_and_says_so() {
    let file: Vec<u8> = "seat;code;steep;aroma;note\nZo\u{eb};417;1;5;caf\u{e9} \u{2013} 3 \u{20ac}\n"
        .chars()
        .map(|c| match c {
            '\u{20ac}' => 0x80,
            '\u{2013}' => 0x96,
            c => u8::try_from(u32::from(c)).unwrap(),
        })
        .collect();
    let entering = enter(&room(), &file, &[], &mut fresh()).unwrap();
    assert_eq!(entering.seats, ["Zo\u{eb}"]);
    let note = &with(&room(), &entering).scores.all()[0].score.note.clone();
    assert_eq!(note, "caf\u{e9} \u{2013} 3 \u{20ac}");
    assert!(
        entering
            .to_string()
            .ends_with("look whether line 2 is right: Zo\u{eb};417;1;5;caf\u{e9} \u{2013} 3 \u{20ac}"),
        "{entering}"
    );
    // 0x81 means nothing there; and a byte order mark has promised UTF-8.
    for bytes in [
        &b"seat,code,steep,aroma\nZo\x81,417,1,5\n"[..],
        b"\xef\xbb\xbfseat,code,steep,aroma\nZo\xeb,417,1,5\n",
    ] {
        let faults = enter(&room(), bytes, &[], &mut fresh()).unwrap_err();
        assert_eq!((faults.len(), faults[0].line), (1, 2));
        assert!(faults[0].problem.contains("not UTF-8"), "{}", faults[0]);
    }
}

#[test]
fn every_fault_of_the_wide_form_is_named_with_its_cell() {
    let file = "seat,code,steep,aroma,likng,strength,words,note\n";
    insta::assert_snapshot!(render("scores.csv", &take(&room(), file).unwrap_err()), @r"
    scores.csv, line 1, likng (column 5): the sheet has no `likng`; rename it to `liking`
    one fault: nothing was entered
    ");
    let file = "seat,code,steep,aroma,liking,strength,words,note\n\
        Ann,999,1,5,60,just right,floral,fine\n\
        Ann,417,1,5.5,10,middling,\"floral, tar, smoke\",\n\
        Ann,417,9,5,,,,\n\
        Ann,417,2,2026-05-03,,3,,\n\
        Bob,417,1,5,,,,\n\
        Bob,417,1,6,,,,\n\
        ,41,,,,,,\n\
        ,,,7,,,,\n";
    insta::assert_snapshot!(render("scores.csv", &take(&room(), file).unwrap_err()), @r"
    scores.csv, line 2, code (column 2): this class has no 999; this class has 417, 238, 862, 305
    scores.csv, line 2, liking (column 5): liking is 60, but its scale goes from 1 to 9; give a point of the scale
    scores.csv, line 3, aroma (column 4): `5.5` is no whole number that can stand here; write for example 5
    scores.csv, line 3, liking (column 5): liking is 10, but its scale goes from 1 to 9; give a point of the scale
    scores.csv, line 3, strength (column 6): `middling` is no strength; write much too thin, too thin, just right, too strong, much too strong, or a number from -2 to 2
    scores.csv, line 3, words (column 7): the sheet has no word `tar`; the sheet's words are floral, =warm bread, smoke
    scores.csv, line 4, steep (column 3): this class has no 417 steep 9; mend it, or take the score out of the file
    scores.csv, line 5, aroma (column 4): is a date (2026-05-03): the spreadsheet has made one of what was typed; let the cell hold a number, for example 5
    scores.csv, line 5, strength (column 6): strength is a whole number from -2 to 2; 0 is just right, -1 too thin, 1 too strong
    scores.csv, line 7, aroma (column 4): `aroma` of this score stands in line 6 already; keep one; a second fill of a sheet has revision 2
    scores.csv, line 9, seat (column 1): is empty; give the name of who scored
    scores.csv, line 9, code (column 2): is empty; give the three-digit code of the tea
    scores.csv, line 9, steep (column 3): is empty; give the number of the steep, from 1
    13 faults: nothing was entered
    ");
}

#[test]
fn a_fault_stands_in_its_line_however_lines_end() {
    let file = "seat,code,steep,aroma,note\n\nAnn,417,1,55,\nAnn,238,1,5,\"two\nlines\"\nAnn,862,1,66,\n";
    for (ends, before) in [("\n", ""), ("\r\n", ""), ("\r\n", "sep=,\r\n"), ("\n", "\u{feff}")] {
        let file = before.to_string() + &file.replace('\n', ends);
        let lines: Vec<u64> = take(&room(), &file).unwrap_err().iter().map(|fault| fault.line).collect();
        let more = u64::from(before.starts_with("sep"));
        assert_eq!(lines, [3 + more, 6 + more], "{file:?}");
    }
}

/// The form names whom nobody has named yet; written over in the first of their rows alone, Ada was two people.
#[test]
fn a_name_that_the_form_gave_is_nobody_until_that_is_said() {
    let file = "seat,code,steep,aroma\nAda,417,1,5\nSeat 1,238,1,5\nSeat 1,862,1,\nSeat 12,862,1,5\n";
    insta::assert_snapshot!(render("scores.csv", &take(&room(), file).unwrap_err()), @r#"
    scores.csv, line 3, seat (column 1): no seat is named Seat 1; the form to fill in says so where nobody has sat down; write Ada in every row of theirs. If Seat 1 is somebody else, add: --new-seat "Seat 1"
    scores.csv, line 5, seat (column 1): no seat is named Seat 12; the form to fill in says so where nobody has sat down; write Ada in every row of theirs. If Seat 12 is somebody else, add: --new-seat "Seat 12"
    2 faults: nothing was entered
    "#);
    let said = take_new(&room(), file, &["Seat 1", "Seat 12"]).unwrap();
    assert_eq!(said.seats, ["Ada", "Seat 1", "Seat 12"]);
    let numbers = file.replace("Ada", "Seat 3");
    assert_eq!(take(&room(), &numbers).unwrap().seats, ["Seat 3", "Seat 1", "Seat 12"], "nobody is named");
    let empty = "seat,code,steep,aroma\nAda,417,1,5\nSeat 2,238,1,\n";
    assert_eq!(take(&room(), empty).unwrap().seats, ["Ada"], "nothing stands there");
}

/// A spreadsheet as a person or a program may leave it, with a title above the heads and one column in front.
fn book(fill: impl Fn(&mut rust_xlsxwriter::Worksheet)) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write(0, 1, "Our evening").unwrap();
    for (column, head) in (1u16..).zip(["seat", "code", "steep", "aroma", "liking", "strength", "note"]) {
        sheet.write(2, column, head).unwrap();
    }
    fill(sheet);
    book.save_to_buffer().unwrap()
}

#[test]
fn a_spreadsheet_is_read_as_it_is_typed() {
    let file = book(|sheet| {
        sheet.write(3, 1, "Ann").unwrap().write(3, 2, 417.0).unwrap().write(3, 3, "1").unwrap();
        sheet
            .write(3, 4, 5.0)
            .unwrap()
            .write(3, 6, "much too strong")
            .unwrap()
            .write(3, 7, "'tis =good")
            .unwrap();
        sheet
            .write(4, 1, 7)
            .unwrap()
            .write(4, 2, "0238")
            .unwrap()
            .write(4, 3, 2)
            .unwrap()
            .write(4, 6, -1)
            .unwrap();
    });
    let entering = enter(&room(), &file, &[], &mut fresh()).unwrap();
    let after = with(&room(), &entering);
    let scores: Vec<&Score> = after.scores.all().iter().map(|kept| &kept.score).collect();
    assert_eq!((scores[0].values["aroma"], scores[0].strength), (5, Some(Strength::MuchTooStrong)));
    assert_eq!(scores[0].note, "'tis =good");
    assert_eq!(
        (scores[1].code, scores[1].steep, scores[1].strength),
        (Code::new(238).unwrap(), 2, Some(Strength::TooThin))
    );
    assert_eq!(entering.seats, ["Ann", "7"]);
    assert_eq!(enter(&after, &file, &[], &mut fresh()).unwrap().entries.len(), 0);
}

#[test]
fn a_fault_in_a_spreadsheet_stands_in_its_row_and_lettered_column() {
    let file = book(|sheet| {
        let day = Format::new().set_num_format("yyyy-mm-dd");
        sheet.write(3, 1, "Ann").unwrap().write(3, 2, 417).unwrap().write(3, 3, 1).unwrap();
        sheet
            .write_with_format(3, 4, 46_145, &day)
            .unwrap()
            .write(3, 5, 12)
            .unwrap()
            .write(3, 6, true)
            .unwrap();
    });
    let faults = enter(&room(), &file, &[], &mut fresh()).unwrap_err();
    insta::assert_snapshot!(render_sheet("scores.xlsx", &faults), @r"
    scores.xlsx, row 4, aroma (column E): is a date (2026-05-03): the spreadsheet has made one of what was typed; let the cell hold a number, for example 5
    scores.xlsx, row 4, liking (column F): liking is 12, but its scale goes from 1 to 9; give a point of the scale
    scores.xlsx, row 4, strength (column G): `TRUE` is no strength; write much too thin, too thin, just right, too strong, much too strong, or a number from -2 to 2
    3 faults: nothing was entered
    ");
    for bytes in [&b"PK\x03\x04 and nothing else"[..], b"\xd0\xcf\x11\xe0 old"] {
        let faults = enter(&room(), bytes, &[], &mut fresh()).unwrap_err();
        assert!(faults[0].remedy.starts_with("save it as .xlsx"), "{}", faults[0]);
    }
}

#[test]
fn a_number_for_a_name_is_the_seat_of_that_number() {
    let first = take_new(&room(), "seat,code,steep,aroma\n007,417,1,5\n012,417,1,5\n", &[]).unwrap();
    let after = with(&room(), &first);
    assert_eq!(first.seats, ["007", "012"]);
    for spelt in ["7", "7.0", "7,0", "007"] {
        let file = format!("seat;code;steep;aroma\n{spelt};238;1;6\n");
        assert_eq!(take(&after, &file).unwrap().scores, 1, "{spelt}");
    }
    assert!(take(&after, "seat,code,steep,aroma\n8,238,1,6\n").is_err(), "nobody has that number");
}

#[test]
fn the_form_to_fill_in_enters_nothing_by_itself_and_what_is_filled_in_once() {
    let seated = with(&room(), &take(&room(), WIDE).unwrap());
    for room in [room(), seated] {
        let form = report::paper::csv(&room);
        let before = room.scores.all().len();
        let nothing = take(&room, &form).unwrap();
        assert_eq!((nothing.entries.len(), nothing.there), (0, before), "{form}");
        let workbook = report::paper::workbook(&room).unwrap();
        let same = enter(&room, &workbook, &[], &mut fresh()).unwrap();
        assert_eq!((same.entries.len(), same.there, same.empty), (0, before, nothing.empty));
        let filled: Vec<String> =
            form.lines().map(|line| line.replacen(",,,,,,,", ",5,6,7,8,right,,", 1)).collect();
        let new_seats: Vec<String> =
            (1..=6).map(|n| format!("Seat {n}")).filter(|name| form.contains(name)).collect();
        // Other ids than those of the seats that are there.
        let mut ids = fresh();
        for _ in 0..100 {
            ids();
        }
        let all = enter(&room, filled.join("\n").as_bytes(), &new_seats, &mut ids);
        let all = all.unwrap_or_else(|faults| panic!("{}", render("f", &faults)));
        assert_eq!((all.scores, all.there, all.empty), (nothing.empty, before, 0));
    }
}

proptest! {
    #[test]
    fn the_form_of_any_class_enters_nothing(words in prop::collection::vec("[a-z=']{1,6}", 0..4), note: bool, revision in 1u32..3) {
        let mut room = with(&room(), &take(&room(), WIDE).unwrap());
        let seat = room.seats[0].id;
        let kept = room.scores.all()[0].score.clone();
        let note = if note { "=1+1; \"so\"\u{e9}".to_string() } else { String::new() };
        let sheet_words: Vec<String> = room.class.sheet.words.iter().take(words.len()).cloned().collect();
        let score = Score { id: Uuid::from_u128(77), revision: kept.revision + revision, note, words: sheet_words, ..kept };
        for event in room.enter(seat, score).unwrap() {
            room.fold(room.seq + 1, room.last_at, event);
        }
        for form in [report::paper::csv(&room).into_bytes(), report::paper::workbook(&room).unwrap()] {
            let taken = enter(&room, &form, &[], &mut fresh()).map_err(|f| TestCaseError::fail(format!("{f:?}")))?;
            prop_assert_eq!((taken.entries.len(), taken.there), (0, 2));
        }
    }

    #[test]
    fn no_spreadsheet_makes_entering_panic(cut in 0usize..4000, byte: u8) {
        let mut file = report::paper::workbook(&room()).unwrap();
        let place = cut % file.len();
        file[place] = byte;
        let _ = enter(&room(), &file, &[], &mut fresh());
        file.truncate(place);
        let _ = enter(&room(), &file, &[], &mut fresh());
    }
}

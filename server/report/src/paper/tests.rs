//! What the file to fill in holds.

use super::*;
use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use class::read;
use fixtures::evening;
use room::{Entry, Event};
use std::io::Cursor;
use uuid::Uuid;

/// A class that nobody has come to.
fn fresh(sheet: &str) -> Room {
    let class = Box::new(read::class(&fixtures::class_file(3, 2, sheet)).unwrap());
    let event = Event::Class { class_id: Uuid::from_u128(1), seed: 5, class };
    Room::replay([Entry::new(1, protocol::HostTime(0), event)]).unwrap()
}

const SHEET: &str = "[sheet]\nattributes = [\"aroma\", \"code\"]\nwords = [\"floral\", \"warm bread\"]\n";

#[test]
fn every_seat_has_a_row_for_every_cup_in_the_order_of_its_printed_form() {
    let room = fresh(SHEET);
    let plan = plan::document::document(&room.class, room.seed).unwrap();
    let form = csv(&room);
    let mut lines = form.lines();
    assert_eq!(lines.next(), Some("seat,code,steep,aroma,score: code,strength,words,note"));
    for (place, order) in plan.orders.iter().enumerate() {
        for steep in 1..=2 {
            for code in order {
                assert_eq!(lines.next(), Some(format!("Seat {},{code},{steep},,,,,", place + 1).as_str()));
            }
        }
    }
    assert_eq!(lines.next(), None);
}

#[test]
fn what_the_ledger_has_stands_in_it_and_what_is_missing_is_blank() {
    let room = evening(&[]);
    let form = csv(&room);
    let rows: Vec<&str> = form.lines().skip(1).collect();
    assert_eq!(rows.len(), 8 * 4 * 3);
    let blank: Vec<&&str> = rows.iter().filter(|row| row.ends_with(",,,,")).collect();
    assert_eq!(blank, [&"Goran,237,3,,,,"], "one score was left out");
    assert!(rows.iter().any(|row| row.ends_with(",just right,")), "the strength stands in words");
    assert!(!form.contains("Tea 1") && !form.contains("Leaf"), "codes only");
}

#[test]
fn the_spreadsheet_holds_the_same_and_says_how_it_is_filled_in() {
    let room = evening(&[]);
    let bytes = workbook(&room).unwrap();
    assert!(bytes == workbook(&room).unwrap(), "the same class gives the same bytes");
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes)).unwrap();
    assert_eq!(book.sheet_names(), ["scores", "how to fill in"]);
    let sheet = book.worksheet_range("scores").unwrap();
    let rows: Vec<String> = sheet
        .rows()
        .map(|row| row.iter().map(|cell| guarded(&cell.to_string())).collect::<Vec<_>>().join(","))
        .collect();
    assert_eq!(rows, csv(&room).lines().collect::<Vec<_>>());
    assert!(matches!(sheet.get((1, 1)), Some(Data::Float(_))), "a code is a number there");
    let how = book.worksheet_range("how to fill in").unwrap();
    let words: Vec<String> = how.rows().map(|row| row[1].to_string()).collect();
    assert!(
        words.contains(&"a whole number from 1 to 9, dislike extremely to like extremely".to_string()),
        "{words:?}"
    );
}

#[test]
fn a_name_that_would_run_is_guarded() {
    let mut room = evening(&[]);
    let seat = room.seats[0].id;
    room.fold(room.seq + 1, room.last_at, Event::Renamed { seat, name: "=1+1".into() });
    assert!(csv(&room).contains("\n'=1+1,"), "{}", csv(&room));
}

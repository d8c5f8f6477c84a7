//! The spreadsheet read back by another program's eyes.

use super::*;
use crate::csv;
use crate::tables::{Holds, ledger, tables, with_scores};
use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use fixtures::evening;
use proptest::prelude::*;
use room::Room;
use std::io::Cursor;
use summary::summarise;

type Book = Xlsx<Cursor<Vec<u8>>>;

fn all(room: &Room) -> Vec<Table> {
    with_scores(tables(&summarise(room, room.last_at)), ledger([room], false))
}

fn read(bytes: Vec<u8>) -> Book {
    open_workbook_from_rs(Cursor::new(bytes)).unwrap()
}

/// What a cell holds, as the sheet has it.
fn held(cell: &Cell) -> Data {
    match cell {
        Cell::Text(text) | Cell::Not(text) if text.is_empty() => Data::Empty,
        Cell::Text(text) | Cell::Not(text) => Data::String(text.clone()),
        Cell::Number(value, _) | Cell::Probability(value) => Data::Float(*value),
        Cell::Whole(value) => Data::Float(*value as f64),
        Cell::Empty => Data::Empty,
    }
}

/// The rows of a table below its heads, each as wide as the table.
fn rows(book: &mut Book, table: &Table) -> Vec<Vec<Data>> {
    let sheet = book.worksheet_range(sheet_of(table)).unwrap();
    let heads: Vec<Data> = table.columns.iter().map(|column| Data::String(column.head())).collect();
    // The scores have nothing above their heads.
    let title = Data::String(table.title.clone());
    let from = sheet.rows().position(|row| row[0] == title).unwrap_or(0);
    let mut rows = sheet.rows().skip(from);
    rows.find(|row| row.get(..heads.len()) == Some(&heads)).unwrap();
    rows.take(table.rows.len()).map(|row| row[..heads.len()].to_vec()).collect()
}

#[test]
fn every_table_stands_on_a_sheet_and_reads_back_cell_for_cell() {
    let tables = all(&evening(&[0, 1, 2, 3]));
    let mut book = read(workbook("Found", "2026-11-28", &tables).unwrap());
    let names = book.sheet_names();
    assert_eq!(
        names,
        [
            "found",
            "scores",
            "teas",
            "attributes",
            "pairs",
            "tests",
            "ways",
            "tasters",
            "strength and words",
            "sheets and method"
        ]
    );
    for table in &tables {
        let wanted: Vec<Vec<Data>> = table.rows.iter().map(|row| row.iter().map(held).collect()).collect();
        assert_eq!(rows(&mut book, table), wanted, "{}", table.name);
    }
    let rows: usize = names.iter().map(|name| book.worksheet_range(name).unwrap().height()).sum();
    let least: usize = tables.iter().map(|table| table.rows.len() + 1).sum();
    assert!(rows > least, "no table lies over another");
}

#[test]
fn the_sheet_of_scores_is_the_long_form_with_its_heads_in_the_first_row() {
    let room = evening(&[0]);
    let mut book = read(workbook("Found", "2026-11-28", &all(&room)).unwrap());
    let sheet = book.worksheet_range("scores").unwrap();
    let heads: Vec<String> = sheet.rows().next().unwrap().iter().map(ToString::to_string).collect();
    assert_eq!(heads, csv::COLUMNS.map(|(name, _)| name));
    assert_eq!(sheet.rows().count(), csv::long_form([&room], false).lines().count());
}

#[test]
fn the_same_class_gives_the_same_bytes() {
    let tables = all(&evening(&[0, 1, 2, 3]));
    let of = |date| workbook("Found", date, &tables).unwrap();
    assert!(of("2026-11-28") == of("2026-11-28"));
    assert!(of("no day") == of("no day"), "a day that is none is no reason for another file");
}

/// A table of one column of words.
fn column(texts: &[String]) -> Table {
    Table {
        name: "words".into(),
        title: "=title".into(),
        notes: vec!["+note".into()],
        columns: vec![Column { name: "@head".into(), unit: None, holds: Holds::Words }],
        rows: texts.iter().map(|text| vec![Cell::Text(text.clone())]).collect(),
        about: TableOf::Notes,
    }
}

#[test]
fn a_text_beyond_what_a_cell_holds_is_refused_in_words() {
    let refused = workbook("Found", "2026-11-28", &[column(&["x".repeat(40_000)])]).unwrap_err();
    assert!(refused.to_string().starts_with("the spreadsheet can't be made ("), "{refused}");
}

proptest! {
    #[test]
    fn what_people_write_is_text_and_never_a_formula(texts in prop::collection::vec("[=+@'\\-A1(){}<&\"é茶 ]{1,12}", 1..8)) {
        let table = column(&texts);
        let mut book = read(workbook("Found", "2026-11-28", std::slice::from_ref(&table)).unwrap());
        let formulas = book.worksheet_formula("sheets and method").unwrap();
        prop_assert!(formulas.used_cells().next().is_none());
        let read: Vec<Data> = rows(&mut book, &table).into_iter().flatten().collect();
        prop_assert_eq!(read, texts.into_iter().map(Data::String).collect::<Vec<_>>());
    }
}

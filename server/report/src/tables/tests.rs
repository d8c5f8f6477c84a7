//! The tables as a person reads them, and what holds for all of them.

use super::*;
use fixtures::{At, Filled, class_file, evening, room};
use proptest::prelude::*;
use room::Room;
use room::light::ClassScores;
use std::collections::HashSet;
use summary::several::digest::Digest;
use summary::several::pool;
use summary::summarise;

const WORDS: [&str; 2] = ["floral", "nutty"];

fn of(room: &Room) -> Vec<Table> {
    tables(&summarise(room, room.last_at))
}

fn named<'a>(tables: &'a [Table], name: &str) -> &'a Table {
    tables.iter().find(|table| table.name == name).unwrap_or_else(|| panic!("no table {name}"))
}

/// The first rows of a table, one line each.
fn begin(table: &Table, rows: usize) -> String {
    let line = |cells: Vec<String>| cells.join(" | ") + "\n";
    let mut out = format!("{}: {}\n", table.name, table.title);
    out.extend(table.notes.iter().map(|note| format!("  {note}\n")));
    out += &line(table.columns.iter().map(Column::head).collect());
    out.extend(table.rows.iter().take(rows).map(|row| line(row.iter().map(Cell::to_string).collect())));
    if table.rows.len() > rows {
        out += &format!("({} rows)\n", table.rows.len());
    }
    out
}

#[test]
fn the_tables_of_a_revealed_class_are_as_they_were_read_last() {
    let tables = of(&evening(&[0, 1, 2, 3]));
    let pages: Vec<String> = tables.iter().map(|table| begin(table, 4)).collect();
    insta::assert_snapshot!("evening", pages.join("\n"));
}

#[test]
fn a_table_holds_the_figures_that_were_found() {
    let room = evening(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    let tables = tables(&summary);
    let found = &summary.findings;
    let spread = named(&tables, "liking by tea");
    let place = |name: &str| spread.columns.iter().position(|column| column.name == name).unwrap();
    let line = found.figures.described.iter().find(|l| l.attribute == "liking" && l.steep.is_none()).unwrap();
    let row = &spread.rows[0];
    assert_eq!(row[place("mean")], Cell::number(line.mean, 2));
    assert_eq!(row[place("median")], Cell::number(line.median, 2));
    assert_eq!(row[place("tasters")], line.n.into());
    assert_eq!(named(&tables, "scores").rows.len(), found.figures.dots.len());
    assert_eq!(named(&tables, "found").rows.len(), found.sentences.len());
    let pairs: usize = found.figures.differences.iter().filter(|d| d.attribute == "aroma").count() * 6;
    assert_eq!(named(&tables, "aroma pairs").rows.len(), pairs, "six pairs of four teas in every comparison");
}

#[test]
fn the_private_pages_of_the_seats_are_in_no_table() {
    let room = evening(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    let everything: String = tables(&summary).iter().map(|table| begin(table, usize::MAX)).collect();
    let private: Vec<&str> = summary
        .findings
        .figures
        .seats
        .iter()
        .flat_map(|page| &page.sentences)
        .map(|s| s.text.as_str())
        .collect();
    assert!(private.len() > 7, "there is something to keep private");
    assert!(private.iter().all(|sentence| !everything.contains(sentence)));
}

#[test]
fn names_that_would_meet_or_not_fit_are_made_different() {
    let long = "x".repeat(40);
    let short = names::short(["aroma", "Aroma", "a/b", "a:b", &long, &long, "..", "'"].into_iter());
    let xs = "x".repeat(19);
    let cut = format!("{} 2", "x".repeat(17));
    assert_eq!(short, ["aroma", "Aroma 2", "a-b", "a-b 2", &xs, &cut, "-", "- 2"]);
    let sheet = "[sheet]\nattributes = [\"ways\", \"rank\", \"Scores by steep\", \"tea 🍵🍵🍵🍵🍵🍵🍵🍵🍵🍵🍵🍵🍵🍵\"]\nwords = [\"floral\", \"nutty\"]";
    lawful(&of(&room(&class_file(2, 2, sheet), 3, &[0, 1], |at| Some(drawn(at, 3, 4, 100)))));
}

#[test]
fn what_nobody_scored_has_no_table() {
    let class = class_file(2, 2, "[sheet]\nattributes = [\"liking\"]");
    for seats in [0, 2] {
        let names: Vec<String> =
            of(&room(&class, seats, &[], |_| None)).into_iter().map(|table| table.name).collect();
        assert_eq!(names.iter().filter(|name| name.starts_with("liking")).count(), 0, "{names:?}");
        assert!(names.contains(&"found".into()) && names.contains(&"method".into()), "{names:?}");
    }
}

/// The tables of some classes together.
fn together(rooms: &[Room]) -> Vec<Table> {
    let worked_up = |room: &Room| {
        let record = ClassScores::of(room);
        let digest = Digest::of(&record);
        (record, digest)
    };
    pooled(&pool(&rooms.iter().map(worked_up).collect::<Vec<_>>()))
}

#[test]
fn the_tables_of_several_classes_are_as_they_were_read_last() {
    let tables = together(&[evening(&[0, 1, 2, 3]), evening(&[0, 1])]);
    lawful(&tables);
    let pages: Vec<String> = tables.iter().map(|table| begin(table, 4)).collect();
    let pages = pages.join("\n");
    insta::assert_snapshot!("pooled", pages);
    let blind: String = together(&[evening(&[])]).iter().map(|table| begin(table, usize::MAX)).collect();
    assert!(!blind.contains("Tea ") && !blind.contains("Leaf "), "{blind}");
    assert!(together(&[]).is_empty());
}

/// Scattered scores that follow from the place and a seed; of a hundred sheets `filled` are there.
fn drawn(at: At, seed: u64, attributes: usize, filled: u64) -> Filled {
    let scattered = |k: usize| {
        let place = (at.seat * 41 + at.tea * 97 + at.steep as usize * 173 + k * 59) as u64;
        (place ^ seed.rotate_left(17)).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 33
    };
    let value = |k: usize| (scattered(k) % 100 < filled).then(|| (scattered(k + 7) % 9) as i32 + 1);
    let strength = (scattered(99) % 100 < filled).then(|| (scattered(98) % 5) as i8 - 2);
    let words = WORDS.iter().enumerate().filter(|(k, _)| scattered(k + 50) % 3 == 0);
    let words = words.map(|(_, word)| word.to_string()).collect();
    Filled { values: (0..attributes).map(value).collect(), strength, words }
}

/// What holds for all tables.
fn lawful(tables: &[Table]) {
    let mut names = HashSet::new();
    for table in tables {
        let name = &table.name;
        assert!(names.insert(name.to_lowercase()), "{name} twice");
        assert!((1..=31).contains(&name.encode_utf16().count()), "{name}");
        assert!(!name.contains(['[', ']', ':', '*', '?', '/', '\\', '<', '>', '|', '"']), "{name}");
        assert!(!table.rows.is_empty() && !table.title.is_empty(), "{name}");
        let heads: HashSet<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
        assert_eq!(heads.len(), table.columns.len(), "{name}: a column twice");
        for row in &table.rows {
            assert_eq!(row.len(), table.columns.len(), "{name}");
            for cell in row {
                match cell {
                    Cell::Number(value, _) => assert!(value.is_finite(), "{name}"),
                    Cell::Probability(p) => assert!((0.0..=1.0).contains(p), "{name}"),
                    _ => {}
                }
                let shown = cell.to_string();
                assert!(!shown.contains("NaN") && !shown.contains("inf "), "{name}: {shown}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn tables_of_any_class_are_rectangular_finite_and_tell_no_blind_name(
        teas in 1usize..6, steeps in 1u32..4, seats in 0usize..9, attributes in 1usize..4, filled in 0u64..=100,
        revealed in prop::collection::vec(any::<bool>(), 6), seed in any::<u64>(), weights in any::<bool>(),
    ) {
        let names: Vec<String> = (0..attributes).map(|i| ["liking", "aroma", "body"][i].to_string()).collect();
        let mut sheet = format!("[sheet]\nattributes = {names:?}\nstrength = {}\nwords = {WORDS:?}", seed % 3 > 0);
        if weights {
            sheet += "\nweights = { liking = 100 }";
        }
        let open: Vec<usize> = (0..teas).filter(|&tea| revealed[tea]).collect();
        let room = room(&class_file(teas, steeps, &sheet), seats, &open, |at| {
            let mut filled = drawn(at, seed, attributes, filled);
            if seed % 3 == 0 {
                filled.strength = None;
            }
            (filled.values.iter().any(Option::is_some)).then_some(filled)
        });
        let tables = of(&room);
        lawful(&tables);
        let everything: String = tables.iter().map(|table| begin(table, usize::MAX)).collect();
        for tea in (0..teas).filter(|tea| !revealed[*tea]) {
            let name = format!("Tea {}", tea + 1);
            prop_assert!(!everything.contains(&name), "{name} is blind");
        }
    }
}

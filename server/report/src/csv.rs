//! Scores in long form, one score a row, and tables as files, after RFC 4180 (commas, CRLF, quotes where needed).

use crate::tables::{Cell, Holds, Table, index};
use protocol::text::spreadsheet_cell;
use room::Room;
use room::scores::Kept;

/// The columns and what is in them.
pub(crate) const COLUMNS: [(&str, Holds); 16] = [
    ("class_id", Holds::Words),
    ("title", Holds::Words),
    ("date", Holds::Words),
    ("seat", Holds::Seat),
    ("code", Holds::Code),
    ("tea", Holds::Words),
    ("leaf", Holds::Words),
    ("steep", Holds::Numbers),
    ("attribute", Holds::Attribute),
    ("value", Holds::Numbers),
    ("text", Holds::Words),
    ("revision", Holds::Numbers),
    ("score_id", Holds::Words),
    ("host_s", Holds::Numbers),
    ("counts", Holds::Words),
    ("rehearsal", Holds::Words),
];

/// What stands under `attribute` in the row of a ticked word; the word itself is the text, the value is 1.
pub const WORD: &str = "word";

/// Every score that counts, or with `revisions` every score ever kept, in the order of the ledger: one row for each
/// attribute, strength vote, ticked word and note; class after class. Text is made inert, so that no spreadsheet runs it;
/// the names of blind teas are left empty.
pub fn long_form<'a>(rooms: impl IntoIterator<Item = &'a Room>, revisions: bool) -> String {
    let rows = rows(rooms, revisions).map(|row| row.map(|cell| plain(&cell)).to_vec());
    file(&COLUMNS.map(|(name, _)| name.into()), rows)
}

/// A table as a file of its own, after RFC 4180. Numbers are unrounded, and units stand in the heads.
pub fn table(table: &Table) -> String {
    let heads: Vec<String> = table.columns.iter().map(|column| guarded(&column.head())).collect();
    file(&heads, table.rows.iter().map(|row| row.iter().map(plain).collect()))
}

/// A file for every table, and `tables.csv` that lists them: names and contents.
pub fn files(tables: &[Table]) -> impl Iterator<Item = (String, String)> {
    let all = std::iter::once(index(tables)).chain(tables.iter().cloned());
    all.map(|one| (format!("{}.csv", one.name), table(&one)))
}

pub(crate) fn file(heads: &[String], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut write = |row: &[String]| {
        out.write_record(row)
            .unwrap_or_else(|e| unreachable!("a row of {} cells into memory: {e}", heads.len()));
    };
    write(heads);
    rows.for_each(|row| write(&row));
    let bytes = out.into_inner().unwrap_or_else(|e| unreachable!("memory can be written to: {e}"));
    String::from_utf8(bytes).unwrap_or_else(|e| unreachable!("text in, text out: {e}"))
}

/// A cell as a file holds it: words inert, numbers with all their digits and at least the decimals that people are shown.
fn plain(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) | Cell::Not(text) => guarded(text),
        Cell::Whole(value) => value.to_string(),
        Cell::Probability(p) => p.to_string(),
        Cell::Number(value, decimals) => {
            let (all, decimals) = (value.to_string(), usize::from(*decimals));
            let has = all.split_once('.').map_or(0, |(_, digits)| digits.len());
            if has < decimals { format!("{value:.decimals$}") } else { all }
        }
        Cell::Empty => String::new(),
    }
}

/// A cell made inert, so that [`unguarded`] gives back its text: what an apostrophe guards, with none or some in front
/// already, gets one more.
pub(crate) fn guarded(text: &str) -> String {
    let bare = text.trim_start_matches('\'');
    if spreadsheet_cell(bare) == bare { text.to_string() } else { format!("'{text}") }
}

/// The text of a cell as it was before it was made inert.
pub fn unguarded(cell: &str) -> &str {
    let bare = cell.trim_start_matches('\'');
    if spreadsheet_cell(bare) == bare { cell } else { cell.strip_prefix('\'').unwrap_or(cell) }
}

/// Whether a score counts: no later one has replaced it, it was not voided, and its seat is not left out.
fn counts(room: &Room, kept: &Kept) -> bool {
    let counted = room.seat_of(kept.seat).is_none_or(|seat| room.is_counted(seat));
    counted
        && room
            .scores
            .of(kept.seat, (kept.score.code, kept.score.steep))
            .is_some_and(|counting| counting.seq == kept.seq)
}

/// The rows of the long form, cell by cell.
pub fn rows<'a>(
    rooms: impl IntoIterator<Item = &'a Room>,
    revisions: bool,
) -> impl Iterator<Item = [Cell; 16]> {
    rooms.into_iter().flat_map(move |room| {
        let kept = room.scores.all().iter().filter(move |kept| revisions || counts(room, kept));
        kept.flat_map(move |kept| {
            cells(room, kept).map(move |(attribute, value, text)| row(room, kept, attribute, value, text))
        })
    })
}

/// The scores of one sheet in its order: attribute, value, text.
fn cells<'a>(room: &'a Room, kept: &'a Kept) -> impl Iterator<Item = (&'a str, Option<i32>, &'a str)> {
    let score = &kept.score;
    let attributes = room.class.sheet.attributes.iter();
    let values = attributes.filter_map(|a| Some((a.name.as_str(), Some(*score.values.get(&a.name)?), "")));
    let strength = score.strength.map(|s| ("strength", Some(i32::from(s.number())), ""));
    let words = score.words.iter().map(|word| (WORD, Some(1), word.as_str()));
    let note = (!score.note.is_empty()).then_some(("note", None, score.note.as_str()));
    values.chain(strength).chain(words).chain(note)
}

fn row(room: &Room, kept: &Kept, attribute: &str, value: Option<i32>, text: &str) -> [Cell; 16] {
    let score = &kept.score;
    let tea = room.class.tea(score.code).filter(|_| room.is_open(score.code));
    let seat = room.seat_of(kept.seat).map_or("", |s| s.name.as_str());
    // Milliseconds, which is what a reader can use.
    let host_s = (kept.at.0 as f64 / 1e3).round() / 1e3;
    [
        room.class_id.to_string().into(),
        room.class.title.as_str().into(),
        room.class.date.as_str().into(),
        seat.into(),
        score.code.into(),
        tea.map(|tea| tea.name.as_str()).into(),
        tea.map(|tea| tea.leaf.as_str()).into(),
        score.steep.into(),
        attribute.into(),
        value.into(),
        text.into(),
        score.revision.into(),
        score.id.to_string().into(),
        Cell::Number(host_s, 3),
        yes_no(counts(room, kept)),
        yes_no(room.rehearsal().is_some()),
    ]
}

fn yes_no(yes: bool) -> Cell {
    if yes { "yes" } else { "no" }.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_cell_that_would_run_is_guarded_and_others_are_left_alone() {
        for (text, cell) in
            [("=1", "'=1"), ("'=1", "''=1"), ("'tis", "'tis"), ("a=b", "a=b"), ("", ""), ("'", "'")]
        {
            assert_eq!(guarded(text), cell);
        }
    }

    #[test]
    fn every_row_says_whether_the_class_was_only_rehearsed() {
        for (pace, rehearsal) in [(60.0, "yes"), (1.0, "no")] {
            let mut room = fixtures::evening(&[0]);
            room.fold(
                room.seq + 1,
                room.last_at,
                room::Event::Opened { unix_us: 0, pace, boot: None, door: Default::default() },
            );
            let file = long_form([&room], false);
            let mut lines = file.lines().map(|line| line.rsplit(',').next().unwrap());
            assert_eq!(lines.next(), Some("rehearsal"));
            assert!(lines.all(|last| last == rehearsal));
        }
    }

    proptest! {
        #[test]
        fn what_was_guarded_is_read_back_and_no_cell_opens_a_formula(text in "['=+@ a-]{0,6}") {
            let cell = guarded(&text);
            prop_assert_eq!(unguarded(&cell), &text);
            prop_assert_eq!(spreadsheet_cell(&cell), cell);
        }
    }
}

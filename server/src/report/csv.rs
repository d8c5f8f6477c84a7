//! Scores in long form: one score a row, after RFC 4180 (commas, CRLF, quotes where needed).

use crate::room::Room;
use crate::room::scores::Kept;
use protocol::text::spreadsheet_cell;

/// The columns.
pub const COLUMNS: [&str; 15] = [
    "class_id",
    "title",
    "date",
    "seat",
    "code",
    "tea",
    "leaf",
    "steep",
    "attribute",
    "value",
    "text",
    "revision",
    "score_id",
    "host_s",
    "counts",
];

/// What stands under `attribute` in the row of a ticked word; the word itself is the text, the value is 1.
pub const WORD: &str = "word";

/// Every score that counts, or with `revisions` every score ever kept, in the order of the ledger: one row for each
/// attribute, strength vote, ticked word and note; class after class. Text is made inert, so that no spreadsheet runs it;
/// the names of blind teas are left empty.
pub fn long_form<'a>(rooms: impl IntoIterator<Item = &'a Room>, revisions: bool) -> String {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut write = |row: &[String]| {
        out.write_record(row)
            .unwrap_or_else(|e| unreachable!("a row of {} cells into memory: {e}", COLUMNS.len()));
    };
    write(&COLUMNS.map(String::from));
    for room in rooms {
        for kept in room.scores.all().iter().filter(|kept| revisions || counts(room, kept)) {
            for (attribute, value, text) in cells(room, kept) {
                write(&row(room, kept, attribute, value, text));
            }
        }
    }
    let bytes = out.into_inner().unwrap_or_else(|e| unreachable!("memory can be written to: {e}"));
    String::from_utf8(bytes).unwrap_or_else(|e| unreachable!("text in, text out: {e}"))
}

/// A cell made inert, so that [`unguarded`] gives back its text: what an apostrophe guards, with none or some in front
/// already, gets one more.
fn guarded(text: &str) -> String {
    let bare = text.trim_start_matches('\'');
    if spreadsheet_cell(bare) == bare { text.to_string() } else { format!("'{text}") }
}

/// The text of a cell as it was before it was made inert.
pub fn unguarded(cell: &str) -> &str {
    let bare = cell.trim_start_matches('\'');
    if spreadsheet_cell(bare) == bare { cell } else { cell.strip_prefix('\'').unwrap_or(cell) }
}

/// Whether no later revision has replaced a score.
fn counts(room: &Room, kept: &Kept) -> bool {
    room.scores
        .of(kept.seat, (kept.score.code, kept.score.steep))
        .is_some_and(|counting| counting.seq == kept.seq)
}

/// The scores of one sheet in its order: attribute, value, text.
fn cells<'a>(room: &'a Room, kept: &'a Kept) -> impl Iterator<Item = (&'a str, String, &'a str)> {
    let score = &kept.score;
    let attributes = room.class.sheet.attributes.iter();
    let values =
        attributes.filter_map(|a| Some((a.name.as_str(), score.values.get(&a.name)?.to_string(), "")));
    let strength = score.strength.map(|s| ("strength", s.number().to_string(), ""));
    let words = score.words.iter().map(|word| (WORD, "1".to_string(), word.as_str()));
    let note = (!score.note.is_empty()).then_some(("note", String::new(), score.note.as_str()));
    values.chain(strength).chain(words).chain(note)
}

fn row(room: &Room, kept: &Kept, attribute: &str, value: String, text: &str) -> [String; 15] {
    let score = &kept.score;
    let tea = room.class.tea(score.code).filter(|_| room.is_open(score.code));
    let seat = room.seat_of(kept.seat).map_or("", |s| s.name.as_str());
    [
        room.class_id.to_string(),
        guarded(&room.class.title),
        room.class.date.clone(),
        guarded(seat),
        score.code.to_string(),
        guarded(tea.map_or("", |t| &t.name)),
        guarded(tea.map_or("", |t| &t.leaf)),
        score.steep.to_string(),
        guarded(attribute),
        value,
        guarded(text),
        score.revision.to_string(),
        score.id.to_string(),
        format!("{:.3}", kept.at.0 as f64 / 1e6),
        if counts(room, kept) { "yes".into() } else { "no".into() },
    ]
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

    proptest! {
        #[test]
        fn what_was_guarded_is_read_back_and_no_cell_opens_a_formula(text in "['=+@ a-]{0,6}") {
            let cell = guarded(&text);
            prop_assert_eq!(unguarded(&cell), &text);
            prop_assert_eq!(spreadsheet_cell(&cell), cell);
        }
    }
}

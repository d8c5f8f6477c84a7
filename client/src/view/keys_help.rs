//! The keys, explained.

use protocol::{Sheet, fit};
use ratatui::style::Stylize;
use ratatui::text::Line;
use seat::app::App;

/// Where the explanation begins.
const COLUMN: usize = 17;

const KEYS: [(&str, &str); 10] = [
    ("↑ ↓", "another line"),
    ("← →", "one point less or more"),
    ("letters", "write the note, from any line"),
    ("Backspace", "clear the line; in the note, one character"),
    ("Enter", "send the sheet; open a sent one again"),
    ("Tab, Shift-Tab", "what is ready, or another cup of this round"),
    ("/ or F2", "any cup: code and steep (F2 in the note)"),
    ("-2 to 2", "on the strength line: thin to strong"),
    ("? or F1", "these keys (in the note F1 only)"),
    ("Ctrl-C", "leave, asked once; your seat is kept"),
];

/// Where the sheet has words, for which letters lead to a word.
const NOTE_BESIDE_WORDS: &str = "write the note, but on the words' line";

/// Where no sheet is asked.
const WITHOUT_A_SHEET: [(&str, &str); 2] =
    [("? or F1", "these keys"), ("Ctrl-C", "leave, asked once; your seat is kept")];

/// Only for whoever scores.
const DRINK: [(&str, &str); 1] = [("DRINK [417]", "order to taste in; [ ]: this sheet's cup")];

/// Only where the sheet has words.
const WORDS: [(&str, &str); 3] = [
    ("← →, a letter", "on the words: another word"),
    ("Space", "on the words: tick it, or take it off"),
    ("Backspace", "on the words: take it off"),
];

/// Only where the teacher has said something.
const SAID: [(&str, &str); 1] = [("! or F3", "what the teacher said (in the note F3 only)")];

/// Only where a difference test is open.
const TESTS: [(&str, &str); 2] = [
    ("1 2 3, ← →", "in a test: choose a cup; Enter sends it"),
    ("Tab", "to an open test, after the last cup"),
];

/// The keys that this class needs.
pub fn lines(app: &App, width: usize) -> Vec<Line<'static>> {
    let scores = app.class.as_ref().is_none_or(|class| class.role.scores());
    let keys = if scores { &KEYS[..] } else { &WITHOUT_A_SHEET[..] };
    let has_words = app.class.as_ref().is_some_and(|class| scores && !class.sheet.words.is_empty());
    let words = if has_words { &WORDS[..] } else { &[] };
    let has_tests = app.class.as_ref().is_some_and(|class| !class.tests.is_empty());
    let tests = if has_tests { &TESTS[..] } else { &[] };
    let said = if app.all_said().next().is_some() { &SAID[..] } else { &[] };
    let digits = app.class.as_ref().map_or("1 to 9".into(), |class| digits(&class.sheet));
    let value = [(digits.as_str(), "fill the line and go to the next")];
    let mut lines = vec![Line::from(" Keys").bold()];
    let line = |(key, does): &(&str, &str)| {
        let room = width.saturating_sub(COLUMN).max(1);
        let does = if has_words && *key == "letters" { NOTE_BESIDE_WORDS } else { does };
        let parts = fit::wrap(does, room).into_iter().enumerate();
        let key = |i: usize| if i == 0 { fit::left(key, COLUMN - 3) } else { " ".repeat(COLUMN - 3) };
        let rows = parts.map(|(i, part)| Line::from(fit::cut(&format!(" {}  {part}", key(i)), width)));
        rows.collect::<Vec<_>>()
    };
    let (value, drink) = if scores { (&value[..], &DRINK[..]) } else { (&[][..], &[][..]) };
    lines.extend(value.iter().chain(keys).chain(drink).chain(words).chain(tests).chain(said).flat_map(line));
    lines
}

/// What is typed at the lines of the sheet: the points of its scales, or any number if they differ.
fn digits(sheet: &Sheet) -> String {
    let mut scales = sheet.attributes.iter().map(|a| (a.min, a.max));
    match scales.next() {
        Some((min, max)) if scales.all(|other| other == (min, max)) => format!("{min} to {max}"),
        _ => "numbers".into(),
    }
}

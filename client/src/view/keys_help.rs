//! The keys, explained.

use super::fit;
use ratatui::style::Stylize;
use ratatui::text::Line;

const KEYS: [(&str, &str); 10] = [
    ("0 to 9", "fill the line and go to the next"),
    ("↑ ↓", "another line"),
    ("← →", "one point less or more"),
    ("letters", "write the note, from any line"),
    ("Backspace", "clear the line; in the note, one character"),
    ("Enter", "send the sheet, from any line"),
    ("Tab, Shift-Tab", "another cup, also to score it again"),
    ("1 to 5", "on the strength line: thin to strong"),
    ("? or F1", "these keys (in the note F1 only)"),
    ("Ctrl-C", "leave, asked once; your seat is kept"),
];

pub fn lines(width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::from(" Keys").bold()];
    lines.extend(
        KEYS.map(|(key, does)| Line::from(fit::cut(&format!(" {}  {does}", fit::left(key, 14)), width))),
    );
    lines
}

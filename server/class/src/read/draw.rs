//! Faults as a teacher reads them: the number of the line, what is wrong, the line itself with the words concerned
//! underlined, and what would be right.

use super::fault::Fault;
use protocol::fit;
use protocol::text::message;
use std::ops::Range;

/// A message is read on a terminal of this width at least.
const WIDTH: usize = 80;
const INDENT: &str = "    ";
/// Stands close under the words, has the width of one letter everywhere and is in every font.
const UNDERLINE: &str = "¯";

/// All faults, one below the other, and what came of them.
pub(super) fn draw(file: &str, source: &str, faults: &[Fault], so: &str) -> String {
    let drawn: String = faults.iter().map(|fault| one(source, fault) + "\n").collect();
    let count = if faults.len() == 1 { "1 fault".into() } else { format!("{} faults", faults.len()) };
    drawn + &message(&format!("{file}: {count}; {so}"))
}

fn one(source: &str, fault: &Fault) -> String {
    let what = format!("{} {}", fault.field, fault.problem);
    let remedy = paragraph(&format!("{INDENT}{}", sentence(&fault.remedy)));
    match &fault.place {
        None => paragraph(&format!("The file: {}", stopped(&what))) + &remedy,
        Some(place) => {
            let (number, line) = line_at(source, place.start);
            let head = paragraph(&format!("Line {number}, {}", stopped(&what)));
            head + &underlined(source, line, place) + &remedy
        }
    }
}

/// The number of the line that a byte lies in, and where the line lies.
fn line_at(source: &str, at: usize) -> (usize, Range<usize>) {
    let at = source.floor_char_boundary(at);
    let start = source[..at].rfind('\n').map_or(0, |newline| newline + 1);
    let end = source[at..].find('\n').map_or(source.len(), |newline| at + newline);
    let number = source[..start].matches('\n').count() + 1;
    (number, start..start + source[start..end].trim_end_matches('\r').len())
}

/// The line and a second one below it that underlines the part of it that lies in `place`; nothing for an empty line.
fn underlined(source: &str, line: Range<usize>, place: &Range<usize>) -> String {
    let within = |at: usize| source.floor_char_boundary(at.clamp(line.start, line.end));
    let (from, to) = (within(place.start), within(place.end));
    let before = message(&source[line.start..from]);
    let words = message(&source[from..to]);
    let after = message(&source[to..line.end]);
    if before.is_empty() && words.is_empty() && after.is_empty() {
        return String::new();
    }
    let room = WIDTH - INDENT.len();
    // A long line is shown from shortly before the words concerned.
    let far = fit::columns(&before) + fit::columns(&words) > room;
    let before = if far { fit::cut_front(&before, room / 3) } else { before.to_string() };
    let shown = fit::cut(&format!("{before}{words}{after}"), room);
    let skipped = fit::columns(&before);
    let marked = fit::columns(words.trim_end()).clamp(1, (room - skipped).max(1));
    format!("{INDENT}{shown}\n{INDENT}{}{}\n", " ".repeat(skipped), UNDERLINE.repeat(marked))
}

/// A text that begins with a capital letter and ends with a full stop. What is quoted from a file stays as it is.
fn sentence(text: &str) -> String {
    let mut rest = text.chars();
    let first = rest.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    stopped(&(first + rest.as_str()))
}

fn stopped(text: &str) -> String {
    if text.ends_with(['.', '?', '!']) { text.into() } else { format!("{text}.") }
}

fn paragraph(text: &str) -> String {
    fit::wrap(&message(text), WIDTH).iter().map(|line| format!("{line}\n")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn fault(place: Range<usize>) -> Fault {
        let (field, problem, remedy) = ("seats", "is 0, which can't be", "give a whole number");
        Fault { place: Some(place), field: field.into(), problem: problem.into(), remedy: remedy.into() }
    }

    #[test]
    fn the_words_concerned_are_underlined_whatever_stands_before_them() {
        let source = "title = \"x\"\r\n\t茶 = 00 # none\r\n";
        let at = source.find("00").unwrap();
        let drawn = draw("x.toml", source, &[fault(at..at + 2)], "no plan was made");
        let lines: Vec<&str> = drawn.lines().collect();
        assert_eq!(lines[0], "Line 2, seats is 0, which can't be.");
        assert_eq!(lines[1], "     茶 = 00 # none");
        assert_eq!(lines[2], "          ¯¯");
        assert_eq!(lines[3], "    Give a whole number.");
    }

    #[test]
    fn a_long_line_is_shown_where_it_matters() {
        let source = format!("words = [{} 7, {}]", "\"floral\", ".repeat(40), "\"nutty\", ".repeat(40));
        let at = source.find('7').unwrap();
        let drawn = draw("x.toml", &source, &[fault(at..at + 1)], "no plan was made");
        let lines: Vec<&str> = drawn.lines().collect();
        assert!(lines.iter().all(|line| fit::columns(line) <= WIDTH), "{drawn}");
        let column = |text: &str, what: char| fit::columns(text.split(what).next().unwrap());
        assert_eq!(column(lines[1], '7'), column(lines[2], '¯'), "{drawn}");
    }

    proptest! {
        #[test]
        fn nothing_in_a_file_acts_on_the_terminal(source in any::<String>(), from in 0usize..99, long in 0usize..99, words in any::<String>()) {
            let fault = Fault { field: words.clone(), problem: words, ..fault(from..from + long) };
            let drawn = draw(&source, &source, &[fault], "no plan was made");
            prop_assert_eq!(message(&drawn), drawn);
        }
    }
}

//! What can be typed at a seat without a screen, for the class that it is in.

use crate::app::{App, Class, Desk, Line};
use protocol::{Attribute, Sheet, fit};

/// How wide the lines are, in columns, and where the explanation begins.
const WIDTH: usize = 80;
const COLUMN: usize = 19;
/// The points of the example, as far as a scale has them.
const POINTS: [i32; 4] = [7, 6, 5, 8];

/// The lines. The examples fit the sheet of the class.
pub fn lines(app: &App) -> Vec<String> {
    let usual = Sheet::default();
    let sheet = app.class.as_ref().map_or(&usual, |class| &class.sheet);
    let code = app.class.as_ref().and_then(first_code).unwrap_or_else(|| "417".into());
    let scores = app.class.as_ref().is_none_or(|class| class.role.scores());
    let mut all = if scores { filling(sheet, &code) } else { Vec::new() };
    let mut say = |key: &str, does: &str| all.push((key.into(), does.into()));
    say("teas, next", "each tea's clock; what comes");
    if scores {
        say("mine, sheet", "your scores; what is asked");
        say("missing", "the cups that you have not scored");
        say("tests, clock", "the tests that are open; how sure this seat's clock is");
    } else {
        say("sheet, clock", "what is asked of those who score; how sure this seat's clock is");
    }
    say("said", "what the teacher has said, once more");
    say("help, leave", "these lines; leave the class (your seat is kept)");
    all.iter().flat_map(|(key, does)| explained(key, does)).collect()
}

/// How sheets and tests are filled.
fn filling(sheet: &Sheet, code: &str) -> Vec<(String, String)> {
    let asks = |line: &Line<'_>| Desk::lines(sheet).contains(line);
    let first =
        format!("fill and send the sheet of the last decanted steep of {code}, in its order; - is a blank");
    let mut all = vec![
        (format!("{code} {}", values(sheet, false)), first),
        (format!("{code}/2 {}", values(sheet, true)), "the same for steep 2".into()),
    ];
    let mut say = |key: &str, does: &str| all.push((key.into(), does.into()));
    if let Some(last) = sheet.attributes.last() {
        say(
            &format!("{code} {} {}", last.name, last.max),
            "one value by its name; the rest stays as it was sent",
        );
    }
    if asks(&Line::Strength) {
        let words = "then the strength, from -2 (much too thin) over 0 (just right) to 2 (much too strong)";
        say("… strength -1", words);
    }
    if asks(&Line::Words) {
        let first: Vec<_> = sheet.words.iter().take(2).map(String::as_str).collect();
        let words = "then every word that fits, with commas between";
        say(&format!("… words {}", first.join(",")), words);
    }
    if asks(&Line::Note) {
        say("… note warm bread", "last of all a note, to the end of the line");
    }
    say("test 1 384", "answer test 1 once it is open: the code of the cup you choose");
    all
}

fn first_code(class: &Class) -> Option<String> {
    class.teas.first().map(|tea| tea.code.to_string())
}

/// A value for each line with a scale of its own; the second one left blank if asked.
fn values(sheet: &Sheet, blank: bool) -> String {
    let value = |(i, a): (usize, &Attribute)| {
        let point = POINTS[i % POINTS.len()].clamp(a.min, a.max.max(a.min));
        if blank && i == 1 { "-".into() } else { point.to_string() }
    };
    sheet.attributes.iter().enumerate().map(value).collect::<Vec<_>>().join(" ")
}

/// What is typed, and beside it what it does, broken between words; below it where it has no room beside it.
fn explained(key: &str, does: &str) -> Vec<String> {
    let mut parts = fit::wrap(does, WIDTH - COLUMN).into_iter();
    let beside = fit::columns(key) + 2 <= COLUMN;
    let first = match parts.next().filter(|_| beside) {
        Some(part) => vec![format!("{}{part}", fit::left(key, COLUMN))],
        None => fit::wrap(key, WIDTH),
    };
    let rest = if beside { parts.collect() } else { fit::wrap(does, WIDTH - COLUMN) };
    first.into_iter().chain(rest.iter().map(|part| format!("{}{part}", " ".repeat(COLUMN)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Desk, any_sheet, welcome, with_words};
    use proptest::prelude::*;
    use protocol::Phase;
    use protocol::wire::Welcome;

    #[test]
    fn the_example_has_as_many_values_as_the_sheet_has_lines() {
        let mut three = with_words(Phase::Running);
        three.sheet.attributes.truncate(3);
        three.sheet.attributes[0].max = 5;
        let lines = lines(&Desk::seated(three).app);
        assert_eq!(
            lines[0],
            "417 5 6 5          fill and send the sheet of the last decanted steep of 417, in"
        );
        assert_eq!(lines[1], "                   its order; - is a blank");
        assert_eq!(lines[2], "417/2 5 - 5        the same for steep 2");
        assert!(lines.contains(&"… words floral,fruity".to_string()), "{lines:#?}");
    }

    #[test]
    fn what_the_sheet_does_not_ask_is_not_explained() {
        let mut bare = welcome(Phase::Running);
        (bare.sheet.strength, bare.sheet.note) = (false, false);
        let text = lines(&Desk::seated(bare).app).join("\n");
        assert!(!text.contains("strength") && !text.contains("note") && !text.contains("words"), "{text}");
        assert!(lines(&Desk::new().app)[0].starts_with("417 7 6 5 8 "), "also before there is a sheet");
    }

    proptest! {
        #[test]
        fn no_line_is_wider_than_eighty_columns(sheet in any_sheet()) {
            let desk = Desk::seated(Welcome { sheet, ..welcome(Phase::Running) });
            for line in lines(&desk.app) {
                prop_assert!(fit::columns(&line) <= WIDTH, "{}", line);
            }
        }
    }
}

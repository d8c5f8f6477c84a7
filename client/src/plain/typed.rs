//! What a person types at a seat without a screen.

use protocol::{Code, Strength};
use seat::app::{Cleared, Fill, Question, SeatInput};

/// A line understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// For the seat.
    Input(SeatInput),
    /// An empty line.
    Nothing,
}

/// Understands a line.
///
/// # Errors
/// A sentence saying what was not understood and what can be typed instead.
pub fn read(line: &str) -> Result<Typed, String> {
    let line = line.trim();
    Ok(match line {
        "" => Typed::Nothing,
        "help" | "?" => Typed::Input(SeatInput::Ask(Question::Help)),
        "teas" => Typed::Input(SeatInput::Ask(Question::Teas)),
        "next" => Typed::Input(SeatInput::Ask(Question::Next)),
        "missing" => Typed::Input(SeatInput::Ask(Question::Missing)),
        "mine" => Typed::Input(SeatInput::Ask(Question::Mine)),
        "clock" => Typed::Input(SeatInput::Ask(Question::Clock)),
        "sheet" => Typed::Input(SeatInput::Ask(Question::Sheet)),
        "said" => Typed::Input(SeatInput::Ask(Question::Said)),
        "tests" => Typed::Input(SeatInput::Ask(Question::Tests)),
        "leave" => Typed::Input(SeatInput::Leave),
        _ => match line.split_once(char::is_whitespace) {
            Some(("test", rest)) => Typed::Input(answer(rest)?),
            _ => Typed::Input(SeatInput::Fill(fill(line)?)),
        },
    })
}

/// Understands a line while the host asks for a join code: the code, or a word that only asks or leaves.
///
/// # Errors
/// A sentence saying what a join code looks like.
pub fn read_at_door(line: &str) -> Result<Typed, String> {
    match (line.parse(), read(line)) {
        (Ok(code), _) => Ok(Typed::Input(SeatInput::JoinCode(code))),
        (_, Ok(typed @ (Typed::Nothing | Typed::Input(SeatInput::Ask(_) | SeatInput::Leave)))) => Ok(typed),
        (Err(fault), _) => Err(fault),
    }
}

fn answer(rest: &str) -> Result<SeatInput, String> {
    let mut words = rest.split_whitespace();
    let (test, pick) = (words.next().map(str::parse), words.next().map(str::parse));
    match (test, pick, words.next()) {
        (Some(Ok(test)), Some(Ok(pick)), None) => Ok(SeatInput::Answer { test, pick }),
        _ => Err("after test come its number and the code of the cup, such as: test 1 384".into()),
    }
}

fn fill(line: &str) -> Result<Fill, String> {
    let (cup, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let (code, steep) = match cup.split_once('/') {
        Some((code, steep)) => (code, Some(steep)),
        None => (cup, None),
    };
    let code: Code = code.parse().map_err(|_| {
        format!("`{}` is not understood; type a code and its values, or help", protocol::text::clean(cup, 20))
    })?;
    let steep = steep.map(|s| match s.parse::<u32>() {
        Ok(steep) if steep > 0 => Ok(steep),
        _ => Err(format!("after {code}/ comes the number of a steep, such as {code}/2")),
    });
    let mut fill = Fill { steep: steep.transpose()?, ..Fill::of(code) };
    let mut rest = rest.trim();
    while !rest.is_empty() {
        let (word, after) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
        rest = after.trim_start();
        match word {
            "note" => {
                match rest {
                    "-" => fill.cleared.push(Cleared::Note),
                    note => fill.note = note.into(),
                }
                break;
            }
            "strength" => {
                let (number, after) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
                rest = after.trim_start();
                match number {
                    "-" => fill.cleared.push(Cleared::Strength),
                    number => fill.strength = Some(strength(number)?),
                }
            }
            "words" => {
                let (words, note) = until_note(rest);
                fill.words =
                    words.split(',').map(str::trim).filter(|w| !w.is_empty()).map(String::from).collect();
                rest = note;
                if fill.words == ["-"] {
                    (fill.words, fill.cleared) = (Vec::new(), [fill.cleared, vec![Cleared::Words]].concat());
                    continue;
                }
                if fill.words.is_empty() {
                    return Err(
                        "after words come those that fit, with commas between: words floral,nutty".into()
                    );
                }
            }
            word if !has_strength(&fill) => match (value(word), named(word, rest)) {
                (Some(value), _) if fill.named.is_empty() => fill.values.push(value),
                (None, Some((name, value, after))) => {
                    fill.named.push((name, value));
                    rest = after;
                }
                (Some(_), _) => {
                    let words = "type all values in the sheet's order, or each with its name";
                    return Err(format!("`{}` follows a value with a name; {words}", short(word)));
                }
                (None, None) => {
                    let words = "is no value; a value is a whole number, or - for a blank";
                    return Err(format!("`{}` {words}", short(word)));
                }
            },
            other => {
                let words = "after the strength come only words and a note";
                return Err(format!("{words}, not `{}`", short(other)));
            }
        }
    }
    Ok(fill)
}

/// Parts what stands before the note from the note, its own word in front.
fn until_note(text: &str) -> (&str, &str) {
    let mut starts = text.match_indices("note").map(|(at, _)| at);
    let alone = |at: &usize| {
        let (before, after) = (&text[..*at], &text[at + 4..]);
        (before.is_empty() || before.ends_with(char::is_whitespace))
            && (after.is_empty() || after.starts_with(char::is_whitespace))
    };
    let at = starts.find(alone).unwrap_or(text.len());
    text.split_at(at)
}

fn has_strength(fill: &Fill) -> bool {
    fill.strength.is_some() || fill.cleared.contains(&Cleared::Strength)
}

/// A whole number, or - for a blank.
fn value(word: &str) -> Option<Option<i32>> {
    if word == "-" { Some(None) } else { word.parse().ok().map(Some) }
}

/// A value with the name of its line before it, which may be of several words; and what comes after it.
fn named<'a>(first: &str, mut rest: &'a str) -> Option<(String, Option<i32>, &'a str)> {
    let mut name = first.to_string();
    loop {
        let (word, after) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
        rest = after.trim_start();
        match value(word) {
            Some(value) => return Some((name, value, rest)),
            None if matches!(word, "" | "note" | "strength" | "words") => return None,
            None => name = format!("{name} {word}"),
        }
    }
}

fn strength(word: &str) -> Result<Strength, String> {
    let number = word.parse::<i8>().ok().and_then(|n| Strength::try_from(n).ok());
    number.ok_or_else(|| "strength is a whole number from -2 to 2".into())
}

fn short(word: &str) -> String {
    protocol::text::clean(word, 20)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(line: &str) -> Fill {
        match read(line) {
            Ok(Typed::Input(SeatInput::Fill(fill))) => fill,
            other => panic!("{line}: {other:?}"),
        }
    }

    #[test]
    fn a_line_fills_the_sheet_in_its_order() {
        let fill = filled(" 417/2  7 - 5 8 strength -1 note warm  bread, strength 2 ");
        assert_eq!((fill.code.to_string().as_str(), fill.steep), ("417", Some(2)));
        assert_eq!(fill.values, [Some(7), None, Some(5), Some(8)]);
        assert_eq!(fill.strength, Some(Strength::TooThin));
        assert_eq!(fill.note, "warm  bread, strength 2");
        assert_eq!(filled("417 -3 0").values, [Some(-3), Some(0)]);
    }

    #[test]
    fn a_value_may_have_the_name_of_its_line_and_a_dash_takes_off_what_was_sent() {
        let fill = filled("417 aroma 7 after taste - strength 1 note x");
        assert_eq!(fill.named, [("aroma".to_string(), Some(7)), ("after taste".to_string(), None)]);
        assert_eq!((fill.strength, fill.note.as_str()), (Some(Strength::TooStrong), "x"));
        let fill = filled("417 7 strength - words - note -");
        assert_eq!(fill.cleared, [Cleared::Strength, Cleared::Words, Cleared::Note]);
        assert_eq!((fill.words.len(), fill.note.as_str()), (0, ""));
    }

    #[test]
    fn words_are_parted_by_commas_and_end_where_the_note_begins() {
        let fill = filled("417 7 6 words floral, warm bread ,noted note nutty, too");
        assert_eq!(fill.values, [Some(7), Some(6)]);
        assert_eq!(fill.words, ["floral", "warm bread", "noted"]);
        assert_eq!(fill.note, "nutty, too");
        assert_eq!(filled("417 strength 0 words nutty").words, ["nutty"]);
        assert_eq!(filled("417 words nutty").note, "");
    }

    #[test]
    fn a_line_that_is_not_understood_says_what_can_be_typed() {
        for (line, words) in [
            ("dance", "`dance` is not understood; type a code and its values, or help"),
            ("417/x 3", "after 417/ comes the number of a steep, such as 417/2"),
            ("417/0 3", "after 417/ comes the number of a steep, such as 417/2"),
            ("417 7 b", "`b` is no value; a value is a whole number, or - for a blank"),
            ("417 aroma", "`aroma` is no value; a value is a whole number, or - for a blank"),
            ("417 aroma strength 1", "`aroma` is no value; a value is a whole number, or - for a blank"),
            (
                "417 aroma 7 6",
                "`6` follows a value with a name; type all values in the sheet's order, or each with its name",
            ),
            ("417 7 strength 3", "strength is a whole number from -2 to 2"),
            ("417 7 strength", "strength is a whole number from -2 to 2"),
            ("test 1", "after test come its number and the code of the cup, such as: test 1 384"),
            ("test 1 38", "after test come its number and the code of the cup, such as: test 1 384"),
            ("417 strength 1 7", "after the strength come only words and a note, not `7`"),
            (
                "417 words , note x",
                "after words come those that fit, with commas between: words floral,nutty",
            ),
        ] {
            assert_eq!(read(line), Err(words.to_string()), "{line}");
        }
    }

    proptest::proptest! {
        #[test]
        fn no_line_makes_it_panic(line: String) {
            read(&line).ok();
            read(&format!("417 {line}")).ok();
        }
    }
}

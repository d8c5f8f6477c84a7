//! What a person types at a seat without a screen.

use crate::app::{Fill, Question, SeatInput};
use protocol::{Code, Strength};

/// What can be typed, for the person.
pub const HELP: [&str; 7] = [
    "417 7 6 5 8        fill and send the sheet of the last decanted steep of 417, in the sheet's order; - is a blank",
    "417/2 7 - 5 8      the same for steep 2",
    "… strength -1      then the strength, from -2 (much too thin) over 0 (just right) to 2 (much too strong)",
    "… note warm bread  last of all a note, to the end of the line",
    "teas, next, mine, sheet   each tea's clock, what comes, your scores, what is asked",
    "clock              how sure this seat's clock is",
    "help, leave        these lines; leave the class (your seat is kept)",
];

/// A line understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Typed {
    /// For the seat.
    Input(SeatInput),
    /// The person asks what can be typed.
    Help,
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
        "help" | "?" => Typed::Help,
        "teas" => Typed::Input(SeatInput::Ask(Question::Teas)),
        "next" => Typed::Input(SeatInput::Ask(Question::Next)),
        "mine" => Typed::Input(SeatInput::Ask(Question::Mine)),
        "clock" => Typed::Input(SeatInput::Ask(Question::Clock)),
        "sheet" => Typed::Input(SeatInput::Ask(Question::Sheet)),
        "leave" => Typed::Input(SeatInput::Leave),
        _ => Typed::Input(SeatInput::Fill(fill(line)?)),
    })
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
                fill.note = rest.into();
                break;
            }
            "strength" => {
                let (number, after) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
                rest = after.trim_start();
                fill.strength = Some(strength(number)?);
            }
            "-" if fill.strength.is_none() => fill.values.push(None),
            value if fill.strength.is_none() => fill.values.push(Some(points(value)?)),
            other => return Err(format!("after the strength comes only a note, not `{}`", short(other))),
        }
    }
    Ok(fill)
}

fn points(word: &str) -> Result<i32, String> {
    let fault = || format!("`{}` is no value; a value is a whole number, or - for a blank", short(word));
    word.parse().map_err(|_| fault())
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
    fn a_line_that_is_not_understood_says_what_can_be_typed() {
        for (line, words) in [
            ("dance", "`dance` is not understood; type a code and its values, or help"),
            ("417/x 3", "after 417/ comes the number of a steep, such as 417/2"),
            ("417/0 3", "after 417/ comes the number of a steep, such as 417/2"),
            ("417 7 b", "`b` is no value; a value is a whole number, or - for a blank"),
            ("417 7 strength 3", "strength is a whole number from -2 to 2"),
            ("417 7 strength", "strength is a whole number from -2 to 2"),
            ("417 strength 1 7", "after the strength comes only a note, not `7`"),
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

//! One cell of a table.

use protocol::Code;
use stats::say;
use std::fmt;

/// What stands in a cell. Numbers are finite.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words, as a person wrote them or the program says them.
    Text(String),
    /// A number with so many decimals shown; files hold it unrounded.
    Number(f64, u8),
    /// A whole number: a count, a code, a steep, a score.
    Whole(i64),
    /// A probability, 0 to 1.
    Probability(f64),
    /// Why there is no figure, in words that fit after "not computed: ".
    Not(String),
    /// Nothing: does not apply.
    Empty,
}

/// As the page shows it: numbers with a minus sign and never "−0", probabilities "<0.001", "0.012", "0.34".
impl fmt::Display for Cell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cell::Text(text) | Cell::Not(text) => f.pad(text),
            Cell::Number(value, decimals) => f.pad(&rounded(*value, usize::from(*decimals))),
            Cell::Whole(value) => f.pad(&value.to_string().replace('-', "−")),
            Cell::Probability(p) => f.pad(&say::bare_p(*p)),
            Cell::Empty => f.pad(""),
        }
    }
}

impl Cell {
    /// A number that is finite, or nothing.
    pub fn number(value: impl Into<Option<f64>>, decimals: u8) -> Self {
        value.into().filter(|v| v.is_finite()).map_or(Cell::Empty, |v| Cell::Number(v, decimals))
    }

    /// A probability, or nothing.
    pub fn p(p: impl Into<Option<f64>>) -> Self {
        p.into().filter(|p| p.is_finite()).map_or(Cell::Empty, Cell::Probability)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Cell::Text(text.into())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Cell::Text(text)
    }
}

impl From<usize> for Cell {
    fn from(n: usize) -> Self {
        // No count in memory is larger than an i64.
        i64::try_from(n).map_or(Cell::Empty, Cell::Whole)
    }
}

impl From<u32> for Cell {
    fn from(n: u32) -> Self {
        Cell::Whole(n.into())
    }
}

impl From<i32> for Cell {
    fn from(n: i32) -> Self {
        Cell::Whole(n.into())
    }
}

/// Three digits, which stay a number as in the scores' long form.
impl From<Code> for Cell {
    fn from(code: Code) -> Self {
        let digits = code.to_string();
        digits.parse().map_or(Cell::Text(digits), Cell::Whole)
    }
}

/// Nothing for what is absent.
impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Cell::Empty, Into::into)
    }
}

fn rounded(value: f64, decimals: usize) -> String {
    let shown = format!("{:.decimals$}", value.abs());
    let negative = value < 0.0 && shown.bytes().any(|b| b.is_ascii_digit() && b != b'0');
    if negative { format!("−{shown}") } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_shows_what_a_person_can_use() {
        for (cell, shown) in [
            (Cell::Number(-1.256, 2), "−1.26"),
            (Cell::Number(-0.004, 2), "0.00"),
            (Cell::Number(12.0, 0), "12"),
            (Cell::Whole(-3), "−3"),
            (Cell::p(0.0004), "<0.001"),
            (Cell::p(0.0496), "0.050"),
            (Cell::p(0.336), "0.34"),
            (Cell::number(f64::NAN, 2), ""),
            (Cell::Not("needs two tasters at least".into()), "needs two tasters at least"),
            (Cell::Empty, ""),
        ] {
            assert_eq!(cell.to_string(), shown);
        }
    }
}

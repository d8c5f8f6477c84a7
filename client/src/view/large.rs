//! Letters four rows high, readable across a table: each dot of an 8 by 8 letter is a quarter of a cell.

use font8x8::UnicodeFonts;
use ratatui::text::Line;

/// How many rows a large letter takes.
pub const ROWS: usize = 4;
/// How many columns a large letter takes.
pub const COLUMNS: usize = 4;

/// Quarter cells by their dots: upper left 1, upper right 2, lower left 4, lower right 8.
const QUARTERS: [char; 16] = [' ', '▘', '▝', '▀', '▖', '▌', '▞', '▛', '▗', '▚', '▐', '▜', '▄', '▙', '▟', '█'];

/// Parts a time from a deed; it brings its own space.
const DOT: [u8; 8] = [0, 0, 0, 0x18, 0x18, 0, 0, 0];
/// How wide a space is: narrower than a letter, so that a countdown with its deed fits into sixty columns.
const SPACE: usize = 2;

/// The text in large letters; a character without one is left blank.
pub fn rows(text: &str) -> Vec<String> {
    let tight = text.replace(" · ", "·");
    let letter = |c: char| match c {
        '·' => DOT,
        c => font8x8::BASIC_FONTS.get(c).or_else(|| font8x8::LATIN_FONTS.get(c)).unwrap_or([0; 8]),
    };
    let row = |r: usize| {
        tight.chars().flat_map(move |c| {
            let dots = letter(c);
            let wide = if c == ' ' { SPACE } else { COLUMNS };
            cells(dots[2 * r], dots[2 * r + 1]).into_iter().take(wide)
        })
    };
    (0..ROWS).map(|r| row(r).collect()).collect()
}

/// Two rows of dots as a row of cells; the lowest bit is the leftmost dot.
fn cells(upper: u8, lower: u8) -> [char; COLUMNS] {
    std::array::from_fn(|i| {
        let pair = |dots: u8| usize::from(dots >> (2 * i) & 3);
        QUARTERS[pair(upper) | pair(lower) << 2]
    })
}

/// The text in large letters in the middle of `width` columns, or nothing if it does not fit.
pub fn centred(text: &str, width: usize) -> Option<Vec<Line<'static>>> {
    let rows = rows(text);
    let margin = width.checked_sub(rows.first().map_or(0, |row| row.chars().count()))? / 2;
    Some(rows.into_iter().map(|row| Line::from(" ".repeat(margin) + &row)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_four_rows_high_and_readable() {
        insta::assert_snapshot!(rows("IN 5 · POUR 417 0:12").join("\n"));
    }

    #[test]
    fn text_that_does_not_fit_is_not_drawn() {
        assert!(centred("POUR 417", 29).is_none());
        assert!(centred("POUR 417", 30).is_some());
    }
}

//! Text that grows line by line and stays within a width, which is counted in the columns of a terminal: 鐵觀音 takes six.

use crate::text::table::Table;
use textwrap::{Options, WordSeparator, WordSplitter};
use unicode_width::UnicodeWidthStr;

/// Lines of at most `width` columns.
pub struct Lines {
    pub width: usize,
    out: String,
}

impl Lines {
    pub fn new(width: usize) -> Self {
        Self { width, out: String::new() }
    }

    /// Of a page that is 60 to 100 wide.
    pub fn within(width: usize) -> Self {
        Self::new(width.clamp(60, 100))
    }

    /// A line as it is.
    pub fn line(&mut self, line: &str) {
        self.out += line.trim_end();
        self.out.push('\n');
    }

    pub fn lines(&mut self, lines: &[String]) {
        lines.iter().for_each(|line| self.line(line));
    }

    /// Words after `first`, broken between words; the lines that follow are set in as far.
    pub fn text(&mut self, first: &str, text: &str) {
        self.lines(&wrapped(first, text, self.width));
    }

    /// A line with an empty one before it.
    pub fn head(&mut self, head: &str) {
        self.line("");
        self.line(head);
    }

    pub fn table<T>(&mut self, indent: usize, table: &Table<'_, T>) {
        self.lines(&table.lines(indent, self.width));
    }

    pub fn finish(self) -> String {
        self.out
    }
}

/// Text in lines of at most `width` columns, the first after `first`, the others as far in. A word that is longer than a
/// line, as Chinese without spaces is, is broken where the line ends.
pub fn wrapped(first: &str, text: &str, width: usize) -> Vec<String> {
    let indent = " ".repeat(first.width());
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(&indent)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation);
    let words: Vec<&str> = text.split_whitespace().collect();
    textwrap::wrap(&words.join(" "), options).iter().map(|line| line.trim_end().to_string()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn text_is_broken_between_words_and_hangs_in() {
        assert_eq!(
            wrapped("  + ", "the teas  differ by much", 16),
            ["  + the teas", "    differ by", "    much"]
        );
        assert_eq!(wrapped("- ", "", 10), ["-"]);
        assert_eq!(wrapped("· ", "well-known −0.4 – 2/3", 12), ["· well-known", "  −0.4 – 2/3"]);
    }

    #[test]
    fn wide_letters_take_two_columns_and_marks_above_letters_none() {
        assert_eq!(wrapped("茶 ", "鐵觀音 鐵觀音 tea", 13), ["茶 鐵觀音", "   鐵觀音 tea"]);
        assert_eq!(wrapped("", "Ti\u{e8} Ti\u{65}\u{300} Tie\u{300}", 11).len(), 1);
        assert_eq!(wrapped("· ", "鐵觀音鐵觀音", 8), ["· 鐵觀音", "  鐵觀音"], "no spaces to break at");
    }

    proptest! {
        #[test]
        fn no_line_is_too_wide_and_no_letter_is_lost(text in "[a-z鐵音é ]{0,80}", width in 8usize..30) {
            let lines = wrapped("  - ", &text, width);
            prop_assert!(lines.iter().all(|line| line.width() <= width), "{lines:?}");
            let letters = |text: &str| text.replace([' ', '-'], "");
            prop_assert_eq!(letters(&lines.concat()), letters(&text));
        }
    }
}

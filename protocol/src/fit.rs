//! Text cut, padded and broken into lines by the columns it takes on a terminal: a character may take two, or none.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Columns a text takes.
pub fn columns(text: &str) -> usize {
    text.width()
}

/// The text in at most `width` columns; what is cut off leaves a mark.
pub fn cut(text: &str, width: usize) -> String {
    if columns(text) <= width {
        return text.to_string();
    }
    let (mut kept, mut used) = (String::new(), 0);
    for c in text.chars() {
        let wide = c.width().unwrap_or(0);
        if used + wide + 1 > width {
            break;
        }
        used += wide;
        kept.push(c);
    }
    if width > 0 {
        kept.push('…');
    }
    kept
}

/// The text in at most `width` columns, with what follows its last ` · ` whole if that leaves room for the rest.
pub fn cut_middle(text: &str, width: usize) -> String {
    let end = text.rfind(" · ").map_or("", |at| &text[at..]);
    if columns(text) <= width || 2 * columns(end) > width {
        return cut(text, width);
    }
    cut(&text[..text.len() - end.len()], width - columns(end)) + end
}

/// The end of the text in at most `width` columns, for text that grows at its end.
pub fn cut_front(text: &str, width: usize) -> String {
    if columns(text) <= width {
        return text.to_string();
    }
    let (mut kept, mut used) = (Vec::new(), 1);
    for c in text.chars().rev() {
        used += c.width().unwrap_or(0);
        if used > width {
            break;
        }
        kept.push(c);
    }
    std::iter::once('…').chain(kept.into_iter().rev()).collect()
}

/// The text in exactly `width` columns, from the left.
pub fn left(text: &str, width: usize) -> String {
    let text = cut(text, width);
    let pad = width.saturating_sub(columns(&text));
    text + &" ".repeat(pad)
}

/// The text in exactly `width` columns, to the right.
pub fn right(text: &str, width: usize) -> String {
    let text = cut(text, width);
    " ".repeat(width.saturating_sub(columns(&text))) + &text
}

/// The text in lines of at most `width` columns, broken between words where that is possible. The lines after the first
/// begin as far in as the first.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let indent = " ".repeat(text.len() - text.trim_start_matches(' ').len());
    let indent = if indent.len() < width { indent } else { String::new() };
    let options = Options::new(width)
        .subsequent_indent(&indent)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    // A character of two columns has no room in one.
    textwrap::wrap(text, options).iter().map(|line| cut(line, width)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_cut_in_the_middle_leaves_the_end() {
        assert_eq!(
            cut_middle("417 steep 1 is kept: aroma 7 · 2 lines blank", 36),
            "417 steep 1 is kept… · 2 lines blank"
        );
        assert_eq!(cut_middle("aroma 7 · 2 lines blank", 20), "aroma 7 · 2 lines b…");
        assert_eq!(cut_middle("a · b", 20), "a · b");
    }

    proptest! {
        #[test]
        fn nothing_is_wider_than_its_room(text in "[a-z明月é ]{0,40}", width in 1usize..20) {
            prop_assert!(columns(&cut(&text, width)) <= width);
            let middle = cut_middle(&format!("{text} · {text}"), width);
            prop_assert!(columns(&middle) <= width);
            prop_assert!(columns(&cut_front(&text, width)) <= width);
            prop_assert_eq!(columns(&left(&text, width)), width);
            prop_assert_eq!(columns(&right(&text, width)), width);
            prop_assert!(wrap(&text, width).iter().all(|line| columns(line) <= width));
        }
    }
}

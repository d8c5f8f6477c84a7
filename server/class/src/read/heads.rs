//! Heads of sections with too few or too many brackets. What was meant is certain, so they are read as that: a slip in a
//! head must not hide the faults of its section, nor those of the rest.

use super::fault::Faults;
use super::slip;
use super::statement::{Kind, statements};
use protocol::say::list;
use std::ops::Range;

/// A file whose heads are as they were meant, and how its places lie in the file as it was written.
pub(super) struct Mended {
    /// The text.
    pub(super) text: String,
    /// Each head that is not as it was written: where it lies here and there.
    heads: Vec<(Range<usize>, Range<usize>)>,
}

/// The words that head the sections of a kind of file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heads {
    /// What a key of the top is for, in words: `the whole class`.
    pub(super) whole: &'static str,
    /// Sections that stand once at most.
    once: &'static [&'static str],
    /// Sections that stand as often as there is something to tell.
    each: &'static [&'static str],
}

/// Those of a class file.
pub(super) const CLASS: Heads =
    Heads { whole: "the whole class", once: &["sheet"], each: &["tea", "kettle", "break", "test"] };
/// Those of a file of ways.
pub(super) const WAYS: Heads = Heads { whole: "the whole file", once: &[], each: &["way"] };

impl Heads {
    /// The word among these that a word is.
    pub(super) fn known(self, word: &str) -> bool {
        self.once.contains(&word) || self.each.contains(&word)
    }

    /// How a head is written; `None` for a word that heads no section.
    fn right(self, word: &str) -> Option<String> {
        if self.each.contains(&word) {
            return Some(format!("[[{word}]]"));
        }
        self.once.contains(&word).then(|| format!("[{word}]"))
    }

    /// What to do about a head that can't be read.
    pub(super) fn remedy(self, word: &str) -> String {
        match self.right(word) {
            Some(right) if self.each.contains(&word) => {
                format!("write {right} alone on its line, two brackets on either side, for each {word}")
            }
            Some(right) => format!("write {right} alone on its line, and once only"),
            None => {
                let all = self.once.iter().chain(self.each);
                let all: Vec<String> = all.filter_map(|word| self.right(word)).collect();
                format!("sections are {}", list(&all))
            }
        }
    }
}

/// Puts right what heads can be put right, and notes a fault for each.
pub(super) fn mend(source: &str, words: Heads, faults: &mut Faults) -> Mended {
    let (mut mended, mut from) = (Mended { text: String::new(), heads: Vec::new() }, 0);
    for statement in statements(source, words) {
        let Kind::Head(word) = statement.kind else { continue };
        let said: String = source[statement.range.clone()].split_whitespace().collect();
        let Some(right) = words.right(word).filter(|right| *right != said) else { continue };
        mended.text += &source[from..statement.range.start];
        let start = mended.text.len();
        mended.text += &right;
        mended.heads.push((start..mended.text.len(), statement.range.clone()));
        from = statement.range.end;
    }
    mended.text += &source[from..];
    let all = statements(source, words);
    for (here, there) in &mended.heads {
        let fault = all.iter().find(|s| s.range == *there).map(|s| slip::of(source, words, &all, s, false));
        faults.0.extend(fault.map(|fault| super::Fault { place: Some(here.clone()), ..fault }));
    }
    mended
}

impl Mended {
    /// A place as it lies in the file.
    pub(super) fn in_source(&self, place: Range<usize>) -> Range<usize> {
        self.at(place.start)..self.at(place.end)
    }

    fn at(&self, at: usize) -> usize {
        match self.heads.iter().rev().find(|(here, _)| here.start <= at) {
            None => at,
            Some((here, there)) if at < here.end => (there.start + at - here.start).min(there.end),
            Some((here, there)) => at - here.end + there.end,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn brackets_are_put_right_and_places_are_those_of_the_file() {
        let source = "a = 1\n[tea] # one\nb = 2\n[[sheet]]\n[[kettle]\nc = 3\n[[tea]] Reed Bank\n[[tea]]\n";
        let mut faults = Faults::default();
        let mended = mend(source, CLASS, &mut faults);
        assert_eq!(
            mended.text,
            "a = 1\n[[tea]] # one\nb = 2\n[sheet]\n[[kettle]]\nc = 3\n[[tea]]\n[[tea]]\n"
        );
        let said = |place: &Range<usize>| &source[mended.in_source(place.clone())];
        let heads: Vec<&str> = faults.0.iter().filter_map(|f| f.place.as_ref()).map(said).collect();
        assert_eq!(heads, ["[tea]", "[[sheet]]", "[[kettle]", "[[tea]] Reed Bank"]);
        for word in ["b = 2", "c = 3"] {
            let at = mended.text.find(word).unwrap();
            assert_eq!(said(&(at..at + word.len())), word);
        }
    }

    proptest! {
        #[test]
        fn what_is_no_head_stays_and_is_found_again(source in "(\\[{0,3}(tea|sheet|x)\\]{0,3}|[a-cé=\" ]{0,4}|\n){0,20}") {
            let mended = mend(&source, CLASS, &mut Faults::default());
            for (at, c) in mended.text.char_indices() {
                if !mended.heads.iter().any(|(here, _)| here.contains(&at)) {
                    prop_assert!(source[mended.in_source(at..at + c.len_utf8())].starts_with(c));
                }
            }
        }
    }
}

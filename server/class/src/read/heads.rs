//! Heads of sections with too few or too many brackets. What was meant is certain, so they are read as that: a slip in a
//! head must not hide the faults of its section, nor those of the rest.

use super::fault::Faults;
use super::slip;
use super::statement::{Kind, statements};
use std::ops::Range;

/// A class file whose heads are as they were meant, and how its places lie in the file as it was written.
pub(super) struct Mended {
    /// The text.
    pub(super) text: String,
    /// Each head that is not as it was written: where it lies here and there.
    heads: Vec<(Range<usize>, Range<usize>)>,
}

/// How a head is written; `None` for a word that heads no section.
fn right(word: &str) -> Option<String> {
    match word {
        "sheet" => Some(format!("[{word}]")),
        "tea" | "kettle" | "break" | "test" => Some(format!("[[{word}]]")),
        _ => None,
    }
}

/// Puts right what heads can be put right, and notes a fault for each.
pub(super) fn mend(source: &str, faults: &mut Faults) -> Mended {
    let (mut mended, mut from) = (Mended { text: String::new(), heads: Vec::new() }, 0);
    for statement in statements(source) {
        let Kind::Head(word) = statement.kind else { continue };
        let said: String = source[statement.range.clone()].split_whitespace().collect();
        let Some(right) = right(word).filter(|right| *right != said) else { continue };
        mended.text += &source[from..statement.range.start];
        let start = mended.text.len();
        mended.text += &right;
        mended.heads.push((start..mended.text.len(), statement.range.clone()));
        from = statement.range.end;
    }
    mended.text += &source[from..];
    let all = statements(source);
    for (here, there) in &mended.heads {
        let fault = all.iter().find(|s| s.range == *there).map(|s| slip::of(source, &all, s, false));
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
        let mended = mend(source, &mut faults);
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
            let mended = mend(&source, &mut Faults::default());
            for (at, c) in mended.text.char_indices() {
                if !mended.heads.iter().any(|(here, _)| here.contains(&at)) {
                    prop_assert!(source[mended.in_source(at..at + c.len_utf8())].starts_with(c));
                }
            }
        }
    }
}

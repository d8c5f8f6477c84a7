//! What in a file can't be read as TOML. The rest of the file is read all the same.

use super::fault::Faults;
use super::heads::Heads;
use super::slip;
use super::statement::{Kind, Statement, statements};
use std::ops::Range;
use toml::de::DeTable;

/// A text of a hundred faults is mended step by step, but not for ever.
const PASSES: usize = 20;

/// A key whose value can't be read.
pub(super) struct Broken {
    /// Where the head of its section begins; `None` at the top of the file.
    pub(super) head: Option<usize>,
    /// The key.
    pub(super) key: String,
}

/// A file without what can't be read in it.
pub(super) struct Readable {
    /// The text with blanks in place of what can't be read, everything else where it was; `None` if it is too much.
    pub(super) text: Option<String>,
    /// The keys that are left out.
    pub(super) broken: Vec<Broken>,
}

/// Parts a text into what can be read and faults, one for each statement that can't.
pub(super) fn part(source: &str, words: Heads, faults: &mut Faults) -> Readable {
    let all = statements(source, words);
    let mut text = source.as_bytes().to_vec();
    let mut broken = Vec::new();
    for _ in 0..PASSES {
        // Only whole characters are blanked out.
        let seen = String::from_utf8_lossy(&text).into_owned();
        let errors = DeTable::parse_recoverable(&seen).1;
        if errors.is_empty() {
            return Readable { text: Some(seen), broken };
        }
        let mut places: Vec<(usize, bool)> = errors
            .iter()
            .map(|e| (e.span().map_or(0, |s| s.start), e.message().contains("duplicate")))
            .collect();
        places.sort_unstable();
        for (at, twice) in places {
            let line = line_around(source, at);
            let gone = |s: &Statement<'_>| is_blank(&text[s.range.clone()]);
            let Some(statement) = culprit(&all, &line, gone) else {
                if !is_blank(&text[line.clone()]) {
                    faults.0.push(slip::of_remark(source, line.clone()));
                    blank(&mut text, line);
                }
                continue;
            };
            if gone(statement) {
                continue;
            }
            faults.0.push(slip::of(source, words, &all, statement, twice));
            blank(&mut text, statement.range.clone());
            let head = statement.section.as_ref().map(|section| section.head);
            broken.push(Broken { head, key: slip::key_meant(source, &statement.range) });
            match &statement.kind {
                Kind::Pair(key, value) => {
                    let more = slip::more(&source[value.clone()]);
                    let keys = [*key].into_iter().chain(more.map(|(key, _)| key));
                    broken.extend(keys.map(|key| Broken { head, key: key.into() }));
                }
                Kind::Other(key) => {
                    let key = key.trim_end_matches(':').replace(' ', "_");
                    broken.push(Broken { head, key });
                }
                Kind::Head(word) => {
                    broken.push(Broken { head: None, key: (*word).into() });
                    // Its keys must not be taken for those of the section before.
                    let next = all
                        .iter()
                        .find(|s| s.range.start > statement.range.start && matches!(s.kind, Kind::Head(_)));
                    blank(&mut text, statement.range.end..next.map_or(source.len(), |s| s.range.start));
                }
            }
            if !statement.closed || matches!(statement.kind, Kind::Head(_)) {
                // What else was found may be its consequence.
                break;
            }
        }
    }
    Readable { text: None, broken }
}

fn line_around(source: &str, at: usize) -> Range<usize> {
    let at = source.floor_char_boundary(at);
    let start = source[..at].rfind('\n').map_or(0, |newline| newline + 1);
    start..source[at..].find('\n').map_or(source.len(), |newline| at + newline)
}

/// The statement that is to blame for an error in a line: the one before it if that does not end, or that of the line.
/// `None` for a remark.
fn culprit<'a, 's>(
    all: &'a [Statement<'s>],
    line: &Range<usize>,
    gone: impl Fn(&Statement<'_>) -> bool,
) -> Option<&'a Statement<'s>> {
    let here = all.partition_point(|s| s.range.end <= line.start);
    let before = here.checked_sub(1).and_then(|before| all.get(before));
    before.filter(|s| !s.closed && !gone(s)).or_else(|| all.get(here).filter(|s| s.range.start <= line.end))
}

fn is_blank(text: &[u8]) -> bool {
    text.iter().all(u8::is_ascii_whitespace)
}

fn blank(text: &mut [u8], range: Range<usize>) {
    text[range].iter_mut().filter(|byte| **byte != b'\n').for_each(|byte| *byte = b' ');
}

//! A class file parted into what each of its lines says, also where it can't be read: the heads of sections and the keys
//! with their values. A value may go over several lines.

use super::heads::Heads;
use std::collections::BTreeMap;
use std::ops::Range;

/// One head, or one key with its value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Statement<'s> {
    /// From its first letter to its last.
    pub(super) range: Range<usize>,
    /// What it is.
    pub(super) kind: Kind<'s>,
    /// Whether all brackets it opens are closed.
    pub(super) closed: bool,
    /// The section it stands in: where the head lies, what it is called and, of several, the how manieth it is.
    pub(super) section: Option<Section<'s>>,
}

/// What a statement is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind<'s> {
    /// `[sheet]`, `[[tea]]`.
    Head(&'s str),
    /// A key and where its value lies.
    Pair(&'s str, Range<usize>),
    /// Words without an `=`; the first of them.
    Other(&'s str),
}

/// The section that a statement stands in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Section<'s> {
    /// Where its head begins.
    pub(super) head: usize,
    /// `tea` of `[[tea]]`.
    pub(super) name: &'s str,
    /// The second `[[tea]]` has 2; a section that stands once has `None`.
    pub(super) number: Option<usize>,
}

/// The statements of a text. Remarks and empty lines are none.
pub(super) fn statements(text: &str, words: Heads) -> Vec<Statement<'_>> {
    let mut all: Vec<Statement<'_>> = Vec::new();
    let mut section: Option<Section<'_>> = None;
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    let mut from = 0;
    let mut lines = text.split_inclusive('\n').peekable();
    while let Some(line) = lines.next() {
        let start = from + (line.len() - line.trim_start().len());
        from += line.len();
        if line.trim().is_empty() || line.trim_start().starts_with('#') {
            continue;
        }
        let mut scan = Scan::default();
        scan.line(line);
        if let Some(name) = head(line, words) {
            let times = times.entry(name).or_default();
            *times += 1;
            let number = line.trim_start().starts_with("[[").then_some(*times);
            section = Some(Section { head: start, name, number });
            let range = start..start + scan.said(line).trim().len();
            all.push(Statement { range, kind: Kind::Head(name), closed: true, section: section.clone() });
            continue;
        }
        let mut end = start + scan.said(line).trim().len();
        while scan.open()
            && let Some(next) = lines.next_if(|next| !begins_anew(next, words) || scan.in_text())
        {
            scan.line(next);
            let said = from + scan.said(next).trim_end().len();
            end = if said > from { said } else { end };
            from += next.len();
        }
        let said = &text[start..end];
        let kind = match said.split_once('=') {
            Some((key, value)) if is_key(key.trim()) => {
                Kind::Pair(key.trim(), end - value.trim_start().len()..end)
            }
            _ => Kind::Other(said.split_whitespace().next().unwrap_or(said)),
        };
        all.push(Statement { range: start..end, kind, closed: !scan.open(), section: section.clone() });
    }
    all
}

fn is_key(text: &str) -> bool {
    let word = text.trim_matches('"');
    !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'))
}

/// The word of a section's head, also of one with too few or too many brackets, or with more behind them.
fn head(line: &str, words: Heads) -> Option<&str> {
    let said = line.split('#').next()?.trim();
    let word = said.trim_start_matches('[').trim_end_matches(']').trim();
    if !said.starts_with('[') || is_key(word) {
        return said.starts_with('[').then_some(word);
    }
    let word = word.split(|c: char| !c.is_alphabetic()).next()?;
    words.known(word).then_some(word)
}

/// Whether a line can't be the middle of a list: it is a head, or a key with its value.
fn begins_anew(line: &str, words: Heads) -> bool {
    head(line, words).is_some() || line.split_once('=').is_some_and(|(key, _)| is_key(key.trim()))
}

/// How far brackets and quotes are open.
#[derive(Default)]
struct Scan {
    depth: usize,
    /// The three quotes that a text over several lines ends with.
    text: Option<&'static str>,
    /// Where the remark of the last line begins.
    remark: Option<usize>,
}

impl Scan {
    fn open(&self) -> bool {
        self.depth > 0 || self.in_text()
    }

    fn in_text(&self) -> bool {
        self.text.is_some()
    }

    /// The last line without its remark.
    fn said<'l>(&self, line: &'l str) -> &'l str {
        &line[..self.remark.unwrap_or(line.len())]
    }

    fn line(&mut self, line: &str) {
        self.remark = None;
        let mut at = 0;
        let mut quote: Option<char> = None;
        while let Some(c) = line[at..].chars().next() {
            let rest = &line[at..];
            let mut step = c.len_utf8();
            if let Some(end) = self.text {
                if rest.starts_with(end) {
                    (self.text, step) = (None, end.len());
                }
            } else if let Some(open) = quote {
                if c == '\\' && open == '"' {
                    step += rest[1..].chars().next().map_or(0, char::len_utf8);
                } else if c == open {
                    quote = None;
                }
            } else if let Some(end) = ["\"\"\"", "'''"].into_iter().find(|end| rest.starts_with(end)) {
                (self.text, step) = (Some(end), end.len());
            } else {
                match c {
                    '"' | '\'' => quote = Some(c),
                    '[' | '{' => self.depth += 1,
                    ']' | '}' => self.depth = self.depth.saturating_sub(1),
                    '#' => {
                        self.remark = Some(at);
                        return;
                    }
                    _ => {}
                }
            }
            at += step;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::heads::CLASS;
    use super::*;
    use proptest::prelude::*;

    fn kinds(text: &str) -> Vec<(&str, bool)> {
        let shown = |s: &Statement<'_>| (&text[s.range.clone()], s.closed);
        statements(text, CLASS).iter().map(shown).collect()
    }

    #[test]
    fn a_value_goes_on_until_its_brackets_close_or_something_else_begins() {
        let text = "a = [1, # one\n  2]\n\n# none\n[[tea]] # first\nb = [\"x]\",\nc = 3\n[[tea]]\nhello there\nd = \"\"\"\ne = 1\n\"\"\"\n";
        let said = kinds(text);
        assert_eq!(
            said,
            [
                ("a = [1, # one\n  2]", true),
                ("[[tea]]", true),
                ("b = [\"x]\",", false),
                ("c = 3", true),
                ("[[tea]]", true),
                ("hello there", true),
                ("d = \"\"\"\ne = 1\n\"\"\"", true),
            ]
        );
        let all = statements(text, CLASS);
        assert_eq!(all[3].section.as_ref().map(|s| (s.name, s.number)), Some(("tea", Some(1))));
        assert_eq!(all[5].kind, Kind::Other("hello"));
        assert_eq!(all[6].section.as_ref().map(|s| s.number), Some(Some(2)));
    }

    proptest! {
        #[test]
        fn statements_of_any_text_lie_in_it_one_behind_the_other(text in "[ab=\\[\\]{}\"'#\n\\\\é]{0,60}") {
            let mut from = 0;
            for statement in statements(&text, CLASS) {
                prop_assert!(statement.range.start >= from && text.get(statement.range.clone()).is_some());
                if let Kind::Pair(_, value) = &statement.kind {
                    prop_assert!(text.get(value.clone()).is_some());
                }
                from = statement.range.end;
            }
        }
    }
}

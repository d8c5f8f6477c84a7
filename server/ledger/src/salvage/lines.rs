//! Finds entries in the lines of a record, whatever was changed in them.
//!
//! What can't be read as it was written is taken apart by the words between its values, one of which may have been hit in one
//! byte, and by how a line begins, where the end of a line was hit. Nothing that is found is believed for that: links tell.

use super::scan::{Cell, Finds, Own};
use crate::record::{FIRST, LAST, entry, is_entry, plain};
use crate::{Link, Record};

/// How an entry's line begins.
const SEQ: &[u8] = b"{\"seq\":";
/// What stands between the values of an entry's line, and how long the value before it can be.
const BETWEEN: [(&[u8], usize); 4] =
    [(b",\"at_us\":", 20), (b",\"kind\":", 20), (b",\"link\":", 80), (b",\"entry", 66)];

/// Whether bytes begin with a word, but for so many of them.
fn begins(bytes: &[u8], word: &[u8], but_for: usize) -> bool {
    bytes.len() >= word.len() && bytes.iter().zip(word).filter(|(a, b)| a != b).count() <= but_for
}

/// What stands before a word and behind it, the word itself possibly changed in one byte.
fn split<'b>(bytes: &'b [u8], word: &[u8], most: usize) -> Option<(&'b [u8], &'b [u8])> {
    let place = |but_for| (0..=most.min(bytes.len())).find(|&at| begins(&bytes[at..], word, but_for));
    let at = place(0).or_else(|| place(1))?;
    Some((&bytes[..at], &bytes[at + word.len()..]))
}

/// A number of which one digit may have been changed into something else: nought then.
fn digits(bytes: &[u8]) -> Option<i64> {
    let (sign, bytes) = bytes.strip_prefix(b"-").map_or(("", bytes), |bytes| ("-", bytes));
    let digit = |&byte: &u8| if byte.is_ascii_digit() { char::from(byte) } else { '0' };
    format!("{sign}{}", bytes.iter().map(digit).collect::<String>()).parse().ok()
}

/// The entry of a line in which something was changed; where its number can't be read it is the `next` one. `behind` is how many
/// braces end the line.
fn torn(line: &[u8], next: u64, behind: usize) -> Option<Cell> {
    let (_, rest) = split(line, SEQ, 0)?;
    let (seq, rest) = split(rest, BETWEEN[0].0, BETWEEN[0].1)?;
    let (at, rest) = split(rest, BETWEEN[1].0, BETWEEN[1].1)?;
    let (kind, rest) = split(rest, BETWEEN[2].0, BETWEEN[2].1)?;
    let (link, rest) = split(rest, BETWEEN[3].0, BETWEEN[3].1)?;
    let rest = &rest[..rest.len().checked_sub(behind)?];
    let as_text = b"_text\":";
    let json = if begins(rest, as_text, 1) {
        serde_json::from_slice::<String>(&rest[as_text.len()..]).ok()?.into_bytes()
    } else {
        rest.get(2..)?.to_vec()
    };
    let kind = kind.get(1..kind.len().saturating_sub(1)).unwrap_or_default();
    let link =
        link.get(1..link.len().saturating_sub(1)).and_then(|link| str::from_utf8(link).ok()?.parse().ok());
    let seq = str::from_utf8(seq).ok().and_then(|seq| seq.parse().ok()).unwrap_or(next);
    Some(Cell { seq, at: digits(at)?, kind: String::from_utf8_lossy(kind).into_owned(), json, link })
}

/// The entry of a line that is as it was written.
fn whole(line: &[u8]) -> Option<Cell> {
    let (Record { seq, at, kind, json, .. }, link) = entry(line)?;
    Some(Cell { seq, at: at.0, kind: kind.into(), json: json.into_owned().into_bytes(), link })
}

/// What the last line says of the end: how many entries there are, and the link behind them.
fn end(line: &[u8], finds: &mut Finds) {
    let Some((_, rest)) = split(line, LAST, 0) else { return };
    let number = |bytes| str::from_utf8(bytes).ok()?.parse::<u64>().ok();
    let Some((seq, rest)) = split(rest, BETWEEN[2].0, BETWEEN[2].1) else { return };
    let link: Option<Link> =
        rest.get(1..65).and_then(|link| str::from_utf8(link).ok()).and_then(|link| link.parse().ok());
    finds.closed_with.extend(link);
    if let Some(seq) = number(seq) {
        finds.closed_at.insert(seq);
        finds.own.insert(Own { seq, link, first: None });
    }
}

/// Where lines begin in bytes in which lines have run into one another, or have broken in two.
fn beginnings(bytes: &[u8]) -> Vec<usize> {
    let is_line = |at: usize| at == 0 || bytes[at - 1] == b'\n';
    let begins_one = |at: &usize| {
        let rest = &bytes[*at..];
        let near = || begins(rest, SEQ, 1) || begins(rest, LAST, 1);
        is_entry(rest) || rest.starts_with(LAST) || is_line(*at) && near()
    };
    (0..bytes.len()).filter(begins_one).collect()
}

/// Takes what is there of some lines that are not as entries are written; the first may be the `next` one.
fn pieces(bytes: &[u8], mut next: u64, finds: &mut Finds) {
    let beginnings = beginnings(bytes);
    let ends = beginnings.iter().skip(1).copied().chain([bytes.len()]);
    for (&begin, behind) in beginnings.iter().zip(ends) {
        let piece = bytes[begin..behind].trim_ascii_end();
        let is_repeated = bytes[..begin].ends_with(FIRST.as_bytes());
        let without_end = &piece[..piece.len().saturating_sub(1)];
        end(piece, finds);
        if is_repeated {
            next = 1;
        }
        let cell = whole(piece)
            .or_else(|| whole(without_end))
            .or_else(|| torn(piece, next, if is_repeated { 2 } else { 1 }));
        next = cell.as_ref().map_or(next, |cell| cell.seq.saturating_add(1));
        finds.cells.extend(cell);
    }
}

/// Everything that has the shape of an entry in a record. Its last line repeats the first entry: that is one more of that number.
pub fn scan(bytes: &[u8]) -> Finds {
    let plain = plain(bytes);
    let bytes = plain.as_deref().unwrap_or(bytes);
    let mut finds = Finds::default();
    // Where what can't be read begins, and the number of the entry that was to follow.
    let (mut begin, mut next, mut at) = (0, 1, 0);
    for line in bytes.split_inclusive(|&byte| byte == b'\n') {
        let behind = at + line.len();
        if let Some(cell) = whole(line.trim_ascii_end()) {
            pieces(&bytes[begin..at], next, &mut finds);
            next = cell.seq.saturating_add(1);
            finds.cells.insert(cell);
            begin = behind;
        }
        at = behind;
    }
    pieces(&bytes[begin..], next, &mut finds);
    finds
}

#[cfg(test)]
mod tests;

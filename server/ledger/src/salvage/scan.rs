//! Finds entries in the bytes of a ledger, whatever has become of its structure.
//!
//! Each place of each page is tried as the beginning of a row, so that neither the head of the file nor that of a page nor
//! its list of rows has to be right. The format is that of "Database File Format" (sqlite.org/fileformat2.html): 1.6,
//! "B-tree Pages", for rows and what overflows from them, 2.1 for what stands in a row.

use crate::{Link, Record, wal};
use protocol::HostTime;
use std::collections::BTreeSet;

/// Rows longer than this are none.
const LONGEST: usize = 16 << 20;

/// A row that has the shape of an entry.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cell {
    pub seq: u64,
    pub at: i64,
    pub kind: String,
    /// In UTF-8, if no byte of it was changed into one that is none.
    pub json: Vec<u8>,
    pub link: Option<Link>,
}

impl Cell {
    /// The entry, and the link stored with it, if it can be text.
    pub fn entry(&self) -> Option<(Record<'_>, Option<Link>)> {
        let (kind, json) = (self.kind.as_str().into(), str::from_utf8(&self.json).ok()?.into());
        Some((Record { seq: self.seq, at: HostTime(self.at), kind, json, once: None }, self.link))
    }
}

/// A row that has the shape of what a ledger says of itself.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Own {
    pub seq: u64,
    pub link: Option<Link>,
    pub first: Option<Vec<u8>>,
}

/// Everything that was found.
#[derive(Debug, Default)]
pub struct Finds {
    pub cells: BTreeSet<Cell>,
    pub own: BTreeSet<Own>,
    /// Where whoever closed it said that it ends.
    pub closed_at: BTreeSet<u64>,
    /// And with which link behind the last entry.
    pub closed_with: BTreeSet<Link>,
    /// Whether it says anywhere that a host has it open.
    pub is_open: bool,
}

impl Finds {
    /// Whether it says itself that it ends with an entry: its number, or the link behind it.
    pub fn ends_with(&self, last: u64, link: Option<Link>) -> bool {
        let is_linked = || link.is_some_and(|link| self.closed_with.contains(&link));
        !self.is_open && (self.closed_at.contains(&last) || is_linked())
    }

    /// The last entry that it says itself that it has.
    pub fn said_end(&self) -> Option<u64> {
        self.closed_at.last().copied().filter(|_| !self.is_open)
    }
}

/// Which of the states of a page is looked at. What overflows from a row is written once: an earlier state is as good, where
/// another page's passes for the last one.
#[derive(Clone, Copy)]
enum When {
    /// In the `-wal`.
    First,
    Last,
    /// In the ledger, before there was a `-wal`.
    Before,
}

/// The pages of a file and of its `-wal`.
struct Pages<'a> {
    size: usize,
    main: &'a [u8],
    frames: Vec<(u32, &'a [u8])>,
}

impl<'a> Pages<'a> {
    /// A page as it was written at a time, or as the ledger has it if it is not in the `-wal`.
    fn page(&self, number: u32, written: When) -> Option<&'a [u8]> {
        let mut frames = self.frames.iter();
        let written = match written {
            When::First => frames.find(|(n, _)| *n == number),
            When::Last => frames.rfind(|(n, _)| *n == number),
            When::Before => None,
        };
        let at = (number as usize).checked_sub(1)?.checked_mul(self.size)?;
        written.map(|(_, page)| *page).or_else(|| self.main.get(at..at.checked_add(self.size)?))
    }

    /// What overflows from a row: `need` bytes, from a page on. With `in_row` the pages follow one another, whatever they say.
    fn overflow(&self, mut number: u32, need: usize, written: When, in_row: bool) -> Option<Vec<u8>> {
        let mut bytes = Vec::with_capacity(need);
        while bytes.len() < need {
            let page = self.page(number, written)?;
            let part = (need - bytes.len()).min(self.size - 4);
            bytes.extend_from_slice(&page[4..4 + part]);
            number =
                if in_row { number.checked_add(1)? } else { u32::from_be_bytes(page[..4].try_into().ok()?) };
        }
        Some(bytes)
    }
}

/// A number of one to nine bytes.
fn varint(bytes: &[u8], at: &mut usize) -> Option<u64> {
    let mut number: u64 = 0;
    for place in 0..9 {
        let byte = *bytes.get(*at)?;
        *at += 1;
        if place == 8 {
            return Some(number << 8 | u64::from(byte));
        }
        number = number << 7 | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            return Some(number);
        }
    }
    None
}

/// How many bytes a value of a type has.
fn size(kind: u64) -> Option<usize> {
    Some(match kind {
        0 | 8 | 9 => 0,
        1..=4 => kind as usize,
        5 => 6,
        6 => 8,
        7 | 10 | 11 => return None,
        _ => usize::try_from((kind - 12) / 2).ok().filter(|&size| size <= LONGEST)?,
    })
}

fn is_number(kind: u64) -> bool {
    matches!(kind, 1..=6 | 8 | 9)
}

fn is_text(kind: u64) -> bool {
    kind >= 13 && kind % 2 == 1
}

/// Nothing, or the 32 bytes of a link.
fn is_link(kind: u64) -> bool {
    matches!(kind, 0 | 76)
}

fn number(kind: u64, bytes: &[u8]) -> i64 {
    match kind {
        8 | 9 => kind as i64 - 8,
        _ => {
            let sign = if bytes.first().is_some_and(|byte| byte & 0x80 != 0) { -1 } else { 0 };
            bytes.iter().fold(sign, |number, byte| number << 8 | i64::from(*byte))
        }
    }
}

/// What a row begins with: its length, its number, the length of its head, the types of its values.
struct Head {
    payload: usize,
    rowid: u64,
    begin: usize,
    length: usize,
    kinds: Vec<u64>,
}

fn head(page: &[u8], mut at: usize) -> Option<Head> {
    let payload = usize::try_from(varint(page, &mut at)?).ok().filter(|n| (8..=LONGEST).contains(n))?;
    let rowid = varint(page, &mut at).filter(|n| (1..1 << 53).contains(n))?;
    let begin = at;
    let length = varint(page, &mut at).filter(|n| (5..=24).contains(n))? as usize;
    let mut kinds = Vec::new();
    while at < begin + length {
        kinds.push(varint(page, &mut at)?);
    }
    let sizes = kinds.iter().map(|&kind| size(kind)).sum::<Option<usize>>()?;
    let fits = at == begin + length && length + sizes == payload && kinds.first() == Some(&0);
    fits.then_some(Head { payload, rowid, begin, length, kinds })
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Takes what stands in a row, if it has one of the two shapes.
fn take(head: &Head, payload: &[u8], finds: &mut Finds) {
    let mut at = head.length;
    let mut values = Vec::new();
    for &kind in &head.kinds {
        let end = at + size(kind).unwrap_or_default();
        let Some(bytes) = payload.get(at..end) else { return };
        values.push(bytes);
        at = end;
    }
    match head.kinds[..] {
        [_, at, _, _, ..] if head.kinds.len() <= 5 => {
            let link = values.get(4).and_then(|bytes| Link::from_slice(bytes));
            let (at, kind, json) = (number(at, values[1]), text(values[2]), values[3].to_vec());
            finds.cells.insert(Cell { seq: head.rowid, at, kind, json, link });
        }
        [_, open, seq, _, _, first] => {
            let (seq, link) = (number(seq, values[2]).unsigned_abs(), Link::from_slice(values[3]));
            if number(open, values[1]) == 0 {
                finds.closed_at.insert(seq);
                finds.closed_with.extend(link);
            } else {
                finds.is_open = true;
            }
            let first = (first != 0).then(|| values[5].to_vec());
            finds.own.insert(Own { seq, link, first });
        }
        _ => {}
    }
}

/// Whether a row has one of the two shapes.
fn has_shape(kinds: &[u64]) -> bool {
    match *kinds {
        [_, at, kind, json] => is_number(at) && is_text(kind) && is_text(json),
        [_, at, kind, json, link] => is_number(at) && is_text(kind) && is_text(json) && is_link(link),
        [_, open, seq, link, from, first] => {
            is_number(open)
                && is_number(seq)
                && is_link(link)
                && is_number(from)
                && (first == 0 || is_text(first))
        }
        _ => false,
    }
}

fn rows(page: &[u8], pages: &Pages<'_>, finds: &mut Finds) {
    for at in 0..page.len() {
        let Some(head) = head(page, at).filter(|head| has_shape(&head.kinds)) else { continue };
        let usable = pages.size;
        let (most, least) = (usable - 35, (usable - 12) * 32 / 255 - 23);
        if head.payload <= most {
            if let Some(payload) = page.get(head.begin..head.begin + head.payload) {
                take(&head, payload, finds);
            }
            continue;
        }
        let fitting = least + (head.payload - least) % (usable - 4);
        let local = if fitting <= most { fitting } else { least };
        let Some(own) = page.get(head.begin..head.begin + local) else { continue };
        let next = page.get(head.begin + local..head.begin + local + 4);
        let Some(next) = next.and_then(|four| Some(u32::from_be_bytes(four.try_into().ok()?))) else {
            continue;
        };
        let ways = [(When::Last, false), (When::First, false), (When::Before, false), (When::Last, true)];
        for (written, in_row) in ways {
            if let Some(rest) = pages.overflow(next, head.payload - local, written, in_row) {
                take(&head, &[own, &rest[..]].concat(), finds);
            }
        }
    }
}

/// What is there of the last page of a `-wal` that breaks off within it. A page is filled from its end, so that the newest row of
/// it comes first.
fn cut_off(wal: &[u8], size: usize) -> &[u8] {
    let frames = wal.get(wal::HEAD..).unwrap_or_default().chunks_exact(wal::FRAME_HEAD + size);
    frames.remainder().get(wal::FRAME_HEAD..).unwrap_or_default()
}

/// Everything that has the shape of an entry, in a ledger and its `-wal`.
pub fn scan(main: &[u8], wal: &[u8]) -> Finds {
    let named = main.get(16..18).map(|two| usize::from(two[0]) << 8 | usize::from(two[1]));
    let named = named.map(|size| if size == 1 { 65536 } else { size });
    let can_be = |size: &usize| (512..=65536).contains(size) && size.is_power_of_two();
    let mut sizes: Vec<usize> =
        [named, wal::page_bytes(wal), Some(4096)].into_iter().flatten().filter(can_be).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let mut finds = Finds::default();
    for size in sizes {
        let pages = Pages { size, main, frames: wal::frames(wal, size).collect() };
        main.chunks(size).for_each(|page| rows(page, &pages, &mut finds));
        pages.frames.iter().for_each(|(_, page)| rows(page, &pages, &mut finds));
        rows(cut_off(wal, size), &pages, &mut finds);
    }
    finds
}

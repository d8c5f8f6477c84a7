//! Reads a record, and tells where it stops being whole.

use super::write::{FIRST, last, line};
use super::{FORMAT, HEAD};
use crate::{Ending, Found, LedgerError, Link, Record, Visitor};
use protocol::HostTime;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// How much of a file is looked at to tell whether it is a record.
const LOOKED_AT: u64 = 4096;

/// Whether a file is a record, be it one whose first line was changed.
pub fn is_one(path: &Path) -> bool {
    let mut head = Vec::new();
    let read = File::open(path).and_then(|file| file.take(LOOKED_AT).read_to_end(&mut head));
    let second = head.iter().position(|&byte| byte == b'\n').map(|end| &head[end + 1..]);
    read.is_ok()
        && (head.starts_with(HEAD.as_bytes())
            || second.is_some_and(|line| line.starts_with(b"{\"seq\":1,\"at_us\":")))
}

/// An entry as its line tells it; nothing if it is not as it was written.
fn entry(bytes: &[u8]) -> Option<(Record<'static>, Option<Link>)> {
    let text = str::from_utf8(bytes).ok()?;
    let (seq, rest) = text.strip_prefix("{\"seq\":")?.split_once(",\"at_us\":")?;
    let (at, rest) = rest.split_once(",\"kind\":")?;
    // A quote within the kind is written with a backslash.
    let (kind, rest) = rest.split_once("\",\"link\":")?;
    let kind: String = serde_json::from_str(&format!("{kind}\"")).ok()?;
    let (link, rest) = rest.split_once(",\"entry")?;
    let link = match link {
        "null" => None,
        link => Some(link.strip_prefix('"')?.strip_suffix('"')?.parse().ok()?),
    };
    let json = match rest.strip_prefix("_text\":") {
        Some(text) => serde_json::from_str(text.strip_suffix('}')?).ok()?,
        None => rest.strip_prefix("\":")?.strip_suffix('}')?.to_string(),
    };
    let at = HostTime(at.parse().ok()?);
    let record = Record { seq: seq.parse().ok()?, at, kind: kind.into(), json: json.into(), once: None };
    Some((record, link)).filter(|(record, link)| line(record, *link) == text)
}

/// The line of the first entry as the last line of a record repeats it.
fn first(last: &[u8]) -> Option<&[u8]> {
    let at = last.windows(FIRST.len()).position(|bytes| bytes == FIRST.as_bytes())?;
    last[at + FIRST.len()..].strip_suffix(b"}")
}

/// The entries whose lines can be read, and their links, whatever lies between them, and where the first one's can't what the last
/// line repeats of it.
pub(crate) fn cells(bytes: &[u8]) -> Vec<(Record<'static>, Option<Link>)> {
    let mut cells: Vec<_> = bytes.split(|&byte| byte == b'\n').filter_map(entry).collect();
    if cells.iter().all(|(record, _)| record.seq != 1) {
        let again = bytes.rsplit(|&byte| byte == b'\n').find(|line| !line.is_empty()).and_then(first);
        cells.splice(0..0, again.and_then(entry));
    }
    cells
}

/// How many entries a record says it has, if its last line can be read.
pub(crate) fn entries(bytes: &[u8]) -> Option<u64> {
    let line = bytes.rsplit(|&byte| byte == b'\n').find(|line| !line.is_empty())?;
    let number = str::from_utf8(line.strip_prefix(b"{\"entries\":")?).ok()?;
    number.split_once(',')?.0.parse().ok()
}

/// The number of the form that a record says it has.
fn form(bytes: &[u8]) -> Option<u32> {
    let rest = bytes.strip_prefix(HEAD.as_bytes())?;
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    str::from_utf8(&rest[..digits]).ok()?.parse().ok()
}

/// What a record holds.
pub(super) struct Told {
    pub records: Vec<Record<'static>>,
    pub found: Found,
}

pub(super) fn told(bytes: &[u8]) -> Told {
    let whole = bytes.strip_suffix(b"\n").unwrap_or(bytes);
    let behind = whole.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
    let (before, end) = bytes.split_at(behind.min(bytes.len()));
    let end = end.strip_suffix(b"\n").unwrap_or(end);
    // What is not the last line is an entry's: there the file was cut off.
    let is_cut = !end.starts_with(b"{\"entries\":");
    let lines = if is_cut { bytes } else { before };
    let lines = lines.split(|&byte| byte == b'\n').skip(1).filter(|line| !line.is_empty());
    let (mut records, mut link, mut problem): (Vec<Record<'static>>, _, _) = (Vec::new(), Link::START, None);
    let (mut chained_from, mut proven) = (None, (0, Link::START));
    for (seq, bytes) in (1..).zip(lines) {
        let next = entry(bytes).filter(|(record, _)| record.seq == seq);
        let Some((record, own)) = next else {
            // The last line of a file that was cut off is no entry's.
            let is_last = is_cut && whole.ends_with(bytes);
            problem =
                (!is_last).then(|| format!("entry {seq} was changed after it was written, or is missing"));
            break;
        };
        let behind = link.then(&record);
        match own {
            Some(own) if own != behind => {
                let earlier = if chained_from.is_none() && seq > 1 { " or one before it" } else { "" };
                problem = Some(format!("entry {seq}{earlier} was changed after it was written"));
                break;
            }
            None if chained_from.is_some() => {
                problem = Some(format!("entry {seq} has lost its link"));
                break;
            }
            None => {}
            Some(_) => {
                chained_from.get_or_insert(seq);
                proven = (seq, behind);
            }
        }
        link = behind;
        records.push(record);
    }
    let entries = records.len() as u64;
    let repeated = (form(bytes) > Some(1)).then(|| before.split(|&byte| byte == b'\n').nth(1)).flatten();
    let repeated = repeated.and_then(|line| str::from_utf8(line).ok()).filter(|_| entries > 0);
    let is_sound = problem.is_none() && !is_cut && end == last(entries, link, before, repeated).as_bytes();
    let broken = (!is_sound).then(|| match problem {
        Some(problem) => problem,
        None if is_cut => "its last line, which says how many entries there are, was cut off or changed".into(),
        None => "something in it was changed that no link covers: its first or its last line, an entry without a link, or what follows the last entry is missing".into(),
    });
    // Without the sum only links say what is whole.
    let (entries, link) = if is_sound { (entries, link) } else { proven };
    records.truncate(entries as usize);
    let chained_from = chained_from.unwrap_or(entries + 1);
    Told { records, found: Found { entries, link, chained_from, ending: Ending::Closed, broken } }
}

/// Shows the entries of a record up to the first that is not whole.
pub(crate) fn inspect(path: &Path, each: Visitor<'_>) -> Result<Found, LedgerError> {
    let disk = |e: std::io::Error| LedgerError::Disk { path: path.into(), problem: e.to_string() };
    let bytes = std::fs::read(path).map_err(disk)?;
    if form(&bytes).is_some_and(|form| form > FORMAT) {
        return Err(LedgerError::NewerRecord(path.into()));
    }
    let Told { records, found } = told(&bytes);
    for record in records {
        let seq = record.seq as i64;
        each(record).map_err(|problem| LedgerError::Entry { path: path.into(), seq, problem })?;
    }
    Ok(found)
}

//! Reads a record, and tells where it stops being whole.

use super::write::{last, line};
use super::{FORMAT, HEAD};
use crate::{Ending, Found, LedgerError, Link, Record, Visitor};
use protocol::HostTime;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// How much is looked at of the beginning of a file, and of its end, to tell whether it is a record.
const LOOKED_AT: u64 = 4096;
const LOOKED_AT_BEHIND: u64 = 1 << 16;

/// How the last line begins.
pub(crate) const LAST: &[u8] = b"{\"entries\":";

/// What is wrong where all of a record is there, but another program has put something at the ends of its lines.
pub(crate) const LINE_ENDS: &str =
    "its line ends were changed, as mail programs and editors do; nothing else in it was changed";

/// Whether a line begins as an entry's.
pub(crate) fn is_entry(line: &[u8]) -> bool {
    let Some(rest) = line.strip_prefix(b"{\"seq\":") else { return false };
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    digits > 0 && rest[digits..].starts_with(b",\"at_us\":")
}

/// The last line that is not empty, without its end.
fn last_line(bytes: &[u8]) -> &[u8] {
    let bytes = bytes.trim_ascii_end();
    &bytes[bytes.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1)..]
}

/// Whether a file is a record, be it one whose first lines were changed or are missing.
pub fn is_one(path: &Path) -> bool {
    let Ok(mut file) = File::open(path) else { return false };
    let length = file.metadata().map_or(0, |found| found.len());
    let mut read = |from, most| {
        let mut bytes = Vec::new();
        let read =
            file.seek(SeekFrom::Start(from)).and_then(|_| file.by_ref().take(most).read_to_end(&mut bytes));
        read.map_or(Vec::new(), |_| bytes)
    };
    let head = read(0, LOOKED_AT);
    if head.split(|&byte| byte == b'\n').any(|line| line.starts_with(HEAD.as_bytes()) || is_entry(line)) {
        return true;
    }
    // Of a ledger, which has zeros from its head on, no more is read.
    let mut end = || read(length.saturating_sub(LOOKED_AT_BEHIND), LOOKED_AT_BEHIND);
    !head.contains(&0) && last_line(&end()).starts_with(LAST)
}

/// A record without what other programs put at the ends of lines, and without empty lines: nothing that was ever written ends
/// so. Nothing if there is none of it.
pub(crate) fn plain(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut plain = Vec::with_capacity(bytes.len());
    for line in bytes.split_inclusive(|&byte| byte == b'\n') {
        let text = line.trim_ascii_end();
        plain.extend_from_slice(text);
        if !text.is_empty() && line.ends_with(b"\n") {
            plain.push(b'\n');
        }
    }
    (plain != bytes).then_some(plain)
}

/// An entry as its line tells it; nothing if it is not as it was written.
pub(crate) fn entry(bytes: &[u8]) -> Option<(Record<'static>, Option<Link>)> {
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

/// A record before its last line, and that without its end.
fn parts(bytes: &[u8]) -> (&[u8], &[u8]) {
    let whole = bytes.strip_suffix(b"\n").unwrap_or(bytes);
    let behind = whole.iter().rposition(|&byte| byte == b'\n').map_or(0, |end| end + 1);
    (&bytes[..behind], &whole[behind..])
}

/// Whether it is of a form that this program does not know. Damage may make any number of it: what no sum bears out is none.
fn is_newer(bytes: &[u8]) -> bool {
    let (before, end) = parts(bytes);
    let sum = format!("\"sha256\":\"{}\"", Link::sum_of(before));
    form(bytes).is_some_and(|form| form > FORMAT)
        && end.starts_with(LAST)
        && end.windows(sum.len()).any(|found| found == sum.as_bytes())
}

pub(super) fn told(bytes: &[u8]) -> Told {
    let Some(plain) = plain(bytes) else { return told_of_plain(bytes) };
    let mut told = told_of_plain(&plain);
    told.found.broken = Some(match told.found.broken {
        None => LINE_ENDS.into(),
        Some(problem) => format!("{problem}; its line ends were changed, too"),
    });
    told
}

fn told_of_plain(bytes: &[u8]) -> Told {
    let (before, end) = parts(bytes);
    // What is not the last line is an entry's: there the file was cut off.
    let is_cut = !end.starts_with(LAST);
    let lines = if is_cut { bytes } else { before };
    // The first line may be missing.
    let head = usize::from(!is_entry(lines));
    let lines = lines.split(|&byte| byte == b'\n').skip(head).filter(|line| !line.is_empty());
    let (mut records, mut link, mut problem): (Vec<Record<'static>>, _, _) = (Vec::new(), Link::START, None);
    let (mut chained_from, mut proven) = (None, (0, Link::START));
    for (seq, bytes) in (1..).zip(lines) {
        let next = entry(bytes).filter(|(record, _)| record.seq == seq);
        let Some((record, own)) = next else {
            // The last line of a file that was cut off is no entry's.
            let is_last = is_cut && end == bytes;
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
    if is_newer(plain(&bytes).as_deref().unwrap_or(&bytes)) {
        return Err(LedgerError::NewerRecord(path.into()));
    }
    let Told { records, found } = told(&bytes);
    for record in records {
        let seq = record.seq as i64;
        each(record).map_err(|problem| LedgerError::Entry { path: path.into(), seq, problem })?;
    }
    Ok(found)
}

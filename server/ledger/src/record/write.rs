//! Writes a record.

use super::{FORMAT, HEAD};
use crate::{Found, Link, Record};
use uuid::Uuid;

/// What a record says of its class, for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct About {
    /// Its id.
    pub class_id: Uuid,
    /// Its title.
    pub title: String,
}

/// How it can be checked, in its first line.
const TO_CHECK: &str = "kettlecall check FILE. By other means: sha256 in the last line is the SHA-256 of all lines before it, \
    line ends included. The link of an entry is the SHA-256 of: the link before it (32 bytes, zeros before entry 1), seq and at_us \
    (8 bytes each), the length of kind (4 bytes), kind, and what stands behind \\\"entry\\\": up to the last }; numbers big-endian, \
    text UTF-8";

/// A text as JSON. U+007F and what lies beyond ASCII stay as they are.
pub(super) fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// What stands before the first entry in the last line.
pub(crate) const FIRST: &str = ",\"first\":";

/// A link as JSON.
fn shown(link: Option<Link>) -> String {
    link.map_or("null".into(), |link| format!("\"{link}\""))
}

/// The line of an entry, without its end.
pub(super) fn line(record: &Record<'_>, link: Option<Link>) -> String {
    let Record { seq, at, kind, json, .. } = record;
    // JSON that is broken into lines, or odd otherwise, is kept as a text.
    let is_plain = !json.contains(['\n', '\r'])
        && json.starts_with('{')
        && serde_json::from_str::<serde::de::IgnoredAny>(json).is_ok();
    let entry =
        if is_plain { format!("\"entry\":{json}") } else { format!("\"entry_text\":{}", quoted(json)) };
    let (at, kind, link) = (at.0, quoted(kind), shown(link));
    format!("{{\"seq\":{seq},\"at_us\":{at},\"kind\":{kind},\"link\":{link},{entry}}}")
}

/// The last line, without its end; `first` is the line of the first entry, which form 1 does not repeat.
pub(super) fn last(entries: u64, link: Link, before: &[u8], first: Option<&str>) -> String {
    let (sum, first) = (Link::sum_of(before), first.map_or(String::new(), |line| format!("{FIRST}{line}")));
    format!("{{\"entries\":{entries},\"link\":\"{link}\",\"sha256\":\"{sum}\"{first}}}")
}

/// A record of all entries of a ledger, and of what was found with them.
pub fn text(about: &About, records: &[Record<'_>], found: &Found) -> String {
    let (id, title) = (about.class_id, quoted(&about.title));
    let mut text =
        format!("{HEAD}{FORMAT},\"class_id\":\"{id}\",\"title\":{title},\"to_check\":\"{TO_CHECK}\"}}\n");
    let (mut link, mut first) = (Link::START, None);
    for record in records {
        link = link.then(record);
        let line = line(record, (record.seq >= found.chained_from).then_some(link));
        text += &line;
        text.push('\n');
        first.get_or_insert(line);
    }
    let last = last(records.len() as u64, link, text.as_bytes(), first.as_deref());
    text + &last + "\n"
}

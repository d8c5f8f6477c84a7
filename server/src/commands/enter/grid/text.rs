//! Cells with commas, semicolons or tabs between them: UTF-8 with or without a byte order mark, or the western code page
//! of Windows; LF or CRLF; quotes.

use super::{Grid, at, empty};
use crate::commands::enter::fault::Fault;
use encoding_rs::WINDOWS_1252;
use std::borrow::Cow;

/// What some spreadsheet programs put into the first line, to say what stands between the cells.
const SAYS_DELIMITER: &str = "sep=";

pub fn read(bytes: &[u8]) -> Result<Grid, Vec<Fault>> {
    let (text, notice) = decoded(bytes).map_err(|fault| vec![fault])?;
    let (said, text, before) = said_delimiter(text.trim_start_matches('\u{feff}'));
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(said.unwrap_or_else(|| delimiter(text)))
        .from_reader(text.as_bytes());
    let mut rows: Vec<(u64, Vec<String>)> = Vec::new();
    let mut faults = Vec::new();
    let mut lines = Lines { text, passed: 0, line: before + 1 };
    for record in reader.records().filter_map(Result::ok) {
        let line = lines.at(record.position().map_or(0, csv::Position::byte) as usize);
        if record.iter().all(|cell| cell.trim().is_empty()) && !rows.is_empty() {
            continue;
        }
        let width = rows.first().map_or(record.len(), |(_, head)| head.len());
        if record.len() == width {
            rows.push((line, record.iter().map(String::from).collect()));
            continue;
        }
        let problem = format!("has {} cells, but the header has {width}", record.len());
        faults.push(at(line, problem, "give every row as many; text that holds a comma, a semicolon or a line break needs quotes around it"));
    }
    let last = rows.last().map(|(line, _)| *line);
    let Some(last) = last else { return Err(vec![empty()]) };
    if rows.len() > 1 && open_quote(text) {
        faults.push(at(
            last,
            "a quote is opened here or further up and never closed",
            "close it, and double a quote that is part of a text",
        ));
    }
    if faults.is_empty() { Ok(Grid { rows, is_sheet: false, notice }) } else { Err(faults) }
}

/// Which line of the file a row begins in. The reader's own count is one too low behind an end of line of two characters, which it takes
/// for the beginning of the next row.
struct Lines<'t> {
    text: &'t str,
    passed: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line of what begins at this byte or behind the ends of lines there; bytes only go up.
    fn at(&mut self, byte: usize) -> u64 {
        let ends = |rest: &&u8| matches!(rest, b'\r' | b'\n');
        let begins = byte + self.text.as_bytes().iter().skip(byte).take_while(ends).count();
        let between = self.text.as_bytes().get(self.passed..begins).unwrap_or_default();
        self.line += between.iter().filter(|&&b| b == b'\n').count() as u64;
        self.passed = begins;
        self.line
    }
}

/// The text of a file, and what is to be told if it had to be guessed.
fn decoded(bytes: &[u8]) -> Result<(Cow<'_, str>, Option<String>), Fault> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(at(1, "the file is UTF-16", "save it as CSV in UTF-8"));
    }
    let Err(broken) = std::str::from_utf8(bytes) else {
        return Ok((String::from_utf8_lossy(bytes), None));
    };
    let line = |place: usize| bytes[..place].iter().filter(|&&b| b == b'\n').count() as u64 + 1;
    // A byte order mark promises UTF-8; and these five mean nothing on the code page.
    let promised = bytes.starts_with(b"\xef\xbb\xbf").then(|| broken.valid_up_to());
    let nothing = bytes.iter().position(|byte| matches!(byte, 0x81 | 0x8d | 0x8f | 0x90 | 0x9d));
    if let Some(place) = promised.or(nothing) {
        return Err(at(line(place), "holds a byte that is not UTF-8 text", "save the file as CSV in UTF-8"));
    }
    let text = WINDOWS_1252.decode_without_bom_handling(bytes).0;
    let first = text.lines().nth(line(broken.valid_up_to()) as usize - 1).unwrap_or_default();
    let notice = format!(
        "the file is not UTF-8 and was read as western Windows text; look whether line {} is right: {}",
        line(broken.valid_up_to()),
        protocol::text::clean(first, 60)
    );
    Ok((text, Some(notice)))
}

/// What stands between the cells, if the first line says it; the text behind that line, and how many lines it was.
fn said_delimiter(text: &str) -> (Option<u8>, &str, u64) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    match first.trim_end_matches('\r').strip_prefix(SAYS_DELIMITER).map(str::as_bytes) {
        Some(&[said]) => (Some(said), rest, 1),
        _ => (None, text, 0),
    }
}

/// The one of comma, semicolon and tab that the header has most of outside quotes.
fn delimiter(text: &str) -> u8 {
    let mut quoted = false;
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    for byte in text.lines().next().unwrap_or("").bytes() {
        match counts.iter_mut().find(|(known, _)| *known == byte) {
            Some((_, count)) if !quoted => *count += 1,
            _ => quoted ^= byte == b'"',
        }
    }
    // Of as many the first.
    counts.into_iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(byte, _)| byte)
}

/// Quotes come in pairs in any text that is quoted as it should be.
fn open_quote(text: &str) -> bool {
    text.bytes().filter(|&b| b == b'"').count() % 2 == 1
}

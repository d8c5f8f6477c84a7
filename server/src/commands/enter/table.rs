//! A file of scores as rows of cells: comma or semicolon, with or without a byte order mark, LF or CRLF, quotes.

use super::fault::Fault;
use protocol::text::{NAME_CHARS, clean};
use report::csv::unguarded;

/// The columns that are read; the first ones must be there.
pub const READ: [&str; 10] =
    ["seat", "code", "steep", "attribute", "value", "text", "revision", "score_id", "host_s", "class_id"];
/// How many of them must be there.
const NEEDED: usize = 5;
/// The columns of an export that entering does not need.
const KNOWN: [&str; 6] = ["title", "date", "tea", "leaf", "counts", "rehearsal"];
/// A name that is meant to be one of the columns is at least so much like it, 0 to 1.
const ALIKE: f64 = 0.75;

/// The rows of a file.
pub struct Table {
    /// Where each of [`READ`] stands.
    places: [Option<usize>; READ.len()],
    rows: Vec<(u64, csv::StringRecord)>,
    /// The names of columns that nothing is known of; they are left out.
    pub unknown: Vec<String>,
}

/// One row.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    record: &'a csv::StringRecord,
    /// Its line in the file, from 1; a row whose cells hold line breaks begins there.
    pub line: u64,
}

impl<'a> Row<'a> {
    /// The text of a cell; empty if the file has no such column.
    pub fn cell(&self, column: &str) -> &'a str {
        let cell = self.table.column(column).and_then(|(_, number)| self.record.get(number - 1));
        cell.map_or("", |cell| unguarded(cell.trim()))
    }

    /// A fault in a cell, or of the row if there is no such column.
    pub fn fault(&self, column: &str, problem: impl Into<String>, remedy: impl Into<String>) -> Fault {
        Fault {
            line: self.line,
            column: self.table.column(column),
            problem: problem.into(),
            remedy: remedy.into(),
        }
    }
}

fn at(line: u64, problem: impl Into<String>, remedy: impl Into<String>) -> Fault {
    Fault { line, column: None, problem: problem.into(), remedy: remedy.into() }
}

impl Table {
    /// Reads a file.
    ///
    /// # Errors
    /// What makes it unreadable as a whole: encoding, header, rows that do not fit the header, an open quote.
    pub fn read(bytes: &[u8]) -> Result<Self, Vec<Fault>> {
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            return Err(vec![at(1, "the file is UTF-16", "save it as CSV in UTF-8")]);
        }
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let line = bytes[..e.valid_up_to()].iter().filter(|&&b| b == b'\n').count() as u64 + 1;
            vec![at(line, "holds a byte that is not UTF-8 text", "save the file as CSV in UTF-8")]
        })?;
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter(text))
            .from_reader(text.as_bytes());
        let mut records = reader.records().filter_map(Result::ok).map(|record| {
            let line = record.position().map_or(0, csv::Position::line);
            (line, record)
        });
        let Some((line, header)) = records.next() else {
            return Err(vec![at(
                1,
                "the file is empty",
                format!("begin with a line that names the columns: {}", READ[..=NEEDED].join(",")),
            )]);
        };
        let (places, unknown) = columns(line, &header)?;
        let mut table = Self { places, rows: Vec::new(), unknown };
        let mut faults = Vec::new();
        for (line, record) in records.filter(|(_, r)| r.iter().any(|cell| !cell.trim().is_empty())) {
            if record.len() == header.len() {
                table.rows.push((line, record));
                continue;
            }
            let problem = format!("has {} cells, but the header has {}", record.len(), header.len());
            faults.push(at(line, problem, "give every row as many; text that holds a comma, a semicolon or a line break needs quotes around it"));
        }
        if let Some((line, _)) = table.rows.last().filter(|_| open_quote(text)) {
            faults.push(at(
                *line,
                "a quote is opened here or further up and never closed",
                "close it, and double a quote that is part of a text",
            ));
        }
        if faults.is_empty() { Ok(table) } else { Err(faults) }
    }

    /// The name and number of one of [`READ`], if the file has it.
    pub fn column(&self, name: &str) -> Option<(String, usize)> {
        let place = READ.iter().position(|&c| c == name).and_then(|at| self.places[at]);
        place.map(|place| (name.to_string(), place + 1))
    }

    /// The rows in the order of the file; rows of empty cells are left out.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|(line, record)| Row { table: self, record, line: *line })
    }
}

/// The one of comma and semicolon that the header has more of outside quotes.
fn delimiter(text: &str) -> u8 {
    let mut quoted = false;
    let (mut commas, mut semicolons) = (0, 0);
    for byte in text.lines().next().unwrap_or("").bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b',' if !quoted => commas += 1,
            b';' if !quoted => semicolons += 1,
            _ => {}
        }
    }
    if semicolons > commas { b';' } else { b',' }
}

/// Quotes come in pairs in any text that is quoted as it should be.
fn open_quote(text: &str) -> bool {
    text.bytes().filter(|&b| b == b'"').count() % 2 == 1
}

type Columns = ([Option<usize>; READ.len()], Vec<String>);

/// Where the columns stand, and which are unknown.
fn columns(line: u64, header: &csv::StringRecord) -> Result<Columns, Vec<Fault>> {
    let (mut places, mut unknown, mut faults) = ([None; READ.len()], Vec::new(), Vec::new());
    for (place, name) in header.iter().enumerate() {
        let name = clean(name, NAME_CHARS).to_lowercase();
        match READ.iter().position(|&c| c == name) {
            Some(at_column) if places[at_column].is_some() => faults.push(Fault {
                line,
                column: Some((name.clone(), place + 1)),
                problem: format!("the column `{name}` stands twice"),
                remedy: "keep one of them".into(),
            }),
            Some(at_column) => places[at_column] = Some(place),
            None if KNOWN.contains(&name.as_str()) || name.is_empty() => {}
            None => unknown.push(name),
        }
    }
    for (column, _) in READ.iter().zip(&places).take(NEEDED).filter(|(_, place)| place.is_none()) {
        let alike = |name: &&String| strsim::normalized_damerau_levenshtein(name, column) >= ALIKE;
        let remedy = match unknown.iter().find(alike) {
            Some(name) => format!("rename `{name}` to `{column}`"),
            None => format!("the header names at least {}", READ[..NEEDED].join(",")),
        };
        faults.push(at(line, format!("the column `{column}` is missing"), remedy));
    }
    if faults.is_empty() { Ok((places, unknown)) } else { Err(faults) }
}

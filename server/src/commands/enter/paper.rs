//! Answers put together to scores: each attribute, vote, ticked word and note of a sheet is one.

use super::fault::Fault;
use super::table::{Row, Table};
use protocol::text::{NAME_CHARS, NOTE_CHARS, clean, name_key};
use protocol::time::SECOND_US;
use protocol::{Code, HostTime, Score, ScoreFault, Strength};
use report::csv::WORD;
use room::Room;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// The latest instant that a file may give, seconds: a year is longer than any class.
const MOST_HOST_S: f64 = 366.0 * 86_400.0;

/// One score of a file.
#[derive(Clone)]
pub struct Paper {
    /// The line of its first row.
    pub line: u64,
    /// The name of the seat as the file has it.
    pub seat: String,
    /// The score; its id is nil unless the file has one.
    pub score: Score,
    /// Its instant, if the file has one.
    pub at: Option<HostTime>,
    /// The line in which each attribute stands.
    lines: BTreeMap<String, u64>,
    /// A row of it has a fault.
    broken: bool,
}

/// What a file holds.
pub struct Papers {
    /// The scores without faults, in the order in which they begin.
    pub scores: Vec<Paper>,
    /// How many rows hold no value; they are blanks on the sheet.
    pub blank: usize,
    /// What is wrong with the others.
    pub faults: Vec<Fault>,
}

/// What makes rows one score: its id, or seat, cup and revision.
#[derive(Clone, PartialEq, Eq, Hash)]
enum Key {
    Id(Uuid),
    Cup(String, Code, u32, u32),
}

/// One row, read.
struct Line {
    key: Key,
    attribute: String,
    /// Its score with nothing filled.
    paper: Paper,
    /// The score as far as this row fills it; `None` for a blank.
    part: Result<Option<Score>, Fault>,
}

/// The scores of a file for a class.
pub fn papers(room: &Room, table: &Table) -> Papers {
    let mut found = Papers { scores: Vec::new(), blank: 0, faults: Vec::new() };
    let mut places: HashMap<Key, usize> = HashMap::new();
    for row in table.rows() {
        let Line { key, attribute, paper, part } = match read(room, row) {
            Ok(line) => line,
            Err(faults) => {
                // A cup's own fault is one, however many answers stand in its row.
                let same_row = found.faults.iter().rev().take_while(|fault| fault.line == row.line);
                let known: Vec<Fault> = same_row.cloned().collect();
                found.faults.extend(faults.into_iter().filter(|fault| !known.contains(fault)));
                continue;
            }
        };
        let place = *places.entry(key).or_insert(found.scores.len());
        if place == found.scores.len() {
            found.scores.push(paper.clone());
        }
        let same = &mut found.scores[place];
        let merged = part.and_then(|part| same.merge(row, &paper, attribute, part));
        match merged {
            Ok(filled) => found.blank += usize::from(!filled),
            Err(fault) => {
                same.broken = true;
                found.faults.push(fault);
            }
        }
    }
    found.scores.retain(|paper| !paper.broken && !paper.lines.is_empty());
    found
}

impl Paper {
    /// Takes one more row in; whether it fills anything.
    fn merge(
        &mut self,
        row: Row<'_>,
        other: &Paper,
        attribute: String,
        part: Option<Score>,
    ) -> Result<bool, Fault> {
        let cup = |paper: &Paper| {
            (name_key(&paper.seat), paper.score.code, paper.score.steep, paper.score.revision)
        };
        if cup(self) != cup(other) {
            let problem =
                format!("the score in line {} has the same id, but another seat, cup or revision", self.line);
            return Err(row.fault("score_id", problem, "leave the id out where it is not known"));
        }
        let Some(part) = part else { return Ok(false) };
        if let Some(line) = self.lines.get(&attribute) {
            let problem = format!("`{attribute}` of this score stands in line {line} already");
            return Err(row.fault("attribute", problem, "keep one; a second fill of a sheet has revision 2"));
        }
        self.lines.insert(attribute, row.line);
        self.score.values.extend(part.values);
        self.score.strength = self.score.strength.or(part.strength);
        self.score.note += &part.note;
        self.score.words.extend(part.words);
        Ok(true)
    }
}

/// Reads a row; every bad cell of it is a fault.
fn read(room: &Room, row: Row<'_>) -> Result<Line, Vec<Fault>> {
    let mut faults = Vec::new();
    let class = good(class_id(room, row), &mut faults);
    let seat =
        good(required(row, "seat", "the name of who scored").map(|name| seat(room, name)), &mut faults);
    let code = good(code(room, row), &mut faults);
    let steep = good(steep(row), &mut faults);
    let revision = good(whole::<u32>(row, "revision", "1"), &mut faults);
    let id = good(id(row), &mut faults);
    let at = good(host_time(row), &mut faults);
    let attribute = required(row, "attribute", "what was scored, as on the sheet");
    let attribute = good(attribute.map(|name| on_sheet(room, name)), &mut faults);
    // A wrong answer is told beside a wrong cup, not only when that is mended: it is held against the sheet under any code.
    let some_code = code.or_else(|| room.class.coded().next().map(|(code, _)| code));
    let blank = some_code.map(|code| Score {
        id: Uuid::nil(),
        code,
        steep: 1,
        revision: revision.flatten().unwrap_or(1),
        values: BTreeMap::new(),
        strength: None,
        note: String::new(),
        words: Vec::new(),
    });
    let part = attribute.as_ref().zip(blank.clone()).map(|(name, blank)| fill(room, row, name, blank));
    let (Some(()), Some(seat), Some(code), Some(steep), Some(revision), Some(id), Some(at)) =
        (class, seat, code, steep, revision, id, at)
    else {
        faults.extend(part.and_then(Result::err));
        return Err(faults);
    };
    let (Some(attribute), Some(part), Some(blank)) = (attribute, part, blank) else { return Err(faults) };
    let revision = revision.unwrap_or(1);
    let key = id.map_or_else(|| Key::Cup(name_key(&seat), code, steep, revision), Key::Id);
    let score = Score { id: id.unwrap_or_default(), code, steep, revision, ..blank };
    // Each ticked word has a row of its own.
    let attribute = match &part {
        Ok(Some(Score { words, .. })) if attribute == WORD => format!("{WORD} {}", words.join(" ")),
        _ => attribute,
    };
    let paper = Paper { line: row.line, seat, score, at, lines: BTreeMap::new(), broken: false };
    Ok(Line { key, attribute, paper, part })
}

/// The score with the one thing filled that a row says, checked against the sheet; `None` for a blank.
fn fill(room: &Room, row: Row<'_>, attribute: &str, empty: Score) -> Result<Option<Score>, Fault> {
    let (value, text) = (row.cell("value"), row.cell("text"));
    let mut part = empty;
    if attribute == "note" {
        if !value.is_empty() {
            return Err(row.fault("value", "a note has no value", "put its words in the column `text`"));
        }
        let length = text.chars().count();
        if length > NOTE_CHARS {
            return Err(row.fault(
                "text",
                format!("the note has {length} characters"),
                format!("shorten it to {NOTE_CHARS}"),
            ));
        }
        part.note = text.to_string();
        part = part.inert();
        if part.note.is_empty() {
            return Ok(None);
        }
    } else if attribute == WORD {
        match whole::<u8>(row, "value", "1")? {
            Some(0) => return Ok(None),
            None | Some(1) => {}
            Some(_) => return Err(row.fault("value", "a word is ticked or not", "write 1 or 0")),
        }
        if text.is_empty() {
            return Err(row.fault("text", "is empty", "write the word that is ticked"));
        }
        let own = room.class.sheet.words.iter().find(|word| name_key(word) == name_key(text));
        part.words = vec![own.map_or_else(|| shown(text), Clone::clone)];
    } else {
        if !text.is_empty() {
            return Err(row.fault(
                "text",
                "words stand beside a value",
                "put them in a row of their own with `note` as the attribute",
            ));
        }
        if attribute == "strength" {
            part.strength = vote(row)?;
        } else {
            let value = whole::<i32>(row, "value", "5")?;
            part.values = value.map(|v| (attribute.to_string(), v)).into_iter().collect();
        }
        if part.strength.is_none() && part.values.is_empty() {
            return Ok(None);
        }
    }
    match part.check(&room.class.sheet) {
        Ok(()) => Ok(Some(part)),
        Err(fault @ ScoreFault::OffScale { .. }) => {
            Err(row.fault("value", fault.to_string(), "give a point of the scale"))
        }
        Err(fault @ ScoreFault::NoSuchWord(_)) => {
            let words = room.class.sheet.words.join(", ");
            Err(row.fault("text", fault.to_string(), format!("the sheet's words are {words}")))
        }
        Err(fault @ ScoreFault::FromOne(_)) => {
            Err(row.fault("revision", fault.to_string(), "give 1 for the first fill"))
        }
        Err(fault) => {
            Err(row.fault("attribute", fault.to_string(), "take the row out or mend the attribute"))
        }
    }
}

/// What is good of a result; a fault is put with the others.
fn good<T>(result: Result<T, Fault>, faults: &mut Vec<Fault>) -> Option<T> {
    result.map_err(|fault| faults.push(fault)).ok()
}

/// The sheet's own spelling of an attribute, or the text as it is.
fn on_sheet(room: &Room, text: &str) -> String {
    let own = room.class.sheet.attributes.iter().map(|a| a.name.as_str());
    let same = own.chain(["strength", "note", WORD]).find(|name| name_key(name) == name_key(text));
    same.unwrap_or(text).to_string()
}

fn shown(text: &str) -> String {
    clean(text, NAME_CHARS)
}

fn missing(row: Row<'_>, column: &str, what: &str) -> Fault {
    row.fault(column, "is empty", format!("give {what}"))
}

fn required<'a>(row: Row<'a>, column: &str, what: &str) -> Result<&'a str, Fault> {
    Some(row.cell(column)).filter(|text| !text.is_empty()).ok_or_else(|| missing(row, column, what))
}

/// A whole number; `None` for an empty cell. A minus sign may be the typographic one.
fn whole<T: std::str::FromStr>(row: Row<'_>, column: &str, example: &str) -> Result<Option<T>, Fault> {
    match row.cell(column) {
        "" => Ok(None),
        text if is_date(text) => Err(row.fault(
            column,
            format!("is a date ({text}): the spreadsheet has made one of what was typed"),
            format!("let the cell hold a number, for example {example}"),
        )),
        text => digits(text).parse().map(Some).map_err(|_| {
            let problem = format!("`{}` is no whole number that can stand here", shown(text));
            row.fault(column, problem, format!("write for example {example}"))
        }),
    }
}

/// A whole number as plain digits, whatever a spreadsheet has made of it: `39.0`, `39,00`, `+39`, `0039`, `−39`. What is none stays.
fn digits(text: &str) -> String {
    let plain = text.replace('\u{2212}', "-");
    let (whole, part) = plain.split_once(['.', ',']).unwrap_or((&plain, ""));
    let (sign, number) = match whole.strip_prefix(['-', '+']) {
        Some(number) => (whole.strip_suffix(number).unwrap_or_default(), number),
        None => ("", whole),
    };
    let is_whole = !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit());
    if !is_whole || part.bytes().any(|b| b != b'0') {
        return plain;
    }
    let bare = number.trim_start_matches('0');
    format!("{}{}", sign.trim_start_matches('+'), if bare.is_empty() { "0" } else { bare })
}

/// `2026-05-03`.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |part: &&str| part.bytes().all(|b| b.is_ascii_digit());
    parts.iter().map(|part| part.len()).eq([4, 2, 2]) && parts.iter().all(number)
}

/// The strength in words or as a number; `None` for an empty cell.
fn vote(row: Row<'_>) -> Result<Option<Strength>, Fault> {
    // What is thin is called weak as well.
    let said =
        name_key(row.cell("value")).split_whitespace().collect::<Vec<_>>().join(" ").replace("weak", "thin");
    let named = |vote: &Strength| {
        let words = vote.to_string();
        // `thin`, `right`, `strong`: the last word alone means the vote without `much`.
        said == words
            || words.split_once(' ').is_some_and(|(_, last)| said == last && !words.starts_with("much"))
    };
    if let Some(vote) = Strength::ALL.into_iter().find(named) {
        return Ok(Some(vote));
    }
    if said.starts_with(|c: char| c.is_alphabetic()) {
        let problem = format!("`{}` is no strength", shown(row.cell("value")));
        let words = Strength::ALL.map(|vote| vote.to_string()).join(", ");
        return Err(row.fault("value", problem, format!("write {words}, or a number from -2 to 2")));
    }
    let vote = whole::<i8>(row, "value", "0")?.map(Strength::try_from).transpose();
    vote.map_err(|problem| row.fault("value", problem, "0 is just right, -1 too thin, 1 too strong"))
}

/// The name of who scored. Of a name that is a number a spreadsheet may have kept the number only: `7` for `007`.
fn seat(room: &Room, name: &str) -> String {
    let number = digits(name);
    if room.seat_meant(name).is_some() || !number.bytes().all(|b| b.is_ascii_digit()) {
        return name.to_string();
    }
    let mut same = room.seats.iter().filter(|seat| digits(&seat.name) == number);
    match (same.next(), same.next()) {
        (Some(seat), None) => seat.name.clone(),
        _ if name.contains(['.', ',']) => number,
        _ => name.to_string(),
    }
}

fn code(room: &Room, row: Row<'_>) -> Result<Code, Fault> {
    let text = required(row, "code", "the three-digit code of the tea")?;
    let known: Vec<String> = room.class.coded().map(|(code, _)| code.to_string()).collect();
    let remedy = || format!("this class has {}", known.join(", "));
    let code: Code = digits(text)
        .parse()
        .map_err(|problem: &str| row.fault("code", format!("`{}`: {problem}", shown(text)), remedy()))?;
    room.class
        .tea(code)
        .map(|_| code)
        .ok_or_else(|| row.fault("code", format!("this class has no {code}"), remedy()))
}

fn steep(row: Row<'_>) -> Result<u32, Fault> {
    match whole(row, "steep", "1")? {
        Some(0) => {
            Err(row.fault("steep", "is 0, but the steep counts from 1", "give the number of the steep"))
        }
        steep => steep.ok_or_else(|| missing(row, "steep", "the number of the steep, from 1")),
    }
}

fn id(row: Row<'_>) -> Result<Option<Uuid>, Fault> {
    match row.cell("score_id") {
        "" => Ok(None),
        text => text.parse().map(Some).map_err(|_| {
            row.fault(
                "score_id",
                format!("`{}` is no id", shown(text)),
                "leave it empty; only an export gives ids",
            )
        }),
    }
}

fn class_id(room: &Room, row: Row<'_>) -> Result<(), Fault> {
    match row.cell("class_id") {
        "" => Ok(()),
        text if text.parse() == Ok(room.class_id) => Ok(()),
        text => Err(row.fault(
            "class_id",
            format!("`{}` is another class; this ledger's is {}", shown(text), room.class_id),
            "name the ledger of that class, or take the column out if the scores belong here",
        )),
    }
}

fn host_time(row: Row<'_>) -> Result<Option<HostTime>, Fault> {
    match row.cell("host_s") {
        "" => Ok(None),
        text => match text.replace(',', ".").parse::<f64>() {
            Ok(s) if (0.0..=MOST_HOST_S).contains(&s) => {
                Ok(Some(HostTime((s * SECOND_US as f64).round() as i64)))
            }
            _ => Err(row.fault(
                "host_s",
                format!("`{}` is no instant of a class in seconds", shown(text)),
                "leave it empty",
            )),
        },
    }
}

//! The columns of a file of scores. In the long form a row is one answer; in the wide form it is a cup, and each line of the sheet
//! has a column, as on paper. The wide form is read as the answers that stand in it.

use super::fault::Fault;
use super::grid::Grid;
use protocol::Sheet;
use protocol::text::{NAME_CHARS, clean, name_key};
use report::csv::unguarded;
use report::paper::{Asks, Line, lines};

/// The columns that are read in the long form; the first ones must be there.
pub const READ: [&str; 10] =
    ["seat", "code", "steep", "attribute", "value", "text", "revision", "score_id", "host_s", "class_id"];
/// How many of them must be there.
const NEEDED: usize = 5;
/// How many must be there in the wide form.
const NEEDED_WIDE: usize = 3;
/// The columns of an export that entering does not need.
const KNOWN: [&str; 7] = ["title", "date", "tea", "leaf", "counts", "rehearsal", "round"];
/// A name that is meant to be one of the columns is at least so much like it, 0 to 1.
const ALIKE: f64 = 0.75;
/// What may stand between the words of one cell. No word holds a comma.
const BETWEEN_WORDS: [char; 4] = [',', ';', '\n', '·'];

/// The rows of a file.
pub struct Table {
    /// Where each of [`READ`] stands.
    places: [Option<usize>; READ.len()],
    /// In the wide form, where each line of the sheet stands.
    lines: Option<Vec<(usize, Line)>>,
    words: Vec<String>,
    rows: Vec<(u64, Vec<String>)>,
    heads: Vec<String>,
    is_sheet: bool,
    /// How many rows of the wide form have nothing filled in.
    pub empty: usize,
    /// The names of columns that nothing is known of; they are left out.
    pub unknown: Vec<String>,
    /// What whoever enters it is to be told.
    pub notice: Option<String>,
}

/// One answer.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    cells: &'a [String],
    /// Of the wide form: which line of the sheet, where it stands, and what is answered.
    answer: Option<(&'a Line, usize, &'a str)>,
    /// Its line in the file, from 1; a row whose cells hold line breaks begins there.
    pub line: u64,
}

impl<'a> Row<'a> {
    /// The text of a cell; empty if the file has no such column.
    pub fn cell(&self, column: &str) -> &'a str {
        if let Some((line, _, text)) = self.answer {
            match (column, &line.asks) {
                ("attribute", _) => return line.asks.name(),
                ("value", Asks::Attribute(_) | Asks::Strength) => return text,
                ("text", Asks::Words | Asks::Note) => return text,
                ("value" | "text", _) => return "",
                _ => {}
            }
        }
        let place = self.table.place(column);
        place.and_then(|place| self.cells.get(place)).map_or("", |cell| self.table.bare(cell))
    }

    /// A fault in a cell, or of the row if there is no such column.
    pub fn fault(&self, column: &str, problem: impl Into<String>, remedy: impl Into<String>) -> Fault {
        let answer = self.answer.filter(|_| matches!(column, "attribute" | "value" | "text"));
        let column = match answer {
            Some((_, place, _)) => Some((self.table.heads[place].clone(), place + 1)),
            None => self.table.column(column),
        };
        Fault { line: self.line, column, problem: problem.into(), remedy: remedy.into() }
    }
}

impl Table {
    /// Reads a file for a class of this sheet.
    ///
    /// # Errors
    /// What makes it unreadable as a whole: encoding, header, rows that do not fit the header, an open quote.
    pub fn read(bytes: &[u8], sheet: &Sheet) -> Result<Self, Vec<Fault>> {
        let Grid { mut rows, is_sheet, notice } = Grid::read(bytes)?;
        let (line, header) = rows.remove(0);
        let heads: Vec<String> = header.iter().map(|name| clean(name, NAME_CHARS).to_lowercase()).collect();
        let mut table = Self {
            places: READ.map(|column| heads.iter().position(|head| head == column)),
            lines: None,
            words: sheet.words.clone(),
            rows,
            heads,
            is_sheet,
            empty: 0,
            unknown: Vec::new(),
            notice,
        };
        table.lines = table.wide(sheet);
        let faults = table.faulty_heads(line, sheet);
        if !faults.is_empty() {
            return Err(faults);
        }
        if let Some(lines) = &table.lines {
            let places: Vec<usize> = lines.iter().map(|(place, _)| *place).collect();
            let all = table.rows.len();
            let filled = |cells: &[String]| places.iter().any(|&place| !cells[place].trim().is_empty());
            table.rows.retain(|(_, cells)| filled(cells));
            table.empty = all - table.rows.len();
        }
        Ok(table)
    }

    /// Where the lines of the sheet stand, if the file has columns for them and none that names an attribute row by row.
    fn wide(&self, sheet: &Sheet) -> Option<Vec<(usize, Line)>> {
        let found = lines(sheet).into_iter().filter_map(|line| {
            let is = |head: &String| line.is_named(head);
            Some((self.heads.iter().position(is)?, line))
        });
        let found: Vec<(usize, Line)> = found.collect();
        (self.place("attribute").is_none() && !found.is_empty()).then_some(found)
    }

    /// What is wrong with the heads; on the way those that nothing is known of are noted.
    fn faulty_heads(&mut self, line: u64, sheet: &Sheet) -> Vec<Fault> {
        let mut faults = Vec::new();
        let wide = self.lines.is_some();
        let asked = lines(sheet);
        let read = |head: &str| READ.contains(&head) || wide && asked.iter().any(|line| line.is_named(head));
        for (place, head) in self.heads.iter().enumerate() {
            let again = self.heads[..place].iter().any(|other| name_key(other) == name_key(head));
            if again && read(head) {
                faults.push(Fault {
                    line,
                    column: Some((head.clone(), place + 1)),
                    problem: format!("the column `{head}` stands twice"),
                    remedy: "keep one of them".into(),
                });
            } else if !read(head) && !KNOWN.contains(&head.as_str()) && !head.is_empty() {
                self.unknown.push(head.clone());
            }
        }
        let alike = |column: &str| {
            let near = |name: &&String| strsim::normalized_damerau_levenshtein(name, column) >= ALIKE;
            self.unknown.iter().find(near)
        };
        let needed = if wide { NEEDED_WIDE } else { NEEDED };
        for column in READ.iter().take(needed).filter(|column| self.place(column).is_none()) {
            let remedy = match alike(column) {
                Some(name) => format!("rename `{name}` to `{column}`"),
                None if wide => format!("the header names at least {}", READ[..needed].join(",")),
                None => {
                    let heads: Vec<&str> = asked.iter().map(|line| line.head.as_str()).collect();
                    format!(
                        "the header names at least {}, or {} and the lines of the sheet: {}",
                        READ[..needed].join(","),
                        READ[..NEEDED_WIDE].join(","),
                        heads.join(",")
                    )
                }
            };
            faults.push(Fault {
                line,
                column: None,
                problem: format!("the column `{column}` is missing"),
                remedy,
            });
        }
        // A line of the sheet that is nearly there would else be left out with all that stands in it.
        let there = |asked: &Line| self.lines.iter().flatten().any(|(_, line)| line.head == asked.head);
        for asked in asked.iter().filter(|asked| wide && !there(asked)) {
            let Some(name) = alike(&asked.head.to_lowercase()) else { continue };
            let place =
                self.heads.iter().position(|head| head == name).map(|place| (name.clone(), place + 1));
            faults.push(Fault {
                line,
                column: place,
                problem: format!("the sheet has no `{name}`"),
                remedy: format!("rename it to `{}`", asked.head),
            });
        }
        faults
    }

    fn place(&self, name: &str) -> Option<usize> {
        READ.iter().position(|&column| column == name).and_then(|at| self.places[at])
    }

    /// The text of a cell.
    fn bare<'a>(&self, cell: &'a str) -> &'a str {
        if self.is_sheet { cell.trim() } else { unguarded(cell.trim()) }
    }

    /// The name and number of one of [`READ`], if the file has it.
    pub fn column(&self, name: &str) -> Option<(String, usize)> {
        self.place(name).map(|place| (name.to_string(), place + 1))
    }

    /// The answers in the order of the file; rows of empty cells are left out.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().flat_map(|(line, cells)| {
            let row = Row { table: self, cells, answer: None, line: *line };
            match &self.lines {
                None => vec![row],
                Some(lines) => lines.iter().flat_map(|line| self.answers(line, row)).collect(),
            }
        })
    }

    /// What a row of the wide form answers to one line of the sheet: nothing, one thing, or several words.
    fn answers<'a>(&'a self, (place, line): &'a (usize, Line), row: Row<'a>) -> Vec<Row<'a>> {
        let text = self.bare(&row.cells[*place]);
        let own = |part: &str| self.words.iter().any(|word| name_key(word) == name_key(part));
        let parts: Vec<&str> = match line.asks {
            Asks::Words if !own(text) => text.split(BETWEEN_WORDS).map(str::trim).collect(),
            _ => vec![text],
        };
        let filled = parts.into_iter().filter(|part| !part.is_empty());
        filled.map(|part| Row { answer: Some((line, *place, part)), ..row }).collect()
    }
}

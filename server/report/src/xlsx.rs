//! The tables as a spreadsheet file of ten sheets at most. What people wrote is stored as text, never as a formula; the same
//! tables give the same bytes.

use crate::tables::{Cell, Column, Table, TableOf};
use crate::text::lines::wrapped;
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};
use thiserror::Error;
use unicode_width::UnicodeWidthStr;

/// The narrowest and the widest column, in characters.
const WIDTHS: std::ops::RangeInclusive<usize> = 7..=70;
/// The longest line of a note, in characters.
const NOTE_CHARS: usize = 100;
/// The height of a line of text, points.
const LINE_PT: f64 = 15.0;
/// The day that a file bears where the class's own is none that a spreadsheet knows.
const NO_DAY: (u16, u8, u8) = (2000, 1, 1);

/// Why no spreadsheet comes of it.
#[derive(Debug, Error)]
#[error("the spreadsheet can't be made ({0}); `--format tables` and `--format csv` know no such limit")]
pub struct NoSpreadsheet(#[from] XlsxError);

/// The file. `date` is the class's day, YYYY-MM-DD.
///
/// The sheet of single scores has its heads in the first row and nothing else, for programs and pivot tables; the others
/// hold one table under the other, each with its title and notes above.
///
/// # Errors
/// If a table has more rows than a sheet can hold (1,048,576), or a text is longer than a cell can (32,767).
pub fn workbook(title: &str, date: &str, tables: &[Table]) -> Result<Vec<u8>, NoSpreadsheet> {
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&day(date)?));
    let formats = Formats::default();
    for (name, tables) in sheets(tables) {
        fill(book.add_worksheet().set_name(name)?, &tables, &formats)?;
    }
    Ok(book.save_to_buffer()?)
}

/// The day that a file bears: the class's own, as far as a spreadsheet knows it, so that the same class gives the same bytes.
pub(crate) fn day(date: &str) -> Result<ExcelDateTime, XlsxError> {
    let day = ExcelDateTime::parse_from_str(date);
    day.or_else(|_| ExcelDateTime::from_ymd(NO_DAY.0, NO_DAY.1, NO_DAY.2))
}

/// How cells look.
struct Formats {
    title: Format,
    note: Format,
    head: Format,
    number_head: Format,
    text: Format,
    /// Text that would become a formula if somebody changed the cell and left the apostrophe out.
    guarded: Format,
    not: Format,
    probability: Format,
}

impl Default for Formats {
    fn default() -> Self {
        let head = Format::new()
            .set_bold()
            .set_text_wrap()
            .set_border_bottom(FormatBorder::Thin)
            .set_align(FormatAlign::Bottom);
        let text = Format::new().set_text_wrap().set_align(FormatAlign::Top);
        Self {
            title: Format::new().set_bold().set_font_size(14),
            note: Format::new().set_italic(),
            number_head: head.clone().set_align(FormatAlign::Right),
            head,
            guarded: text.clone().set_quote_prefix(),
            not: text.clone().set_italic(),
            text,
            probability: number(r#"[<0.001]"<0.001";0.000"#),
        }
    }
}

/// Numbers stand at the top of their cells, as words do.
fn number(shown: &str) -> Format {
    Format::new().set_num_format(shown).set_align(FormatAlign::Top)
}

/// The sheet that a table stands on: what is read together stands together, so that there are ten at most.
fn sheet_of(table: &Table) -> &str {
    match &table.about {
        TableOf::Sentences => "found",
        TableOf::Scores => "scores",
        TableOf::Teas | TableOf::Totals => "teas",
        TableOf::Spread(_) | TableOf::Curves(_) => "attributes",
        TableOf::Pairs(_) => "pairs",
        TableOf::Ways => "ways",
        TableOf::Differences | TableOf::Tests => "tests",
        TableOf::Agreement | TableOf::Panel => "tasters",
        TableOf::Strength | TableOf::Penalty | TableOf::Words => "strength and words",
        TableOf::Sheets | TableOf::Notes | TableOf::Method => "sheets and method",
        // Of several classes there are few.
        TableOf::Pooled => &table.name,
    }
}

/// The sheets in the order in which their first tables are read, each with its tables in theirs.
fn sheets(tables: &[Table]) -> Vec<(&str, Vec<&Table>)> {
    let mut sheets: Vec<(&str, Vec<&Table>)> = Vec::new();
    for table in tables {
        let name = sheet_of(table);
        match sheets.iter_mut().find(|(known, _)| *known == name) {
            Some((_, tables)) => tables.push(table),
            None => sheets.push((name, vec![table])),
        }
    }
    sheets
}

/// Fills a sheet: one table under the other.
fn fill(sheet: &mut Worksheet, tables: &[&Table], formats: &Formats) -> Result<(), XlsxError> {
    let most = tables.iter().map(|table| table.columns.len()).max().unwrap_or(0);
    // As wide as the widest of the cells below each other.
    let widest = |place: usize| {
        let have = tables.iter().filter(|table| place < table.columns.len());
        have.map(|table| width(table, place)).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..most).map(widest).collect();
    for (place, width) in widths.iter().enumerate() {
        sheet.set_column_width(place_of(place)?, *width as f64 + 1.0)?;
    }
    let (mut row, mut heads) = (0, Vec::new());
    for table in tables {
        let (head, last) = write_table(sheet, row, table, &widths, formats)?;
        heads.push((head, last));
        row = last + 3;
    }
    sheet.set_landscape().set_print_fit_to_pages(1, 0);
    // Rows are kept in sight and filtered where there is one table.
    if let ([(head, last)], Some(column)) = (heads.as_slice(), most.checked_sub(1)) {
        sheet.set_freeze_panes(head + 1, 0)?;
        sheet.autofilter(*head, 0, *last, place_of(column)?)?;
        sheet.set_repeat_rows(*head, *head)?;
    }
    Ok(())
}

/// Writes a table from a row on: its title and notes unless it is that of the scores, its heads, its rows. The rows of its heads and
/// of its end are given back.
fn write_table(
    sheet: &mut Worksheet,
    from: u32,
    table: &Table,
    widths: &[usize],
    formats: &Formats,
) -> Result<(u32, u32), XlsxError> {
    let mut row = from;
    if table.about != TableOf::Scores {
        sheet.write_string_with_format(row, 0, &table.title, &formats.title)?;
        for line in table.notes.iter().flat_map(|note| wrapped("", note, NOTE_CHARS)) {
            row += 1;
            sheet.write_string_with_format(row, 0, &line, &formats.note)?;
        }
        row += 2;
    }
    let head = row;
    let heads: Vec<String> = table.columns.iter().map(Column::head).collect();
    for (place, column) in table.columns.iter().enumerate() {
        let format = if column.numeric() { &formats.number_head } else { &formats.head };
        sheet.write_string_with_format(head, place_of(place)?, &heads[place], format)?;
    }
    sheet.set_row_height(head, height(heads.iter().map(String::as_str).zip(widths)))?;
    for cells in &table.rows {
        row += 1;
        for (place, cell) in cells.iter().enumerate() {
            write(sheet, row, place_of(place)?, cell, formats)?;
        }
        let texts = cells.iter().zip(widths).filter_map(|(cell, width)| match cell {
            Cell::Text(text) | Cell::Not(text) => Some((text.as_str(), width)),
            _ => None,
        });
        let height = height(texts);
        if height > LINE_PT {
            sheet.set_row_height(row, height)?;
        }
    }
    Ok((head, row))
}

/// A column as the sheet counts it.
fn place_of(place: usize) -> Result<u16, XlsxError> {
    u16::try_from(place).map_err(|_| XlsxError::RowColumnLimitError)
}

fn write(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    cell: &Cell,
    formats: &Formats,
) -> Result<(), XlsxError> {
    match cell {
        Cell::Text(text) => {
            let runs = protocol::text::spreadsheet_cell(text) != *text;
            let format = if runs { &formats.guarded } else { &formats.text };
            sheet.write_string_with_format(row, column, text, format)?
        }
        Cell::Not(why) => sheet.write_string_with_format(row, column, why, &formats.not)?,
        Cell::Number(value, decimals) => {
            let shown =
                if *decimals == 0 { "0".into() } else { format!("0.{}", "0".repeat(usize::from(*decimals))) };
            // Never "-0.00".
            let half = 0.5 * 10f64.powi(-i32::from(*decimals));
            let value = if *value < 0.0 && value.abs() < half { 0.0 } else { *value };
            sheet.write_number_with_format(row, column, value, &number(&shown))?
        }
        // Whole numbers of a class (codes, counts, scores) are exact in a float.
        Cell::Whole(value) => sheet.write_number_with_format(row, column, *value as f64, &number("0"))?,
        Cell::Probability(p) => sheet.write_number_with_format(row, column, *p, &formats.probability)?,
        Cell::Empty => sheet,
    };
    Ok(())
}

/// How many characters wide a column is: as its cells, and as the longest word of its head.
fn width(table: &Table, place: usize) -> usize {
    let head = table.columns[place].head();
    // The button of the filter takes some room.
    let word = head.split(' ').map(UnicodeWidthStr::width).max().unwrap_or(0) + 2;
    let cells = table.rows.iter().map(|row| row[place].to_string().width());
    cells.max().unwrap_or(0).max(word).clamp(*WIDTHS.start(), *WIDTHS.end())
}

/// The height of a row whose texts stand in columns of these widths, points.
fn height<'a>(texts: impl Iterator<Item = (&'a str, &'a usize)>) -> f64 {
    let most = texts.map(|(text, width)| wrapped("", text, *width).len()).max().unwrap_or(1);
    // A row is 409 points high at most.
    (most.max(1) as f64 * LINE_PT).min(400.0)
}

#[cfg(test)]
mod tests;

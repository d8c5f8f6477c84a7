//! The tables as a spreadsheet file, one sheet for each. What people wrote is stored as text, never as a formula; the same
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
/// bear their title and notes above.
///
/// # Errors
/// If a table has more rows than a sheet can hold (1,048,576), or a text is longer than a cell can (32,767).
pub fn workbook(title: &str, date: &str, tables: &[Table]) -> Result<Vec<u8>, NoSpreadsheet> {
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&day(date)?));
    let formats = Formats::default();
    for table in tables {
        sheet(book.add_worksheet(), table, &formats)?;
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

fn sheet(sheet: &mut Worksheet, table: &Table, formats: &Formats) -> Result<(), XlsxError> {
    sheet.set_name(&table.name)?;
    let mut row = 0;
    if table.about != TableOf::Scores {
        sheet.write_string_with_format(row, 0, &table.title, &formats.title)?;
        for line in table.notes.iter().flat_map(|note| wrapped("", note, NOTE_CHARS)) {
            row += 1;
            sheet.write_string_with_format(row, 0, &line, &formats.note)?;
        }
        row += 2;
    }
    let head = row;
    let widths: Vec<usize> = (0..table.columns.len()).map(|place| width(table, place)).collect();
    let heads: Vec<String> = table.columns.iter().map(Column::head).collect();
    for (place, column) in table.columns.iter().enumerate() {
        let format = if column.numeric() { &formats.number_head } else { &formats.head };
        sheet.write_string_with_format(head, place_of(place)?, &heads[place], format)?;
        sheet.set_column_width(place_of(place)?, widths[place] as f64 + 1.0)?;
    }
    sheet.set_row_height(head, height(heads.iter().map(String::as_str).zip(&widths)))?;
    for cells in &table.rows {
        row += 1;
        for (place, cell) in cells.iter().enumerate() {
            write(sheet, row, place_of(place)?, cell, formats)?;
        }
        let texts = cells.iter().zip(&widths).filter_map(|(cell, width)| match cell {
            Cell::Text(text) | Cell::Not(text) => Some((text.as_str(), width)),
            _ => None,
        });
        let height = height(texts);
        if height > LINE_PT {
            sheet.set_row_height(row, height)?;
        }
    }
    sheet.set_freeze_panes(head + 1, 0)?;
    if let Some(last) = table.columns.len().checked_sub(1) {
        sheet.autofilter(head, 0, row, place_of(last)?)?;
    }
    sheet.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(head, head)?;
    Ok(())
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
            let value = if value.abs() < half { 0.0 } else { *value };
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

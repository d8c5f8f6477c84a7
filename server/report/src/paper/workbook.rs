//! The form as a spreadsheet: a sheet to fill in, whose cells know the scales, and one that says how.

use super::{Asks, Form, Line};
use crate::xlsx::{NoSpreadsheet, day};
use protocol::Strength;
use protocol::text::spreadsheet_cell;
use room::Room;
use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DataValidationRule, DocProperties, Format, FormatBorder,
    Workbook, Worksheet, XlsxError,
};

/// Widths of columns, characters.
const SEAT_CHARS: f64 = 16.0;
const NUMBER_CHARS: f64 = 7.0;
const STRENGTH_CHARS: f64 = 16.0;
const TEXT_CHARS: f64 = 34.0;

/// The spreadsheet to fill in.
///
/// # Errors
/// If there are more rows than a sheet can hold (1,048,576).
pub fn workbook(room: &Room) -> Result<Vec<u8>, NoSpreadsheet> {
    let form = Form::of(room);
    let mut book = Workbook::new();
    book.set_properties(
        &DocProperties::new().set_title(&room.class.title).set_creation_datetime(&day(&room.class.date)?),
    );
    fill(book.add_worksheet().set_name("scores")?, &form)?;
    how(book.add_worksheet().set_name("how to fill in")?, room, &form)?;
    Ok(book.save_to_buffer()?)
}

fn fill(sheet: &mut Worksheet, form: &Form<'_>) -> Result<(), XlsxError> {
    let head = Format::new().set_bold().set_text_wrap().set_border_bottom(FormatBorder::Thin);
    for (column, name) in (0u16..).zip(form.heads()) {
        sheet.write_string_with_format(0, column, name, &head)?;
        sheet.set_column_width(column, NUMBER_CHARS.max(name.chars().count() as f64 + 2.0))?;
    }
    sheet.set_column_width(0, SEAT_CHARS)?;
    let mut row = 0;
    for (place, cup) in form.cups.iter().enumerate() {
        row += 1;
        // A line above each seat's first cup.
        let first = place == 0 || form.cups[place - 1].seat != cup.seat;
        let plain = if first { Format::new().set_border_top(FormatBorder::Thin) } else { Format::new() };
        write(sheet, row, 0, &cup.seat, &plain)?;
        let code = cup.code.to_string().parse::<f64>().unwrap_or_default();
        sheet.write_number_with_format(row, 1, code, &plain)?;
        sheet.write_number_with_format(row, 2, cup.steep, &plain)?;
        for ((column, answer), place) in (3u16..).zip(form.answers(cup)).zip(0..) {
            // Behind the lines stands the revision, a number too.
            let number = form.lines.get(place).is_none_or(|line| matches!(line.asks, Asks::Attribute(_)));
            match answer.parse::<i32>().ok().filter(|_| number) {
                Some(number) => drop(sheet.write_number_with_format(row, column, number, &plain)?),
                None if answer.is_empty() => drop(sheet.write_blank(row, column, &plain)?),
                None => write(sheet, row, column, &answer, &plain)?,
            }
        }
    }
    for (column, line) in (3u16..).zip(&form.lines) {
        match line.asks {
            Asks::Attribute(_) => {}
            Asks::Strength => drop(sheet.set_column_width(column, STRENGTH_CHARS)?),
            Asks::Words | Asks::Note => drop(sheet.set_column_width(column, TEXT_CHARS)?),
        }
        if let Some(check) = check(line)?.filter(|_| row > 0) {
            sheet.add_data_validation(1, column, row, column, &check)?;
        }
    }
    sheet.set_freeze_panes(1, 3)?;
    sheet.set_landscape().set_print_fit_to_pages(1, 0).set_repeat_rows(0, 0)?;
    Ok(())
}

/// Writes a text, never a formula, also if somebody changes the cell later.
fn write(sheet: &mut Worksheet, row: u32, column: u16, text: &str, plain: &Format) -> Result<(), XlsxError> {
    let runs = spreadsheet_cell(text) != text;
    let format = if runs { &plain.clone().set_quote_prefix() } else { plain };
    sheet.write_string_with_format(row, column, text, format)?;
    Ok(())
}

/// What a cell of a line takes, and the hint it shows; a note takes anything.
fn check(line: &Line) -> Result<Option<DataValidation>, XlsxError> {
    let check = match &line.asks {
        Asks::Attribute(a) => DataValidation::new()
            .allow_whole_number(DataValidationRule::Between(a.min, a.max))
            .set_error_message(format!("A whole number from {} to {}", a.min, a.max))?,
        // Numbers from -2 to 2 are taken too.
        Asks::Strength => DataValidation::new()
            .allow_list_strings(&Strength::ALL.map(|vote| vote.to_string()))?
            .set_error_style(DataValidationErrorStyle::Information)
            .set_error_message("One of the words of the list, or a number from -2 to 2")?,
        Asks::Words => DataValidation::new().allow_any_value(),
        Asks::Note => return Ok(None),
    };
    Ok(Some(check))
}

/// What can stand in the columns, and what becomes of the file.
fn how(sheet: &mut Worksheet, room: &Room, form: &Form<'_>) -> Result<(), XlsxError> {
    let (bold, plain) = (Format::new().set_bold(), Format::new());
    let words = room.class.sheet.words.join(", ");
    let mut rows: Vec<[String; 2]> =
        vec![[format!("{} · {}", room.class.title, room.class.date), String::new()]];
    for line in &form.lines {
        let what = match &line.asks {
            Asks::Attribute(a) => {
                let ends = a.low.as_ref().zip(a.high.as_ref());
                let ends = ends.map_or(String::new(), |(low, high)| format!(", {low} to {high}"));
                format!("a whole number from {} to {}{ends}", a.min, a.max)
            }
            Asks::Strength => format!("{}; or -2 to 2", Strength::ALL.map(|v| v.to_string()).join(", ")),
            Asks::Words => format!("those that fit, with commas between: {words}"),
            Asks::Note => "anything".into(),
        };
        rows.push([line.head.clone(), what]);
    }
    let rest = [
        "Where a seat has no name yet, write the person's name over it in each row.",
        "Rows that stay empty are left out. What the ledger has already stands filled in.",
        "Then: kettlecall enter LEDGER FILE",
    ];
    rows.extend(rest.map(|line| [line.into(), String::new()]));
    for (row, [first, second]) in (0u32..).zip(rows) {
        write(sheet, row, 0, &first, if row == 0 { &bold } else { &plain })?;
        write(sheet, row, 1, &second, &plain)?;
    }
    sheet.set_column_width(0, SEAT_CHARS)?.set_column_width(1, TEXT_CHARS * 2.0)?;
    Ok(())
}

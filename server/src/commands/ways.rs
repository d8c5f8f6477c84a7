//! `kettlecall ways`.

use super::class_file::text_of;
use crate::cli::PlanFormat;
use crate::exit::Failure;
use crate::output::{Output, width};
use ::plan::ways::compare;
use class::read;
use class::ways::Collected;
use std::path::Path;

/// Reads a file of ways; `so` says what its faults lead to.
pub fn find(file: &Path, so: &str) -> Result<Collected, Failure> {
    let text = text_of(file, "the file of ways")?;
    let shown = file.display().to_string();
    read::ways(&text).map_err(|faults| Failure { words: faults.render(&shown, &text, so), code: 3 })
}

/// Sets people's ways side by side.
pub fn run(file: &Path, format: Option<PlanFormat>, output: &Output) -> Result<(), Failure> {
    let format = format.map_or_else(|| output.form(), |format| Ok(Some(format)))?.unwrap_or(PlanFormat::Text);
    let compared = compare(&find(file, "nothing was compared")?);
    let page = match format {
        PlanFormat::Text => report::ways::text::text(&compared, width()),
        PlanFormat::Json => report::json(&compared),
        PlanFormat::Html => report::ways::page::html(&compared),
    };
    Ok(output.page(&page)?)
}

//! `kettlecall plan`.

use super::class_file::{Found, find};
use crate::cli::PlanFormat;
use crate::exit::Failure;
use crate::output::{print, width};
use ::plan::document::document;
use report;
use std::path::Path;

/// Prints the plan of a class.
pub fn run(class: &Path, format: PlanFormat, seed: Option<u64>) -> Result<(), Failure> {
    let Found { class, seed, .. } = find(class, None, seed)?;
    let class = class.with_codes(seed);
    let plan = document(&class, seed)
        .map_err(|fault| Failure { words: format!("the class can't be planned: {fault}"), code: 3 })?;
    let names: Vec<String> = class.setting.kettles.iter().map(|k| k.name.clone()).collect();
    Ok(print(&match format {
        PlanFormat::Text => report::plan::text::text(&plan, &names, width()),
        PlanFormat::Json => report::json(&plan),
        PlanFormat::Html => report::plan::page::html(&plan, &class),
    })?)
}

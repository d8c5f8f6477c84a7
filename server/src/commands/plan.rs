//! `kettlecall plan`.

use super::class_file::{Found, find};
use crate::cli::PlanFormat;
use crate::exit::Failure;
use crate::output::{Output, width};
use ::plan::document::document;
use report;
use report::plan::text;
use std::path::Path;

/// Writes the plan of a class; on a terminal only its first screen, unless all of it is asked for.
pub fn run(
    file: &Path,
    format: Option<PlanFormat>,
    full: bool,
    seed: Option<u64>,
    output: &Output,
) -> Result<(), Failure> {
    let format = format.map_or_else(|| output.form(), |format| Ok(Some(format)))?.unwrap_or(PlanFormat::Text);
    let Found { class, seed: own_seed, .. } = find(file, None, seed, "no plan was made")?;
    let class = class.with_codes(own_seed);
    let plan = document(&class, own_seed)?;
    let names: Vec<String> = class.setting.kettles.iter().map(|k| k.name.clone()).collect();
    let page = match format {
        PlanFormat::Text => match output.screen().filter(|_| !full) {
            Some(screen) => {
                let seeded = seed.map_or(String::new(), |seed| format!(" --seed {seed}"));
                let more = format!("kettlecall plan {}{seeded} --full", file.display());
                text::brief::brief(&plan, &names, screen, &more)
            }
            None => text::text(&plan, &names, width()),
        },
        PlanFormat::Json => report::json(&plan),
        PlanFormat::Html => report::plan::page::html(&plan, &class),
    };
    Ok(output.page(&page)?)
}

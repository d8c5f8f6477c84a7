//! `kettlecall spot`.

use super::review::{Part, put_next, read};
use super::whole;
use crate::cli::{Spot, SpotFormat};
use crate::exit::Failure;
use crate::output::{Output, width};
use host::clock::today;
use protocol::text::{NAME_CHARS, clean, name_key};
use report;
use room::near::nearest;
use summary::spot::fitted::USUAL;
use summary::spot::{Spots, next, spots};

/// Reads some classes and says where the sweet spot of each leaf lies.
pub fn run(asked: &Spot) -> Result<(), Failure> {
    let Spot { ledgers, output, force, .. } = asked;
    let part = Part { without: &asked.without, up_to_break: asked.up_to_break, ..Part::default() };
    if asked.up_to_break {
        whole::warn(ledgers);
    }
    whole::doubts(ledgers);
    let output = Output::new(output.clone(), *force, ledgers);
    let format = asked.format.map_or_else(|| output.form(), |format| Ok(Some(format)))?;
    let classes = read::read(ledgers, part)?;
    let mut found = spots(&classes, (!asked.no_prior).then_some(USUAL));
    if let Some(leaf) = &asked.leaf {
        only(&mut found, leaf)?;
    }
    let page = match format.unwrap_or(SpotFormat::Text) {
        SpotFormat::Text => report::text::spot::within(&found, width(), asked.full),
        SpotFormat::Html => report::spot::page::html(&found),
        SpotFormat::Json => report::json(&found),
    };
    output.page(&page)?;
    let Some(file) = &asked.next else { return Ok(()) };
    let records: Vec<_> = classes.iter().map(|(record, _)| record).collect();
    put_next(file, next::file(&found, &records, asked.teas.map(usize::from), &today()))
}

/// Leaves only one leaf.
fn only(found: &mut Spots, leaf: &str) -> Result<(), Failure> {
    let is = |name: &str| name_key(name) == name_key(leaf);
    if !found.leaves.iter().any(|spot| is(&spot.leaf)) {
        let names: Vec<&str> = found.leaves.iter().map(|spot| spot.leaf.as_str()).collect();
        let meant = nearest(leaf, names.iter().copied());
        let meant = meant.map_or(String::new(), |near| format!("; did you mean {near}?"));
        let words =
            format!("no leaf is called {} that was scored and may be named{meant}", clean(leaf, NAME_CHARS));
        return Err(Failure { words, code: 2 });
    }
    found.leaves.retain(|spot| is(&spot.leaf));
    Ok(())
}

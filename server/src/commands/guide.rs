//! `kettlecall guide`.

use super::review::{Part, read};
use super::whole;
use crate::exit::Failure;
use crate::output::Output;
use class::Tea;
use class::start::leaf::Leaf;
use class::start::table::Table;
use std::path::PathBuf;
use summary::guide::{Known, guide};
use summary::several;
use summary::spot::fitted::USUAL;
use summary::spot::spots;
use summary::spot::sure_enough::sure_enough;

/// Writes the page to hand out.
pub fn run(ledgers: &[PathBuf], leaves: &[Leaf], output: &Output) -> Result<(), Failure> {
    whole::doubts(ledgers);
    let table = Table::compiled_in().map_err(|words| Failure { words, code: 1 })?;
    let classes = read::read(ledgers, Part::default())?;
    let pool = several::pool(&classes);
    let teas: Vec<&Tea> = classes.iter().flat_map(|(record, _)| &record.class.teas).collect();
    if let Some(stranger) = leaves.iter().find(|leaf| teas.iter().all(|tea| !is_of(tea, leaf))) {
        let words = format!("no tea of these classes is of the leaf `{}`; name it as they do", stranger.name);
        return Err(Failure { words, code: 2 });
    }
    let found = sure_enough(&spots(&classes, Some(USUAL)));
    let known = Known { leaves, spots: &found };
    Ok(output.page(&report::guide::html(&guide(&pool, &teas, known, &table)))?)
}

fn is_of(tea: &Tea, leaf: &Leaf) -> bool {
    tea.leaf_key() == protocol::text::name_key(leaf.leaf_name())
}

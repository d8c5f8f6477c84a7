//! A class that tastes people's ways of one leaf side by side, with their middle as its centre.

use super::NewError;
use crate::commands::ways::find;
use crate::exit::Failure;
use class::start::leaf::Leaf;
use class::start::table::Table;
use class::start::wishes::{TITLE, Wishes};
use class::start::write;
use class::ways::Way;
use class::write::{Written, class_file};
use class::{Class, Tea, read};
use plan::document::document;
use plan::ways::choose::{Choice, LeftOut, Verdict};
use plan::ways::{Compared, Group, compare};
use protocol::say::{list, many};
use protocol::text::NAME_CHARS;
use std::path::Path;

/// As many teas as are taken unless somebody says how many: one pair of hands can still serve them in a round.
const TEAS: usize = 6;

/// Which ways are asked for.
pub struct Asked<'a> {
    /// The file of ways.
    pub file: &'a Path,
    /// Whose ways; nobody's takes those that tell most.
    pub who: &'a [String],
    /// How many teas, the middle way among them.
    pub teas: Option<usize>,
}

/// The class file, and what is to be said of it.
pub fn write(
    asked: &Asked<'_>,
    table: &Table,
    mut wishes: Wishes,
) -> Result<(String, Vec<String>), NewError> {
    let collected = find(asked.file, "nothing was written")?;
    let compared = compare(&collected);
    let group = group(asked, &compared)?;
    if group.ways.len() < 2 {
        let words = format!(
            "{} has one way of {} alone; a class needs two to compare; nothing was written",
            asked.file.display(),
            group.leaf
        );
        return Err(NewError::Wishes(words));
    }
    if wishes.title == TITLE {
        wishes.title = collected.title.clone().unwrap_or(wishes.title);
    }
    let chosen = chosen(asked, group)?;
    let class = |ways: &[usize]| class_of(group, ways, table, &wishes);
    // What somebody names is tasted, whatever the planner warns of.
    let choice = if asked.who.is_empty() {
        group.feasible(chosen, |ways| class(ways).map_or_else(Err, verdict))
    } else {
        Choice { ways: chosen, left_out: Vec::new() }
    };
    let made = class(&choice.ways).map_err(NewError::Table)?;
    if let Err(why) = verdict(made.clone()) {
        return Err(NewError::Wishes(format!("the ways can't be served together: {why}")));
    }
    let mut said = vec![taken(group, &choice.ways)];
    said.extend(choice.left_out.iter().map(|out| left_out(group, out)));
    if !choice.left_out.is_empty() {
        said.push("to taste other ways all the same, name them with --who".into());
    }
    let others: Vec<String> =
        compared.groups.iter().filter(|one| *one != group).map(|one| one.leaf.clone()).collect();
    if !others.is_empty() {
        said.push(format!("one leaf at a time: the ways of {} are not in it", list(&others)));
    }
    let heading = [
        "Written by `kettlecall new --from`: people's ways of one leaf, side by side, with their middle as the centre.",
        "Every way is cut to the steeps that all of them have. Change what you like, then `kettlecall open` it.",
    ];
    let written: Vec<Written> = made
        .teas
        .iter()
        .enumerate()
        .map(|(place, tea)| Written {
            tea: tea.clone(),
            why: why(group, place.checked_sub(1).map(|i| choice.ways[i])),
        })
        .collect();
    let mut lines = heading.to_vec();
    lines.extend(said.iter().map(String::as_str));
    let text = class_file(&lines, &made, &written);
    Ok((text, said))
}

/// The ways of one leaf: those asked for by name, or else the leaf with most ways.
fn group<'a>(asked: &Asked<'_>, compared: &'a Compared) -> Result<&'a Group, NewError> {
    let has = |group: &Group, who: &str| place_of(group, who).is_some();
    for who in asked.who {
        if !compared.groups.iter().any(|group| has(group, who)) {
            let all = compared.groups.iter().flat_map(|group| &group.ways);
            let all: Vec<String> = all.map(|of| of.way.who.clone()).collect();
            return Err(NewError::Wishes(format!(
                "{} has no way of `{who}`; it has those of {}",
                asked.file.display(),
                list(&all)
            )));
        }
    }
    let named = compared
        .groups
        .iter()
        .find(|group| !asked.who.is_empty() && asked.who.iter().all(|who| has(group, who)));
    match named {
        Some(group) => Ok(group),
        None if !asked.who.is_empty() => Err(NewError::Wishes(
            "the ways asked for are of different kinds of leaf; name those of one".into(),
        )),
        None => {
            let most = compared.groups.iter().map(|group| group.ways.len()).max();
            let first = compared.groups.iter().find(|group| Some(group.ways.len()) == most);
            first.ok_or_else(|| NewError::Wishes(format!("{} has no ways", asked.file.display())))
        }
    }
}

fn place_of(group: &Group, who: &str) -> Option<usize> {
    group.ways.iter().position(|of| of.way.who.to_lowercase() == who.trim().to_lowercase())
}

fn chosen(asked: &Asked<'_>, group: &Group) -> Result<Vec<usize>, NewError> {
    let most = asked.teas.unwrap_or(TEAS).saturating_sub(1).max(1);
    if asked.who.is_empty() {
        return group.telling(most).map_err(|why| NewError::Table(why.to_string()));
    }
    let mut ways: Vec<usize> = asked.who.iter().filter_map(|who| place_of(group, who)).collect();
    ways.sort_unstable();
    ways.dedup();
    Ok(ways)
}

/// The class of the middle way and some others.
fn class_of(group: &Group, ways: &[usize], table: &Table, wishes: &Wishes) -> Result<Class, String> {
    let middle = group.middle.as_way(group.kind);
    let all: Vec<&Way> =
        std::iter::once(&middle).chain(ways.iter().map(|way| &group.ways[*way].way)).collect();
    let leaf = |(number, way): (usize, &&Way)| Leaf {
        dose: Some(way.dose_g_per_100_ml),
        ..Leaf::named(format!("Tea {number}"))
    };
    let base = Wishes { teas: all.iter().enumerate().map(leaf).collect(), ..wishes.clone() };
    let text = write::class_file(table, &base);
    let base =
        read::class(&text).map_err(|faults| faults.render("the new class", &text, "it was not written"))?;
    // As much water for every way, so that only the way differs.
    let water_ml = base.teas.iter().map(|tea| tea.water_ml).fold(0.0, f64::max);
    let steeps = all.iter().map(|way| way.steep_s.len()).min().unwrap_or(0);
    let taken = group.ways.iter().any(|of| of.way.who.to_lowercase() == middle.who);
    let leaf: String = group.leaf.chars().take(NAME_CHARS).collect();
    let tea = |way: &&Way| Tea {
        name: if **way == middle && taken { "middle way of all".into() } else { way.who.clone() },
        leaf: leaf.trim_end_matches([',', ' ']).into(),
        code: None,
        leaf_g: (way.dose_g_per_100_ml * water_ml).round() / 100.0,
        water_ml,
        temp_c: way.temp_c[..steeps].to_vec(),
        rinse_s: way.rinse_s,
        steep_s: way.steep_s[..steeps].to_vec(),
        pour_s: None,
        decant_s: None,
        vessel: None,
        adapt: None,
        form: group.kind.form,
    };
    Ok(Class { teas: all.iter().map(tea).collect(), ..base })
}

/// What the planner says of a class, in the names of its teas.
fn verdict(class: Class) -> Verdict {
    let seed = class.own_seed();
    let class = class.with_codes(seed);
    let named = |words: String| {
        class.coded().fold(words, |words, (code, tea)| words.replace(&code.to_string(), &tea.name))
    };
    match document(&class, seed) {
        Ok(plan) => Ok(plan.warnings.into_iter().map(named).collect()),
        Err(fault) => Err(named(fault.to_string())),
    }
}

fn who(group: &Group, way: usize) -> String {
    group.ways[way].way.who.clone()
}

/// Which ways are in it, in a line.
fn taken(group: &Group, ways: &[usize]) -> String {
    let names: Vec<String> = ways.iter().map(|way| who(group, *way)).collect();
    let of = if ways.len() == group.ways.len() {
        format!("all {}", many(ways.len(), "way"))
    } else {
        format!("{} of {}", ways.len(), many(group.ways.len(), "way"))
    };
    format!("tastes the middle way beside {of}: {}", list(&names))
}

/// Who had to go for the planner's sake, in a line.
fn left_out(group: &Group, out: &LeftOut) -> String {
    let instead = out.instead.map_or("left out".into(), |way| format!("{} in its place", who(group, way)));
    let why = match &out.why {
        Err(why) => why.clone(),
        Ok(warnings) => warnings.first().cloned().unwrap_or_default(),
    };
    format!(
        "the way of {} can't be served well with these hands and kettles, {instead}: {why}",
        who(group, out.way)
    )
}

/// The lines above a tea: whose way it is, or the middle.
fn why(group: &Group, way: Option<usize>) -> String {
    let Some(way) = way else {
        return format!(
            "The middle of {}: nobody's own. It is the centre that the others are compared with.",
            many(group.ways.len(), "way")
        );
    };
    let of = &group.ways[way].way;
    let remarks = of.remarks.as_ref().map_or(String::new(), |said| format!(" They say: {said}"));
    format!("As {} does it.{remarks}", of.who)
}

impl From<Failure> for NewError {
    fn from(failure: Failure) -> Self {
        NewError::Ways(failure)
    }
}

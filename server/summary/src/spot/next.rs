//! The class that would tell most of a leaf's best way, as a class file.

mod again;
pub mod choose;
mod why;

use super::coding::Coding;
use super::fitted::Scale;
use super::pour::Pour;
use super::rows::Leaf;
use super::sure_enough::is_known;
use super::{Spot, Spots};
use choose::{Asked, choose};
use class::write::{Written, class_file};
use class::{Class, Tea, read};
use plan::document::{boiling_here, document};
use plan::warnings::alike;
use protocol::text::{NAME_CHARS, TITLE_CHARS};
use room::light::ClassScores;
use why::{closer, once_more, tie, why};

/// As many teas as one pair of hands can still serve in a round.
const USUAL_TEAS: usize = 6;

/// The next class of a leaf: its ways, and why each is there.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// The class.
    pub class: Class,
    /// Why each tea is there.
    pub why: Vec<String>,
    /// How closely the best is known now and after it, in grams, °C and seconds.
    pub closer: String,
    /// Whether the two best of those tasted come again, so that no name may be known.
    pub again: bool,
    /// What stood in the way of as many teas as were asked for.
    pub fewer: Option<String>,
}

/// Teas of one leaf that would tell most of its best way.
#[derive(Clone, Debug, PartialEq)]
pub struct Further {
    /// Each with why it is there.
    pub teas: Vec<Written>,
    /// Whether the two best of those tasted are among them again, to be served blind.
    pub again: bool,
    /// How closely the best is known now and after them, in grams, °C and seconds.
    pub closer: String,
    /// By how many points the liking about the best will be known more closely.
    pub gain: f64,
}

/// The class that would tell most of one leaf, with so many teas (2 to 8) or as many as the planner can serve; everything else is as in the
/// leaf's last class.
///
/// # Errors
/// A sentence where no such class can be had.
pub fn next(spot: &Spot, scale: Scale, last: &Class, teas: Option<usize>) -> Result<Next, String> {
    let most = teas.unwrap_or(USUAL_TEAS).clamp(2, 8);
    let mut why_not: Option<String> = None;
    // Another way, and else fewer teas, where the hands, kettles and water can't serve as many as they served the last class.
    for count in (2..=most).rev() {
        for only_c in [None, Some(of_last(spot))] {
            let Some(found) = further(spot, scale, last, &[], count, only_c) else { continue };
            let next = written(found, last);
            match serves(&next.class, &[last]) {
                Ok(()) => {
                    let fewer = why_not.filter(|_| next.class.teas.len() < most);
                    return Ok(Next { fewer, ..next });
                }
                Err(problem) => why_not = why_not.or(Some(problem)),
            }
        }
    }
    Err(match why_not {
        Some(why_not) => format!("not even two ways of {} can be served: {why_not}", spot.leaf),
        None => format!("no ways of {} would tell more", spot.leaf),
    })
}

/// The temperatures of the leaf's last tea: they need no other kettle.
pub fn of_last(spot: &Spot) -> Vec<f64> {
    spot.behind.leaf.last.1.temp_c.first().copied().into_iter().collect()
}

/// So many teas of a leaf beside those `given` teas of it that the class has in any case; without any of these, the first is the best so
/// far. Of temperatures `only_c`, where they are given. Nothing where no ways would tell more.
pub fn further(
    spot: &Spot,
    scale: Scale,
    last: &Class,
    given: &[Tea],
    count: usize,
    only_c: Option<Vec<f64>>,
) -> Option<Further> {
    let leaf = &spot.behind.leaf;
    let fitted = spot.behind.fitted.as_ref().filter(|_| spot.answer.at.is_some());
    let coding = match fitted {
        Some(_) => spot.behind.coding.clone(),
        None => Coding::whole(leaf),
    };
    let best = fitted.and(spot.answer.at.clone()).unwrap_or_else(|| vec![0.0; coding.factors.len()]);
    let asked = Asked {
        leaf,
        coding: &coding,
        fitted,
        best,
        scale,
        tasters: leaf.tasters() / leaf.classes().len().max(1),
        known: is_known(spot),
        boiling_c: boiling_here(last),
        only_c,
    };
    let at = |tea: &Tea| leaf.place_of(tea).map(|place| coding.code(&place));
    let mut there: Vec<Vec<f64>> = given.iter().filter_map(at).collect();
    let mut teas = Vec::new();
    if there.is_empty() {
        let best = asked.pour(&asked.best);
        there.push(coding.code(&best.place()));
        teas.push(Written { tea: tea(leaf, &best), why: tie(&asked, &there[0]).into() });
    }
    let more = count.checked_sub(teas.len()).filter(|more| *more > 0)?;
    let chosen = choose(&asked, &there, !teas.is_empty(), more)?;
    if !chosen.ties {
        teas.clear();
    }
    let (again, new) = chosen.ways.split_at(chosen.again);
    teas.extend(twice(again.iter().map(|way| tea(leaf, &asked.pour(way))).collect()));
    teas.extend(new.iter().map(|way| Written { tea: tea(leaf, &asked.pour(way)), why: why(&asked, way) }));
    let closer = closer(&asked, spot, &chosen.left);
    Some(Further { teas, again: chosen.again > 0, closer, gain: chosen.gain })
}

/// Cups of two ways in turn, each after the first under a name of its own.
fn twice(teas: Vec<Tea>) -> Vec<Written> {
    let written = |(n, tea): (usize, Tea)| match n / 2 {
        0 => Written { tea, why: once_more(n).into() },
        times => {
            let behind = if times == 1 { ", again".to_string() } else { format!(", again {times}") };
            let name = shortened(&tea.name, &behind);
            Written { tea: Tea { name, ..tea }, why: "the same once more, under another code".into() }
        }
    };
    teas.into_iter().enumerate().map(written).collect()
}

fn tea(leaf: &Leaf, pour: &Pour) -> Tea {
    Tea {
        name: name(&leaf.name, pour),
        code: None,
        leaf_g: pour.leaf_g,
        water_ml: pour.water_ml,
        temp_c: pour.temp_c.clone(),
        steep_s: pour.steep_s.clone(),
        ..leaf.last.1.clone()
    }
}

/// The last class with other teas.
fn written(found: Further, last: &Class) -> Next {
    let blind = last.blind || found.again;
    let (teas, why) = found.teas.into_iter().map(|written| (written.tea, written.why)).unzip();
    let mut class = Class { teas, blind, weights: None, tests: Vec::new(), ..last.clone() };
    let rounds = class.rounds();
    class.setting.breaks.retain(|b| b.after_round < rounds);
    Next { class, why, closer: found.closer, again: found.again, fewer: None }
}

/// Whether a class can be served, and without a warning that none of the `known` ones has.
///
/// # Errors
/// What stands in the way.
pub fn serves(class: &Class, known: &[&Class]) -> Result<(), String> {
    let plan = |class: &Class| {
        document(&class.clone().with_codes(class.own_seed()), class.own_seed()).map_err(|why| why.to_string())
    };
    let known: Vec<String> =
        known.iter().filter_map(|class| plan(class).ok()).flat_map(|plan| plan.warnings).collect();
    let new = plan(class)?.warnings.into_iter().find(|warning| known.iter().all(|old| !alike(old, warning)));
    new.map_or(Ok(()), Err)
}

/// "Lantern Slope, 4.2 g 85 °C 60 s", the leaf cut to what a name may hold.
fn name(leaf: &str, pour: &Pour) -> String {
    shortened(leaf, &format!(", {} g {} °C {} s", pour.leaf_g, pour.temp_c[0], pour.steep_s[0]))
}

/// A name with something behind it, cut to what a name may hold.
pub fn shortened(name: &str, behind: &str) -> String {
    let room = NAME_CHARS.saturating_sub(behind.chars().count());
    let head: String = name.chars().take(room).collect();
    format!("{}{behind}", head.trim_end())
}

/// What a class of the two best again is for.
pub const AGAIN: &str = "The two ways liked best so far come again, blind: to know which of them is liked more tells more now than as many new ways. Keep the names hidden.";

/// The class file of the next class of the leaf with the most ways. `date` is the day to write, `YYYY-MM-DD`.
///
/// # Errors
/// A sentence where there is no such class.
pub fn file(
    spots: &Spots,
    records: &[&ClassScores],
    teas: Option<usize>,
    date: &str,
) -> Result<String, String> {
    let spot = spots
        .leaves
        .first()
        .ok_or("nobody has scored a tea whose name may be known; reveal the teas first")?;
    let last = records.get(spot.behind.leaf.last.0).ok_or("no class")?;
    let next = next(spot, spots.scale(), &last.class, teas)?;
    let title = last.class.title.strip_prefix("Next: ").unwrap_or(&last.class.title);
    let class = Class {
        date: date.into(),
        title: format!("Next: {title}").chars().take(TITLE_CHARS).collect(),
        ..next.class
    };
    let written =
        class.teas.iter().cloned().zip(&next.why).map(|(tea, why)| Written { tea, why: why.clone() });
    let written: Vec<Written> = written.collect();
    let mut heading = vec![
        format!(
            "Written by `kettlecall spot --next`: the ways of {} that would tell most of its best one.",
            spot.leaf
        ),
        next.closer.clone(),
        "Change what you like.".into(),
    ];
    if next.again {
        heading.push(AGAIN.into());
    }
    if let Some(why) = &next.fewer {
        heading.push(format!(
            "Other ways, or more of them, can't be served as well as the last class was: {why}"
        ));
    }
    let heading: Vec<&str> = heading.iter().map(String::as_str).collect();
    let text = class_file(&heading, &class, &written);
    // A ledger from anywhere may hold what no class file can say.
    match read::class(&text) {
        Ok(_) => Ok(text),
        Err(faults) => Err(format!(
            "the next class can't be written as a class file:\n{}",
            faults.render("next", &text, "it was not written")
        )),
    }
}

#[cfg(test)]
mod tests;

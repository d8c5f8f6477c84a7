//! The class that would tell most of a leaf's best way, as a class file.

pub mod choose;

use super::coding::Coding;
use super::fitted::Scale;
use super::pour::Pour;
use super::rows::Leaf;
use super::say::towards;
use super::{Spot, Spots};
use choose::{Chosen, choose};
use class::write::{Written, class_file};
use class::{Class, Tea, read};
use plan::document::document;
use protocol::say::list;
use protocol::text::{NAME_CHARS, TITLE_CHARS};
use room::light::ClassScores;

/// As many teas as one pair of hands can still serve in a round.
const USUAL_TEAS: usize = 6;
/// A way differs in a factor from the best if it is so many steps off.
const OFF: f64 = 0.4;

/// The next class of a leaf: its ways, and why each is there.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// The class.
    pub class: Class,
    /// Why each tea is there.
    pub why: Vec<String>,
    /// The share that should be left of how far the best may lie from where it is thought to be.
    pub left: f64,
}

/// The class that would tell most of one leaf, with so many teas (2 to 8) or as many as the planner can serve; everything else is as in the
/// leaf's last class.
///
/// # Errors
/// A sentence where no such class can be had.
pub fn next(spot: &Spot, scale: Scale, last: &Class, teas: Option<usize>) -> Result<Next, String> {
    let leaf = &spot.behind.leaf;
    let fitted = spot.behind.fitted.as_ref().filter(|_| spot.answer.at.is_some());
    let coding = match fitted {
        Some(_) => spot.behind.coding.clone(),
        None => Coding::whole(leaf),
    };
    let most = teas.unwrap_or(USUAL_TEAS).clamp(2, 8);
    let mut why_not = String::new();
    // Fewer teas where the hands and kettles can't serve as many.
    for count in (2..=most).rev() {
        let size = (count, last.seats as usize);
        let Some(chosen) = choose(leaf, &coding, fitted, spot.answer.at.as_deref(), scale, size) else {
            return Err(format!("no ways of {} would tell more", spot.leaf));
        };
        let next = written(leaf, &coding, fitted.is_some(), &chosen, last);
        match document(&next.class.clone().with_codes(next.class.own_seed()), next.class.own_seed()) {
            Ok(_) => return Ok(next),
            Err(problem) => why_not = problem.to_string(),
        }
    }
    Err(format!("not even two ways of {} can be served: {why_not}", spot.leaf))
}

/// The class with the ways chosen.
fn written(leaf: &Leaf, coding: &Coding, known: bool, chosen: &Chosen, last: &Class) -> Next {
    let mut next = Next { class: last.clone(), why: Vec::new(), left: chosen.left };
    next.class.teas.clear();
    next.class.tests.clear();
    next.class.weights = None;
    for (n, way) in chosen.ways.iter().enumerate() {
        let pour = Pour::of(leaf, coding, way, false);
        let name = name(&leaf.name, &pour);
        // Rounded, two ways may be one.
        if next.class.teas.iter().any(|tea| tea.name == name) {
            continue;
        }
        next.why.push(why(coding, known, n == 0, &chosen.ways[0], way));
        next.class.teas.push(Tea {
            name,
            code: None,
            leaf_g: pour.leaf_g,
            water_ml: pour.water_ml,
            temp_c: pour.temp_c,
            steep_s: pour.steep_s,
            ..leaf.last.1.clone()
        });
    }
    let rounds = next.class.rounds();
    next.class.setting.breaks.retain(|b| b.after_round < rounds);
    next
}

/// "Lantern Slope, 4.2 g 85 °C 60 s", the leaf cut to what a name may hold.
fn name(leaf: &str, pour: &Pour) -> String {
    let behind = format!(", {} g {} °C {} s", pour.leaf_g, pour.temp_c[0], pour.steep_s[0]);
    let room = NAME_CHARS.saturating_sub(behind.chars().count());
    let head: String = leaf.chars().take(room).collect();
    format!("{}{behind}", head.trim_end())
}

fn why(coding: &Coding, known: bool, first: bool, best: &[f64], way: &[f64]) -> String {
    if first {
        return match known {
            true => "the best so far; it ties the classes together".into(),
            false => "the middle".into(),
        };
    }
    let parts = coding.factors.iter().zip(best.iter().zip(way));
    let off: Vec<String> = parts
        .filter(|(_, (best, x))| (*x - *best).abs() >= OFF)
        .map(|(factor, (best, x))| towards(factor.what, x > best).to_string())
        .collect();
    match off.is_empty() {
        true => "close by the best, to see how quickly the liking falls".into(),
        false => {
            let are = if off.len() == 1 { "is" } else { "are" };
            format!("whether {} {are} liked better, and how quickly the liking falls", list(&off))
        }
    }
}

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
    let left = (next.left * 100.0).round();
    let text = class_file(
        &[
            &format!(
                "Written by `kettlecall spot --next`: the ways of {} that would tell most of its best one.",
                spot.leaf
            ),
            &format!(
                "After it the best should be known to about {left:.0} % of how far off it may be now. Change what you like."
            ),
        ],
        &class,
        &written,
    );
    // A ledger from anywhere may hold what no class file can say.
    match read::class(&text) {
        Ok(_) => Ok(text),
        Err(faults) => Err(format!(
            "the next class can't be written as a class file:\n{}",
            faults.render("next", &text, "it was not written")
        )),
    }
}

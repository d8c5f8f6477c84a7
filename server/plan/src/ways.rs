//! People's ways of steeping a leaf, side by side: on one scale, beside their middle, and where they differ.
//!
//! How strong a steep gets is expected by the model of the ladder: dose times the share of all the leaf had that the steep gives
//! (extraction of the first order). Only ratios of it are used; the leaf's own k is by its form, in the water of the middle way.

mod apart;
pub mod choose;
mod differ;
mod middle;
#[cfg(test)]
mod tests;

pub use apart::{Apart, LEAST_WAYS};
pub use differ::{AGREE_C, AGREE_FOLD, Difference, Factor};
pub use middle::Middle;

use crate::ladder::{form_per_min, water_s};
use class::ways::{Collected, LeafKind, Way};
use serde::Serialize;
use stats::extraction::{ACTIVATION_J_PER_MOL, Leaf, per_min_at};

/// The number of the form of a comparison's JSON. A change of meaning needs a new one.
const FORMAT: u32 = 1;

/// All ways of a file, those for one kind of leaf together. Its JSON is documented in `server/docs/ways.md`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// The form of this document.
    pub format: u32,
    /// What was collected, if the file says it.
    pub title: Option<String>,
    /// Each kind of leaf with the ways for it, in the order of the file.
    pub groups: Vec<Group>,
}

/// The ways for one kind of leaf.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Group {
    /// The leaf, in words.
    pub leaf: String,
    /// The same as the first of them says it.
    pub kind: LeafKind,
    /// The ways, in the order of the file.
    pub ways: Vec<Beside>,
    /// The middle of them; of one way, the way itself.
    pub middle: Middle,
    /// What they differ in, each by itself; empty for a single way.
    pub differences: Vec<Difference>,
}

/// A way beside the middle of its group.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// The way.
    #[serde(flatten)]
    pub way: Way,
    /// How many times as strong each steep is expected to be as the same steep of the middle way; nothing behind that one's last.
    pub strength: Vec<Option<f64>>,
    /// Where it stands apart from the others.
    pub apart: Vec<Apart>,
}

/// Sets ways side by side.
pub fn compare(collected: &Collected) -> Compared {
    let mut groups: Vec<Vec<&Way>> = Vec::new();
    for way in &collected.ways {
        match groups.iter_mut().find(|group| group.iter().any(|one| one.kind.like(&way.kind))) {
            Some(group) => group.push(way),
            None => groups.push(vec![way]),
        }
    }
    let groups = groups.iter().map(|ways| group(ways)).collect();
    Compared { format: FORMAT, title: collected.title.clone(), groups }
}

fn group(ways: &[&Way]) -> Group {
    let kind = ways.first().map(|way| way.kind).unwrap_or_default();
    let middle = Middle::of(ways);
    let at =
        Strength { per_min: form_per_min(kind.form), at_c: middle.temp_c.first().copied().unwrap_or(100.0) };
    let beside = at.of(&Served::of(&middle.as_way(kind)));
    let strength = |way: &Way| {
        let own = at.of(&Served::of(way));
        let own = own.iter().enumerate();
        own.map(|(steep, own)| beside.get(steep).filter(|m| **m > 0.0).map(|middle| own / middle)).collect()
    };
    let apart = apart::of(ways);
    let ways_beside = ways
        .iter()
        .zip(apart)
        .map(|(way, apart)| Beside { way: (*way).clone(), strength: strength(way), apart })
        .collect();
    let differences = if ways.len() > 1 { differ::all(ways, &middle, at) } else { Vec::new() };
    Group { leaf: kind.described(), kind, ways: ways_beside, middle, differences }
}

impl Group {
    /// What the ways differ in most, by what it does to the strength of the cup.
    pub fn differ_most_in(&self) -> Option<&Difference> {
        let disagreed = self.differences.iter().filter(|one| !one.agree);
        disagreed.max_by(|a, b| a.strength_fold.total_cmp(&b.strength_fold))
    }

    /// The weakest and the strongest first cup, in times the middle way's.
    pub fn first_cups(&self) -> Option<(f64, f64)> {
        let all = || self.ways.iter().filter_map(|beside| beside.strength.first().copied().flatten());
        all().reduce(f64::min).zip(all().reduce(f64::max))
    }
}

/// A leaf's steeps, as far as they decide how strong they get.
#[derive(Clone, Debug, PartialEq)]
struct Served {
    dose_g_per_100_ml: f64,
    rinse_s: Option<u32>,
    /// Seconds that the water is on the leaf, and its °C.
    steeps: Vec<(f64, f64)>,
}

impl Served {
    fn of(way: &Way) -> Self {
        let steeps = way.steep_s.iter().map(|&s| water_s(s)).zip(way.temp_c.iter().copied());
        Self { dose_g_per_100_ml: way.dose_g_per_100_ml, rinse_s: way.rinse_s, steeps: steeps.collect() }
    }
}

/// How fast a leaf gives: k per minute in water of `at_c` °C.
#[derive(Clone, Copy, Debug)]
struct Strength {
    per_min: f64,
    at_c: f64,
}

impl Strength {
    /// The strength of each steep, in units in which only ratios mean something.
    fn of(self, served: &Served) -> Vec<f64> {
        let per_min = |c| per_min_at(self.per_min, self.at_c, c, ACTIVATION_J_PER_MOL);
        let mut leaf = Leaf::new(true);
        if let (Some(rinse_s), Some((_, c))) = (served.rinse_s, served.steeps.first()) {
            leaf.give(water_s(rinse_s), per_min(*c));
        }
        let steeps = served.steeps.iter();
        steeps.map(|&(seconds, c)| served.dose_g_per_100_ml * leaf.give(seconds, per_min(c))).collect()
    }
}

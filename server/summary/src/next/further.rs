//! Further ways of leaves that are open: the same choice as for the best way of one leaf, shared among them by how much they tell.

use super::{List, Made};
use crate::several::Pool;
use crate::spot::next::{self, further, of_last};
use crate::spot::{Spot, Spots};
use class::{Class, Tea};
use protocol::say::list as listed;
use std::collections::BTreeMap;

/// The further ways on a list.
#[derive(Clone, Default)]
pub(super) struct Further {
    /// So many at most.
    pub most: usize,
    /// Whether they have the temperature of their leaf's last tea, which needs no other kettle.
    pub same_water: bool,
    /// Whether the two best ways of a leaf are among them again, to be served blind.
    pub again: bool,
    /// The names of their teas.
    pub chosen: Vec<String>,
    /// The leaves that have some, and how closely each best is known now and then, in words.
    pub leaves: Vec<(String, String)>,
}

/// "Further ways of Fir and Ash are those that would tell most of the best one, shared among these leaves by how much they tell. …"
pub(super) fn words(leaves: &[(String, String)]) -> String {
    let names: Vec<String> = leaves.iter().map(|(leaf, _)| leaf.clone()).collect();
    let (shared, after) = match leaves {
        [(_, closer)] => ("", closer.clone()),
        _ => {
            let each = leaves.iter().map(|(leaf, closer)| format!("{leaf}: {closer}"));
            (", shared among these leaves by how much they tell", each.collect::<Vec<_>>().join(" "))
        }
    };
    format!(
        "Further ways of {} are those that would tell most of the best one{shared}. {after} Change what you like.",
        listed(&names)
    )
}

/// A leaf that is open.
pub(super) struct Open<'a> {
    spot: &'a Spot,
    /// What it is told from others by.
    pub key: String,
}

impl Open<'_> {
    /// Whether its best way can be sought; what more to taste is then known better than from pairs of its ways.
    pub fn is_sought(&self) -> bool {
        self.spot.answer.at.is_some() && self.spot.behind.fitted.is_some()
    }

    fn is(&self, tea: &Tea) -> bool {
        tea.leaf_key() == self.key
    }
}

/// The leaves that are open: in two ways or more, or in one of which the votes have decided nothing.
pub(super) fn open<'a>(pool: &Pool, spots: &'a Spots, made: &BTreeMap<usize, Made>) -> Vec<Open<'a>> {
    let of = |spot: &'a Spot| Open { spot, key: spot.behind.leaf.last.1.leaf_key() };
    let decided = |way: usize| pool.strength.iter().any(|votes| votes.way == way + 1 && votes.shown);
    let is_open = |open: &Open<'_>| {
        let own: Vec<usize> =
            made.iter().filter(|(_, made)| open.is(&made.wanted.tea)).map(|(way, _)| *way).collect();
        own.len() > 1 || own.first().is_some_and(|way| !decided(*way))
    };
    spots.leaves.iter().map(of).filter(is_open).collect()
}

/// What the choice for a leaf makes of the teas on the list.
fn found(open: &Open<'_>, spots: &Spots, last: &Class, list: &List, count: usize) -> Option<next::Further> {
    let given: Vec<Tea> =
        list.teas.iter().map(|there| &there.tea).filter(|tea| open.is(tea)).cloned().collect();
    let only_c = list.further.same_water.then(|| of_last(open.spot));
    further(open.spot, spots.scale(), last, &given, count, only_c)
}

/// Puts further ways of some leaves on the list, as far as there is room: the next tea always goes to the leaf of which it tells most.
pub(super) fn add(list: &mut List, leaves: &[&Open<'_>], spots: &Spots, last: &Class) {
    let mut chosen: Vec<Option<next::Further>> = leaves.iter().map(|_| None).collect();
    let most = list.room().min(list.further.most);
    if let [only] = leaves {
        // Nobody to share with.
        let least = if list.teas.iter().any(|there| only.is(&there.tea)) { 1 } else { 2 };
        chosen[0] = (least..=most)
            .rev()
            .find_map(|count| found(only, spots, last, list, count).filter(|own| own.teas.len() == count));
    }
    while leaves.len() > 1 {
        let teas = |found: &Option<next::Further>| found.as_ref().map_or(0, |found| found.teas.len());
        let room = list.room().min(list.further.most.saturating_sub(list.further.chosen.len()));
        let room = room.saturating_sub(chosen.iter().map(teas).sum());
        // The first of a leaf that is not on the list yet has nothing beside it.
        let more = |n: usize| {
            let tied = list.teas.iter().any(|there| leaves[n].is(&there.tea)) || chosen[n].is_some();
            let places = if tied { 1 } else { 2 };
            let count = teas(&chosen[n]) + places;
            let found = (places <= room).then(|| found(leaves[n], spots, last, list, count)).flatten();
            let found = found.filter(|found| found.teas.len() == count)?;
            let gain = found.gain - chosen[n].as_ref().map_or(0.0, |known| known.gain);
            Some((n, gain / places as f64, found))
        };
        let steps = (0..leaves.len()).filter_map(more);
        let Some((n, _, found)) = steps.reduce(|best, step| if step.1 > best.1 { step } else { best }) else {
            break;
        };
        chosen[n] = Some(found);
    }
    for (open, found) in leaves.iter().zip(chosen) {
        let Some(found) = found else { continue };
        list.further.leaves.push((open.spot.leaf.clone(), found.closer));
        list.further.again |= found.again;
        for written in found.teas {
            list.choose(written.tea, written.why);
        }
    }
}

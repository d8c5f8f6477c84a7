//! Tells the entries of one ledger from those of another that were found among them.
//!
//! Two entries of one number that both are proven can't be of one ledger: another class's file was copied over it, or
//! somebody wrote an entry anew with a link of its own. What is kept is what the mark tells of, else the most that hangs
//! together from entry 1 on.

use super::choose::{Content, Places};
use crate::Link;
use std::collections::{BTreeMap, BTreeSet};

/// How many chains that begin with entry 1 are weighed against one another.
const WEIGHED: usize = 64;

/// An entry that is proven, by its number and the link behind it.
type Key = (u64, Link);

/// The end of a chain of entries that is borne out link by link.
#[derive(Clone, Copy, Debug)]
struct Chain {
    first: u64,
    end: Key,
    begins_with_1: bool,
    is_marked: bool,
}

impl Chain {
    fn length(&self) -> u64 {
        self.end.0 - self.first + 1
    }

    fn overlaps(&self, other: &Chain) -> bool {
        self.first <= other.end.0 && other.first <= self.end.0
    }
}

/// Everything that is proven, whatever ledger it is of: its content and the link before it.
struct Proven<'p>(BTreeMap<Key, (Link, &'p Content)>);

impl<'p> Proven<'p> {
    fn of(places: &'p Places<'_>) -> Self {
        let mut proven: BTreeMap<Key, (Link, &Content)> = BTreeMap::new();
        for (&seq, place) in &places.by_seq {
            let mut before: BTreeSet<Link> = places.behind(seq - 1).into_iter().collect();
            let zero = Link::START;
            before.extend(proven.range((seq - 1, zero)..(seq, zero)).map(|((_, link), _)| *link));
            for content in &place.contents {
                for before in &before {
                    if let Some(link) = places.proven(seq, &[*before], content) {
                        proven.insert((seq, link), (*before, content));
                    }
                }
            }
        }
        Self(proven)
    }

    fn chains(&self, marked: &[Key]) -> Vec<Chain> {
        let mut ends: BTreeMap<Key, Chain> = BTreeMap::new();
        let mut goes_on = BTreeSet::new();
        for (&(seq, link), (before, _)) in &self.0 {
            let is_marked = marked.contains(&(seq, link));
            let chain = match ends.get(&(seq - 1, *before)) {
                Some(so_far) => {
                    Chain { end: (seq, link), is_marked: so_far.is_marked || is_marked, ..*so_far }
                }
                None => {
                    let begins_with_1 = seq == 1 && *before == Link::START;
                    Chain { first: seq, end: (seq, link), begins_with_1, is_marked }
                }
            };
            goes_on.insert((seq - 1, *before));
            ends.insert((seq, link), chain);
        }
        let mut chains: Vec<Chain> =
            ends.into_values().filter(|chain| !goes_on.contains(&chain.end)).collect();
        chains.sort_by_key(|chain| std::cmp::Reverse((chain.is_marked, chain.length(), chain.end)));
        chains
    }

    /// What a proven entry stands behind.
    fn before(&self, key: &Key) -> Option<Key> {
        let (before, _) = self.0.get(key)?;
        Some((key.0 - 1, *before))
    }

    /// The entries of a chain.
    fn entries(&self, chain: &Chain) -> impl Iterator<Item = Key> {
        std::iter::successors(Some(chain.end), |key| self.before(key))
            .take_while(|key| self.0.contains_key(key))
    }
}

/// The chains that can be of one ledger: one that begins with entry 1, and what lies behind it.
fn of_one_ledger(chains: &[Chain]) -> Vec<Chain> {
    let (begun, loose): (Vec<Chain>, Vec<Chain>) =
        chains.iter().copied().partition(|chain| chain.begins_with_1);
    let fitting = |begin: Option<&Chain>| {
        let mut kept: Vec<Chain> = begin.copied().into_iter().collect();
        for chain in &loose {
            if !kept.iter().any(|other| other.overlaps(chain)) {
                kept.push(*chain);
            }
        }
        kept
    };
    let weight = |kept: &Vec<Chain>| {
        (kept.iter().any(|chain| chain.is_marked), kept.iter().map(Chain::length).sum::<u64>())
    };
    // The first of those that weigh the same.
    let begun = begun.iter().take(WEIGHED).map(|chain| fitting(Some(chain))).rev();
    begun.max_by_key(weight).unwrap_or_else(|| fitting(None))
}

/// Takes out what is proven to be of another ledger; its entries, by number and link.
pub fn part(places: &mut Places<'_>, marked: &[Key]) -> BTreeSet<Key> {
    let proven = Proven::of(places);
    let chains = proven.chains(marked);
    let kept: BTreeSet<Key> =
        of_one_ledger(&chains).iter().flat_map(|chain| proven.entries(chain).collect::<Vec<_>>()).collect();
    let behind_kept: BTreeSet<Key> = kept.iter().filter_map(|key| proven.before(key)).collect();
    let kept_contents: BTreeSet<(u64, &Content)> =
        kept.iter().filter_map(|key| Some((key.0, proven.0.get(key)?.1))).collect();
    let others: BTreeSet<Key> = proven.0.keys().filter(|key| !kept.contains(key)).copied().collect();
    let links: Vec<Key> = others
        .iter()
        .copied()
        .chain(others.iter().filter_map(|key| proven.before(key)))
        .filter(|key| !kept.contains(key) && !behind_kept.contains(key))
        .collect();
    let contents: Vec<(u64, Content)> = others
        .iter()
        .filter_map(|key| Some((key.0, proven.0.get(key)?.1)))
        .filter(|content| !kept_contents.contains(content))
        .map(|(seq, content)| (seq, content.clone()))
        .collect();
    for (seq, link) in links {
        places.by_seq.entry(seq).or_default().links.remove(&link);
    }
    for (seq, content) in contents {
        places.by_seq.entry(seq).or_default().contents.remove(&content);
    }
    others
}

//! Classes drawn by chance, with nothing true of their teas or with a difference put in, and what a review says of them: how
//! often each kind of sentence is shown where there is nothing, and how often where there is something.
//!
//! Events as a ledger has them make a room, and the room a [`summary::Summary`] or a [`summary::several::Pool`]: what
//! `review --format json` writes. `cargo run --release -p tests --bin calibrate` prints all, a test holds a few.

pub mod advice;
pub mod design;
pub mod dice;
pub mod families;
pub mod held;
pub mod kinds;
pub mod missed;
pub mod pool;
pub mod table;

use crate::sim::sweep::sweep;
use families::Case;
use kinds::{Kind, Said};
use missed::Reach;
use std::collections::BTreeMap;
use table::{Rate, Row};

/// How often each kind is shown in so many classes of a design, of those kinds that a page has at all.
pub fn counted(case: &Case, truth: bool, classes: u64, seed: u64) -> BTreeMap<Kind, usize> {
    let design = if truth { &case.truth } else { &case.null };
    let all: Vec<Said> = drawn(classes, seed, |seed| case.drawn(design, seed));
    let mut counts = BTreeMap::new();
    for said in all {
        said.there
            .iter()
            .for_each(|&kind| *counts.entry(kind).or_default() += usize::from(said.shown.contains(&kind)));
    }
    counts
}

/// So many drawings on all cores.
fn drawn<T: Send>(classes: u64, seed: u64, of: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let first = seed << 32;
    sweep(first..first + classes, |seed| Ok(of(seed)))
        .unwrap_or_else(|(seed, words)| panic!("{seed}: {words}"))
}

/// The rows of one case, `classes` without and as many with a true difference.
pub fn rows(case: &Case, classes: u64, seed: u64) -> BTreeMap<Kind, Row> {
    let null = counted(case, false, classes, seed);
    let truth = counted(case, true, classes, seed + 1_000);
    let n = classes as usize;
    let row = |(&kind, &x): (&Kind, &usize)| {
        let truth = Rate { x: truth.get(&kind).copied().unwrap_or(0), n };
        let truth = if case.finds.contains(&kind) || kind == Kind::AtOdds { truth } else { Rate::default() };
        (kind, Row { what: case.what.clone(), shape: case.null.shape, null: Rate { x, n }, truth })
    };
    let looked_at = |kind: &Kind| case.finds.contains(kind) || case.also.contains(kind);
    null.iter().filter(|(kind, _)| looked_at(kind)).map(row).collect()
}

/// The mean difference named, and how often it was found, over `classes` drawings.
pub fn reached(reach: &Reach, classes: u64, seed: u64) -> (f64, Rate) {
    let mut named: Vec<_> = drawn(classes, seed, |seed| reach.drawn(seed)).into_iter().flatten().collect();
    // Sums do not depend on which core was quicker.
    named.sort_by(|a, b| a.points.total_cmp(&b.points));
    let points = named.iter().map(|named| named.points).sum::<f64>() / named.len().max(1) as f64;
    (points, Rate { x: named.iter().filter(|named| named.found).count(), n: named.len() })
}

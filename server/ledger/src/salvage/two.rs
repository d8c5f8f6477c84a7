//! Saves what lies in a closed ledger and in a `-wal` beside it: of one class, or of two.
//!
//! A host takes its `-wal` away before it calls a ledger closed, so that one of the two was put there: another class's file, or
//! an earlier copy of the same one. Then the `-wal` goes on from it, and both belong together.

use super::scan::{Finds, scan};
use super::{Meaning, Saved, chosen};
use crate::mark::Marked;
use crate::{Link, Record};

/// What a mark says of the entries that can be saved, the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Borne {
    /// It tells of another ledger.
    Against,
    /// It tells nothing of them, or there is none.
    Untold,
    /// They are those that it tells of.
    Out,
}

impl Saved {
    /// What a mark says of them.
    pub(super) fn borne_out(&self, marked: Option<Marked>) -> Borne {
        let own = |marked: &Marked| self.link(marked.seq);
        match marked.and_then(|marked| Some((own(&marked)?, marked.link))) {
            None => Borne::Untold,
            Some((own, marked)) if own == marked => Borne::Out,
            Some(_) => Borne::Against,
        }
    }

    /// The link behind an entry, if it is known.
    pub(super) fn link(&self, seq: u64) -> Option<Link> {
        self.links.get(usize::try_from(seq.checked_sub(1)?).ok()?).copied().flatten()
    }

    /// Whether something in a `-wal` is one of these entries, or follows one of them.
    fn goes_on_in(&self, wal: &Finds) -> bool {
        wal.cells.iter().any(|cell| {
            let Some((record, Some(link))) = cell.entry() else { return false };
            let follows = || self.link(cell.seq.wrapping_sub(1)).is_some_and(|own| own.then(&record) == link);
            self.link(cell.seq) == Some(link) || follows()
        })
    }

    fn has(&self, record: &Record<'_>) -> bool {
        self.records.get(record.seq as usize - 1) == Some(record)
    }
}

/// What can be saved of a closed ledger and the `-wal` beside it: what the mark bears out, else what is proven the most.
pub(super) fn of_two(
    bytes: &[u8],
    wal: &[u8],
    marked: Option<Marked>,
    meaning: &dyn Meaning,
) -> Option<Saved> {
    let in_wal = scan(&[], wal);
    let closed = chosen(&scan(bytes, &[]), None, meaning);
    let alone = chosen(&in_wal, marked, meaning);
    let joined = closed.as_ref().is_none_or(|closed| closed.goes_on_in(&in_wal));
    let both = joined.then(|| chosen(&scan(bytes, wal), marked, meaning)).flatten();
    // Of those that are as good the first: what was closed says itself how far it goes.
    let in_wal_alone = alone.as_ref().filter(|_| !joined).map(|alone| alone.done.entries);
    let mut candidates: Vec<Saved> = [closed, alone, both].into_iter().flatten().collect();
    let weight = |saved: &Saved| (saved.borne_out(marked), saved.done.proven());
    let best = (0..candidates.len()).rev().max_by_key(|&at| weight(&candidates[at]))?;
    let is_closed = best == 0;
    let mut best = candidates.remove(best);
    best.done.other_in_wal = in_wal_alone.filter(|_| is_closed);
    for other in &candidates {
        let there = other.records.iter().filter(|record| !other.done.lost.contains(&record.seq));
        let differ: Vec<u64> = there.filter(|record| !best.has(record)).map(|record| record.seq).collect();
        best.done.others.extend(differ);
    }
    best.done.others.sort_unstable();
    best.done.others.dedup();
    best.done.loose = loose(&best, &candidates, &in_wal, meaning);
    best.done.mark_of_another =
        marked.filter(|_| best.borne_out(marked) == Borne::Against).map(|marked| marked.seq);
    let (says, is_untold) = (best.done.entries, best.borne_out(marked) == Borne::Untold);
    let tells_of_more = marked.is_some_and(|marked| marked.seq > says);
    best.done.closed_at = (is_untold && tells_of_more && best.done.end_known).then_some(says);
    Some(best)
}

/// The numbers of what reads well in a `-wal` and is in nothing that could be saved.
fn loose(best: &Saved, others: &[Saved], wal: &Finds, meaning: &dyn Meaning) -> Vec<u64> {
    let is_in = |seq: u64, json: &str| {
        [best].into_iter().chain(others).any(|saved| {
            let record = usize::try_from(seq - 1).ok().and_then(|at| saved.records.get(at));
            saved.done.mended.contains(&seq) || record.is_some_and(|record| record.json == json)
        })
    };
    let reads = |kind: &str, json: &str| meaning.kind(json).is_some_and(|named| named == kind);
    let entries = wal.cells.iter().filter_map(|cell| Some(cell.entry()?.0));
    let loose = |entry: &Record<'_>| {
        entry.seq > 0 && reads(&entry.kind, &entry.json) && !is_in(entry.seq, &entry.json)
    };
    let mut numbers: Vec<u64> = entries.filter(loose).map(|entry| entry.seq).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers.retain(|seq| !best.done.others.contains(seq));
    numbers
}

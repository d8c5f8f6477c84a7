//! What hosts saved beside a ledger when they lost it, and whether that goes further than what lies at its place.

use crate::place::rescues;
use crate::{Link, inspect};
use std::path::{Path, PathBuf};

/// A ledger to which a host saved what a class had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rescued {
    /// Where it lies.
    pub path: PathBuf,
    /// The first of its entries that the ledger beside it lacks, and how many it lacks; nothing if there is no ledger.
    pub lacks: Option<(u64, u64)>,
}

/// Everything beside a place that a host can have saved to, in the order in which it would have.
fn beside_it(ledger: &Path) -> Vec<PathBuf> {
    let name = ledger.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    // What was rescued may have been lost, too.
    let stem = name.split_once(".rescued").map_or(name.as_str(), |(name, _)| name);
    rescues(&ledger.with_file_name(stem)).filter(|path| path != ledger && path.exists()).collect()
}

/// The links behind the entries that are whole.
fn links(ledger: &Path) -> Vec<Link> {
    let mut links = Vec::new();
    let mut link = Link::START;
    let read = inspect(ledger, |record| {
        link = link.then(&record);
        links.push(link);
        Ok(())
    });
    read.map_or_else(|_| Vec::new(), |_| links)
}

/// The ledger beside a place that a host saved to when it lost the one that lay there: the newest, if none lies there; else that
/// of the same class which has the most entries that the one at the place lacks.
pub fn rescued(ledger: &Path) -> Option<Rescued> {
    if !ledger.exists() {
        return beside_it(ledger).pop().map(|path| Rescued { path, lacks: None });
    }
    let beside = beside_it(ledger);
    let own = if beside.is_empty() { return None } else { links(ledger) };
    let further = beside.into_iter().filter_map(|path| {
        let there = links(&path);
        let common = own.iter().zip(&there).take_while(|(own, there)| own == there).count();
        // The first entry says which class it is.
        let lacks = (there.len() - common) as u64;
        let lacks = (common > 0 && lacks > 0).then_some((common as u64 + 1, lacks))?;
        Some(Rescued { path, lacks: Some(lacks) })
    });
    further.max_by_key(|rescued| rescued.lacks.map(|(_, lacks)| lacks))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::story::scored;
    use crate::{Ledger, Sqlite};

    #[test]
    fn the_newest_rescue_is_found_where_the_ledger_itself_is_gone() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let found = |name: &str| rescued(&at(name)).map(|rescued| rescued.path);
        assert_eq!(found("a.rehearsal.ledger"), None);
        for name in ["a.rehearsal.rescued.ledger", "a.rehearsal.rescued-2.ledger"] {
            std::fs::write(at(name), "x").unwrap();
            assert_eq!(found("a.rehearsal.ledger"), Some(at(name)));
        }
        assert_eq!(found("a.ledger"), None, "that is another class");
        assert_eq!(found("a.rehearsal.rescued-3.ledger"), Some(at("a.rehearsal.rescued-2.ledger")));
        std::fs::write(at("a.rehearsal.ledger"), "x").unwrap();
        assert_eq!(found("a.rehearsal.ledger"), None);
    }

    #[test]
    fn a_rescue_that_goes_further_than_the_ledger_of_its_class_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let write = |name: &str, class: u128, entries: u64, branch: u64| {
            let mut ledger = Sqlite::open(&at(name)).unwrap();
            for seq in 1..=entries {
                let id = class + u128::from(seq) + if seq > branch { 50 } else { 0 };
                ledger.append(seq - 1, &[scored(seq, id)]).unwrap();
            }
        };
        write("a.ledger", 0, 5, 9);
        let lacks = || rescued(&at("a.ledger")).map(|rescued| (rescued.path, rescued.lacks));
        write("a.rescued.ledger", 0, 5, 9);
        assert_eq!(lacks(), None, "it has nothing more");
        write("a.rescued-2.ledger", 1_000, 9, 9);
        assert_eq!(lacks(), None, "it is of another class");
        write("a.rescued-3.ledger", 0, 8, 9);
        assert_eq!(lacks(), Some((at("a.rescued-3.ledger"), Some((6, 3)))));
        // That one, too, was lost.
        let found = |name: &str| rescued(&at(name)).map(|rescued| rescued.path);
        assert_eq!(found("a.rescued.ledger"), Some(at("a.rescued-3.ledger")));
        assert_eq!(found("a.rescued-3.ledger"), None);
        write("a.rescued-4.ledger", 0, 5, 1);
        assert_eq!(found("a.ledger"), Some(at("a.rescued-4.ledger")), "each went on from entry 1");
    }
}

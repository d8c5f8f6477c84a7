//! How far a ledger that is open has come, kept beside it in `NAME-mark`.
//!
//! It is written after each commit and before anybody hears of it, and never synchronised: after a power cut it may be behind
//! the ledger, but never ahead of it. A ledger that ends before its mark has lost entries that were on disk. Two places
//! are written in turn, so that one of them is whole whatever happens.

use crate::chain::Link;
use crate::place::{Identity, lies, own};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// One place: what is marked, and a sum over it.
const PLACE_BYTES: usize = 48;
/// How much of the sum is kept.
const SUM_BYTES: usize = 8;

/// The entry that a ledger had come to, and the link behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Marked {
    /// Its number.
    pub seq: u64,
    /// Its link.
    pub link: Link,
}

impl Marked {
    fn to_bytes(self) -> [u8; PLACE_BYTES] {
        let mut bytes = [0; PLACE_BYTES];
        bytes[..8].copy_from_slice(&self.seq.to_be_bytes());
        bytes[8..40].copy_from_slice(self.link.as_bytes());
        let sum = Sha256::digest(&bytes[..40]);
        bytes[40..].copy_from_slice(&sum[..SUM_BYTES]);
        bytes
    }

    fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (seq, link) = (bytes.get(..8)?, Link::from_slice(bytes.get(8..40)?)?);
        let marked = Self { seq: u64::from_be_bytes(seq.try_into().ok()?), link };
        (marked.to_bytes() == *bytes).then_some(marked)
    }
}

/// Where the mark of a ledger lies.
pub fn path_of(ledger: &Path) -> PathBuf {
    crate::beside(ledger, "-mark")
}

/// What is marked; nothing if there is no mark, or none that is whole.
pub fn read(ledger: &Path) -> Option<Marked> {
    let mut bytes = Vec::new();
    File::open(path_of(ledger)).ok()?.take(2 * PLACE_BYTES as u64).read_to_end(&mut bytes).ok()?;
    bytes.chunks(PLACE_BYTES).filter_map(Marked::from_bytes).max_by_key(|marked| marked.seq)
}

/// Takes the mark of a ledger away that says itself now how far it has come.
pub fn remove(ledger: &Path) {
    // What is left of it is in accord with the ledger.
    let _ = std::fs::remove_file(path_of(ledger));
}

/// The mark of a ledger that is open.
#[derive(Debug)]
pub struct Mark {
    path: PathBuf,
    file: File,
    is: Identity,
    /// Which place is written next.
    second: bool,
}

impl Mark {
    /// Begins a mark, or one anew where somebody has taken it away.
    ///
    /// # Errors
    /// The disk says no.
    pub fn begin(ledger: &Path, marked: Marked) -> io::Result<Self> {
        let path = path_of(ledger);
        // Whole from the first moment: the mark of a host that went down holds until it is replaced in one step.
        let fresh = crate::beside(ledger, "-mark.new");
        let file = own().create(true).truncate(true).open(&fresh)?;
        let is = Identity::from(&file.metadata()?);
        let mut mark = Self { path, file, is, second: false };
        mark.set(marked)?;
        mark.set(marked)?;
        mark.file.sync_all()?;
        std::fs::rename(fresh, &mark.path)?;
        Ok(mark)
    }

    /// Marks how far the ledger has come.
    ///
    /// # Errors
    /// The disk says no.
    pub fn set(&mut self, marked: Marked) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(if self.second { PLACE_BYTES as u64 } else { 0 }))?;
        self.file.write_all(&marked.to_bytes())?;
        self.second = !self.second;
        Ok(())
    }

    /// Whether it still lies where it was begun, and no other in its place.
    pub fn is_there(&self) -> bool {
        lies(&self.path).is_some_and(|(found, _)| found == self.is)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marked(seq: u64) -> Marked {
        Marked { seq, link: Link::from_slice(&[seq as u8; 32]).unwrap() }
    }

    #[test]
    fn a_mark_that_another_file_replaces_is_not_there_any_more() {
        let folder = tempfile::tempdir().unwrap();
        let [ledger, earlier] = ["a.ledger", "earlier"].map(|name| folder.path().join(name));
        let mut mark = Mark::begin(&ledger, marked(3)).unwrap();
        std::fs::copy(path_of(&ledger), &earlier).unwrap();
        mark.set(marked(4)).unwrap();
        assert!(mark.is_there());
        std::fs::rename(&earlier, path_of(&ledger)).unwrap();
        assert!(!cfg!(unix) || !mark.is_there());
    }

    #[test]
    fn the_later_of_two_places_holds_and_the_other_when_it_is_damaged() {
        let folder = tempfile::tempdir().unwrap();
        let ledger = folder.path().join("a.ledger");
        assert_eq!(read(&ledger), None);
        let mut mark = Mark::begin(&ledger, marked(3)).unwrap();
        assert_eq!(read(&ledger), Some(marked(3)));
        for seq in 4..9 {
            mark.set(marked(seq)).unwrap();
            assert_eq!(read(&ledger), Some(marked(seq)));
        }
        let whole = std::fs::read(path_of(&ledger)).unwrap();
        for byte in 0..whole.len() {
            let mut flipped = whole.clone();
            flipped[byte] ^= 0x10;
            std::fs::write(path_of(&ledger), flipped).unwrap();
            let expected = if byte < PLACE_BYTES { 7 } else { 8 };
            let other = if byte < PLACE_BYTES { 8 } else { 7 };
            let found = read(&ledger).unwrap();
            assert!([marked(expected), marked(other)].contains(&found), "{byte}: {found:?}");
        }
        remove(&ledger);
        assert_eq!(read(&ledger), None);
    }
}

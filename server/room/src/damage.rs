//! What of a class is not there any more: entries that were damaged and could not be saved, and what follows a break.

/// What is not there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Damage {
    /// Why nothing was read behind the last entry.
    missing: Option<String>,
    /// The first and the last number of entries that were lost one behind the other.
    lost: Vec<(u64, u64)>,
}

impl Damage {
    /// An entry is lost; they come in the order of their numbers.
    pub(crate) fn lose(&mut self, seq: u64) {
        match self.lost.last_mut() {
            Some((_, last)) if *last + 1 == seq => *last = seq,
            _ => self.lost.push((seq, seq)),
        }
    }

    /// Not all of the ledger could be read; `why` is the end of a sentence.
    pub fn breaks_off(&mut self, why: &str) {
        self.missing =
            Some(format!("Not all of this class could be read: {why}. What is missing is in no figure."));
    }

    /// That not all of the ledger could be read, as a sentence.
    pub fn missing(&self) -> Option<&str> {
        self.missing.as_deref()
    }

    /// The entries that are lost, as sentences.
    pub fn lost(&self) -> impl Iterator<Item = String> {
        self.lost.iter().map(|&(first, last)| {
            if first == last {
                format!("Entry {first} was damaged and is lost.")
            } else {
                format!("Entries {first} to {last} were damaged and are lost.")
            }
        })
    }

    /// All of it, as sentences.
    pub fn words(&self) -> Vec<String> {
        self.missing.iter().cloned().chain(self.lost()).collect()
    }
}

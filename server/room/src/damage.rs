//! What of a class is not there any more: entries that were damaged and could not be saved, and what follows a break.

/// What is not there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Damage {
    /// Why nothing was read behind the last entry.
    missing: Option<String>,
    /// The first and the last number of entries that were lost one behind the other.
    lost: Vec<(u64, u64)>,
    /// The entries behind which more may have been written.
    open_ends: Vec<u64>,
}

impl Damage {
    /// An entry is lost, or only says that more may have stood `at_end`; they come in the order of their numbers.
    pub(crate) fn lose(&mut self, seq: u64, at_end: bool) {
        if at_end {
            self.open_ends.push(seq.saturating_sub(1));
            return;
        }
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

    /// The entries that are lost or may be, as sentences.
    pub fn lost(&self) -> impl Iterator<Item = String> {
        let lost = self.lost.iter().map(|&(first, last)| {
            if first == last {
                format!("Entry {first} was damaged and is lost.")
            } else {
                format!("Entries {first} to {last} were damaged and are lost.")
            }
        });
        lost.chain(self.open_ends.iter().map(|last| {
            format!(
                "More may have been written after entry {last}: nothing told how far the file went from which this class was saved or opened again."
            )
        }))
    }

    /// All of it, as sentences.
    pub fn words(&self) -> Vec<String> {
        self.missing.iter().cloned().chain(self.lost()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Event;

    #[test]
    fn what_is_lost_and_where_more_may_have_been_is_said_once_each() {
        let mut damage = Damage::default();
        for (seq, at_end) in [(3, false), (4, false), (9, true), (12, false)] {
            damage.lose(seq, at_end);
        }
        let said: Vec<String> = damage.lost().collect();
        assert_eq!(
            said[..2],
            ["Entries 3 to 4 were damaged and are lost.", "Entry 12 was damaged and is lost."]
        );
        assert!(
            said.len() == 3 && said[2].starts_with("More may have been written after entry 8: "),
            "{said:?}"
        );
    }

    #[test]
    fn an_entry_that_was_lost_before_ends_were_told_is_lost() {
        let old = r#"{"kind":"lost","why":"damaged"}"#;
        let event = Event::parse(old).unwrap();
        assert_eq!(event, Event::Lost { why: "damaged".into(), at_end: false });
        assert_eq!(event.to_json().unwrap(), old);
    }
}

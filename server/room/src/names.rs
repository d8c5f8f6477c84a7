//! Which seat is meant by a name: the one that has it, or else the one that had it before it was renamed. Both folds keep it.

use protocol::text::name_key;
use std::collections::HashMap;

/// The names of seats, each with the place of its own seat in the order in which they were taken. Whose it is when seats are
/// joined follows from the seats, so that nothing changes here when they are joined or parted.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Names {
    now: HashMap<String, usize>,
    once: HashMap<String, usize>,
}

impl Names {
    pub(crate) fn seated(&mut self, name: &str, seat: usize) {
        self.now.insert(name_key(name), seat);
    }

    /// The name it had leads to the seat as long as nobody else takes it: paper that was written before says so.
    pub(crate) fn renamed(&mut self, seat: usize, from: &str, to: &str) {
        let old = name_key(from);
        if self.now.get(&old) == Some(&seat) {
            self.now.remove(&old);
        }
        self.once.insert(old, seat);
        // It may be that of a seat joined to this one, and leads here by way of it.
        self.now.entry(name_key(to)).or_insert(seat);
    }

    /// The seat that has a name, however it is spelt.
    pub(crate) fn of(&self, name: &str) -> Option<usize> {
        self.now.get(&name_key(name)).copied()
    }

    /// The seat that has a name, or had it.
    pub(crate) fn meant(&self, name: &str) -> Option<usize> {
        self.of(name).or_else(|| self.once.get(&name_key(name)).copied())
    }
}

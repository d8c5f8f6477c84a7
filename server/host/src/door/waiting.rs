//! Who is on the way to a hello, and who has to go when too many are.
//!
//! A newcomer always gets a place: whoever really wants to sit says hello within a moment, and strangers who only hold places
//! lose them, the one that has been silent longest first, of the address that holds most.

use std::collections::{BTreeMap, VecDeque};
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::sync::oneshot;

/// Which connection waits.
type Number = u64;

/// The places before the hello.
#[derive(Debug)]
struct Places<T> {
    most: usize,
    next: Number,
    /// For each address its own, the oldest first; `None` for connections that come from no address.
    by_address: BTreeMap<Option<IpAddr>, VecDeque<(Number, T)>>,
}

impl<T> Places<T> {
    fn new(most: usize) -> Self {
        Self { most, next: 0, by_address: BTreeMap::new() }
    }

    fn taken(&self) -> usize {
        self.by_address.values().map(VecDeque::len).sum()
    }

    /// A place for a newcomer, and what was kept of whoever has to go for it.
    fn enter(&mut self, from: Option<IpAddr>, kept: T) -> (Number, Option<T>) {
        let gone = if self.taken() < self.most { None } else { self.longest_silent() };
        let number = self.next;
        self.next += 1;
        self.by_address.entry(from).or_default().push_back((number, kept));
        (number, gone)
    }

    /// The oldest of the address that holds most places; of several such, of the one whose oldest is oldest.
    fn longest_silent(&mut self) -> Option<T> {
        let rank = |places: &VecDeque<(Number, T)>| {
            (places.len(), std::cmp::Reverse(places.front().map(|(number, _)| *number)))
        };
        let (&from, _) = self.by_address.iter().max_by_key(|(_, places)| rank(places))?;
        let (number, kept) = self.by_address.get_mut(&from)?.pop_front()?;
        self.leave(from, number);
        Some(kept)
    }

    /// A connection waits no longer.
    fn leave(&mut self, from: Option<IpAddr>, number: Number) {
        if let Some(places) = self.by_address.get_mut(&from) {
            places.retain(|(other, _)| *other != number);
            if places.is_empty() {
                self.by_address.remove(&from);
            }
        }
    }
}

/// All who are on the way to a hello.
#[derive(Clone, Debug)]
pub(super) struct Waiting(Arc<Mutex<Places<oneshot::Sender<()>>>>);

/// One place; given up when it is dropped.
pub(super) struct Place {
    waiting: Waiting,
    from: Option<IpAddr>,
    number: Number,
    /// Ends when somebody else needs the place.
    gone: oneshot::Receiver<()>,
}

impl Waiting {
    pub(super) fn new(most: usize) -> Self {
        Self(Arc::new(Mutex::new(Places::new(most))))
    }

    /// A place for a newcomer from an address.
    pub(super) fn enter(&self, from: Option<IpAddr>) -> Place {
        let (told, gone) = oneshot::channel();
        let (number, _) = self.places(|places| places.enter(from, told));
        Place { waiting: self.clone(), from, number, gone }
    }

    /// Ends the wait of whoever has been silent longest, as when a newcomer takes the place.
    pub(super) fn end_longest_silent(&self) {
        drop(self.places(Places::longest_silent));
    }

    fn places<R>(&self, work: impl FnOnce(&mut Places<oneshot::Sender<()>>) -> R) -> R {
        // Whatever panicked elsewhere, a list of places is a list of places.
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl Place {
    /// Ends when somebody else needs the place.
    pub(super) async fn lost(&mut self) {
        let _ = (&mut self.gone).await;
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.waiting.places(|places| places.leave(self.from, self.number));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn address(n: u8) -> Option<IpAddr> {
        Some(IpAddr::from([192, 0, 2, n]))
    }

    #[test]
    fn a_newcomer_takes_the_place_of_the_longest_silent_of_the_address_that_holds_most() {
        let mut places = Places::new(4);
        for (from, name) in [(1, "a"), (2, "b"), (2, "c"), (2, "d")] {
            assert_eq!(places.enter(address(from), name).1, None);
        }
        assert_eq!(places.enter(address(1), "e").1, Some("b"));
        assert_eq!(places.enter(address(3), "f").1, Some("a"), "both hold two, and that one waits longest");
        assert_eq!(places.enter(address(2), "g").1, Some("c"));
    }

    #[tokio::test]
    async fn whoever_loses_a_place_is_told_and_whoever_leaves_makes_room() {
        let waiting = Waiting::new(2);
        let mut first = waiting.enter(address(1));
        let second = waiting.enter(address(1));
        let mut third = waiting.enter(address(2));
        first.lost().await;
        drop(second);
        let _fourth = waiting.enter(address(2));
        assert!(third.gone.try_recv().is_err_and(|e| e == oneshot::error::TryRecvError::Empty));
        assert_eq!(waiting.places(|places| places.taken()), 2);
    }

    proptest! {
        /// However many strangers come from other addresses, one who says hello within as many newcomers as half the places
        /// still has its own.
        #[test]
        fn nobody_loses_a_place_soon_after_coming_and_there_are_never_more_than_the_places(
            crowd in prop::collection::vec(0..6u8, 1..300), after in 0..8usize,
        ) {
            let mut places = Places::new(16);
            for (n, from) in crowd.iter().enumerate() {
                places.enter(address(*from), n);
                prop_assert!(places.taken() <= 16);
            }
            places.enter(address(9), usize::MAX);
            for (n, from) in crowd.iter().enumerate().take(after) {
                let (_, gone) = places.enter(address(*from), n);
                prop_assert_ne!(gone, Some(usize::MAX));
            }
        }
    }
}

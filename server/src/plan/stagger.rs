//! Who pours what when: one pair of hands never does two things at once, and every steep keeps its exact length.
//!
//! The longest work goes first, so that short steeps fit into the waits of long ones and cups get ready close
//! together. Each tea then takes the earliest start at which its pour and its decant both find free hands. A start
//! is only ever held back by the end of somebody's work, so only those ends have to be tried.

use protocol::HostTime;

/// One tea's work in a round, in microseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    /// Hands' work to pour.
    pub pour_us: i64,
    /// From lid on to the start of the decant.
    pub steep_us: i64,
    /// Hands' work to decant.
    pub decant_us: i64,
}

/// Where a job has been put.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slot {
    /// Start of the pour.
    pub pour_at: HostTime,
    /// Whose hands pour, from 1.
    pub pour_hands: u8,
    /// Start of the decant.
    pub decant_at: HostTime,
    /// Whose hands decant, from 1.
    pub decant_hands: u8,
}

/// When which hands are at work.
#[derive(Clone, Debug)]
pub struct Hands {
    count: u8,
    busy: Vec<(u8, HostTime, HostTime)>,
}

impl Hands {
    /// `count` pairs of idle hands, at least one.
    pub fn new(count: u8) -> Self {
        Self { count: count.max(1), busy: Vec::new() }
    }

    /// Puts work on known hands.
    pub fn occupy(&mut self, hands: u8, from: HostTime, to: HostTime) {
        self.busy.push((hands, from, to));
    }

    fn is_free(&self, hands: u8, from: HostTime, to: HostTime) -> bool {
        !self.busy.iter().any(|&(h, a, b)| h == hands && from < b && a < to)
    }

    /// Hands that are free all along, `liked` ones if possible.
    fn free(&self, from: HostTime, to: HostTime, liked: Option<u8>) -> Option<u8> {
        liked.into_iter().chain(1..=self.count).find(|&h| self.is_free(h, from, to))
    }

    /// The instants not before `from` at which work may become possible that begins `ahead_us` after them.
    fn openings(&self, from: HostTime, ahead_us: &[i64]) -> Vec<HostTime> {
        let ends = self.busy.iter().flat_map(|&(_, _, end)| ahead_us.iter().map(move |&us| end + -us));
        let mut all: Vec<_> = ends.filter(|&at| at > from).chain([from]).collect();
        all.sort_unstable();
        all
    }

    /// The earliest start from `from` on for work of `length_us`, taken up at once.
    pub fn place_work(&mut self, length_us: i64, from: HostTime) -> (HostTime, u8) {
        let found = self
            .openings(from, &[0])
            .into_iter()
            .find_map(|at| self.free(at, at + length_us, None).map(|hands| (at, hands)));
        // After the last end everybody is free, so a place is always found.
        let (at, hands) = found.unwrap_or((from, 1));
        self.occupy(hands, at, at + length_us);
        (at, hands)
    }

    /// The earliest start from `from` on for a pour and its decant, taken up at once.
    pub fn place_job(&mut self, job: Job, from: HostTime) -> Slot {
        let lead_us = job.pour_us + job.steep_us;
        let fits = |pour_at: HostTime| {
            let decant_at = pour_at + lead_us;
            let pour_hands = self.free(pour_at, pour_at + job.pour_us, None)?;
            let decant_hands = self.free(decant_at, decant_at + job.decant_us, Some(pour_hands))?;
            Some(Slot { pour_at, pour_hands, decant_at, decant_hands })
        };
        let found = self.openings(from, &[0, lead_us]).into_iter().find_map(fits);
        let slot = found.unwrap_or(Slot {
            pour_at: from,
            pour_hands: 1,
            decant_at: from + lead_us,
            decant_hands: 1,
        });
        self.occupy(slot.pour_hands, slot.pour_at, slot.pour_at + job.pour_us);
        self.occupy(slot.decant_hands, slot.decant_at, slot.decant_at + job.decant_us);
        slot
    }
}

/// Puts all the jobs of a round, the longest first, and gives their slots back in the order of `jobs`.
pub fn stagger(jobs: &[Job], hands: &mut Hands, from: HostTime) -> Vec<Slot> {
    let mut order: Vec<usize> = (0..jobs.len()).collect();
    order.sort_by_key(|&i| (-(jobs[i].pour_us + jobs[i].steep_us + jobs[i].decant_us), i));
    let mut slots: Vec<(usize, Slot)> =
        order.into_iter().map(|i| (i, hands.place_job(jobs[i], from))).collect();
    slots.sort_by_key(|&(i, _)| i);
    slots.into_iter().map(|(_, slot)| slot).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(pour_us: i64, steep_us: i64, decant_us: i64) -> Job {
        Job { pour_us, steep_us, decant_us }
    }

    #[test]
    fn a_flash_steep_is_decanted_by_the_hands_that_poured_it() {
        let slots = stagger(&[job(10, 0, 5)], &mut Hands::new(1), HostTime(100));
        assert_eq!(
            slots,
            [Slot { pour_at: HostTime(100), pour_hands: 1, decant_at: HostTime(110), decant_hands: 1 }]
        );
    }

    #[test]
    fn a_short_steep_fits_into_the_wait_of_a_long_one() {
        let slots = stagger(&[job(10, 20, 5), job(10, 100, 5)], &mut Hands::new(1), HostTime(0));
        assert_eq!((slots[1].pour_at, slots[0].pour_at), (HostTime(0), HostTime(10)));
        assert_eq!((slots[0].decant_at, slots[1].decant_at), (HostTime(40), HostTime(110)));
    }

    #[test]
    fn a_pour_delayed_for_busy_hands_moves_its_decant_with_it() {
        let mut hands = Hands::new(1);
        hands.occupy(1, HostTime(0), HostTime(7));
        hands.occupy(1, HostTime(38), HostTime(45));
        let slot = hands.place_job(job(10, 20, 5), HostTime(0));
        assert_eq!(
            (slot.pour_at, slot.decant_at),
            (HostTime(15), HostTime(45)),
            "poured later so that the decant fits"
        );
    }

    #[test]
    fn two_pairs_of_hands_pour_at_once() {
        let slots = stagger(&[job(10, 20, 5), job(10, 20, 5)], &mut Hands::new(2), HostTime(0));
        assert_eq!((slots[0].pour_at, slots[1].pour_at), (HostTime(0), HostTime(0)));
        assert_ne!(slots[0].pour_hands, slots[1].pour_hands);
    }
}

//! When whose hands are at work, for the single tasks before the first pour: warming and rinsing.

use protocol::HostTime;

/// When which hands are at work.
#[derive(Clone, Debug)]
pub struct Hands {
    count: u8,
    /// Those that are there, a bit for each.
    here: u8,
    busy: Vec<(u8, HostTime, HostTime)>,
}

impl Hands {
    /// `count` pairs of idle hands, at least one.
    pub fn new(count: u8) -> Self {
        Self { count: count.max(1), here: u8::MAX, busy: Vec::new() }
    }

    /// The same without those that are not there: of each that is, there is a bit.
    pub fn of_those(self, here: Option<u8>) -> Self {
        Self { here: here.unwrap_or(u8::MAX), ..self }
    }

    /// Puts work on known hands.
    pub fn occupy(&mut self, hands: u8, from: HostTime, to: HostTime) {
        self.busy.push((hands, from, to));
    }

    /// When nobody is at work any more; the beginning of time if nobody ever is.
    pub fn all_free_at(&self) -> HostTime {
        self.busy.iter().map(|&(_, _, end)| end).max().unwrap_or_default()
    }

    fn is_free(&self, hands: u8, from: HostTime, to: HostTime) -> bool {
        !self.busy.iter().any(|&(h, a, b)| h == hands && from < b && a < to)
    }

    /// The latest instant up to `at` at which these hands are not in the midst of other work; it may be the begin of some.
    pub fn free_by(&self, hands: u8, at: HostTime) -> HostTime {
        let covers = |&&(h, from, to): &&(u8, HostTime, HostTime)| h == hands && from < at && at < to;
        self.busy.iter().find(covers).map_or(at, |&(_, from, _)| from)
    }

    /// The earliest start from `from` on for work of `length_us`, and whose it is; taken up at once.
    pub fn place_work(&mut self, length_us: i64, from: HostTime) -> (HostTime, u8) {
        self.place_work_by(None, length_us, from)
    }

    /// The same for work that only some may do, a bit for each.
    pub fn place_work_by(&mut self, by: Option<u8>, length_us: i64, from: HostTime) -> (HostTime, u8) {
        let by = by.unwrap_or(self.here) & self.here;
        let may = |hands: u8| by == 0 || by & (1 << (hands - 1).min(7)) != 0;
        // A start is only ever held back by the end of somebody's work, so only those ends have to be tried.
        let mut openings: Vec<HostTime> =
            self.busy.iter().map(|&(_, _, end)| end).filter(|&end| end > from).collect();
        openings.push(from);
        openings.sort_unstable();
        let free = |at: HostTime| {
            (1..=self.count).find(|&h| may(h) && self.is_free(h, at, at + length_us)).map(|h| (at, h))
        };
        let first = (1..=self.count).find(|&h| may(h)).unwrap_or(1);
        // After the last end everybody is free, so a place is always found.
        let (at, hands) =
            openings.into_iter().find_map(free).unwrap_or((self.all_free_at().max(from), first));
        self.occupy(hands, at, at + length_us);
        (at, hands)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_begins_as_soon_as_somebody_is_free_for_all_of_it() {
        let mut hands = Hands::new(2);
        hands.occupy(1, HostTime(0), HostTime(10));
        hands.occupy(2, HostTime(3), HostTime(8));
        assert_eq!(hands.place_work(3, HostTime(0)), (HostTime(0), 2));
        assert_eq!(hands.place_work(5, HostTime(0)), (HostTime(8), 2));
        assert_eq!(hands.place_work(5, HostTime(0)), (HostTime(10), 1));
        assert_eq!(hands.all_free_at(), HostTime(15));
    }
}

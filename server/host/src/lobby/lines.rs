//! How many lines the teacher gets of people who come to the door.

/// So many in a minute.
const LINES: u32 = 10;
/// A minute of the room's time, in microseconds.
const MINUTE_US: i64 = 60_000_000;
/// How long those who come in a heap are counted before the teacher hears how many more they are, in microseconds.
const COUNTED_US: i64 = 2_000_000;

/// What was said of late, and what was not.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    began_us: Option<i64>,
    lines: u32,
    more: u32,
    more_since_us: i64,
    is_said: bool,
}

impl Lines {
    fn look(&mut self, now_us: i64) {
        if self.began_us.is_none_or(|began_us| now_us - began_us >= MINUTE_US) {
            (self.began_us, self.lines, self.is_said) = (Some(now_us), 0, false);
        }
    }

    /// Whether one more gets a line of their own.
    pub(crate) fn one(&mut self, now_us: i64) -> bool {
        self.look(now_us);
        if self.lines < LINES {
            self.lines += 1;
            return true;
        }
        if self.more == 0 {
            self.more_since_us = now_us;
        }
        self.more += 1;
        false
    }

    /// How many more have come than got a line, once it is time to say so: once a minute.
    pub(crate) fn more(&mut self, now_us: i64) -> Option<u32> {
        self.look(now_us);
        let is_due = self.more > 0 && !self.is_said && now_us - self.more_since_us >= COUNTED_US;
        is_due.then(|| {
            self.is_said = true;
            std::mem::take(&mut self.more)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_have_a_line_each_the_others_one_together_and_again_a_minute_later() {
        let mut lines = Lines::default();
        assert_eq!((0..200).filter(|_| lines.one(0)).count(), 10);
        assert_eq!([COUNTED_US - 1, COUNTED_US].map(|now_us| lines.more(now_us)), [None, Some(190)]);
        assert!(!lines.one(COUNTED_US));
        assert_eq!([MINUTE_US - 1, MINUTE_US].map(|now_us| lines.more(now_us)), [None, Some(1)]);
        assert!(lines.one(MINUTE_US + 1));
        assert_eq!(lines.more(3 * MINUTE_US), None);
    }
}

//! Whole numbers that a start difference cannot be.

/// Disjoint ranges of whole numbers (both ends within), ascending, never side by side.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Ranges {
    count: u8,
    range: [(i32, i32); 5],
}

impl Ranges {
    /// Ranges that cover the same numbers as `parts`, of which there are at most five.
    pub fn covering(parts: &mut [(i32, i32)]) -> Self {
        parts.sort_unstable();
        let mut all = Self::default();
        for &mut (low, high) in parts {
            if low > high {
                continue;
            }
            match all.count.checked_sub(1) {
                Some(last) if low <= all.range[usize::from(last)].1 + 1 => {
                    let end = &mut all.range[usize::from(last)].1;
                    *end = high.max(*end);
                }
                _ => {
                    all.range[usize::from(all.count)] = (low, high);
                    all.count += 1;
                }
            }
        }
        all
    }

    fn all(&self) -> &[(i32, i32)] {
        &self.range[..usize::from(self.count)]
    }

    /// The smallest number from `low` on and the largest up to `high` that lie in no range.
    pub fn shrink(&self, low: i32, high: i32) -> (i32, i32) {
        let (mut up, mut down) = (low, high);
        for &(first, last) in self.all() {
            if first <= low && low <= last {
                up = last + 1;
            }
            if first <= high && high <= last {
                down = first - 1;
            }
        }
        (up, down)
    }

    /// The range that holds `value`.
    pub fn holding(&self, value: i32) -> Option<(i32, i32)> {
        self.all().iter().copied().find(|&(low, high)| low <= value && value <= high)
    }
}

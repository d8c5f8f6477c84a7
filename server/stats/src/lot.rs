//! Chance that is the same every time.

/// Numbers that look drawn by lot, the same for the same seed (Steele, Lea and Flood, Fast splittable pseudorandom number
/// generators, 2014).
pub(crate) struct Lot(u64);

impl Lot {
    pub(crate) fn of(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut drawn = self.0;
        drawn = (drawn ^ (drawn >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        drawn = (drawn ^ (drawn >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        drawn ^ (drawn >> 31)
    }

    /// A whole number below a bound, each as likely.
    pub(crate) fn below(&mut self, bound: usize) -> usize {
        ((u128::from(self.next()) * bound as u128) >> 64) as usize
    }

    /// A number above 0 and up to 1, each as likely.
    pub(crate) fn share(&mut self) -> f64 {
        ((self.next() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }

    /// All orders are as likely.
    pub(crate) fn shuffle(&mut self, values: &mut [f64]) {
        for last in (1..values.len()).rev() {
            values.swap(last, self.below(last + 1));
        }
    }
}

//! Chance, from a seed.

use fastrand::Rng;

/// Draws; the same seed draws the same.
pub struct Dice(Rng);

impl Dice {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Self(Rng::with_seed(seed))
    }

    /// A normal number about 0 (Box and Muller, Annals of Mathematical Statistics 29, 1958).
    pub fn normal(&mut self, sd: f64) -> f64 {
        let (radius, turn) = ((-2.0 * self.open().ln()).sqrt(), std::f64::consts::TAU * self.0.f64());
        sd * radius * turn.cos()
    }

    /// A waiting time.
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -mean * self.open().ln()
    }

    /// Yes, with this chance.
    pub fn yes(&mut self, chance: f64) -> bool {
        self.0.f64() < chance
    }

    /// A number between two.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.f64()
    }

    /// One of `n`, from 0.
    pub fn one_of(&mut self, n: usize) -> usize {
        self.0.usize(0..n)
    }

    /// A seed for something else.
    pub fn seed(&mut self) -> u64 {
        self.0.u64(..)
    }

    /// Above 0, so that it has a logarithm.
    fn open(&mut self) -> f64 {
        1.0 - self.0.f64()
    }
}

//! One class among several.

use super::digest::Digest;

/// A class with what its teas and attributes are among all.
pub struct Class<'a> {
    /// Worked up.
    pub digest: &'a Digest,
    /// The way of each tea.
    pub ways: Vec<usize>,
    /// The scale of each attribute.
    pub scales: Vec<usize>,
}

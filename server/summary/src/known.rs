//! A figure, or why there is none.

use schemars::JsonSchema;
use serde::Serialize;

/// A figure, or in its place `{ "why": "…" }`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
#[schemars(inline)]
pub enum Known<T> {
    /// The figure.
    Is(T),
    /// Why there is none.
    Not {
        /// In words that fit after "not computed: ".
        why: String,
    },
}

impl<T> Known<T> {
    /// The figure, if there is one.
    pub fn get(&self) -> Option<&T> {
        match self {
            Known::Is(figure) => Some(figure),
            Known::Not { .. } => None,
        }
    }

    /// The figure, to be changed.
    pub fn get_mut(&mut self) -> Option<&mut T> {
        match self {
            Known::Is(figure) => Some(figure),
            Known::Not { .. } => None,
        }
    }

    /// No figure for this reason.
    pub fn not(why: impl ToString) -> Self {
        Known::Not { why: why.to_string() }
    }
}

impl<T, E: ToString> From<Result<T, E>> for Known<T> {
    fn from(result: Result<T, E>) -> Self {
        result.map_or_else(Known::not, Known::Is)
    }
}

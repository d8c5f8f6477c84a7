//! The weights of a class: how much each attribute counts for a total out of 100 points.

pub mod standard;

use serde::{Deserialize, Serialize};
use standard::{Weights, WeightsFault};

/// The weights, with whatever row they were taken from filled in, so that an old ledger keeps its own.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClassWeights {
    /// The row of the table of GB/T 23776 that was named, if one was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub row: Option<String>,
    /// Each attribute's weight; they add up to 100 %.
    pub attributes: Vec<AttributeWeight>,
}

/// The weight of one attribute.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AttributeWeight {
    /// The attribute, as it is spelt on the sheet.
    pub attribute: String,
    /// Percent.
    pub percent: f64,
}

impl ClassWeights {
    /// The weights to compute totals with.
    ///
    /// # Errors
    /// If they don't add up, which a class file is refused for.
    pub fn weights(&self) -> Result<Weights, WeightsFault> {
        let pairs: Vec<(&str, f64)> =
            self.attributes.iter().map(|w| (w.attribute.as_str(), w.percent)).collect();
        Weights::own(&pairs)
    }
}

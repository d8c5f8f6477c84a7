//! How a strength varies from mouth to mouth.

use crate::Cannot;
use crate::dist::{chance, normal_density, normal_quantile, normal_upper};
use schemars::JsonSchema;
use serde::Serialize;

/// The distribution behind a cumulative model.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// Standard normal: the probit model.
    Normal,
    /// Standard logistic: the logit model, of proportional odds.
    Logistic,
}

impl Law {
    /// The share above a value.
    fn upper(self, x: f64) -> f64 {
        match self {
            _ if x == f64::INFINITY => 0.0,
            _ if x == f64::NEG_INFINITY => 1.0,
            Self::Normal => normal_upper(x).unwrap_or(0.0),
            Self::Logistic => 1.0 / (1.0 + x.exp()),
        }
    }

    /// The share between two values, the lower first; taken from the tail that keeps its digits.
    pub(super) fn between(self, low: f64, high: f64) -> f64 {
        if low > 0.0 { self.upper(low) - self.upper(high) } else { self.upper(-high) - self.upper(-low) }
    }

    /// The value below which a share lies, 0 < share < 1.
    pub(super) fn quantile(self, share: f64) -> Result<f64, Cannot> {
        match self {
            Self::Normal => normal_quantile(share),
            Self::Logistic => chance(share).map(|share| (share / (1.0 - share)).ln()),
        }
    }

    /// The density and its change, at a value that may be infinite.
    pub(super) fn density(self, x: f64) -> (f64, f64) {
        if x.is_infinite() {
            return (0.0, 0.0);
        }
        match self {
            Self::Normal => {
                let density = normal_density(x);
                (density, -x * density)
            }
            Self::Logistic => {
                let (below, above) = (self.upper(-x), self.upper(x));
                (below * above, below * above * (above - below))
            }
        }
    }
}

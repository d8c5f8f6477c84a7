//! On which terms connections come in.

use super::names::Names;
use super::rate::Rate;
use crate::consoles::Consoles;
use crate::tls::Tls;

/// The terms of a door.
#[derive(Clone, Debug)]
pub struct Terms {
    /// Under which names the host may be asked for, beside its addresses.
    pub names: Names,
    /// TLS, if there is any.
    pub tls: Option<Tls>,
    /// Where consoles from elsewhere come in.
    pub consoles: Consoles,
    /// How often a seat may send a score; `None` for benchmarks.
    pub rate: Option<Rate>,
}

impl Default for Terms {
    fn default() -> Self {
        Self {
            names: Names::default(),
            tls: None,
            consoles: Consoles::default(),
            rate: Some(Rate::default()),
        }
    }
}
